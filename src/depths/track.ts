import { MAD_TO_SIGMA } from '../base/robust.js';
import { quantile } from '../base/statistics.js';

/** Where the antenna was, in time order, one position a time. Shape of every column: [n]. */
export interface Track {
  readonly n: number;
  /** UTC, clock offset and latency applied; rising [s]. */
  readonly timeS: Float64Array;
  /** Antenna in the survey frame [m]. */
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** One-sigma horizontal error in one dimension [m]. */
  readonly sigmaM: Float32Array;
  /** Course [deg true] and speed over ground [m/s] as logged; NaN where not. */
  readonly courseDeg: Float32Array;
  readonly speedMps: Float32Array;
  /** GGA quality as in FixColumns. */
  readonly quality: Uint8Array;
  /** 1 where the position jumped: not to be used. */
  readonly jump: Uint8Array;
  readonly log: Uint16Array;
  readonly record: Uint32Array;
}

/**
 * How much neighbouring positions differ from a smooth path, one dimension, one sigma [m]: the noise between fixes, which
 * may be far less than their error. From each position's distance to the middle of its neighbours, by the median.
 *
 * @param maxGapS neighbours further apart are passed over [s]
 * @returns NaN where there are no three neighbours
 */
export function trackNoiseM(track: Pick<Track, 'n' | 'timeS' | 'xM' | 'yM'>, maxGapS = 10): number {
  const { n, timeS, xM, yM } = track;
  const off = new Float64Array(2 * Math.max(0, n - 2));
  let count = 0;
  for (let i = 1; i + 1 < n; i++) {
    const spanS = timeS[i + 1]! - timeS[i - 1]!;
    if (!(spanS > 0 && spanS <= maxGapS)) continue;
    const share = (timeS[i]! - timeS[i - 1]!) / spanS;
    // The variance of the difference is that of a position times 1 + share^2 + (1 - share)^2.
    const scale = Math.sqrt(1 + share * share + (1 - share) * (1 - share));
    off[count++] = Math.abs(xM[i]! - xM[i - 1]! - share * (xM[i + 1]! - xM[i - 1]!)) / scale;
    off[count++] = Math.abs(yM[i]! - yM[i - 1]! - share * (yM[i + 1]! - yM[i - 1]!)) / scale;
  }
  return count === 0 ? NaN : MAD_TO_SIGMA * quantile(off.subarray(0, count), 0.5);
}

/** Rows 0 to n - 1 by rising time; rows of equal time in the order they came. */
export function timeOrder(timeS: Float64Array, n: number): Uint32Array {
  const order = Uint32Array.from({ length: n }, (_, i) => i);
  for (let i = 1; i < n; i++) {
    if (timeS[i]! < timeS[i - 1]!) return order.sort((a, b) => timeS[a]! - timeS[b]! || a - b);
  }
  return order;
}
