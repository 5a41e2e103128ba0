import { quantileInPlace } from '../base/statistics.js';

/** Pings on either side of a run that show how often equal depths come honestly. */
const SURROUNDINGS = 400;
/** Expected number of honest runs called frozen in a whole series. */
const FALSE_ALARMS = 1e-3;
/** Where a larger share of pings equal the one before, runs follow the shape of the bottom. */
const QUIET_SHARE = 0.25;
/** There a run must be this many times the longest other, or end with a leap. */
const TIMES_LONGEST = 10;

/**
 * Marks runs of equal depths that are too long to be honest: a frozen instrument.
 *
 * An instrument that gives decimetres over a flat bottom repeats honestly, and often. So a run is held against the pings
 * around it: where a share p of those equal the one before, an honest run of L has a chance of about p^(L-1); only a run so
 * long that less than a thousandth of one is expected in the series can be frozen, and never one of fewer than `repeatCount`.
 *
 * Where a quarter or more equal the one before, the instrument's steps are coarser than its noise, and runs are as long as the
 * bottom is level: longest on a crest or in a trough. There a run is frozen only if the next depth leaps by more than a step
 * of the instrument, or if the run is ten times the longest other.
 *
 * The first ping of a run is kept: it is the last honest one.
 *
 * @param depthM as the instrument gave them, in time order; NaN breaks a run. Shape [n]
 * @param maxStepS a longer silence breaks a run [s]
 * @param repeated set to 1 where frozen. Shape [n]
 */
export function markRepeated(depthM: ArrayLike<number>, timeS: ArrayLike<number>, maxStepS: number, repeatCount: number, repeated: Uint8Array): void {
  const n = depthM.length;
  const joined = (i: number): boolean => i > 0 && i < n && timeS[i]! - timeS[i - 1]! <= maxStepS && !Number.isNaN(depthM[i]!) && !Number.isNaN(depthM[i - 1]!);
  // equalBefore[i]: pairs (k - 1, k) of equal depths with k < i; pairsBefore likewise for all pairs of two depths.
  const equalBefore = new Uint32Array(n + 1);
  const pairsBefore = new Uint32Array(n + 1);
  const changes = new Float64Array(n);
  let changed = 0;
  for (let i = 0; i < n; i++) {
    const pair = joined(i);
    const equal = pair && depthM[i] === depthM[i - 1];
    pairsBefore[i + 1] = pairsBefore[i]! + (pair ? 1 : 0);
    equalBefore[i + 1] = equalBefore[i]! + (equal ? 1 : 0);
    if (pair && !equal) changes[changed++] = Math.abs(depthM[i]! - depthM[i - 1]!);
  }
  /** The instrument's smallest step; the smallest changes themselves may be rounding. */
  const stepM = quantileInPlace(changes.subarray(0, changed), 0.02);

  const longestWithin = (from: number, to: number): number => {
    let longest = 0;
    let length = 0;
    for (let k = from; k < to; k++) {
      length = joined(k) && k > from && depthM[k] === depthM[k - 1] ? length + 1 : 1;
      if (length > longest) longest = length;
    }
    return longest;
  };

  let start = 0;
  for (let i = 1; i <= n; i++) {
    if (joined(i) && depthM[i] === depthM[start]) continue;
    const length = i - start;
    if (length >= repeatCount) {
      const from = Math.max(0, start - SURROUNDINGS);
      const to = Math.min(n, i + SURROUNDINGS);
      const equal = equalBefore[to]! - equalBefore[from]! - (length - 1);
      const pairs = pairsBefore[to]! - pairsBefore[from]! - (length - 1);
      // One equal and one unequal pair are added, so that no surroundings prove anything to certainty.
      const share = (equal + 1) / (pairs + 2);
      if ((length - 1) * Math.log(share) < Math.log(FALSE_ALARMS / n)) {
        const leaps = joined(i) && Math.abs(depthM[i]! - depthM[i - 1]!) > 1.5 * stepM;
        const longest = share < QUIET_SHARE ? 0 : Math.max(longestWithin(from, start), longestWithin(i, to));
        if (share < QUIET_SHARE || leaps || length >= TIMES_LONGEST * longest) repeated.fill(1, start + 1, i);
      }
    }
    start = i;
  }
}
