import { quantileInPlace } from '../base/statistics.js';
import { robustSigma } from '../base/robust.js';
import type { TrackedHypotheses } from './hypotheses-track.js';

/** What decides between hypotheses of a node: most soundings, nearest to the depths about it, or both weighed together. */
export type HypothesisRule = 'soundings' | 'neighbours' | 'both';

/** A choice by hand: at the node of the cell that holds the place, the hypothesis of that depth. It outlives a rebuild. */
export interface HypothesisDecision {
  /** Place in the survey frame [m]. */
  readonly xM: number;
  readonly yM: number;
  /** Depth of the hypothesis chosen, positive down [m]. */
  readonly depthM: number;
}

/** The hypothesis that stands at each node. Shape [cells]. */
export interface ChosenHypotheses {
  /** Its row in `TrackedHypotheses`; -1 where the cell has none. */
  readonly chosen: Int32Array;
  /** How many the node has; 0 for none. */
  readonly hypotheses: Uint32Array;
  /** 1: no other; else 1 - n2 / n1, n1 its soundings and n2 those of the largest other, 0 at least. NaN without any. */
  readonly strength: Float32Array;
  /** Non-zero where a decision by hand chose. */
  readonly byHand: Uint8Array;
  /** Index of decisions that no node could follow: no hypothesis there, or none of about that depth any more. */
  readonly lost: readonly number[];
}

/** The guide is the median of at least this many unambiguous nodes, looked for no further than this many cells away. */
const GUIDES = 8;
const FEWEST_GUIDES = 5;
const FURTHEST = 10;

/**
 * Chooses a hypothesis at every node; all of them stay in the tracked columns.
 *
 * - `soundings`: the one most soundings speak for; of equals the earlier.
 * - `neighbours`: the one nearest to the guide, the median depth of the nearest nodes that have one hypothesis alone.
 * - `both`: the largest n exp(-(m - g)^2 / 2 (C + s^2)), n its soundings, m and C its depth and variance, g the guide and
 *   s the robust deviation of the depths behind it.
 * Where fewer than five such nodes lie within ten cells there is no guide: then by soundings. A decision by hand goes
 * before any rule, the later before the earlier; it takes the hypothesis nearest to its depth, no further off than that
 * hypothesis's 95 % uncertainty or 0.1 m.
 *
 * Source: Calder & Mayer (2003), doi:10.1029/2002GC000486, the three rules (from memory). Its strength is another function
 * of the same ratio n1 / n2; here 1 is sure.
 */
export function chooseHypotheses(tracked: TrackedHypotheses, rule: HypothesisRule = 'both', decisions: readonly HypothesisDecision[] = []): ChosenHypotheses {
  const { grid, start, depthM, sigmaM, soundings, uncertaintyM } = tracked;
  const { cols, rows, westM, northM, cellM } = grid;
  const cells = cols * rows;
  const chosen = new Int32Array(cells).fill(-1);
  const hypotheses = new Uint32Array(cells);
  const strength = new Float32Array(cells).fill(NaN);
  const byHand = new Uint8Array(cells);
  for (let cell = 0; cell < cells; cell++) {
    const [from, to] = [start[cell]!, start[cell + 1]!];
    hypotheses[cell] = to - from;
    if (to === from) continue;
    let best = from;
    if (to - from > 1) {
      const guide = rule === 'soundings' ? null : guideAt(tracked, cell);
      let most = -Infinity;
      for (let k = from; k < to; k++) {
        const off = guide === null ? 0 : depthM[k]! - guide.depthM;
        let score = soundings[k]!;
        if (guide !== null && rule === 'neighbours') score = -Math.abs(off);
        else if (guide !== null) score = Math.log(soundings[k]!) - (off * off) / (2 * (sigmaM[k]! ** 2 + guide.sigmaM ** 2));
        if (score > most) [best, most] = [k, score];
      }
    }
    chosen[cell] = best;
  }
  const lost: number[] = [];
  for (const [index, decision] of decisions.entries()) {
    const col = Math.floor((decision.xM - westM) / cellM);
    const row = Math.floor((northM - decision.yM) / cellM);
    const cell = col >= 0 && row >= 0 && col < cols && row < rows ? row * cols + col : -1;
    let best = -1;
    let nearest = Infinity;
    for (let k = cell < 0 ? 0 : start[cell]!; cell >= 0 && k < start[cell + 1]!; k++) {
      const off = Math.abs(depthM[k]! - decision.depthM);
      if (off < nearest && off <= Math.max(0.1, uncertaintyM[k]!)) [best, nearest] = [k, off];
    }
    if (best < 0) {
      lost.push(index);
      continue;
    }
    chosen[cell] = best;
    byHand[cell] = 1;
  }
  for (let cell = 0; cell < cells; cell++) {
    if (chosen[cell]! < 0) continue;
    let other = 0;
    for (let k = start[cell]!; k < start[cell + 1]!; k++) if (k !== chosen[cell]) other = Math.max(other, soundings[k]!);
    strength[cell] = Math.max(0, 1 - other / soundings[chosen[cell]!]!);
  }
  return { chosen, hypotheses, strength, byHand, lost };
}

/** Median and robust deviation of the nearest nodes with one hypothesis, ring by ring; null for too few. */
function guideAt({ grid, start, depthM }: TrackedHypotheses, cell: number): { depthM: number; sigmaM: number } | null {
  const { cols, rows } = grid;
  const row = Math.floor(cell / cols);
  const col = cell - row * cols;
  const depths: number[] = [];
  const look = (r: number, c: number): void => {
    if (r < 0 || c < 0 || r >= rows || c >= cols) return;
    const node = r * cols + c;
    if (start[node + 1]! - start[node]! === 1) depths.push(depthM[start[node]!]!);
  };
  for (let ring = 1; ring <= FURTHEST && depths.length < GUIDES; ring++) {
    for (let c = col - ring; c <= col + ring; c++) {
      look(row - ring, c);
      look(row + ring, c);
    }
    for (let r = row - ring + 1; r < row + ring; r++) {
      look(r, col - ring);
      look(r, col + ring);
    }
  }
  if (depths.length < FEWEST_GUIDES) return null;
  return { depthM: quantileInPlace(Float64Array.from(depths), 0.5), sigmaM: robustSigma(depths) };
}
