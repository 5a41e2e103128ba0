import { median } from '../base/robust.js';
import { crossingCauses, type CrossingCause, type CrossingSide } from '../depths/crossing-causes.js';
import type { BottomSlopes } from '../depths/bottom-slope.js';
import type { Crossings } from '../depths/crossings.js';
import { smoothedDepths } from '../depths/crossing-depths.js';
import { crossingStanding, lineAgreements } from '../depths/line-offsets.js';
import type { OrderName } from '../depths/orders.js';
import type { SoundingBasis } from '../depths/reduce.js';
import type { Soundings } from '../depths/soundings.js';
import type { Frame } from '../geo/frame.js';
import { causeWords } from './cause-words.js';

/** A longer silence than this is a stay ashore: battery, draft and trim may differ after it [s]. */
const ASHORE_S = 180;
/** A cause is worth naming where it moves depths by this share of the uncertainty they are claimed with; what is less is in the claim. */
const LEAST_CAUSE_SHARE = 0.2;
/** What smoothed depths of two runs differ by on a level floor, one sigma: zoning and what is left of waves. Measured on the proving ground [m]. */
const STEADY_SIGMA_M = 0.03;

/** Everything the crossings are judged by. */
export interface CrossingGround {
  readonly crossings: Crossings;
  readonly soundings: Soundings;
  /** Run of each sounding that crossings were looked for between. */
  readonly runs: Int32Array;
  readonly basis: Pick<SoundingBasis, 'speedMps' | 'belowTransducerM'>;
  readonly slopes: BottomSlopes;
  readonly order: OrderName;
  /** Water level used at any time [m]; null where none was. */
  readonly levelAt: ((timeS: Float64Array) => ArrayLike<number>) | null;
  /** What the level at the boat is allowed to differ from the level used, one sigma [m]. */
  readonly levelSwingM: number;
  /** What depths are below, and the settings a remedy names. */
  readonly datum: string;
}

/** The causes behind the differences, with what to do about each in words. */
export type NamedCause = CrossingCause & { readonly words: string };

export function namedCauses(ground: CrossingGround): NamedCause[] {
  const { crossings, soundings, basis, slopes } = ground;
  const trip = tripsOf(soundings);
  const side = (rows: Uint32Array, line: Int32Array): CrossingSide => ({
    timeS: Float64Array.from(rows, (row) => soundings.timeS[row] as number),
    line,
    trip: Int32Array.from(rows, (row) => trip[row] as number),
    alongSlope: Float64Array.from(rows, (row) => slopes.along[row] as number),
    acrossSlope: Float64Array.from(rows, (row) => slopes.across[row] as number),
    speedMps: Float64Array.from(rows, (row) => basis.speedMps[row] as number),
    belowM: Float64Array.from(rows, (row) => basis.belowTransducerM[row] as number),
  });
  const runs = { ...soundings, line: ground.runs };
  const smoothA = smoothedDepths(runs, crossings, crossings.rowA);
  const smoothB = smoothedDepths(runs, crossings, crossings.rowB);
  const differenceM = crossings.differenceM.map((single, i) => {
    const smooth = (smoothB[i] as number) - (smoothA[i] as number);
    return Number.isNaN(smooth) ? single : smooth;
  });
  const good = soundings.tvuM.filter((tvu, row) => soundings.reason[row] === 0 && tvu >= 0);
  const causes = crossingCauses(
    { count: crossings.count, differenceM, sigmaM: chanceOf(ground), a: side(crossings.rowA, crossings.lineA), b: side(crossings.rowB, crossings.lineB) },
    { levelAt: ground.levelAt, leastM: LEAST_CAUSE_SHARE * median(good), levelSwingM: ground.levelSwingM },
  );
  return causes.map((cause) => {
    const began = cause.trip < 0 ? -1 : trip.indexOf(cause.trip);
    const placed = began < 0 ? cause : { ...cause, timeS: soundings.timeS[began] as number };
    return { ...placed, words: causeWords(placed) };
  });
}

/** By how much a difference may be off by chance: a part that is always there, and positions on a slope [m]. */
function chanceOf({ crossings, soundings, slopes }: CrossingGround): Float64Array {
  const part = (row: number): number => {
    const slope = Math.hypot(slopes.along[row] || 0, slopes.across[row] || 0);
    return slope * ((soundings.thuM[row] as number) / 2.45 || 0);
  };
  return Float64Array.from({ length: crossings.count }, (_, i) => Math.hypot(STEADY_SIGMA_M, part(crossings.rowA[i] as number), part(crossings.rowB[i] as number)));
}

/** Trip of each sounding: a new one after a long silence or with a new log. */
function tripsOf(soundings: Soundings): Int32Array {
  const trip = new Int32Array(soundings.n);
  for (let i = 1, at = 0; i < soundings.n; i++) {
    if ((soundings.timeS[i] as number) - (soundings.timeS[i - 1] as number) > ASHORE_S || soundings.log[i] !== soundings.log[i - 1]) at++;
    trip[i] = at;
  }
  return trip;
}

/** derived/crossings.json: every crossing, pairs of lines, each line, how they stand against the order, and what is behind them. */
export function crossingsText(ground: CrossingGround, causes: readonly NamedCause[], frame: Frame): string {
  const { crossings, soundings } = ground;
  const pairs = new Map<string, { lineA: number; lineB: number; differences: number[] }>();
  const points: Record<string, number>[] = [];
  for (let i = 0; i < crossings.count; i++) {
    const lineA = crossings.lineA[i] as number;
    const lineB = crossings.lineB[i] as number;
    const xM = crossings.xM[i] as number;
    const yM = crossings.yM[i] as number;
    const differenceM = crossings.differenceM[i] as number;
    const [latDeg, lonDeg] = frame.toGeographic(xM, yM);
    points.push({
      xM: fixed(xM, 2),
      yM: fixed(yM, 2),
      latDeg: fixed(latDeg, 8),
      lonDeg: fixed(lonDeg, 8),
      differenceM: fixed(differenceM, 3),
      lineA,
      lineB,
      depthAM: fixed(crossings.depthAM[i] as number, 3),
      depthBM: fixed(crossings.depthBM[i] as number, 3),
      timeAS: fixed(soundings.timeS[crossings.rowA[i] as number] as number, 1),
      timeBS: fixed(soundings.timeS[crossings.rowB[i] as number] as number, 1),
    });
    const key = `${lineA} ${lineB}`;
    const pair = pairs.get(key) ?? { lineA, lineB, differences: [] };
    pair.differences.push(differenceM);
    pairs.set(key, pair);
  }
  const table = [...pairs.values()].map(({ lineA, lineB, differences }) => {
    const sizes = differences.map(Math.abs).sort((a, b) => a - b);
    const mean = differences.reduce((sum, one) => sum + one, 0) / differences.length;
    return { lineA, lineB, count: differences.length, meanM: fixed(mean, 3), p95M: fixed(sizes[Math.min(sizes.length - 1, Math.ceil(0.95 * sizes.length) - 1)] as number, 3) };
  });
  const lines = lineAgreements(crossings).map((one) => rounded(one));
  const standing = crossings.count === 0 ? null : rounded(crossingStanding(crossings, ground.order));
  return `${JSON.stringify({ pairs: table, points, lines, standing, causes: causes.map((cause) => rounded(cause)) })}\n`;
}

function fixed(value: number, decimals: number): number {
  return Number(value.toFixed(decimals));
}

/** Numbers to four decimals; what is not a number becomes null in JSON. */
function rounded<T extends object>(one: T): Record<string, unknown> {
  return Object.fromEntries(Object.entries(one).map(([key, value]) => [key, typeof value === 'number' ? (Number.isInteger(value) || Number.isNaN(value) ? value : fixed(value, 4)) : value]));
}
