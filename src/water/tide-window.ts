import type { WaterLevel } from './level.js';

/** A stretch of time with enough water [UTC s]. */
export interface TideWindow {
  readonly startS: number;
  readonly endS: number;
  /** Whether it begins, or ends, because the tide crosses the level; false: the span or what is known of the level does. */
  readonly startsWithTide: boolean;
  readonly endsWithTide: boolean;
  /** Highest level in it, as sampled [m]. */
  readonly highestM: number;
}

/** What a place needs of the water. */
export interface WaterNeed {
  /** Depth of the bottom below the datum, positive down; negative where it dries [m]. */
  readonly bottomDepthM: number;
  readonly draftM: number;
  /** Water to keep under the boat [m]. */
  readonly clearanceM: number;
  /** Kept in hand for the level and the depth not being quite known, e.g. 1.64 sigma of both [m]; default 0. */
  readonly inHandM?: number;
}

const STEP_S = 300;
const TOLERANCE_S = 0.5;

/** Level above datum that a place needs: draft + clearance + what is in hand - depth of the bottom [m]. @throws RangeError for a draft or clearance below 0, or no number */
export function neededLevelM(need: WaterNeed): number {
  const { bottomDepthM, draftM, clearanceM, inHandM = 0 } = need;
  if (!Number.isFinite(bottomDepthM)) throw new RangeError(`bottomDepthM ${bottomDepthM}: expected a number`);
  for (const [name, value] of Object.entries({ draftM, clearanceM, inHandM })) if (!(value >= 0 && Number.isFinite(value))) throw new RangeError(`${name} ${value}: expected 0 or more`);
  return draftM + clearanceM + inHandM - bottomDepthM;
}

/**
 * When the water is at or above a level, within a span; rising windows, apart from each other.
 *
 * The level is sampled every five minutes and crossings are closed in on by halving, to half a second. A rise above the level,
 * or a dip below it, that comes and goes between two samples is found where its top lies between three of them. Where the level
 * is not known there is no window.
 *
 * @throws RangeError unless startS < endS, less than ten years apart, and the level is a number
 */
export function timesAtOrAbove(level: WaterLevel, neededM: number, startS: number, endS: number): TideWindow[] {
  if (!(endS > startS && endS - startS < 10 * 366 * 86_400)) throw new RangeError(`span ${startS} to ${endS}: expected a start before the end, at most 10 years apart`);
  if (!Number.isFinite(neededM)) throw new RangeError(`neededM ${neededM}: expected a number`);
  const one = new Float64Array(1);
  const over = (timeS: number): number => {
    one[0] = timeS;
    return level.levelsAt(one)[0]! - neededM;
  };
  const { times, overs } = samples(level, neededM, startS, endS, over);

  const windows: TideWindow[] = [];
  let open: { startS: number; startsWithTide: boolean; highestM: number } | null = null;
  const close = (atS: number, endsWithTide: boolean): void => {
    if (open !== null) windows.push({ startS: open.startS, endS: atS, startsWithTide: open.startsWithTide, endsWithTide, highestM: open.highestM });
    open = null;
  };
  for (let i = 0; i < times.length; i++) {
    const [timeS, here] = [times[i]!, overs[i]!];
    const before = i === 0 ? NaN : overs[i - 1]!;
    if (here >= 0) {
      if (open === null) {
        const crossed = before < 0;
        const edgeS: number = i === 0 ? timeS : closeIn((t) => over(t) >= 0, times[i - 1]!, timeS);
        open = { startS: edgeS, startsWithTide: crossed, highestM: here + neededM };
      }
      open.highestM = Math.max(open.highestM, here + neededM);
    } else if (open !== null) close(i === 0 ? timeS : closeIn((t) => !(over(t) >= 0), times[i - 1]!, timeS), here < 0);
  }
  close(endS, false);
  return windows.filter((window) => window.endS > window.startS);
}

/** When a boat has water enough to be launched, recovered or taken across a place; as `timesAtOrAbove`. */
export function waterWindows(level: WaterLevel, need: WaterNeed, startS: number, endS: number): TideWindow[] {
  return timesAtOrAbove(level, neededLevelM(need), startS, endS);
}

/** When a place is a keep-out by tide: all of the span in which there is not, or may not be, water enough; rising [UTC s]. */
export function closedByTide(level: WaterLevel, need: WaterNeed, startS: number, endS: number): { readonly startS: number; readonly endS: number }[] {
  const closed: { startS: number; endS: number }[] = [];
  let fromS = startS;
  for (const window of waterWindows(level, need, startS, endS)) {
    if (window.startS > fromS) closed.push({ startS: fromS, endS: window.startS });
    fromS = window.endS;
  }
  if (fromS < endS) closed.push({ startS: fromS, endS });
  return closed;
}

/** Samples in order of time, with the tops and bottoms between samples that lie on the other side of the level put in. */
function samples(level: WaterLevel, neededM: number, startS: number, endS: number, over: (timeS: number) => number): { times: number[]; overs: number[] } {
  const count = Math.ceil((endS - startS) / STEP_S) + 1;
  const grid = Float64Array.from({ length: count }, (_, i) => Math.min(endS, startS + i * STEP_S));
  const levels = level.levelsAt(grid);
  const times: number[] = [];
  const overs: number[] = [];
  for (let i = 0; i < count; i++) {
    const here = levels[i]! - neededM;
    const [before, after] = [(levels[i - 1] ?? NaN) - neededM, (levels[i + 1] ?? NaN) - neededM];
    const topBelow = here < 0 && here >= before && here >= after;
    const bottomAbove = here >= 0 && here <= before && here <= after;
    let put: readonly [number, number] | null = null;
    if (topBelow || bottomAbove) {
      const turnS = extremeOf(over, grid[i - 1]!, grid[i + 1]!, topBelow ? 1 : -1);
      const value = over(turnS);
      if (value >= 0 !== here >= 0) put = [turnS, value];
    }
    if (put !== null && put[0] < grid[i]!) {
      times.push(put[0]);
      overs.push(put[1]);
    }
    times.push(grid[i]!);
    overs.push(here);
    if (put !== null && put[0] > grid[i]!) {
      times.push(put[0]);
      overs.push(put[1]);
    }
  }
  return { times, overs };
}

/** The first time at which something holds, given that it does not at `fromS` and does at `toS` [s]. */
function closeIn(holds: (timeS: number) => boolean, fromS: number, toS: number): number {
  let [a, b] = [fromS, toS];
  while (b - a > TOLERANCE_S) {
    const middle = (a + b) / 2;
    if (holds(middle)) b = middle;
    else a = middle;
  }
  return b;
}

function extremeOf(value: (timeS: number) => number, fromS: number, toS: number, sign: 1 | -1): number {
  let [a, b] = [fromS, toS];
  while (b - a > TOLERANCE_S) {
    const [c, d] = [a + (b - a) / 3, b - (b - a) / 3];
    if (sign * value(c) >= sign * value(d)) b = d;
    else a = c;
  }
  return (a + b) / 2;
}
