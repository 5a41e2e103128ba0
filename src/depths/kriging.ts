import { breathe } from '../base/breathe.js';
import type { WorkContext } from '../base/progress.js';
import { nearIndex, nearSearch } from './kriging-near.js';
import { KrigingSystem } from './kriging-system.js';
import type { KrigingPoints } from './kriging-system.js';
import { checkVariogram } from './variogram-model.js';
import type { VariogramModel } from './variogram-model.js';

/** How points are kriged. */
export interface KrigingOptions {
  readonly model: VariogramModel;
  /** Points in a neighbourhood at most; 24 unless given. */
  readonly most?: number;
  /** No point further than this takes part [m]; Infinity unless given. */
  readonly radiusM?: number;
  /** An eighth of the neighbourhood from each of eight directions; true unless given. */
  readonly octants?: boolean;
  /** What the floor is drawn to away from the points: an unknown level, or an unknown plane; each of the neighbourhood. */
  readonly drift?: 'constant' | 'plane';
}

/** Kriged values. Shape [places]. */
export interface Kriged {
  /** Without measurement error, in the unit of the points; NaN where no point is near enough. */
  readonly value: Float64Array;
  /** Variance of its error, in that unit squared. */
  readonly variance: Float64Array;
}

/** Places worked on before other work is let in. */
const AT_A_TIME = 512;

/**
 * Ordinary kriging: the best linear unbiased value at places between points, and its variance, from a variogram.
 *
 * Each place is told by its own neighbourhood; neighbouring places with the same neighbourhood share its equations. A point
 * with sigma is smoothed by as much as its error calls for (filtered kriging); one without is met exactly. Points at one
 * place are merged first: see `mergedPoints`. With a plane as drift a neighbourhood of fewer than four points, or of points
 * in one line, has a constant.
 *
 * @returns values and variances at the places; NaN where no point lies within the radius
 * @throws RangeError for columns of unequal length, values or places of points that are not finite, a variogram that is
 *   none, a neighbourhood of none; CancelledError when stopped
 *
 * Source: Chiles & Delfiner (2012), Geostatistics, 2nd ed., chapter 3. Held against gstat 2.1-0 on its published example.
 */
export async function krige(points: KrigingPoints, places: { readonly xM: Float64Array; readonly yM: Float64Array }, options: KrigingOptions, context: WorkContext = {}): Promise<Kriged> {
  const { model, most = 24, radiusM = Infinity, octants = true, drift = 'constant' } = options;
  checkKriging(points, options);
  const merged = mergedPoints(points);
  const search = nearSearch(nearIndex(merged.xM, merged.yM), most, radiusM, octants);
  const system = new KrigingSystem(merged, model, search.found.length, drift === 'plane');
  const n = places.xM.length;
  const value = new Float64Array(n);
  const variance = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    if (i % AT_A_TIME === 0) {
      context.progress?.('kriging', i / n);
      await breathe(context);
    }
    const x = places.xM[i]!;
    const y = places.yM[i]!;
    system.take(search.found, x - x + y - y === 0 ? search.find(x, y) : 0);
    system.solve(x, y);
    value[i] = system.value;
    variance[i] = system.variance;
  }
  return { value, variance };
}

/** How well points are told by the others. Shape [points]. */
export interface CrossValidation {
  /** Kriged from the others less its own value; NaN where there are no others. */
  readonly error: Float64Array;
  /** That error over what it should be, the point's own error counted in: about 0 with a deviation of about 1. */
  readonly standardised: Float64Array;
}

/**
 * Cross validation: each point left out in turn and kriged from the others.
 * @throws RangeError as `krige`, and for points at one place, which would tell each other
 */
export async function crossValidate(points: KrigingPoints, options: KrigingOptions, context: WorkContext = {}): Promise<CrossValidation> {
  const { model, most = 24, radiusM = Infinity, octants = true, drift = 'constant' } = options;
  checkKriging(points, options);
  const n = points.xM.length;
  if (mergedPoints(points).xM.length !== n) throw new RangeError('points: some lie at one place; merge them first');
  const search = nearSearch(nearIndex(points.xM, points.yM), most, radiusM, octants);
  const system = new KrigingSystem(points, model, search.found.length, drift === 'plane');
  const error = new Float64Array(n);
  const standardised = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    if (i % AT_A_TIME === 0) {
      context.progress?.('cross validation', i / n);
      await breathe(context);
    }
    system.take(search.found, search.find(points.xM[i]!, points.yM[i]!, i));
    system.solve(points.xM[i]!, points.yM[i]!);
    const own = points.sigma?.[i] ?? 0;
    error[i] = system.value - points.value[i]!;
    standardised[i] = error[i]! / Math.sqrt(system.variance + (own === own ? own * own : 0));
  }
  return { error, standardised };
}

/**
 * One point for each place: of several the mean, weighted by 1 / sigma^2 where each has one, else by one.
 * @returns the points as they are where no two share a place, else new columns, in the order of the first at each place
 */
export function mergedPoints(points: KrigingPoints): KrigingPoints {
  const { xM, yM, value, sigma } = points;
  const n = xM.length;
  const order = Uint32Array.from({ length: n }, (_, i) => i).sort((a, b) => xM[a]! - xM[b]! || yM[a]! - yM[b]! || a - b);
  const firstOf = Uint32Array.from({ length: n }, (_, i) => i);
  let shared = false;
  for (let k = 1; k < n; k++) {
    const [i, before] = [order[k]!, order[k - 1]!];
    if (xM[i] === xM[before] && yM[i] === yM[before]) {
      firstOf[i] = firstOf[before]!;
      shared = true;
    }
  }
  if (!shared) return points;
  const groups = new Map<number, number[]>();
  for (let i = 0; i < n; i++) {
    const group = groups.get(firstOf[i]!);
    if (group) group.push(i);
    else groups.set(firstOf[i]!, [i]);
  }
  const kept = [...groups.values()];
  const out = { xM: new Float64Array(kept.length), yM: new Float64Array(kept.length), value: new Float64Array(kept.length), sigma: new Float64Array(kept.length) };
  for (const [k, rows] of kept.entries()) {
    const known = sigma !== undefined && rows.every((i) => sigma[i]! > 0);
    let [weights, sum] = [0, 0];
    for (const i of rows) {
      const weight = known ? 1 / sigma[i]! ** 2 : 1;
      weights += weight;
      sum += weight * value[i]!;
    }
    out.xM[k] = xM[rows[0]!]!;
    out.yM[k] = yM[rows[0]!]!;
    out.value[k] = rows.length === 1 ? value[rows[0]!]! : sum / weights;
    out.sigma[k] = known ? Math.sqrt(1 / weights) : 0;
  }
  return out;
}

function checkKriging({ xM, yM, value, sigma }: KrigingPoints, { model, most = 24, radiusM = Infinity }: KrigingOptions): void {
  const n = xM.length;
  if (yM.length !== n || value.length !== n || (sigma !== undefined && sigma.length !== n)) {
    throw new RangeError(`points: ${n} x, ${yM.length} y, ${value.length} values${sigma === undefined ? '' : `, ${sigma.length} sigmas`}: expected the same number`);
  }
  for (let i = 0; i < n; i++) {
    const sum = xM[i]! + yM[i]! + value[i]!;
    if (sum - sum !== 0) throw new RangeError(`points: row ${i} at ${xM[i]}, ${yM[i]} of value ${value[i]}: expected finite numbers`);
  }
  checkVariogram(model);
  if (!(Number.isInteger(most) && most >= 1)) throw new RangeError(`most ${most}: expected a whole number, 1 or more`);
  if (!(radiusM > 0)) throw new RangeError(`radiusM ${radiusM}: expected more than 0`);
}
