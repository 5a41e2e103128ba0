import { MAD_TO_SIGMA, upperMedianInPlace } from '../base/robust.js';
import type { DepthSeries } from './clean-series.js';

export interface LocalLine {
  /** Slope of the bottom along the track, downwards positive [1]; NaN where too few soundings are near or the boat lay still. Shape [n]. */
  readonly slope: Float32Array;
  /** Depth less the line's [m]; NaN where too few soundings are near. */
  readonly restM: Float32Array;
  /** Spread of the depths about the line, one sigma by MAD [m]; NaN likewise. */
  readonly spreadM: Float32Array;
}

/** Fewer soundings than this make no line. */
const FEWEST = 5;
/** A window in which the boat made less way than this says nothing of the slope [m]. */
const LEAST_WAY_M = 1.5;
/** At most this many soundings of a window are used; more are thinned evenly. */
const MOST = 61;

/**
 * A robust straight line through the depths around each sounding: against time windows of `windowS`, by the median slope of
 * pairs half a window apart and the median of what is left. Worked out every sixth of a window and used for the soundings
 * nearest.
 *
 * @param used 0 where a sounding takes part. Its line is given all the same. Shape [n]
 *
 * Source: incomplete Theil-Sen of Kildea (1981), Annals of Statistics 9(4); holds against a quarter of bad points.
 */
export function localLines(series: DepthSeries, used: Uint8Array, windowS: number): LocalLine {
  const { n, timeS, alongM, depthM, starts } = series;
  const slope = new Float32Array(n).fill(NaN);
  const restM = new Float32Array(n).fill(NaN);
  const spreadM = new Float32Array(n).fill(NaN);
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
      let next = i;
      while (next < end && timeS[next]! < timeS[i]! + windowS / 6) next++;
      if (next === i) next = i + 1;
      while (from < end && timeS[from]! < middleS - windowS / 2) from++;
      if (to < from) to = from;
      while (to < end && timeS[to]! <= middleS + windowS / 2) to++;
      // At a low ping rate a window of time holds too little: at least five to either side.
      const a = Math.max(start, Math.min(from, i - 5));
      const b = Math.min(end, Math.max(to, next + 5));
      let count = 0;
      const stride = Math.max(1, Math.ceil((b - a) / MOST));
      for (let k = a; k < b; k += stride) if (used[k] === 0) rows[count++] = k;
      if (count >= FEWEST) {
        const half = count >> 1;
        const wayM = alongM[rows[count - 1]!]! - alongM[rows[0]!]!;
        const origin = alongM[i]!;
        let pairs = 0;
        for (let k = 0; k + half < count; k++) {
          const run = alongM[rows[k + half]!]! - alongM[rows[k]!]!;
          if (run > 1e-6) work[pairs++] = (depthM[rows[k + half]!]! - depthM[rows[k]!]!) / run;
        }
        const lineSlope = pairs === 0 ? 0 : upperMedianInPlace(work, pairs);
        for (let k = 0; k < count; k++) work[k] = depthM[rows[k]!]! - lineSlope * (alongM[rows[k]!]! - origin);
        const rest = upperMedianInPlace(work, count);
        for (let k = 0; k < count; k++) work[k] = Math.abs(work[k]! - rest);
        const spread = MAD_TO_SIGMA * upperMedianInPlace(work, count);
        for (let k = i; k < next; k++) {
          slope[k] = wayM < LEAST_WAY_M ? NaN : lineSlope;
          restM[k] = depthM[k]! - rest - lineSlope * (alongM[k]! - origin);
          spreadM[k] = spread;
        }
      }
      i = next;
    }
  }
  return { slope, restM, spreadM };
}
