/** Several looks at one place, and what is left of what may lie there. */

/**
 * How looks add up. `independent`: misses multiply, as when each fails for a reason of its own. `by-aspect`: of looks from one
 * direction, an eighth of the compass, only the best counts, and misses of different directions multiply: an object that shows no
 * echo or shadow to one side shows none the second time. `best`: only the best look counts, as when what hides the object hides
 * it from all sides.
 */
export const LOOK_RULES = ['independent', 'by-aspect', 'best'] as const;
export type LookRule = (typeof LOOK_RULES)[number];

/** Directions that are told apart. */
export const ASPECTS = 8;

/** Which aspect a direction of looking falls into, 0 northward, clockwise. @param bearingDeg from the sonar to the place */
export function aspectOf(bearingDeg: number): number {
  const share = (((bearingDeg % 360) + 360) % 360) / 360;
  return Math.floor(share * ASPECTS + 0.5) % ASPECTS;
}

/**
 * Chance that at least one of several looks finds the object: misses multiplied.
 * Source: Koopman (1946), OEG Report 56; it holds only where the looks fail independently.
 */
export function chanceOfLooks(chances: ArrayLike<number>): number {
  let missed = 1;
  for (let i = 0; i < chances.length; i++) missed *= 1 - chances[i]!;
  return 1 - missed;
}

/**
 * Objects left, where they are strewn at random: a search that finds each with a chance thins a Poisson scatter to another one,
 * whatever was found.
 *
 * @param expected objects there before the search
 * @returns how many are expected to remain, and the chance that at least one does
 * Source: thinning of a Poisson process, e.g. Kingman (1993), Poisson Processes, sect. 5.1.
 */
export function remaining(expected: number, chance: number): { readonly expected: number; readonly atLeastOne: number } {
  const left = expected * (1 - chance);
  return { expected: left, atLeastOne: -Math.expm1(-left) };
}

/**
 * Where one object that is sought may still lie: Bayes' rule after a search without a find.
 *
 * @param prior chance that it lies in each cell, summing to at most 1: the rest, that it lies outside. Shape [n]
 * @param chance of finding it in each cell, if it is there. Shape [n]
 * @returns posterior by cell [n] and of all cells together; 0 where the search would have found it for certain
 * Source: Koopman (1946), OEG Report 56; Stone (1975), Theory of Optimal Search.
 */
export function posteriorOfOne(prior: ArrayLike<number>, chance: ArrayLike<number>): { readonly cells: Float64Array; readonly inside: number } {
  const cells = new Float64Array(prior.length);
  let within = 0;
  let left = 0;
  for (let i = 0; i < cells.length; i++) {
    within += prior[i]!;
    cells[i] = prior[i]! * (1 - chance[i]!);
    left += cells[i]!;
  }
  if (within > 1 + 1e-9) throw new RangeError(`prior: sums to ${within}: expected at most 1`);
  const all = left + Math.max(0, 1 - within);
  if (all > 0) for (let i = 0; i < cells.length; i++) cells[i]! /= all;
  return { cells, inside: all > 0 ? left / all : 0 };
}
