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
