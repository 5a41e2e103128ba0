import type { PingColumns } from '../base/observations.js';

/** Depths of two instruments, or of two frequencies, in one log. */
export interface MixedSounders {
  /** Share of the log's stretches in which depths jump between two levels. */
  readonly share: number;
  /** How far apart the two are, by the middle stretch [m], and their ratio (deeper over shoaler). */
  readonly apartM: number;
  readonly ratio: number;
}

/** Pings looked at together. */
const STRETCH = 40;
/** Below this share of stretches it is double echoes or fish [1]. */
const LEAST_SHARE = 0.5;

/**
 * Whether a log's depths come from two sounders in turn: in a short stretch they fall into two tight groups that keep
 * changing places, over most of the log.
 *
 * @returns null where they do not
 */
export function mixedSounders(pings: PingColumns): MixedSounders | null {
  const rows: number[] = [];
  for (let i = 0; i < pings.n; i++) if (pings.depthM[i]! > 0) rows.push(i);
  let stretches = 0;
  const apart: number[] = [];
  const ratios: number[] = [];
  for (let start = 0; start + STRETCH <= rows.length; start += STRETCH) {
    stretches++;
    const depths = rows.slice(start, start + STRETCH).map((row) => pings.depthM[row]!);
    const found = twoGroups(depths);
    if (found === null) continue;
    apart.push(found.deeperM - found.shoalerM);
    ratios.push(found.deeperM / found.shoalerM);
  }
  if (stretches < 5 || apart.length < LEAST_SHARE * stretches) return null;
  const middle = (values: number[]): number => values.sort((a, b) => a - b)[values.length >> 1]!;
  return { share: apart.length / stretches, apartM: middle(apart), ratio: middle(ratios) };
}

/** The two levels of a stretch, split at its widest step; null unless both are well held, tight and often changed between. */
function twoGroups(depths: readonly number[]): { readonly shoalerM: number; readonly deeperM: number } | null {
  const sorted = [...depths].sort((a, b) => a - b);
  const n = sorted.length;
  const low = Math.ceil(0.2 * n);
  let widest = 0;
  let split = -1;
  for (let i = low; i <= n - low; i++) {
    const step = sorted[i]! - sorted[i - 1]!;
    if (step > widest) [widest, split] = [step, i];
  }
  if (split < 0) return null;
  const spread = (from: number, to: number): number => sorted[to - 1]! - sorted[from]!;
  if (widest < 0.05 || widest < 2 * Math.max(spread(0, split), spread(split, n))) return null;
  const limit = (sorted[split]! + sorted[split - 1]!) / 2;
  let changes = 0;
  for (let i = 1; i < n; i++) if (depths[i]! > limit !== depths[i - 1]! > limit) changes++;
  // A step in the floor is crossed once or twice; two sounders take turns.
  if (changes < n / 4) return null;
  return { shoalerM: sorted[split >> 1]!, deeperM: sorted[(split + n) >> 1]! };
}
