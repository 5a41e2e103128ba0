/** Pings on either side of a run that show how often equal depths come honestly. */
const SURROUNDINGS = 400;
/** Expected number of honest runs called frozen in a whole series. */
const FALSE_ALARMS = 1e-3;

/**
 * Marks runs of equal depths that are too long to be honest: a frozen instrument.
 *
 * An instrument that gives decimetres over a flat bottom repeats honestly, and often. So a run is held against the pings
 * around it: where a share p of those equal the one before, an honest run of L has a chance of about p^(L-1); only a run so
 * long that less than a thousandth of one is expected in the series is called frozen, and never one of fewer than
 * `repeatCount`. The first ping of a run is kept: it is the last honest one.
 *
 * @param depthM as the instrument gave them, in time order; NaN breaks a run. Shape [n]
 * @param timeS a step longer than maxStepS breaks a run [s]
 * @param repeated set to 1 where frozen. Shape [n]
 */
export function markRepeated(depthM: ArrayLike<number>, timeS: ArrayLike<number>, maxStepS: number, repeatCount: number, repeated: Uint8Array): void {
  const n = depthM.length;
  // equalBefore[i]: pairs (k - 1, k) of equal depths with k < i; pairsBefore likewise for all pairs of two depths.
  const equalBefore = new Uint32Array(n + 1);
  const pairsBefore = new Uint32Array(n + 1);
  const joined = (i: number): boolean => i > 0 && timeS[i]! - timeS[i - 1]! <= maxStepS && !Number.isNaN(depthM[i]!) && !Number.isNaN(depthM[i - 1]!);
  for (let i = 0; i < n; i++) {
    const pair = joined(i);
    pairsBefore[i + 1] = pairsBefore[i]! + (pair ? 1 : 0);
    equalBefore[i + 1] = equalBefore[i]! + (pair && depthM[i] === depthM[i - 1] ? 1 : 0);
  }
  let start = 0;
  for (let i = 1; i <= n; i++) {
    if (i < n && joined(i) && depthM[i] === depthM[start]) continue;
    const length = i - start;
    if (length >= repeatCount) {
      const from = Math.max(0, start - SURROUNDINGS);
      const to = Math.min(n, i + SURROUNDINGS);
      const equal = equalBefore[to]! - equalBefore[from]! - (length - 1);
      const pairs = pairsBefore[to]! - pairsBefore[from]! - (length - 1);
      // One equal and one unequal pair are added, so that no surroundings prove anything to certainty.
      const share = (equal + 1) / (pairs + 2);
      if ((length - 1) * Math.log(share) < Math.log(FALSE_ALARMS / n)) repeated.fill(1, start + 1, i);
    }
    start = i;
  }
}
