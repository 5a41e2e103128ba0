import type { Random } from '../base/random.js';
import type { BoatPath } from './boat-path.js';
import { createGaussMarkov, createSwell } from './random-process.js';

/** How the boat keeps to its path. */
export interface BoatHandling {
  /** Root mean square of the distance off the path [m]. */
  readonly crossTrackM: number;
  /** Speed variation, one sigma, as a share. */
  readonly speedShare: number;
  readonly rollDeg: number;
  readonly pitchDeg: number;
  /** One sigma [m]. */
  readonly heaveM: number;
}

/** Where the boat is and how it lies at one time. */
export interface BoatState {
  /** Reference point in the frame [m]. */
  xM: number;
  yM: number;
  /** Clockwise from grid north [rad]. */
  headingRad: number;
  /** Over the ground, in frame metres [m/s]. */
  velocityEastMps: number;
  velocityNorthMps: number;
  /** Starboard down and bow up positive [rad]. */
  rollRad: number;
  pitchRad: number;
  /** Up positive [m]. */
  heaveM: number;
}

/** A trip made: the boat's state at any time of it. */
export interface BoatMotion {
  readonly startS: number;
  readonly endS: number;
  /** Fills `out`; before the start and after the end the boat lies where it was. */
  stateInto(timeS: number, out: BoatState): void;
}

const STEP_S = 0.1;
/** Current in frame directions: sets to the east-north-east, slackens and turns with the tide. */
const CURRENT_EAST_MPS = 0.2;
const CURRENT_NORTH_MPS = 0.06;

/**
 * Drives the boat along a path: speed with a lag of 1.2 s and slow variations, a smooth cross-track error correlated over
 * some seconds, a heading that points up against the current (crab), and roll, pitch and heave as sums of sines.
 *
 * @throws RangeError where the path takes more than ten days
 */
export function driveBoat(path: BoatPath, startS: number, handling: BoatHandling, random: Random): BoatMotion {
  const { xM, yM, alongM, speedMps } = path;
  const lengthM = alongM[alongM.length - 1]!;
  const speedNoise = createGaussMarkov(random.fork('speed'), handling.speedShare, 8);
  // A Gauss-Markov value (9 s) through a lag of 3 s has 9 / (9 + 3) of its variance: made good here.
  const offNoise = createGaussMarkov(random.fork('cross-track'), handling.crossTrackM * Math.sqrt(12 / 9), 9);
  const lag = 1 - Math.exp(-STEP_S / 3);
  const ways = directions(xM, yM);
  const xs: number[] = [];
  const ys: number[] = [];
  let along = 0;
  let speed = 0;
  let off = 0;
  let i = 0;
  for (let step = 0; along < lengthM; step++) {
    if (step > 10 * 86_400 / STEP_S) throw new RangeError('path: takes more than ten days');
    while (i + 2 < alongM.length && alongM[i + 1]! <= along) i++;
    const spanM = alongM[i + 1]! - alongM[i]!;
    const share = spanM > 0 ? (along - alongM[i]!) / spanM : 0;
    const dx = ways.x[i]! + share * (ways.x[i + 1]! - ways.x[i]!);
    const dy = ways.y[i]! + share * (ways.y[i + 1]! - ways.y[i]!);
    off += (offNoise.at(step * STEP_S) - off) * lag;
    xs.push(xM[i]! + share * (xM[i + 1]! - xM[i]!) + off * dy);
    ys.push(yM[i]! + share * (yM[i + 1]! - yM[i]!) - off * dx);
    const wanted = speedMps[i]! * Math.max(0.3, 1 + speedNoise.at(step * STEP_S));
    speed += (wanted - speed) * (1 - Math.exp(-STEP_S / 1.2));
    along += Math.max(speed, 0.05) * STEP_S;
  }
  const n = xs.length;
  // No boat turns a corner at once: the way is evened out over about a second, twice.
  const x = evenOut(evenOut(Float64Array.from(xs)));
  const y = evenOut(evenOut(Float64Array.from(ys)));
  const headingRad = steer(x, y, startS);
  const roll = createSwell(random.fork('roll'), (handling.rollDeg * Math.PI) / 180, 1.4, 3.5, 6);
  const pitch = createSwell(random.fork('pitch'), (handling.pitchDeg * Math.PI) / 180, 1.4, 3.5, 6);
  const heave = createSwell(random.fork('heave'), handling.heaveM, 1.8, 5, 7);
  return {
    startS,
    endS: startS + (n - 1) * STEP_S,
    stateInto(timeS, out) {
      const at = Math.min(Math.max((timeS - startS) / STEP_S, 0), n - 1.000001);
      const k = Math.max(0, Math.min(Math.floor(at), n - 2));
      const share = at - k;
      out.xM = x[k]! + share * (x[k + 1]! - x[k]!);
      out.yM = y[k]! + share * (y[k + 1]! - y[k]!);
      out.headingRad = headingRad[k]! + share * (headingRad[k + 1]! - headingRad[k]!);
      out.velocityEastMps = (x[k + 1]! - x[k]!) / STEP_S;
      out.velocityNorthMps = (y[k + 1]! - y[k]!) / STEP_S;
      out.rollRad = roll(timeS);
      out.pitchRad = pitch(timeS);
      out.heaveM = heave(timeS);
    },
  };
}

/** The current at a time, in the frame [m/s, m/s]. */
export function currentMps(timeS: number): [number, number] {
  const strength = Math.cos((2 * Math.PI * (timeS % 44_712)) / 44_712 + 1.1);
  return [CURRENT_EAST_MPS * strength, CURRENT_NORTH_MPS * strength];
}

/** Running mean over 0.9 s; over less at the ends. */
function evenOut(values: Float64Array): Float64Array {
  const n = values.length;
  return values.map((_, i) => {
    const reach = Math.min(4, i, n - 1 - i);
    let sum = 0;
    for (let k = i - reach; k <= i + reach; k++) sum += values[k]!;
    return sum / (2 * reach + 1);
  });
}

/** Unit direction of the way at each of its points, from the points on either side. */
function directions(xM: Float64Array, yM: Float64Array): { x: Float64Array; y: Float64Array } {
  const n = xM.length;
  const x = new Float64Array(n);
  const y = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const before = Math.max(0, i - 1);
    const after = Math.min(n - 1, i + 1);
    const length = Math.hypot(xM[after]! - xM[before]!, yM[after]! - yM[before]!);
    if (!(length > 0)) continue;
    x[i] = (xM[after]! - xM[before]!) / length;
    y[i] = (yM[after]! - yM[before]!) / length;
  }
  return { x, y };
}

/** Headings that go with the way made good and the current, smoothed over 1 s, without leaps at north [rad]. */
function steer(x: Float64Array, y: Float64Array, startS: number): Float64Array {
  const n = x.length;
  const heading = new Float64Array(n);
  let turned = 0;
  let last = NaN;
  let smooth = NaN;
  for (let i = 0; i < n; i++) {
    const k = Math.min(i, n - 2);
    const [currentEast, currentNorth] = currentMps(startS + i * STEP_S);
    const throughEast = (x[k + 1]! - x[k]!) / STEP_S - currentEast;
    const throughNorth = (y[k + 1]! - y[k]!) / STEP_S - currentNorth;
    const pointed = Math.atan2(throughEast, throughNorth);
    if (!Number.isNaN(last)) {
      if (pointed - last > Math.PI) turned -= 2 * Math.PI;
      if (pointed - last < -Math.PI) turned += 2 * Math.PI;
    }
    last = pointed;
    const unwrapped = pointed + turned;
    smooth = Number.isNaN(smooth) ? unwrapped : smooth + (unwrapped - smooth) * (1 - Math.exp(-STEP_S));
    heading[i] = smooth;
  }
  return heading;
}
