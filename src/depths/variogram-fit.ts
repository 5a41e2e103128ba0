import { correlation } from './variogram-model.js';
import type { VariogramModel, VariogramShape } from './variogram-model.js';
import type { SampleVariogram } from './variogram-sample.js';

/** A fitted variogram and how well it fits. */
export interface FittedVariogram extends VariogramModel {
  /** Weighted sum of squares of what is left: sum N / h^2 (gamma - model)^2. */
  readonly sse: number;
}

/** Ranges tried are from this share of the shortest lag to this many times the longest. */
const SHORTEST = 0.25;
const LONGEST = 20;
const STEPS = 120;

/**
 * A variogram of a given shape fitted to a sample variogram by weighted least squares, weights N / h^2.
 *
 * For a given range the nugget and the partial sill are a linear problem with both 0 or more, solved outright; the range is
 * searched over the whole of its sensible span and then narrowed to 1e-9 of itself. So there is no start to choose and
 * no fit that does not converge. A range at the longest tried says that the sample shows no sill: as good within the lags.
 *
 * @returns null for fewer than three classes or where all semivariances are 0
 *
 * Source: weights N / h^2 as gstat (Pebesma 2004, Computers & Geosciences 30, 683-691, fit.method 7). Held against its
 * published fit for meuse: spherical, nugget 0.0507, partial sill 0.5906, range 897 m.
 */
export function fitVariogram(sample: SampleVariogram, shape: VariogramShape): FittedVariogram | null {
  const { lagM, gamma, pairs } = sample;
  if (lagM.length < 3 || !gamma.some((one) => one > 0) || !lagM.some((lag) => lag > 0)) return null;
  const shortest = lagM.find((lag) => lag > 0)!;
  const longest = lagM.at(-1)!;
  const weight = Float64Array.from(pairs, (count, k) => count / Math.max(lagM[k]!, 1e-3 * shortest) ** 2);
  const low = Math.log(SHORTEST * shortest);
  const high = Math.log(LONGEST * longest);
  const at = (logRange: number): FittedVariogram => fitAtRange(lagM, gamma, weight, shape, Math.exp(logRange));

  let best = 0;
  let bestSse = Infinity;
  for (let k = 0; k <= STEPS; k++) {
    const { sse } = at(low + ((high - low) * k) / STEPS);
    if (sse < bestSse) [best, bestSse] = [k, sse];
  }
  // Golden section between the neighbours of the best step: Kiefer (1953), Proc. Am. Math. Soc. 4, 502-506.
  const golden = (Math.sqrt(5) - 1) / 2;
  let a = low + ((high - low) * Math.max(0, best - 1)) / STEPS;
  let b = low + ((high - low) * Math.min(STEPS, best + 1)) / STEPS;
  let c = b - golden * (b - a);
  let d = a + golden * (b - a);
  let [sseC, sseD] = [at(c).sse, at(d).sse];
  while (b - a > 1e-9) {
    if (sseC < sseD) {
      [b, d, sseD] = [d, c, sseC];
      c = b - golden * (b - a);
      sseC = at(c).sse;
    } else {
      [a, c, sseC] = [c, d, sseD];
      d = a + golden * (b - a);
      sseD = at(d).sse;
    }
  }
  return at((a + b) / 2);
}

/** The shape that fits best of those given, the earlier of two that fit alike; null as `fitVariogram`. */
export function fitBestVariogram(sample: SampleVariogram, shapes: readonly VariogramShape[] = ['spherical', 'exponential', 'gaussian', 'matern-1.5', 'matern-2.5']): FittedVariogram | null {
  let best: FittedVariogram | null = null;
  for (const shape of shapes) {
    const fitted = fitVariogram(sample, shape);
    if (fitted !== null && (best === null || fitted.sse < best.sse)) best = fitted;
  }
  return best;
}

/** Nugget and partial sill, each 0 or more, of least weighted squares at a given range: the normal equations, or an edge. */
function fitAtRange(lagM: Float64Array, gamma: Float64Array, weight: Float64Array, shape: VariogramShape, rangeM: number): FittedVariogram {
  let [s0, s1, s2, g0, g1] = [0, 0, 0, 0, 0];
  for (let k = 0; k < lagM.length; k++) {
    const rise = 1 - correlation(shape, lagM[k]! / rangeM);
    const w = weight[k]!;
    s0 += w;
    s1 += w * rise;
    s2 += w * rise * rise;
    g0 += w * gamma[k]!;
    g1 += w * rise * gamma[k]!;
  }
  const determinant = s0 * s2 - s1 * s1;
  let nugget = determinant > 1e-14 * s0 * s2 ? (s2 * g0 - s1 * g1) / determinant : g0 / s0;
  let partialSill = determinant > 1e-14 * s0 * s2 ? (s0 * g1 - s1 * g0) / determinant : 0;
  if (nugget < 0) [nugget, partialSill] = [0, s2 > 0 ? g1 / s2 : 0];
  else if (partialSill < 0) [nugget, partialSill] = [g0 / s0, 0];
  let sse = 0;
  for (let k = 0; k < lagM.length; k++) {
    const left = gamma[k]! - nugget - partialSill * (1 - correlation(shape, lagM[k]! / rangeM));
    sse += weight[k]! * left * left;
  }
  return { shape, nugget, partialSill, rangeM, sse };
}
