import { quantileInPlace } from '../base/statistics.js';
import { beamTiltInto } from './attitude.js';
import { pointCourses } from './line-of.js';
import type { Reduction } from './reduce.js';

/** Slope of the bottom under each sounding, as tangents; NaN where not known. Shape of every column: [n]. */
export interface BottomSlopes {
  /** Along the course, positive where it gets deeper ahead. */
  readonly along: Float32Array;
  /** Across it, positive where it gets deeper to starboard. */
  readonly across: Float32Array;
  /** The course meant, clockwise from grid north [deg]; NaN where there is none. Needed where the beam leans. */
  readonly courseDeg?: ArrayLike<number>;
  /**
   * How far slopes go from those of the plane around, on broken ground: the relief that the plane leaves, as waves as long as its
   * reach, where that is more than four times its median (a floor that bends evenly leaves relief too); 0 elsewhere.
   */
  readonly unevenness?: ArrayLike<number>;
}

/** Smallest cell soundings are gathered in before planes are laid through them [m]. */
const CELL_M = 2;
/** Ground is broken where a plane leaves so many times as much relief as it does in the median. */
const BROKEN = 4;
/** No more cells than this are laid out; cells grow instead. */
const MOST_CELLS = 4_000_000;
/** Planes reach this far first, then half as far again as often as it takes [m]. */
const FIRST_REACH_M = 8;
const LAST_REACH_M = 42;

/**
 * The slope of the bottom under each sounding, in two dimensions.
 *
 * Along the track it is that of the soundings themselves (`alongSlope`). Across it, that of a plane through the good
 * soundings around, which must reach a neighbouring line to say anything: the nearest within 42 m. The plane is fitted by
 * least squares to means of 2 m cells, weighted down to nothing at its reach.
 *
 * @param reason only soundings of reason 0 are used; the others are given a slope all the same
 * @param alongSlope as `cleanSoundings` gives it
 */
export function bottomSlopes(
  soundings: { readonly n: number; readonly timeS: Float64Array; readonly xM: Float64Array; readonly yM: Float64Array; readonly depthM: ArrayLike<number> },
  reason: Uint8Array,
  alongSlope: ArrayLike<number>,
): BottomSlopes {
  const { n, xM, yM, depthM } = soundings;
  const along = Float32Array.from(alongSlope);
  const across = new Float32Array(n).fill(NaN);
  const unevenness = new Float32Array(n);
  let westM = Infinity;
  let southM = Infinity;
  let eastM = -Infinity;
  let northM = -Infinity;
  for (let i = 0; i < n; i++) {
    if (reason[i] !== 0) continue;
    westM = Math.min(westM, xM[i]!);
    eastM = Math.max(eastM, xM[i]!);
    southM = Math.min(southM, yM[i]!);
    northM = Math.max(northM, yM[i]!);
  }
  if (!(eastM >= westM)) return { along, across };
  const cellM = Math.max(CELL_M, Math.sqrt(((eastM - westM + CELL_M) * (northM - southM + CELL_M)) / MOST_CELLS), (eastM - westM + northM - southM) / MOST_CELLS);
  const cols = Math.floor((eastM - westM) / cellM) + 1;
  const rows = Math.floor((northM - southM) / cellM) + 1;
  const cellOf = (i: number): number => {
    const col = Math.floor((xM[i]! - westM) / cellM);
    const row = Math.floor((yM[i]! - southM) / cellM);
    return col >= 0 && col < cols && row >= 0 && row < rows ? row * cols + col : -1;
  };
  const count = new Uint32Array(cols * rows);
  const sumX = new Float64Array(cols * rows);
  const sumY = new Float64Array(cols * rows);
  const sumZ = new Float64Array(cols * rows);
  for (let i = 0; i < n; i++) {
    if (reason[i] !== 0) continue;
    const cell = cellOf(i);
    count[cell]!++;
    sumX[cell]! += xM[i]! - westM;
    sumY[cell]! += yM[i]! - southM;
    sumZ[cell]! += depthM[i]!;
  }

  const planeEast = new Float32Array(cols * rows).fill(NaN);
  const planeNorth = new Float32Array(cols * rows).fill(NaN);
  const relief = new Float32Array(cols * rows);
  const fit = (cell: number): void => {
    const row0 = Math.floor(cell / cols);
    const col0 = cell - row0 * cols;
    const x0 = sumX[cell]! / count[cell]!;
    const y0 = sumY[cell]! / count[cell]!;
    for (let reachM = FIRST_REACH_M; reachM <= LAST_REACH_M; reachM *= 1.5) {
      const reach = Math.ceil(reachM / cellM);
      let w = 0;
      let wx = 0;
      let wy = 0;
      let wz = 0;
      let wxx = 0;
      let wxy = 0;
      let wyy = 0;
      let wxz = 0;
      let wyz = 0;
      let wzz = 0;
      for (let row = Math.max(0, row0 - reach); row <= Math.min(rows - 1, row0 + reach); row++) {
        for (let col = Math.max(0, col0 - reach); col <= Math.min(cols - 1, col0 + reach); col++) {
          const other = row * cols + col;
          if (count[other] === 0) continue;
          const x = sumX[other]! / count[other]! - x0;
          const y = sumY[other]! / count[other]! - y0;
          const near = 1 - (x * x + y * y) / (reachM * reachM);
          if (near <= 0) continue;
          const weight = near * near;
          const z = sumZ[other]! / count[other]!;
          w += weight;
          wx += weight * x;
          wy += weight * y;
          wz += weight * z;
          wxx += weight * x * x;
          wxy += weight * x * y;
          wyy += weight * y * y;
          wxz += weight * x * z;
          wyz += weight * y * z;
          wzz += weight * z * z;
        }
      }
      const vxx = wxx / w - (wx / w) ** 2;
      const vxy = wxy / w - (wx * wy) / (w * w);
      const vyy = wyy / w - (wy / w) ** 2;
      const vxz = wxz / w - (wx * wz) / (w * w);
      const vyz = wyz / w - (wy * wz) / (w * w);
      // Spread in the thin direction: a single line, however wide its wiggles, says nothing of the slope across it.
      const thin = 0.5 * (vxx + vyy) - Math.hypot(0.5 * (vxx - vyy), vxy);
      if (!(thin > (0.2 * reachM) ** 2)) continue;
      const determinant = vxx * vyy - vxy * vxy;
      planeEast[cell] = (vxz * vyy - vyz * vxy) / determinant;
      planeNorth[cell] = (vyz * vxx - vxz * vxy) / determinant;
      const left2 = wzz / w - (wz / w) ** 2 - planeEast[cell]! * vxz - planeNorth[cell]! * vyz;
      relief[cell] = (2 * Math.PI * Math.sqrt(Math.max(0, left2))) / reachM;
      return;
    }
  };
  for (let cell = 0; cell < cols * rows; cell++) if (count[cell]! > 0) fit(cell);

  const sizes = Float64Array.from(relief.filter((one) => one > 0));
  const limit = sizes.length === 0 ? Infinity : BROKEN * quantileInPlace(sizes, 0.5);
  const course = pointCourses(soundings);
  for (let i = 0; i < n; i++) {
    if (Number.isNaN(xM[i]!) || Number.isNaN(course[i]!)) continue;
    const cell = cellOf(i);
    if (cell < 0 || count[cell] === 0) continue;
    const rad = (course[i]! * Math.PI) / 180;
    const sin = Math.sin(rad);
    const cos = Math.cos(rad);
    unevenness[i] = relief[cell]! > limit ? relief[cell]! : 0;
    across[i] = planeEast[cell]! * cos - planeNorth[cell]! * sin;
    if (Number.isNaN(along[i]!)) along[i] = planeEast[cell]! * sin + planeNorth[cell]! * cos;
  }
  return { along, across, courseDeg: course, unevenness };
}

/** Steeper than this a slope is not used to correct a depth: what the beam sees there is no plane. */
const STEEPEST = 0.6;

/**
 * Depths with the shoal bias of a slope taken out: on a slope the first return comes from uphill (`slopeBiasM`), and a beam
 * that leans with roll and pitch has its reach moved (`depthUnderLeaningBeam`).
 *
 * @param slopes an unknown slope in a direction counts as level; steeper than 31 deg counts as 31 deg
 * @param beamWidthDeg full width of the beam
 * @returns new depths below datum [m] and what was added [m]. Shape of both: [n]
 */
export function correctForSlope(reduction: Reduction, slopes: BottomSlopes, beamWidthDeg: number): { readonly depthM: Float32Array; readonly addedM: Float32Array } {
  const { soundings } = reduction;
  const depthM = Float32Array.from(soundings.depthM);
  const addedM = slopeAddition(reduction, slopes, beamWidthDeg);
  for (let i = 0; i < soundings.n; i++) depthM[i]! += addedM[i]!;
  return { depthM, addedM };
}

/** What `correctForSlope` adds [m]. Shape [n]. */
export function slopeAddition({ soundings, basis }: Reduction, slopes: BottomSlopes, beamWidthDeg: number): Float32Array {
  const halfBeamRad = (beamWidthDeg * Math.PI) / 360;
  const tilt = new Float64Array(3);
  return Float32Array.from({ length: soundings.n }, (_, i) => {
    const along = slopes.along[i]! || 0;
    const across = slopes.across[i]! || 0;
    const steep = Math.hypot(along, across);
    const below = basis.belowTransducerM[i]!;
    const [roll, pitch] = [basis.rollDeg[i]!, basis.pitchDeg[i]!];
    if (Number.isNaN(roll) && Number.isNaN(pitch)) return slopeBiasM(below, Math.min(STEEPEST, steep), halfBeamRad);
    const share = steep > STEEPEST ? STEEPEST / steep : 1;
    beamTiltInto(((roll || 0) * Math.PI) / 180, ((pitch || 0) * Math.PI) / 180, tilt);
    // The lean is known along and across the heading, the slope along and across the course.
    const crabRad = (((basis.gridHeadingDeg[i]! - (slopes.courseDeg?.[i] ?? NaN)) || 0) * Math.PI) / 180;
    const forward = tilt[2]! * (tilt[0]! * Math.cos(crabRad) - tilt[1]! * Math.sin(crabRad));
    const starboard = tilt[2]! * (tilt[0]! * Math.sin(crabRad) + tilt[1]! * Math.cos(crabRad));
    return depthUnderLeaningBeam(below, along * share, across * share, forward, starboard, halfBeamRad);
  });
}

/**
 * What a plane slope takes from the depth read by a beam that leans: depth at the place the sounding is given (straight below,
 * or where the beam's edge meets a level floor if it leans by more than half its width), less the depth a level floor would
 * have.
 *
 * @param measuredM slant distance [m]
 * @param along, across slope, positive where deeper ahead and to starboard; leanAlongRad, leanAcrossRad lean of the beam
 *   towards the same sides
 * Source: nearest point of a plane within a cone; `slopeBiasM` where the beam stands upright.
 */
export function depthUnderLeaningBeam(measuredM: number, along: number, across: number, leanAlongRad: number, leanAcrossRad: number, halfBeamRad: number): number {
  const slope = Math.hypot(along, across);
  const steep = Math.atan(slope);
  const wantAlong = slope > 0 ? (-along / slope) * steep : 0;
  const wantAcross = slope > 0 ? (-across / slope) * steep : 0;
  const off = Math.hypot(wantAlong - leanAlongRad, wantAcross - leanAcrossRad);
  const reach = off > halfBeamRad ? halfBeamRad / off : 1;
  const rayAlong = leanAlongRad + (wantAlong - leanAlongRad) * reach;
  const rayAcross = leanAcrossRad + (wantAcross - leanAcrossRad) * reach;
  const ray = Math.hypot(rayAlong, rayAcross);
  const rise = ray > 0 ? (along * rayAlong + across * rayAcross) / ray : 0;
  const belowM = measuredM * (Math.cos(ray) - Math.sin(ray) * rise);
  const lean = Math.hypot(leanAlongRad, leanAcrossRad);
  const edge = Math.max(0, lean - halfBeamRad);
  const footM = measuredM * Math.sin(edge);
  const downhill = lean > 0 ? (along * leanAlongRad + across * leanAcrossRad) / lean : 0;
  return belowM + footM * downhill - measuredM * Math.cos(edge);
}

/**
 * How much too small a depth is read on a slope: the first return comes from where the beam meets the bottom nearest, square
 * to the slope, or at the beam's edge on a slope steeper than half the beam.
 *
 * @param measuredM below the transducer, as measured [m]
 * @param slope tangent of the slope, 0 or more
 * @param halfBeamRad half the beam's full width [rad]
 * @returns depth straight below less the depth measured [m]
 *
 * Source: a plane bottom under a cone; d cos(slope) of IHO C-13 inside the beam.
 */
export function slopeBiasM(measuredM: number, slope: number, halfBeamRad: number): number {
  if (slope <= Math.tan(halfBeamRad)) return measuredM * (Math.hypot(1, slope) - 1);
  return measuredM * (Math.cos(halfBeamRad) + slope * Math.sin(halfBeamRad) - 1);
}
