import type { Random } from '../base/random.js';
import type { RayFloor, RaySetting } from './bottom-echo.js';
import { addRayEcho, createSpreading } from './bottom-echo.js';
import type { SeaBed } from './sea-bed.js';
import type { SeaBedObject } from './sea-bed-objects.js';
import { objectHeightM, objectReachM } from './sea-bed-objects.js';
import type { SideScanErrors, SideScanSonar } from './side-scan-sonar.js';
import { createVerticalBeam } from './vertical-beam.js';

/** Where the sonar is and how it lies as it pings. */
export interface SonarPose {
  /** In the frame [m]. */
  xM: number;
  yM: number;
  /** Clockwise from grid north [rad]. */
  headingRad: number;
  /** Starboard down and bow up positive [rad]. */
  rollRad: number;
  pitchRad: number;
  /** Of the sonar: below chart datum, and below the surface [m]. */
  depthM: number;
  belowSurfaceM: number;
}

/** What one ping heard. */
export interface SideScanEcho {
  /** Amplitudes as the instrument writes them: whole numbers 0 to 32767. Shape [samples]. */
  readonly port: Float32Array;
  readonly starboard: Float32Array;
  /** Slant range of the first echo of anything solid on each side [m]; Infinity where there was none. */
  firstPortM: number;
  firstStarboardM: number;
}

/** How the range is set as a ping is sent, and how fast its sound goes. */
export interface PingScale {
  readonly intervalS: number;
  readonly delayS: number;
  readonly soundSpeedMps: number;
}

export const FULL_SCALE = 32_767;
/** Amplitude that level sand answers with at 20 m from a sonar 8 m above it. */
const SAND_AMPLITUDE = 900;
const NOISE_DB = -36;
const CROSSTALK = 10 ** -3.2;
const VOLUME_DB = -44;
const RING_DB = 42;
const RING_M = 0.045;
/** The sea surface from below: Lambert's coefficient in a light breeze, and facets near straight above [dB, 1]. */
const SURFACE_LAMBERT = 10 ** -2.9;
const SURFACE_MIRROR = 10 ** -1.5;
const SURFACE_SLOPE = 0.14;

/** Amplitudes of mean square 1 with a Rayleigh distribution, by equal steps of chance. */
const RAYLEIGH = Float32Array.from({ length: 65_536 }, (_, i) => Math.sqrt(-Math.log(1 - (i + 0.5) / 65_536)));

/**
 * A side-scan's ping over a floor: rays across the beam of each side along the floor, power by slant range, then what the
 * water, the surface, the other side and the electronics add, then speckle: powers of independent echoes add, and the sum
 * of many has an amplitude of Rayleigh distribution (Goodman 1976, J. Opt. Soc. Am. 66, 1145).
 *
 * @param metresOfFrame frame metres per metre on the ground
 */
export function createSideScanPing(
  sonar: SideScanSonar,
  errors: SideScanErrors,
  bed: SeaBed,
  objects: readonly SeaBedObject[],
  metresOfFrame: number,
): (pose: SonarPose, scale: PingScale, silent: boolean, random: Random, out: SideScanEcho) => void {
  const { samples } = sonar;
  const stepM = sonar.rangeM / samples;
  // Room for sound a little faster than the range was set for.
  const longest = Math.ceil((1.05 * sonar.rangeM) / stepM) + 2;
  const floor: RayFloor = { n: longest, stepM, downM: new Float64Array(longest), kind: new Uint8Array(longest), canopyM: new Float64Array(longest), object: new Float64Array(longest) };
  const beamRad = (sonar.beamDeg * Math.PI) / 180;
  const lossPerM = (sonar.absorptionDbPerM * Math.LN10) / 10;
  const beam = createVerticalBeam(sonar.verticalBeamDeg);
  const spreading = createSpreading(lossPerM, 1.2 * sonar.rangeM);
  const setting: RaySetting = { beam, axisOut: 0, axisDown: 0, apertureM: sonar.apertureM, beamRad, spreading, weight: 1 };
  const axisRad = (sonar.axisDownDeg * Math.PI) / 180;
  const offs = beamOffsets(sonar.rays);
  const reach = objects.map(objectReachM);
  const strength = objects.map(({ strengthDb }) => 10 ** (strengthDb / 10));
  // Sand at 20 m, 8 m below: sin^2(grazing) 0.16, an area of a sample by the beam's width.
  const sandPower = (10 ** -2.2 * 0.16 * (stepM / Math.sqrt(1 - 0.16)) * (sonar.apertureM + 20 * beamRad) * Math.exp(-40 * lossPerM)) / 20 ** 4;
  const gain = SAND_AMPLITUDE / Math.sqrt(sandPower);
  const noisePower = errors.noise ? sandPower * 10 ** (NOISE_DB / 10) : 0;
  const powers = [new Float64Array(samples), new Float64Array(samples)] as const;

  const raysOfSide = (pose: SonarPose, side: -1 | 1, firstM: number, sampleM: number, power: Float64Array): number => {
    const roll = axisRad + side * pose.rollRad;
    setting.axisOut = Math.cos(roll);
    setting.axisDown = Math.sin(roll);
    const underM = bed.depthM(pose.xM, pose.yM) - pose.depthM;
    let nearest = Infinity;
    const rangeM = firstM + samples * sampleM;
    for (const { off, weight } of offs) {
      // Bow up swings the plane of the beam forward.
      const shiftM = (off * sonar.apertureM + Math.tan(pose.pitchRad) * underM) * metresOfFrame;
      const heading = pose.headingRad + (-side * off * beamRad);
      const forwardX = Math.sin(pose.headingRad);
      const forwardY = Math.cos(pose.headingRad);
      const outX = side * Math.cos(heading);
      const outY = -side * Math.sin(heading);
      const fromX = pose.xM + shiftM * forwardX;
      const fromY = pose.yM + shiftM * forwardY;
      const step = stepM * metresOfFrame;
      floor.n = Math.min(longest, Math.ceil(rangeM / stepM) + 2);
      bed.profileInto(fromX, fromY, outX * step, outY * step, floor.n, floor.downM, floor.kind, floor.canopyM);
      floor.object.fill(0);
      for (const [i, object] of objects.entries()) {
        const dx = object.xM - fromX;
        const dy = object.yM - fromY;
        const along = dx * outX + dy * outY;
        const aside = Math.abs(dx * outY - dy * outX);
        const r = reach[i]! * metresOfFrame;
        if (aside > r || along < -r || along > floor.n * step + r) continue;
        const start = Math.max(0, Math.floor((along - r) / step));
        const end = Math.min(floor.n, Math.ceil((along + r) / step) + 1);
        for (let j = start; j < end; j++) {
          const height = objectHeightM(object, fromX + j * outX * step, fromY + j * outY * step);
          if (height <= 0) continue;
          floor.downM[j]! -= height;
          floor.object[j] = strength[i]!;
        }
      }
      const slant = 1 / Math.cos(pose.pitchRad);
      for (let j = 0; j < floor.n; j++) floor.downM[j] = (floor.downM[j]! - pose.depthM) * slant;
      if (!(floor.downM[0]! > 0.05)) continue;
      setting.weight = weight;
      nearest = Math.min(nearest, addRayEcho(floor, setting, firstM, sampleM, power));
    }
    return nearest;
  };

  const addSurface = (pose: SonarPose, side: -1 | 1, firstM: number, sampleM: number, power: Float64Array): void => {
    const aboveM = pose.belowSurfaceM;
    if (!(aboveM > 0.02)) return;
    const roll = axisRad + side * pose.rollRad;
    const axisOut = Math.cos(roll);
    const axisDown = Math.sin(roll);
    let g0 = 0;
    for (let i = 0; i < samples; i++) {
      const endM = firstM + (i + 1) * sampleM;
      if (endM <= aboveM) continue;
      const g1 = Math.sqrt(endM * endM - aboveM * aboveM);
      const r = Math.max(aboveM, endM - 0.5 * sampleM);
      const sine = Math.min(1, aboveM / r);
      const tan2 = 1 / (sine * sine) - 1;
      const mirror = tan2 < 24 * SURFACE_SLOPE * SURFACE_SLOPE ? SURFACE_MIRROR * Math.exp(-tan2 / (2 * SURFACE_SLOPE * SURFACE_SLOPE)) : 0;
      const answer = SURFACE_LAMBERT * sine * sine + mirror;
      const oneWay = beam.power(Math.sqrt(1 - sine * sine), -sine, axisOut, axisDown);
      power[i]! += answer * (g1 - g0) * (sonar.apertureM + r * beamRad) * oneWay * oneWay * spreading(r);
      g0 = g1;
    }
  };

  // The same at every ping of a scale, near enough.
  let waterSampleM = NaN;
  const water = new Float64Array(samples);
  const addWater = (firstM: number, sampleM: number, power: Float64Array): void => {
    if (!(Math.abs(sampleM / waterSampleM - 1) < 0.005)) {
      const atTwenty = sandPower * 10 ** (VOLUME_DB / 10);
      for (let i = 0; i < samples; i++) {
        const r = Math.max(0.1, firstM + (i + 0.5) * sampleM);
        water[i] = atTwenty * (400 / (r * r)) * Math.exp(-2 * lossPerM * (r - 20)) + sandPower * 10 ** (RING_DB / 10) * Math.exp(-r / RING_M);
      }
      waterSampleM = sampleM;
    }
    for (let i = 0; i < samples; i++) power[i]! += water[i]!;
  };

  return (pose, scale, silent, random, out) => {
    const sampleM = 0.5 * scale.soundSpeedMps * scale.intervalS;
    // A sample gathers what comes within half an interval of its own time.
    const firstM = 0.5 * scale.soundSpeedMps * scale.delayS - 0.5 * sampleM;
    for (const [k, side] of [[0, -1], [1, 1]] as const) {
      const power = powers[k];
      power.fill(0);
      const nearest = raysOfSide(pose, side, firstM, sampleM, power);
      if (k === 0) out.firstPortM = nearest;
      else out.firstStarboardM = nearest;
      if (silent) power.fill(0);
      else if (errors.surfaceReturn) addSurface(pose, side, firstM, sampleM, power);
      if (errors.waterColumn) addWater(firstM, sampleM, power);
    }
    for (let i = 0; i < samples; i++) {
      const port = powers[0][i]!;
      const starboard = powers[1][i]!;
      const portPower = port + (errors.crosstalk ? CROSSTALK * starboard : 0) + noisePower;
      const starboardPower = starboard + (errors.crosstalk ? CROSSTALK * port : 0) + noisePower;
      let a = 1;
      let b = 1;
      if (errors.speckle) {
        const bits = random.uint32();
        a = RAYLEIGH[bits & 0xffff]!;
        b = RAYLEIGH[bits >>> 16]!;
      }
      out.port[i] = Math.min(FULL_SCALE, Math.round(gain * a * Math.sqrt(portPower)));
      out.starboard[i] = Math.min(FULL_SCALE, Math.round(gain * b * Math.sqrt(starboardPower)));
    }
  };
}

/** Places across the beam in shares of its half-power width, and how much each counts: a bell that is a half at +-0.5. */
function beamOffsets(rays: number): readonly { readonly off: number; readonly weight: number }[] {
  if (!(Number.isInteger(rays) && rays >= 1 && rays % 2 === 1)) throw new RangeError(`rays ${rays}: expected 1, 3, 5, ...`);
  const list = Array.from({ length: rays }, (_, i) => {
    const off = rays === 1 ? 0 : ((i - (rays - 1) / 2) * 1.6) / (rays - 1);
    return { off, weight: Math.exp(-4 * Math.LN2 * off * off) };
  });
  const sum = list.reduce((total, { weight }) => total + weight, 0);
  return list.map(({ off, weight }) => ({ off, weight: weight / sum }));
}
