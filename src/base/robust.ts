import { quantileInPlace, selectInPlace } from './statistics.js';

/** The factor that makes the median absolute deviation of a normal sample its standard deviation: 1 / quantile(0.75). */
export const MAD_TO_SIGMA = 1.482602218505602;

/** Median; NaN of nothing. Values must not be NaN; they are not changed. */
export function median(values: ArrayLike<number>): number {
  return quantileInPlace(Float64Array.from(values), 0.5);
}

/**
 * Upper median of the first n values, faster than `median`: for odd n the median itself, for even n the larger of the two
 * in the middle. Puts them into another order. NaN of nothing.
 */
export function upperMedianInPlace(values: Float64Array, n: number): number {
  return n === 0 ? NaN : selectInPlace(values, n >> 1, 0, n);
}

/**
 * Standard deviation of a normal sample, from its median absolute deviation: up to half the values may be anything.
 * @returns NaN of nothing; 0 where more than half the values are equal
 */
export function robustSigma(values: ArrayLike<number>): number {
  const deviations = Float64Array.from(values);
  const centre = quantileInPlace(deviations, 0.5);
  for (let i = 0; i < deviations.length; i++) deviations[i] = Math.abs(deviations[i]! - centre);
  return MAD_TO_SIGMA * quantileInPlace(deviations, 0.5);
}

/** A straight line y = intercept + slope x. */
export interface Line {
  readonly slope: number;
  readonly intercept: number;
}

/**
 * The line through points of which up to 29 % may be anything: median of all pairs' slopes, then median of what is left.
 *
 * @param x no two need differ: pairs of equal x are passed over
 * @returns slope 0 through the median where all x are equal; NaN of nothing
 *
 * Source: Theil (1950); Sen (1968), J. Am. Stat. Assoc. 63, 1379-1389.
 */
export function theilSenLine(x: ArrayLike<number>, y: ArrayLike<number>): Line {
  const n = x.length;
  if (y.length !== n) throw new RangeError(`${n} x and ${y.length} y: expected the same number`);
  const slopes = new Float64Array((n * (n - 1)) / 2);
  let pairs = 0;
  for (let i = 0; i < n; i++) {
    for (let j = i + 1; j < n; j++) {
      const run = x[j]! - x[i]!;
      if (run !== 0) slopes[pairs++] = (y[j]! - y[i]!) / run;
    }
  }
  const slope = pairs === 0 ? 0 : quantileInPlace(slopes.subarray(0, pairs), 0.5);
  const rest = new Float64Array(n);
  for (let i = 0; i < n; i++) rest[i] = y[i]! - slope * x[i]!;
  return { slope, intercept: quantileInPlace(rest, 0.5) };
}
