import { matchClock, type ClockMatch } from './clock-match.js';

/** Series are compared in steps of one second. */
const STEP_S = 1;
/** Seconds of a series that must lie on the other: this many, and this share of what there is. */
const LEAST_S = 120;
const LEAST_SHARE = 0.5;
/** A clock that is further off is set by hand [s]: a whole day, and the time zones on top. */
const FURTHEST_S = 40 * 3600;
/** Offsets this near to the best are the same fit [s]. */
const NEAR_S = 10;
/** How much worse the next best must fit, in squares. Among thousands of offsets one fits well by chance: common practice. */
const RIVAL_WORSE = 1.6;
/** Positions of a log of its own must lie this near to the boat's where the offset is right, one sigma and two dimensions [m]. */
const TRACK_FIT_M = 6;
const TRACK_RIVAL_WORSE = 4;
/** How much better the fit must be than the series alone: squares left over of the squares there are. */
const LEFT_OVER = 0.35;
/** What positions in the records of a sonar are late, and by how much that varies [s, 95 %]. Common practice. */
const POSITION_LATE_95_S = 1;

/** A clock's offset found over a wide range, roughly. */
export interface RoughOffset {
  /** Add to the sonar's times to get UTC [s]; NaN where there is none that stands out. */
  readonly offsetS: number;
  readonly compared: number;
}

/** Several quantities in steps of a second from a whole second on, NaN where nothing is known. Shape of each column: [n]. */
interface Steps {
  readonly startS: number;
  readonly columns: readonly Float64Array[];
}

/** Means of each second; no-data where there is none. Times need not rise. */
function inSteps(timeS: ArrayLike<number>, columns: readonly ArrayLike<number>[]): Steps | null {
  let [first, last] = [Infinity, -Infinity];
  for (let i = 0; i < timeS.length; i++) {
    const time = timeS[i] as number;
    if (columns.some((column) => Number.isNaN(column[i] as number)) || Number.isNaN(time)) continue;
    first = Math.min(first, time);
    last = Math.max(last, time);
  }
  const n = Math.floor((last - first) / STEP_S) + 1;
  if (!(n > 0) || n > 2_000_000) return null;
  const startS = Math.floor(first);
  const sums = columns.map(() => new Float64Array(n + 1));
  const counts = new Uint32Array(n + 1);
  for (let i = 0; i < timeS.length; i++) {
    const at = Math.floor(((timeS[i] as number) - startS) / STEP_S);
    if (!(at >= 0 && at <= n) || columns.some((column) => Number.isNaN(column[i] as number))) continue;
    counts[at]!++;
    for (const [k, column] of columns.entries()) sums[k]![at]! += column[i] as number;
  }
  return { startS, columns: sums.map((sum) => sum.map((each, i) => (counts[i] === 0 ? NaN : each / counts[i]!))) };
}

/**
 * The offset at which one series lies best on another, over all that let them overlap, to a second.
 * @param free whether a constant difference is taken out first (heights and depths differ by the draft)
 */
function slide(moved: Steps, still: Steps, free: boolean): { offsetS: number; squares: number; rival: number; compared: number; alone: number } | null {
  const rows: number[] = [];
  for (let i = 0; i < moved.columns[0]!.length; i++) if (!Number.isNaN(moved.columns[0]![i]!)) rows.push(i);
  const least = Math.max(LEAST_S, LEAST_SHARE * rows.length);
  const n = still.columns[0]!.length;
  if (rows.length < LEAST_S || n < LEAST_S) return null;
  // Of a long series every second or third second tells as much.
  const stride = Math.max(1, Math.floor(rows.length / 2400));
  const base = still.startS - moved.startS;
  const [from, to] = [Math.max(-FURTHEST_S, base - rows.at(-1)!), Math.min(FURTHEST_S, base + n - rows[0]!)];
  const costs = new Float64Array(Math.max(0, Math.floor(to - from) + 1)).fill(Infinity);
  const compared = new Uint32Array(costs.length);
  const alone = new Float64Array(costs.length);
  for (let o = 0; o < costs.length; o++) {
    const shift = Math.round(from) + o - base;
    let count = 0;
    let [squares, squaresAlone] = [0, 0];
    for (const [k, column] of moved.columns.entries()) {
      const other = still.columns[k]!;
      let [sum, sum2, own, own2] = [0, 0, 0, 0];
      count = 0;
      for (let r = 0; r < rows.length; r += stride) {
        const at = rows[r]! + shift;
        if (at < 0 || at >= n) continue;
        const off = column[rows[r]!]! - other[at]!;
        if (Number.isNaN(off)) continue;
        count++;
        sum += off;
        sum2 += off * off;
        own += other[at]!;
        own2 += other[at]! * other[at]!;
      }
      squares += (free ? sum2 - (sum * sum) / Math.max(1, count) : sum2) / Math.max(1, count);
      squaresAlone += (own2 - (own * own) / Math.max(1, count)) / Math.max(1, count);
    }
    if (count * stride < least) continue;
    [costs[o], compared[o], alone[o]] = [Math.max(0, squares), count, squaresAlone];
  }
  let best = -1;
  for (let o = 0; o < costs.length; o++) if (Number.isFinite(costs[o]!) && (best < 0 || costs[o]! < costs[best]!)) best = o;
  if (best < 0) return null;
  let rival = Infinity;
  for (let o = 0; o < costs.length; o++) if (Math.abs(o - best) > NEAR_S) rival = Math.min(rival, costs[o]!);
  return { offsetS: Math.round(from) + best, squares: costs[best]!, rival, compared: compared[best]!, alone: alone[best]! };
}

/**
 * The offset of the sonar's clock by the positions that its own records carry: slid along the boat's track until they lie on it. To a
 * second or so, however far the clock is off; NaN where the two are of different trips, or lie on one another at several offsets.
 *
 * @param sonar positions of the records by the sonar's clock
 * @param boat positions of the boat's own log by UTC
 */
export function offsetByPositions(sonar: { readonly timeS: ArrayLike<number>; readonly xM: ArrayLike<number>; readonly yM: ArrayLike<number> }, boat: { readonly timeS: ArrayLike<number>; readonly xM: ArrayLike<number>; readonly yM: ArrayLike<number> }): RoughOffset & { readonly uncertainty95S: number } {
  const [moved, still] = [inSteps(sonar.timeS, [sonar.xM, sonar.yM]), inSteps(boat.timeS, [boat.xM, boat.yM])];
  const found = moved === null || still === null ? null : slide(moved, still, false);
  const sound = found !== null && found.squares < TRACK_FIT_M * TRACK_FIT_M && found.rival > TRACK_RIVAL_WORSE * Math.max(found.squares, 1);
  return { offsetS: sound ? found.offsetS : NaN, compared: found?.compared ?? 0, uncertainty95S: POSITION_LATE_95_S };
}

/**
 * The offset of the sonar's clock by heights and depths as `matchClock` finds it, but over every offset that lets the two overlap: for
 * a clock that is minutes, hours or a time zone off. Where a second offset fits within a factor, there is none.
 */
export function searchClock(heights: { readonly timeS: Float64Array; readonly heightM: Float64Array }, depths: { readonly timeS: Float64Array; readonly depthM: Float64Array }, maxGapS = 5): ClockMatch {
  const none = (how: string, compared = 0): ClockMatch => ({ offsetS: NaN, uncertainty95S: NaN, biasM: NaN, sigmaM: NaN, compared, how });
  const [moved, still] = [inSteps(heights.timeS, [heights.heightM]), inSteps(depths.timeS, [depths.depthM])];
  const rough = moved === null || still === null ? null : slide(moved, still, true);
  if (rough === null) return none('depths and bottom track are too short to be searched for minutes and hours');
  if (!(rough.squares < LEFT_OVER * rough.alone) || !(rough.rival > RIVAL_WORSE * rough.squares)) return none('no offset of minutes or hours fits the depths well enough, and alone', rough.compared);
  const fine = matchClock({ timeS: heights.timeS.map((time) => time + rough.offsetS), heightM: heights.heightM }, depths, 5, maxGapS);
  return Number.isNaN(fine.offsetS) ? none(fine.how, fine.compared) : { ...fine, offsetS: rough.offsetS + fine.offsetS };
}
