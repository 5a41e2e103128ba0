import { UseError } from '../base/errors.js';
import { constantCurrent, type CurrentField } from './current-field.js';
import { currentFromConstituents, type CurrentConstituents } from './current-constituents.js';
import { currentFromSeries, type CurrentSeries } from './current-series.js';
import { currentFromStreamTable, highWatersOf, type ReferenceHighWater, type StreamRow } from './current-stream-table.js';
import { velocityFromSet, type CurrentWorth } from './current-vector.js';
import type { WaterLevel } from './level.js';
import { predictTide, type TideConstituent } from './tide.js';
import { tideTurns, type TideTurn } from './tide-window-turns.js';

/** What a current file holds, whatever it was written in. */
export type ParsedCurrent =
  | { readonly kind: 'series'; readonly series: CurrentSeries }
  | { readonly kind: 'constituents'; readonly stream: CurrentConstituents }
  | { readonly kind: 'constant'; readonly speedMps: number; readonly setDeg: number; /** NaN where not stated. */ readonly sigmaMps: number }
  | {
      readonly kind: 'stream-table';
      readonly rows: readonly StreamRow[];
      /** Mean ranges at the reference port [m]; NaN where the file does not say. */
      readonly springRangeM: number;
      readonly neapRangeM: number;
      readonly reference: StreamReference | null;
    };

/** Where a stream table's high waters come from. */
export type StreamReference =
  | { readonly kind: 'high-waters'; readonly highWaters: readonly ReferenceHighWater[] }
  | { readonly kind: 'turns'; readonly turns: readonly TideTurn[] }
  | { readonly kind: 'tide'; readonly meanLevelM: number; readonly constituents: readonly TideConstituent[] };

export interface ParsedCurrentOptions {
  /** `convergenceDeg(frame, x, y)` at the survey [deg]. */
  readonly convergenceDeg: number;
  /** The span the current is wanted for: a stream table lays its high waters through it [UTC s]. */
  readonly startS: number;
  readonly endS: number;
  /** The survey's own tide, for a stream table without a reference of its own. */
  readonly level?: WaterLevel;
  readonly springRangeM?: number;
  readonly neapRangeM?: number;
  readonly worth?: CurrentWorth;
  readonly maxGapS?: number;
  /** The file's name, for messages. */
  readonly source: string;
}

const DAY_S = 86_400;
/** One sigma of a current that is only said, not measured: the drift under a light breeze (common practice) [m/s]. */
const STATED_SIGMA_MPS = 0.1;

/**
 * The current of a file for a span of time.
 *
 * @throws UseError where a stream table lacks ranges or high waters; RangeError as the sources themselves, in words for the user
 */
export function currentFromParsed(parsed: ParsedCurrent, options: ParsedCurrentOptions): CurrentField {
  const { convergenceDeg, worth, source, maxGapS } = options;
  const shared = { convergenceDeg, source, ...(worth === undefined ? {} : { worth }) };
  switch (parsed.kind) {
    case 'series':
      return currentFromSeries(parsed.series, { ...shared, ...(maxGapS === undefined ? {} : { maxGapS }) });
    case 'constituents':
      return currentFromConstituents(parsed.stream, shared);
    case 'constant': {
      const [xMps, yMps] = velocityFromSet(parsed.speedMps, parsed.setDeg, convergenceDeg);
      const stated = worth === undefined ? STATED_SIGMA_MPS : Math.hypot(worth.baseMps, worth.share * parsed.speedMps);
      return constantCurrent(xMps, yMps, Number.isNaN(parsed.sigmaMps) ? stated : parsed.sigmaMps, source);
    }
    case 'stream-table': {
      const springRangeM = Number.isNaN(parsed.springRangeM) ? (options.springRangeM ?? NaN) : parsed.springRangeM;
      const neapRangeM = Number.isNaN(parsed.neapRangeM) ? (options.neapRangeM ?? NaN) : parsed.neapRangeM;
      if (Number.isNaN(springRangeM + neapRangeM)) {
        throw new UseError(`${source}: a tidal stream table needs the mean spring and neap range of its reference port: expected springRangeM and neapRangeM, found none; put "# springRangeM: 4.6" and "# neapRangeM: 2.2" before its header`, { path: source });
      }
      return currentFromStreamTable({ rows: parsed.rows, springRangeM, neapRangeM }, highWatersFor(parsed.reference, options), shared);
    }
  }
}

/** The reference high waters from a day before the span to a day after it. @throws UseError where nothing says when high water is */
function highWatersFor(reference: StreamReference | null, { startS, endS, level, source }: ParsedCurrentOptions): ReferenceHighWater[] {
  const within = (high: ReferenceHighWater): boolean => high.timeS >= startS - DAY_S && high.timeS <= endS + DAY_S;
  const fromLevel = (tide: WaterLevel): ReferenceHighWater[] => highWatersOf(tideTurns(tide, startS - DAY_S, endS + DAY_S));
  const highs =
    reference === null
      ? level === undefined
        ? null
        : fromLevel(level)
      : reference.kind === 'high-waters'
        ? reference.highWaters.filter(within)
        : reference.kind === 'turns'
          ? highWatersOf(reference.turns).filter(within)
          : fromLevel(predictTide(reference.constituents, reference.meanLevelM));
  if (highs === null || highs.length === 0) {
    throw new UseError(`${source}: no high water of the reference port within a day of the time wanted: expected a list of high waters or constituents, found none there; give them with the table, or predict the tide of the survey`, { path: source });
  }
  return highs;
}
