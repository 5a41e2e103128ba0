import { indexAtOrBefore } from '../base/interpolate.js';

/** The height of the water above the survey datum at any time: observed, predicted or constant. */
export interface WaterLevel {
  /** Water level above datum [m]; NaN where it is not known. Times in any order. Shape: that of timeS. */
  levelsAt(timeS: Float64Array): Float64Array;
  /** First and last time it is known for [UTC s]; left out where it is known at all times. */
  readonly startS?: number;
  readonly endS?: number;
  /** The file it comes from, for messages. */
  readonly source?: string;
}

/** A level that does not change; 0 where depths are below the water surface itself. */
export function constantLevel(levelM: number): WaterLevel {
  if (!Number.isFinite(levelM)) throw new RangeError(`levelM ${levelM}: expected a number`);
  return { levelsAt: (timeS) => Float64Array.from(timeS, (time) => (Number.isNaN(time) ? NaN : levelM)) };
}

/**
 * A level read off an observed series.
 *
 * Between two readings runs a cubic that takes its slopes from the readings on either side. A straight line would do for
 * readings every 6 minutes (0.3 mm off at the high water of a metre of semidiurnal tide), but misses 32 mm with hourly ones,
 * as much as the rest of the budget; the cubic misses at most 2.3 mm. Readings at a third of the interval or nearer are passed
 * over for the slope, so that uneven readings cannot throw the curve about and a gap in dense ones is bridged as the tide
 * runs; where there is none further back, the slope is that of the straight line.
 *
 * @param timeS times of the readings, in any order [s]; rows with NaN in either column are passed over
 * @param levelM level above datum at those times [m]
 * @param maxGapS readings further apart than this are not joined [s]
 * @returns levels NaN before the first reading, after the last, and inside a longer gap
 * @throws RangeError where the columns differ in length, maxGapS is not positive, or one time has two different levels
 */
export function seriesLevel(timeS: ArrayLike<number>, levelM: ArrayLike<number>, maxGapS: number): WaterLevel {
  if (timeS.length !== levelM.length) throw new RangeError(`level series: ${timeS.length} times and ${levelM.length} levels: expected the same number`);
  if (!(maxGapS > 0)) throw new RangeError(`maxGapS ${maxGapS}: expected more than 0`);
  const order = Array.from({ length: timeS.length }, (_, i) => i)
    .filter((i) => Number.isFinite(timeS[i]!) && Number.isFinite(levelM[i]!))
    .sort((a, b) => timeS[a]! - timeS[b]!);
  const kept = order.filter((row, i) => {
    const before = order[i - 1];
    if (before === undefined || timeS[before] !== timeS[row]) return true;
    if (levelM[before] !== levelM[row]) throw new RangeError(`level series: ${levelM[before]} m and ${levelM[row]} m at the same time ${timeS[row]}: expected one level a time`);
    return false;
  });
  const times = Float64Array.from(kept, (row) => timeS[row]!);
  const levels = Float64Array.from(kept, (row) => levelM[row]!);
  const n = times.length;

  /** Slope at reading k as seen from the interval between k and its neighbour on the side `side` (+1 or -1). */
  const slopeAt = (k: number, side: 1 | -1): number => {
    const chord = (levels[k + side]! - levels[k]!) / (times[k + side]! - times[k]!);
    const here = Math.abs(times[k + side]! - times[k]!);
    let other = k - side;
    // A reading close by says little of the slope over a long interval, and its noise much: one further back counts.
    const joined = (at: number): boolean => at - side >= 0 && at - side < n && Math.abs(times[at]! - times[at - side]!) <= maxGapS;
    while (other >= 0 && other < n && here >= 3 * Math.abs(times[k]! - times[other]!) && joined(other)) other -= side;
    if (other < 0 || other >= n) return chord;
    const there = Math.abs(times[k]! - times[other]!);
    if (there > maxGapS || here >= 3 * there) return chord;
    const otherChord = (levels[k]! - levels[other]!) / (times[k]! - times[other]!);
    return (there * chord + here * otherChord) / (here + there);
  };

  const levelAt = (time: number, hint: number): { level: number; at: number } => {
    if (n === 0 || !(time >= times[0]! && time <= times[n - 1]!)) return { level: NaN, at: hint };
    const low = indexAtOrBefore(times, time, hint);
    if (times[low] === time) return { level: levels[low]!, at: low };
    const gapS = times[low + 1]! - times[low]!;
    if (gapS > maxGapS) return { level: NaN, at: low };
    const share = (time - times[low]!) / gapS;
    const rest = 1 - share;
    const level =
      rest * rest * ((1 + 2 * share) * levels[low]! + share * gapS * slopeAt(low, 1)) +
      share * share * ((1 + 2 * rest) * levels[low + 1]! - rest * gapS * slopeAt(low + 1, -1));
    return { level, at: low };
  };
  return {
    ...(n > 0 ? { startS: times[0]!, endS: times[n - 1]! } : {}),
    levelsAt(wantedS) {
      const result = new Float64Array(wantedS.length);
      let hint = 0;
      for (let i = 0; i < wantedS.length; i++) {
        const found = levelAt(wantedS[i]!, hint);
        result[i] = found.level;
        hint = found.at;
      }
      return result;
    },
  };
}
