import type { KeepOut } from '../geo/keep-out.js';
import type { WaterLevel } from './level.js';
import { waterWindows } from './tide-window.js';

/** By what keep-outs by tide open and close. */
export interface TideRule {
  /** null: not known, and every keep-out is closed always. */
  readonly level: WaterLevel | null;
  /** Water the boat needs: its draft and the least under it [m]. */
  readonly needM: number;
}

/** The level is looked at this often [s]: a tide of 4 m amplitude moves at most 1.8 cm in 30 s. */
const STEP_S = 30;
/** A span longer than this is looked at no finer than so many times. */
const MOST_TIMES = 20_000;
/** When it opens is looked for so far ahead [s]: two tides. */
const AHEAD_S = 25 * 3600;

/** Whether a keep-out hangs on the tide. */
export function isTidal(keepout: KeepOut): boolean {
  return keepout.leastDepthM !== undefined;
}

/**
 * Whether the boat may be over a keep-out during the whole of a span: level + depth >= need all through.
 *
 * False for one that does not hang on the tide, where the level or the depth is not known, and where the level is not known
 * for a part of the span.
 */
export function isOpenThroughout(keepout: KeepOut, tide: TideRule, fromS: number, toS: number): boolean {
  const { leastDepthM } = keepout;
  if (leastDepthM === undefined || tide.level === null || !(toS >= fromS)) return false;
  const n = Math.min(MOST_TIMES, Math.max(2, Math.ceil((toS - fromS) / STEP_S) + 1));
  const times = Float64Array.from({ length: n }, (_, i) => fromS + ((toS - fromS) * i) / (n - 1));
  return tide.level.levelsAt(times).every((levelM) => levelM + leastDepthM >= tide.needM);
}

/** Keep-outs sorted by a span of time: open all through it, or closed at some moment of it. In the order given. */
export function keepOutsDuring(keepouts: readonly KeepOut[], tide: TideRule, fromS: number, toS: number): { readonly open: KeepOut[]; readonly closed: KeepOut[] } {
  const open: KeepOut[] = [];
  const closed: KeepOut[] = [];
  for (const keepout of keepouts) (isOpenThroughout(keepout, tide, fromS, toS) ? open : closed).push(keepout);
  return { open, closed };
}

/** The first stretch from a time on, within 25 h, that a keep-out is open; null where there is none. */
export function nextOpening(keepout: KeepOut, tide: TideRule, fromS: number): { readonly fromS: number; readonly toS: number } | null {
  const { leastDepthM } = keepout;
  if (leastDepthM === undefined || Number.isNaN(leastDepthM) || tide.level === null) return null;
  const first = waterWindows(tide.level, { bottomDepthM: leastDepthM, draftM: tide.needM, clearanceM: 0 }, fromS, fromS + AHEAD_S)[0];
  return first === undefined ? null : { fromS: first.startS, toS: first.endS };
}
