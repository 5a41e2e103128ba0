import { upperMedianInPlace } from '../base/robust.js';
import type { DepthSeries } from './clean-series.js';

/** Fewer soundings than this make no line. */
const FEWEST = 5;
/** A window in which the boat made less way than this says nothing of the slope [m]. */
const LEAST_WAY_M = 1.5;
/** At most this many soundings of a window are used; more are thinned evenly. */
const MOST = 61;

/**
 * Slope of the bottom along the track at each sounding, deeper ahead positive: the median slope of pairs half a window
 * apart. Worked out every sixth of a window and used for the soundings nearest.
 *
 * @param used 0 where a sounding takes part; the others are given a slope all the same. Shape [n]
 * @param windowS length of the window; at least five soundings to either side whatever their time [s]
 * @returns tangents; NaN where too few soundings are near, or the boat made less than 1.5 m. Shape [n]
 *
 * Source: incomplete Theil-Sen of Kildea (1981), Annals of Statistics 9(4), from memory; half the pairs, a quarter of the
 * soundings, may be bad.
 */
export function alongTrackSlope(series: DepthSeries, used: Uint8Array, windowS: number): Float32Array {
  const { n, timeS, alongM, depthM, starts } = series;
  const slope = new Float32Array(n).fill(NaN);
  const rows = new Int32Array(MOST + 1);
  const work = new Float64Array(MOST + 1);
  for (let stretch = 0; stretch + 1 < starts.length; stretch++) {
    const start = starts[stretch]!;
    const end = starts[stretch + 1]!;
    let from = start;
    let to = start;
    let i = start;
    while (i < end) {
      const middleS = timeS[i]! + windowS / 12;
      let next = i + 1;
      while (next < end && timeS[next]! < timeS[i]! + windowS / 6) next++;
      while (from < end && timeS[from]! < middleS - windowS / 2) from++;
      if (to < from) to = from;
      while (to < end && timeS[to]! <= middleS + windowS / 2) to++;
      const a = Math.max(start, Math.min(from, i - 5));
      const b = Math.min(end, Math.max(to, next + 5));
      const stride = Math.max(1, Math.ceil((b - a) / MOST));
      let count = 0;
      for (let k = a; k < b; k += stride) if (used[k] === 0) rows[count++] = k;
      if (count >= FEWEST && alongM[rows[count - 1]!]! - alongM[rows[0]!]! >= LEAST_WAY_M) {
        const half = count >> 1;
        let pairs = 0;
        for (let k = 0; k + half < count; k++) {
          const run = alongM[rows[k + half]!]! - alongM[rows[k]!]!;
          if (run > 1e-6) work[pairs++] = (depthM[rows[k + half]!]! - depthM[rows[k]!]!) / run;
        }
        slope.fill(upperMedianInPlace(work, pairs), i, next);
      }
      i = next;
    }
  }
  return slope;
}
