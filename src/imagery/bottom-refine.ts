import { median } from '../base/robust.js';
import type { SonarSamples } from '../base/sonar.js';
import { BestPath } from './best-path.js';
import { pingProfile, type PingTiming } from './bottom-evidence.js';

/** How far before and beyond the first guess the floor's own edge is looked for [m]: grass stands above the floor, not below it. */
const BEFORE_M = 0.5;
/** Edges are the difference of means over this much to either side [m]. */
const EDGE_M = 0.25;
/** Price of a step of the floor from ping to ping, in edges a metre. */
const PRICE_PER_M = 4;
/** A later edge must be this much stronger a metre: the floor comes before what lies on it. */
/** An edge of this share of the loudest is as good as any. */
const ENOUGH = 0.7;
const LATER_PER_M = 0.12;
const FINE_BINS_MAX = 160;

export interface RefinedFloor {
  /** Slant range of the first echo of the floor [m]. Shape [n]. */
  readonly slantM: Float64Array;
  /** How much of the loudest stretch nearby the edge makes up, 0..1. Shape [n]. */
  readonly edge: Float32Array;
}

/**
 * The floor's edge ping by ping, near a first guess: where the amplitude itself, not its logarithm, rises most. Grass and fish
 * above the floor stand out from silent water in decibels, yet their amplitude is a fraction of the floor's.
 *
 * @param guessM slant range by ping of the stretch [m]
 * @param grassM how far beyond the guess the floor may be [m]
 */
export function refineFloor(samples: SonarSamples, heads: PingTiming, rowStart: number, guessM: Float64Array, grassM: number, soundSpeedMps: number): RefinedFloor {
  const { n } = samples;
  let sampleM = Infinity;
  for (let ping = 0; ping < n; ping++) {
    const step = (soundSpeedMps / 2) * heads.intervalS[rowStart + ping]!;
    if (step > 0 && step < sampleM) sampleM = step;
  }
  const spanM = BEFORE_M + grassM;
  const binM = Math.max(Number.isFinite(sampleM) ? sampleM : 0.025, spanM / FINE_BINS_MAX);
  const window = Math.max(2, Math.round(EDGE_M / binM));
  const states = Math.max(4, Math.round(spanM / binM));
  const bases = new Int32Array(n);
  const edges: Float32Array[] = [];
  const loudest = new Float64Array(n);
  for (let ping = 0; ping < n; ping++) {
    const base = Math.max(window + 1, Math.round((guessM[ping]! - BEFORE_M) / binM));
    bases[ping] = base;
    const found = edgesAt(samples, heads, rowStart, ping, base, states, window, binM, soundSpeedMps);
    edges.push(found.edge);
    loudest[ping] = found.loudest;
  }
  // Edges count against how loud the floor is around here, not in this ping alone: a silent ping has no say.
  const path = new BestPath(states);
  const scores = new Float64Array(states);
  const reference = new Float64Array(n);
  for (let ping = 0; ping < n; ping++) {
    reference[ping] = median(loudest.subarray(Math.max(0, ping - 10), Math.min(n, ping + 11)));
    for (let s = 0; s < states; s++) {
      const share = reference[ping]! > 0 ? edges[ping]![s]! / reference[ping]! : 0;
      scores[s] = Math.min(1, Math.max(0, share) / ENOUGH) - LATER_PER_M * binM * s;
    }
    path.add(scores, PRICE_PER_M * binM, ping === 0 ? 0 : bases[ping]! - bases[ping - 1]!);
  }
  const states0 = path.path();
  const slantM = new Float64Array(n);
  const edge = new Float32Array(n);
  for (let ping = 0; ping < n; ping++) {
    const s = states0[ping]!;
    slantM[ping] = (bases[ping]! + s) * binM;
    edge[ping] = reference[ping]! > 0 ? Math.min(1, Math.max(0, edges[ping]![s]! / reference[ping]!)) : 0;
  }
  return { slantM, edge };
}

function edgesAt(samples: SonarSamples, heads: PingTiming, rowStart: number, ping: number, base: number, states: number, window: number, binM: number, soundSpeedMps: number): { edge: Float32Array; loudest: number } {
  const edge = new Float32Array(states);
  const bins = base + states + window + 1;
  const profile = pingProfile(samples, heads, rowStart, ping, ping + 1, bins, binM, soundSpeedMps);
  let loudest = 0;
  let sides = 0;
  const sum = new Float64Array(bins + 1);
  for (const side of [profile.port, profile.starboard]) {
    let any = false;
    const start = base - window;
    for (let bin = start; bin < bins; bin++) {
      const value = side[bin]!;
      if (value > 0) any = true;
      sum[bin + 1] = (bin === start ? 0 : sum[bin]!) + (value > 0 ? value : 0);
    }
    sum[start] = 0;
    if (!any) continue;
    sides++;
    for (let s = 0; s < states; s++) {
      const at = base + s;
      const after = (sum[at + window]! - sum[at]!) / window;
      edge[s]! += after - (sum[at]! - sum[at - window]!) / window;
      if (after > loudest) loudest = after;
    }
  }
  if (sides > 1) for (let s = 0; s < states; s++) edge[s]! /= 2;
  return { edge, loudest };
}
