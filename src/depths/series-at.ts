import { interpolateAt } from '../base/interpolate.js';
import type { SeriesColumns } from '../base/observations.js';
import { timeOrder } from './track.js';

/**
 * A series that several logs may carry, at wanted times: straight between its samples; the earliest log that has it counts.
 *
 * @param addS added to logged times to get UTC [s]
 * @param maxGapS samples further apart are not joined [s]
 * @returns NaN where no log has it. Shape [n]
 */
export function seriesAt(series: readonly (SeriesColumns | undefined)[], wantedS: Float64Array, addS: number, maxGapS: number): Float64Array {
  const found = new Float64Array(wantedS.length).fill(NaN);
  for (const one of series) {
    if (one === undefined || one.n === 0) continue;
    const order = timeOrder(one.timeS, one.n).filter((row) => Number.isFinite(one.timeS[row]!));
    const timeS = Float64Array.from(order, (row) => one.timeS[row]! + addS);
    const value = Float64Array.from(order, (row) => one.value[row]!);
    const at = interpolateAt(timeS, value, wantedS, maxGapS);
    for (let i = 0; i < found.length; i++) if (Number.isNaN(found[i]!)) found[i] = at[i]!;
  }
  return found;
}

/** Half of the time over which a rate is taken [s]: a wave of a small boat takes 2 s and more. */
const RATE_REACH_S = 0.1;

/** How fast such a series changes, per second; 0 where it is not known. Shape [n] */
export function rateAt(series: readonly (SeriesColumns | undefined)[], wantedS: Float64Array, addS: number, maxGapS: number): Float32Array {
  const rate = new Float32Array(wantedS.length);
  if (series.every((one) => one === undefined || one.n === 0)) return rate;
  const before = seriesAt(series, wantedS.map((time) => time - RATE_REACH_S), addS, maxGapS);
  const after = seriesAt(series, wantedS.map((time) => time + RATE_REACH_S), addS, maxGapS);
  for (let i = 0; i < rate.length; i++) rate[i] = (after[i]! - before[i]!) / (2 * RATE_REACH_S) || 0;
  return rate;
}
