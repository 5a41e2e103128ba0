import { indexAtOrBefore } from '../base/interpolate.js';

/**
 * Sound speed by depth, with what follows from it for a vertical beam. Speed runs linearly between the given depths, and is
 * that of the first depth above it and that of the last below it.
 */
export interface SoundProfile {
  /** Below the water surface, rising. Shape of both: [n], n >= 1. */
  readonly depthM: Float64Array;
  readonly soundSpeedMps: Float64Array;
  /** Sound speed at a depth [m/s]. */
  speedAt(depthM: number): number;
  /** Time sound takes straight down from one depth to another [s]; negative upwards. */
  travelTimeS(fromDepthM: number, toDepthM: number): number;
  /** The depth sound reaches straight down from a depth in a time [m]. */
  depthAfter(fromDepthM: number, timeS: number): number;
  /** Harmonic mean sound speed between two depths: the distance over the travel time [m/s]. */
  harmonicMeanMps(fromDepthM: number, toDepthM: number): number;
}

/** Slower or faster than this is not water; a guard against feet, or milliseconds. */
const SPEED_MIN_MPS = 1300;
const SPEED_MAX_MPS = 1800;

/**
 * A profile from measured depths and speeds.
 *
 * @param depthM below the water surface, each deeper than the one before [m]
 * @param soundSpeedMps at those depths [m/s]
 * @throws RangeError where the columns differ in length or are empty, depths do not rise, or a speed is outside 1300..1800 m/s
 *
 * Source: in a layer of linear gradient g the travel time is ln(c2/c1)/g; harmonic mean after IHO C-13 (2005), eq. 3.18.
 */
export function createSoundProfile(depthM: ArrayLike<number>, soundSpeedMps: ArrayLike<number>): SoundProfile {
  const n = depthM.length;
  if (n === 0 || soundSpeedMps.length !== n) throw new RangeError(`profile: ${n} depths and ${soundSpeedMps.length} speeds: expected the same number, at least one`);
  const depths = Float64Array.from(depthM);
  const speeds = Float64Array.from(soundSpeedMps);
  for (let i = 0; i < n; i++) {
    if (!Number.isFinite(depths[i]!)) throw new RangeError(`profile depth ${i + 1}: ${depths[i]}: expected a number`);
    if (i > 0 && depths[i]! <= depths[i - 1]!) throw new RangeError(`profile depth ${i + 1}: ${depths[i]} m after ${depths[i - 1]} m: expected deeper`);
    if (!(speeds[i]! >= SPEED_MIN_MPS && speeds[i]! <= SPEED_MAX_MPS)) {
      throw new RangeError(`profile speed ${i + 1}: ${speeds[i]}: expected ${SPEED_MIN_MPS} to ${SPEED_MAX_MPS} m/s`);
    }
  }
  /** Travel time from depths[0] to each depth. */
  const times = new Float64Array(n);
  for (let i = 1; i < n; i++) times[i] = times[i - 1]! + layerTimeS(depths[i]! - depths[i - 1]!, speeds[i - 1]!, speeds[i]!);

  const speedAt = (depth: number): number => {
    if (Number.isNaN(depth)) return NaN;
    if (depth <= depths[0]!) return speeds[0]!;
    if (depth >= depths[n - 1]!) return speeds[n - 1]!;
    const i = indexAtOrBefore(depths, depth);
    return speeds[i]! + ((speeds[i + 1]! - speeds[i]!) * (depth - depths[i]!)) / (depths[i + 1]! - depths[i]!);
  };
  const timeAt = (depth: number): number => {
    if (!(depth > depths[0]!)) return (depth - depths[0]!) / speeds[0]!;
    if (depth >= depths[n - 1]!) return times[n - 1]! + (depth - depths[n - 1]!) / speeds[n - 1]!;
    const i = indexAtOrBefore(depths, depth);
    return times[i]! + layerTimeS(depth - depths[i]!, speeds[i]!, speedAt(depth));
  };
  const depthAt = (time: number): number => {
    if (!(time > 0)) return depths[0]! + time * speeds[0]!;
    if (time >= times[n - 1]!) return depths[n - 1]! + (time - times[n - 1]!) * speeds[n - 1]!;
    const i = indexAtOrBefore(times, time);
    const gradient = (speeds[i + 1]! - speeds[i]!) / (depths[i + 1]! - depths[i]!);
    const since = time - times[i]!;
    const power = gradient * since;
    // dz/dt = c1 + g z: z = c1 (e^(g t) - 1) / g, which is c1 t where g is nothing.
    return depths[i]! + speeds[i]! * since * (Math.abs(power) < 1e-12 ? 1 : Math.expm1(power) / power);
  };
  return {
    depthM: depths,
    soundSpeedMps: speeds,
    speedAt,
    travelTimeS: (from, to) => timeAt(to) - timeAt(from),
    depthAfter: (from, timeS) => depthAt(timeAt(from) + timeS),
    harmonicMeanMps: (from, to) => (from === to ? speedAt(from) : (to - from) / (timeAt(to) - timeAt(from))),
  };
}

/** A profile of one speed at every depth. Throws as `createSoundProfile`. */
export function uniformSoundProfile(soundSpeedMps: number): SoundProfile {
  return createSoundProfile([0], [soundSpeedMps]);
}

/**
 * The true distance below the transducer from the one the instrument gave.
 *
 * The instrument took a travel time and multiplied it by the speed it was set to; that time is run through the profile from
 * the transducer down. This is measured x c_h/c_set with c_h the harmonic mean over the very column of water passed.
 *
 * @param measuredM below the transducer, as the instrument gave it [m]
 * @param soundSpeedSetMps speed the instrument was set to [m/s]
 * @param transducerDepthM transducer below the water surface [m]
 * @returns distance below the transducer [m]; NaN for NaN
 */
export function correctForSoundSpeed(measuredM: number, soundSpeedSetMps: number, transducerDepthM: number, profile: SoundProfile): number {
  return profile.depthAfter(transducerDepthM, measuredM / soundSpeedSetMps) - transducerDepthM;
}

/** Largest difference of speed between two profiles, over the depths both have [m/s]. */
export function mostApartMps(one: SoundProfile, two: SoundProfile): number {
  const reach = Math.min(one.depthM.at(-1)!, two.depthM.at(-1)!);
  let most = 0;
  for (let k = 0; k <= 20; k++) most = Math.max(most, Math.abs(one.speedAt((reach * k) / 20) - two.speedAt((reach * k) / 20)));
  return most;
}

/** Time through a layer whose speed runs linearly from one end to the other: ln(c2/c1)/g, without dividing by a small g. */
function layerTimeS(thicknessM: number, fromMps: number, toMps: number): number {
  const growth = (toMps - fromMps) / fromMps;
  return (thicknessM / fromMps) * (Math.abs(growth) < 1e-12 ? 1 : Math.log1p(growth) / growth);
}
