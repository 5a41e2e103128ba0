import type { CurrentField } from './current-field.js';
import { velocityCurve } from './current-curve.js';
import { checkWorth, velocityFromEastNorth, velocityFromSet, type CurrentWorth } from './current-vector.js';

/** A current in time at one place: either speed and set, or parts towards true east and north. Columns of one length. */
export interface CurrentSeries {
  /** UTC seconds since 1970, in any order. */
  readonly timeS: Float64Array;
  readonly velocity:
    | { readonly kind: 'set'; readonly speedMps: Float64Array; /** Direction it flows towards, true [deg]. */ readonly setDeg: Float64Array }
    | { readonly kind: 'parts'; readonly eastMps: Float64Array; readonly northMps: Float64Array };
  /** One sigma of either part where the file says so [m/s]; NaN where it does not. */
  readonly sigmaMps: Float64Array | null;
}

export interface SeriesOptions {
  /** `convergenceDeg(frame, x, y)` at the survey [deg]. */
  readonly convergenceDeg: number;
  /** Readings further apart are not joined [s]; default two hours and a second: one hourly reading may be missing. */
  readonly maxGapS?: number;
  /** Default: 0.05 m/s (what a common current meter is good for, and what a survey's width changes) and a tenth of the speed (common practice). */
  readonly worth?: CurrentWorth;
  readonly source?: string;
}

/** One hourly reading may be missing. */
export const CURRENT_GAP_S = 2 * 3600 + 1;
const MEASURED: CurrentWorth = { baseMps: 0.05, share: 0.1 };

/**
 * The current of a time series, the same all over the survey.
 *
 * Its parts, not its set, are interpolated, so that a stream that turns goes through slack water.
 * Rows with NaN in time, speed or set are passed over.
 *
 * @throws RangeError for columns of different length, two velocities at one time, a negative speed, or no row at all
 */
export function currentFromSeries(series: CurrentSeries, options: SeriesOptions): CurrentField {
  const { convergenceDeg, maxGapS = CURRENT_GAP_S, worth = MEASURED, source = 'time series' } = options;
  checkWorth(worth);
  const { timeS, velocity, sigmaMps } = series;
  const [first, second] = velocity.kind === 'set' ? [velocity.speedMps, velocity.setDeg] : [velocity.eastMps, velocity.northMps];
  if (first.length !== timeS.length || second.length !== timeS.length || (sigmaMps !== null && sigmaMps.length !== timeS.length)) {
    throw new RangeError(`current series: ${timeS.length} times, ${first.length} and ${second.length} values: expected columns of one length`);
  }
  const order = Array.from(timeS, (_, i) => i)
    .filter((i) => Number.isFinite(timeS[i]! + first[i]! + second[i]!))
    .sort((a, b) => timeS[a]! - timeS[b]!);
  const rows = order.filter((row, i) => {
    const before = order[i - 1];
    if (before === undefined || timeS[before] !== timeS[row]) return true;
    if (first[before] !== first[row] || second[before] !== second[row]) throw new RangeError(`current series: two velocities at the same time ${timeS[row]}: expected one a time`);
    return false;
  });
  if (rows.length === 0) throw new RangeError('current series: no row with time and velocity: expected one or more');
  const n = rows.length;
  const times = Float64Array.from(rows, (row) => timeS[row]!);
  const xMps = new Float64Array(n);
  const yMps = new Float64Array(n);
  const stated = new Float64Array(n);
  rows.forEach((row, i) => {
    if (velocity.kind === 'set' && !(first[row]! >= 0)) throw new RangeError(`current series: speed ${first[row]} at time ${timeS[row]}: expected 0 or more`);
    const [x, y] = velocity.kind === 'set' ? velocityFromSet(first[row]!, second[row]!, convergenceDeg) : velocityFromEastNorth(first[row]!, second[row]!, convergenceDeg);
    xMps[i] = x;
    yMps[i] = y;
    const sigma = sigmaMps?.[row] ?? NaN;
    stated[i] = sigma >= 0 ? sigma : Math.hypot(worth.baseMps, worth.share * Math.hypot(x, y));
  });
  const curve = velocityCurve(times, xMps, yMps, maxGapS);
  const sigmas = velocityCurve(times, stated, new Float64Array(n), maxGapS);
  const scratch = new Float64Array(2);
  return {
    at(_xM, _yM, time, out) {
      curve.at(time, out);
      sigmas.at(time, scratch);
      out[2] = Math.max(0, scratch[0]!);
      if (Number.isNaN(out[0]!)) out[2] = NaN;
    },
    startS: times[0]!,
    endS: times[n - 1]!,
    maxMps: curve.maxMps,
    source,
  };
}
