import type { PingColumns } from '../base/observations.js';
import { quantile, quantileInPlace } from '../base/statistics.js';

/** Depths of two instruments, or of two frequencies, in one log. */
export interface MixedSounders {
  /** Share of the log's stretches in which depths jump to and fro between two levels. */
  readonly share: number;
  /** How far apart the two are, by the middle stretch [m], and their ratio (deeper over shoaler). */
  readonly apartM: number;
  readonly ratio: number;
}

/** Pings looked at together. */
const STRETCH = 40;
/** Below this share of stretches it is double echoes, fish or plants [1]. */
const LEAST_SHARE = 0.5;
/** Jumps smaller than this are no second instrument [m]. */
const LEAST_JUMP_M = 0.15;
/** A jump is more than so many times what neighbours of one level differ by, and more than so many steps of the depths as written. */
const JUMP_OVER_NOISE = 3;
const JUMP_OVER_STEP = 3;

/**
 * Whether a log's depths come from two sounders in turn: over most of the log they jump to and fro by one and the same amount.
 *
 * Each stretch is judged by its steps from ping to ping, so a slope of the floor does no harm: a quarter of the steps or more
 * are jumps, nearly all turn back on the jump before, and their sizes lie close together.
 *
 * @returns null where they do not
 */
export function mixedSounders(pings: PingColumns): MixedSounders | null {
  // One reference alone: a sounder that says its depth below the surface too is no second one.
  const counts = new Map<number, number>();
  for (let i = 0; i < pings.n; i++) counts.set(pings.from[i]!, (counts.get(pings.from[i]!) ?? 0) + 1);
  const [usual] = [...counts].sort((a, b) => b[1] - a[1])[0] ?? [0];
  const depths: number[] = [];
  for (let i = 0; i < pings.n; i++) if (pings.depthM[i]! > 0 && pings.from[i] === usual) depths.push(pings.depthM[i]!);
  const stepM = writtenStepM(depths);
  let stretches = 0;
  const apart: number[] = [];
  const ratios: number[] = [];
  for (let start = 0; start + STRETCH <= depths.length; start += STRETCH) {
    stretches++;
    const found = toAndFro(depths.slice(start, start + STRETCH), stepM);
    if (found === null) continue;
    apart.push(found.apartM);
    ratios.push(found.ratio);
  }
  if (stretches < 5 || apart.length < LEAST_SHARE * stretches) return null;
  return { share: apart.length / stretches, apartM: quantile(Float64Array.from(apart), 0.5), ratio: quantile(Float64Array.from(ratios), 0.5) };
}

/** The step depths are written in: the smallest usual difference of pings one to four apart that differ [m]. */
function writtenStepM(depths: readonly number[]): number {
  let least = Infinity;
  const steps = new Float64Array(depths.length);
  for (let lag = 1; lag <= 4; lag++) {
    let n = 0;
    for (let i = lag; i < depths.length; i++) {
      const stepM = Math.abs(depths[i]! - depths[i - lag]!);
      if (stepM >= 1e-6) steps[n++] = stepM;
    }
    if (n > 0) least = Math.min(least, quantileInPlace(steps.subarray(0, n), 0.05));
  }
  return Number.isFinite(least) ? least : 0;
}

/** Size and ratio of the jumps of a stretch; null unless it goes to and fro between two levels. */
function toAndFro(depths: readonly number[], stepM: number): { readonly apartM: number; readonly ratio: number } | null {
  const n = depths.length;
  // One sigma of a step between pings of one level. By turns, such pings lie one, two, three or four apart: three tenths of their
  // bends, which a slope leaves at 0, are below 0.385 sigma of a bend, and a step has 1.15 times the sigma of a bend.
  let noiseM = Infinity;
  for (let lag = 1; lag <= 4; lag++) {
    const bends = Float64Array.from({ length: n - 2 * lag }, (_, i) => Math.abs((depths[i]! + depths[i + 2 * lag]!) / 2 - depths[i + lag]!));
    noiseM = Math.min(noiseM, (1.15 * quantile(bends, 0.3)) / 0.385);
  }
  // By chance, half of the steps stay on one level, and three tenths of those are below 0.385 sigma.
  const steps = Float64Array.from({ length: n - 1 }, (_, i) => Math.abs(depths[i + 1]! - depths[i]!));
  noiseM = Math.min(noiseM, quantile(steps, 0.15) / 0.385);
  const least = Math.max(LEAST_JUMP_M, JUMP_OVER_NOISE * noiseM, JUMP_OVER_STEP * stepM);
  const sizes: number[] = [];
  const ratios: number[] = [];
  let before = 0;
  let back = 0;
  for (let i = 1; i < n; i++) {
    const jump = depths[i]! - depths[i - 1]!;
    if (Math.abs(jump) <= least) continue;
    if (before !== 0 && Math.sign(jump) !== before) back++;
    before = Math.sign(jump);
    sizes.push(Math.abs(jump));
    ratios.push(Math.max(depths[i]!, depths[i - 1]!) / Math.min(depths[i]!, depths[i - 1]!));
  }
  if (sizes.length < n / 4 || back < 0.9 * (sizes.length - 1)) return null;
  const all = Float64Array.from(sizes);
  const middle = quantile(all, 0.5);
  if (quantile(all, 0.8) - quantile(all, 0.2) > 0.4 * middle) return null;
  return { apartM: middle, ratio: quantile(Float64Array.from(ratios), 0.5) };
}
