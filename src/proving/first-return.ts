import type { Floor } from './floor.js';

/** Where the first echo comes from. */
export interface FirstReturn {
  /** Straight distance from the transducer [m]; NaN where the transducer is not in the water above the floor. */
  rangeM: number;
  /** From the transducer [m]. */
  eastM: number;
  northM: number;
}

/** Cosine and sine of ring points: 6 on the inner, 12 on the outer ring. */
const INNER = Float64Array.from({ length: 12 }, (_, i) => (i % 2 === 0 ? Math.cos : Math.sin)(((i >> 1) * Math.PI) / 3));
const OUTER = Float64Array.from({ length: 24 }, (_, i) => (i % 2 === 0 ? Math.cos : Math.sin)(((i >> 1) * Math.PI) / 6));

/**
 * The nearest point of the floor inside the beam.
 *
 * Smooth floor: the floor is a plane with the slope under the transducer. The nearest point of a plane lies up the slope
 * at the angle of the slope: there the range is d cos(slope), d the depth straight down; where the beam does not reach
 * that far, the nearest is at the beam's edge toward it. Rock: the nearest of 19 rays over the beam on the floor itself.
 * Rays are straight: within 10 degrees of the vertical and 15 m refraction moves an echo by millimetres.
 *
 * @param transducerDepthM below chart datum; negative above it [m]
 * @param tiltEast, tiltNorth which way the beam's axis leans from straight down, small angles [rad]
 * @param halfBeamRad half the beam's full width [rad]
 */
export function firstReturnInto(
  floor: Floor,
  xM: number,
  yM: number,
  transducerDepthM: number,
  tiltEast: number,
  tiltNorth: number,
  halfBeamRad: number,
  gradient: Float64Array,
  out: FirstReturn,
): void {
  const depthM = floor.depthM(xM, yM) - transducerDepthM;
  out.eastM = 0;
  out.northM = 0;
  out.rangeM = NaN;
  if (!(depthM > 0.05)) return;
  if (floor.bottom(xM, yM) === 'rock') {
    sampleBeam(floor, xM, yM, transducerDepthM, depthM, tiltEast, tiltNorth, halfBeamRad, out);
    return;
  }
  floor.gradientInto(xM, yM, gradient);
  const slope = Math.hypot(gradient[0]!, gradient[1]!);
  const steepest = Math.atan(slope);
  // Up the slope is where depth lessens.
  const wantEast = slope > 0 ? (-gradient[0]! / slope) * steepest : 0;
  const wantNorth = slope > 0 ? (-gradient[1]! / slope) * steepest : 0;
  const off = Math.hypot(wantEast - tiltEast, wantNorth - tiltNorth);
  const share = off > halfBeamRad ? halfBeamRad / off : 1;
  const angleEast = tiltEast + (wantEast - tiltEast) * share;
  const angleNorth = tiltNorth + (wantNorth - tiltNorth) * share;
  const angle = Math.hypot(angleEast, angleNorth);
  if (angle === 0) {
    out.rangeM = depthM;
    return;
  }
  const unitEast = angleEast / angle;
  const unitNorth = angleNorth / angle;
  const rise = gradient[0]! * unitEast + gradient[1]! * unitNorth;
  out.rangeM = depthM / (Math.cos(angle) - Math.sin(angle) * rise);
  out.eastM = out.rangeM * Math.sin(angle) * unitEast;
  out.northM = out.rangeM * Math.sin(angle) * unitNorth;
}

function sampleBeam(
  floor: Floor,
  xM: number,
  yM: number,
  transducerDepthM: number,
  depthM: number,
  tiltEast: number,
  tiltNorth: number,
  halfBeamRad: number,
  out: FirstReturn,
): void {
  const tryRay = (angleEast: number, angleNorth: number): void => {
    const angle = Math.hypot(angleEast, angleNorth);
    const cos = Math.cos(angle);
    const tan = angle > 0 ? Math.tan(angle) / angle : 1;
    // Two rounds: the depth where the ray would meet a floor as deep as the last guess.
    let down = depthM;
    for (let round = 0; round < 2; round++) down = floor.depthM(xM + down * tan * angleEast, yM + down * tan * angleNorth) - transducerDepthM;
    const range = Math.max(down, 0.05) / cos;
    if (Number.isNaN(out.rangeM) || range < out.rangeM) {
      out.rangeM = range;
      out.eastM = down * tan * angleEast;
      out.northM = down * tan * angleNorth;
    }
  };
  tryRay(tiltEast, tiltNorth);
  for (let i = 0; i < 12; i += 2) tryRay(tiltEast + 0.5 * halfBeamRad * INNER[i]!, tiltNorth + 0.5 * halfBeamRad * INNER[i + 1]!);
  for (let i = 0; i < 24; i += 2) tryRay(tiltEast + halfBeamRad * OUTER[i]!, tiltNorth + halfBeamRad * OUTER[i + 1]!);
}
