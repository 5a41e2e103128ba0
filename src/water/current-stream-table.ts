import type { CurrentField } from './current-field.js';
import { velocityCurve } from './current-curve.js';
import { checkWorth, velocityFromSet, type CurrentWorth } from './current-vector.js';
import type { TideTurn } from './tide-window-turns.js';

/** One hour of a tidal stream table. */
export interface StreamRow {
  /** Hours after high water at the reference port; before it, negative. */
  readonly hour: number;
  /** Direction it flows towards, true [deg]. */
  readonly setDeg: number;
  readonly springMps: number;
  readonly neapMps: number;
}

/** A tidal stream table as a chart prints it: set and rates by hours before and after high water at a reference port. */
export interface StreamTable {
  readonly rows: readonly StreamRow[];
  /** Mean ranges of the tide at the reference port [m]. */
  readonly springRangeM: number;
  readonly neapRangeM: number;
}

/** A high water of the reference port and the range of that tide. */
export interface ReferenceHighWater {
  readonly timeS: number;
  /** [m]; NaN: not known, the mean of spring and neap is taken and the current is worth less. */
  readonly rangeM: number;
}

export interface StreamTableOptions {
  readonly convergenceDeg: number;
  /**
   * Default 0.1 m/s and 0.15 of the rate (common practice): 0.1 m/s is the surface drift under a light breeze, which no table
   * holds; 0.15 of the rate is the stream running twenty minutes before or after its table.
   */
  readonly worth?: CurrentWorth;
  readonly source?: string;
}

const PREDICTED: CurrentWorth = { baseMps: 0.1, share: 0.15 };
/** The table's hours -6 to 6 leave up to 2 h of a long semidiurnal tide; more is a missing high water [s]. */
const TABLE_GAP_S = 2.5 * 3600;

/**
 * The rate of a tidal stream on a day of a given range: on the straight line through neap and spring rate against range,
 * also beyond them; never negative.
 *
 * Source: the interpolation printed with tidal stream tables (common practice):
 * rate = neap + (spring - neap) (range - neap range) / (spring range - neap range).
 */
export function streamRateMps(springMps: number, neapMps: number, rangeM: number, springRangeM: number, neapRangeM: number): number {
  return Math.max(0, neapMps + ((springMps - neapMps) * (rangeM - neapRangeM)) / (springRangeM - neapRangeM));
}

/** High waters with their ranges from turns of the tide: level above the mean of the low waters beside it. */
export function highWatersOf(turns: readonly TideTurn[]): ReferenceHighWater[] {
  const out: ReferenceHighWater[] = [];
  turns.forEach((turn, i) => {
    if (turn.kind !== 'high') return;
    const lows = [turns[i - 1], turns[i + 1]].filter((one): one is TideTurn => one?.kind === 'low');
    const low = lows.reduce((sum, one) => sum + one.levelM, 0) / lows.length;
    out.push({ timeS: turn.timeS, rangeM: lows.length === 0 ? NaN : turn.levelM - low });
  });
  return out;
}

/**
 * The current of a tidal stream table at its high waters, the same all over the survey.
 *
 * Each high water lays the table's hours around it, with rates for its own range; where two tables overlap, the nearer high
 * water counts. Between the hours the parts of the velocity run smoothly, so that a turning stream goes through slack water.
 * Further than the table's hours from a high water, beyond the join to the next (up to 2.5 h), it is not known.
 *
 * @throws RangeError for fewer than two rows, an hour given twice, a negative rate, spring range not above neap range, no high water
 */
export function currentFromStreamTable(table: StreamTable, highWaters: readonly ReferenceHighWater[], options: StreamTableOptions): CurrentField {
  const { convergenceDeg, worth = PREDICTED, source = 'tidal stream table' } = options;
  checkWorth(worth);
  const { springRangeM, neapRangeM } = table;
  if (!(springRangeM > neapRangeM && neapRangeM > 0)) throw new RangeError(`springRangeM ${springRangeM}, neapRangeM ${neapRangeM}: expected spring above neap above 0`);
  const rows = [...table.rows].sort((a, b) => a.hour - b.hour);
  if (rows.length < 2) throw new RangeError(`tidal stream table: ${rows.length} rows: expected two or more`);
  rows.forEach((row, i) => {
    if (!Number.isFinite(row.hour + row.setDeg) || !(row.springMps >= 0 && row.neapMps >= 0)) throw new RangeError(`tidal stream table: hour ${row.hour}: expected a set and rates of 0 or more, found ${row.setDeg}, ${row.springMps}, ${row.neapMps}`);
    if (i > 0 && rows[i - 1]!.hour === row.hour) throw new RangeError(`tidal stream table: hour ${row.hour}: given twice`);
  });
  const highs = highWaters.filter((one) => Number.isFinite(one.timeS)).sort((a, b) => a.timeS - b.timeS);
  if (highs.length === 0) throw new RangeError('tidal stream table: no high water: expected one or more');
  const times: number[] = [];
  const xs: number[] = [];
  const ys: number[] = [];
  highs.forEach((high, k) => {
    const from = k === 0 ? -Infinity : (highs[k - 1]!.timeS + high.timeS) / 2;
    const to = k + 1 === highs.length ? Infinity : (high.timeS + highs[k + 1]!.timeS) / 2;
    const rangeM = Number.isNaN(high.rangeM) ? (springRangeM + neapRangeM) / 2 : high.rangeM;
    for (const row of rows) {
      const timeS = high.timeS + row.hour * 3600;
      // Half-open, so that an hour on the join counts once.
      if (!(timeS >= from && timeS < to) || timeS <= (times[times.length - 1] ?? -Infinity)) continue;
      const [x, y] = velocityFromSet(streamRateMps(row.springMps, row.neapMps, rangeM, springRangeM, neapRangeM), row.setDeg, convergenceDeg);
      times.push(timeS);
      xs.push(x);
      ys.push(y);
    }
  });
  const curve = velocityCurve(Float64Array.from(times), Float64Array.from(xs), Float64Array.from(ys), TABLE_GAP_S);
  // A range that is not known leaves the rate anywhere between neap and spring: half their mean difference, one sigma.
  const meanOf = (pick: (row: StreamRow) => number): number => rows.reduce((sum, row) => sum + pick(row), 0) / rows.length;
  const unknownRange = highs.some((one) => Number.isNaN(one.rangeM));
  const extraMps = unknownRange ? Math.abs(meanOf((row) => row.springMps) - meanOf((row) => row.neapMps)) / 2 : 0;
  return {
    at(_xM, _yM, timeS, out) {
      curve.at(timeS, out);
      const speed = Math.sqrt(out[0]! * out[0]! + out[1]! * out[1]!);
      out[2] = Math.sqrt(worth.baseMps * worth.baseMps + worth.share * worth.share * speed * speed + extraMps * extraMps);
    },
    startS: curve.startS,
    endS: curve.endS,
    maxMps: curve.maxMps,
    source,
  };
}
