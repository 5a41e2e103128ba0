/** Speed of one pair or series of reciprocal runs. */
export interface MeanOfMeans {
  /** Speed through the water [m/s]. */
  readonly speedMps: number;
  /** One standard error of it, from those of the runs [m/s]. */
  readonly sigmaMps: number;
  /** Current along the outward course, weighted about the middle of the series, with it positive [m/s]; sigma as above. */
  readonly currentAlongMps: number;
}

/**
 * Weights of runs made in turn out and home: binomial coefficients over their sum.
 * 2 runs 1 1, 3 runs 1 2 1, 4 runs 1 3 3 1, each over its sum.
 *
 * @param runs 2 to 6
 * @throws RangeError for another number
 */
export function pascalWeights(runs: number): Float64Array {
  if (!Number.isInteger(runs) || runs < 2 || runs > 6) throw new RangeError(`runs ${runs}: expected 2 to 6 reciprocal runs`);
  const weights = new Float64Array(runs);
  let weight = 2 ** (1 - runs);
  for (let i = 0; i < runs; i++) {
    weights[i] = weight;
    weight *= (runs - 1 - i) / (i + 1);
  }
  return weights;
}

/**
 * Speed through the water from runs made in turn on opposite courses: the mean of means.
 *
 * Exact for a current along the course that changes as a polynomial of degree n - 2 in the number of the run: two runs take
 * out a steady current, three one that changes evenly, four one whose change changes evenly. Runs should follow one another
 * at even intervals; the current across the course is not looked at.
 *
 * @param alongMps speed over ground of each run along its own course, in order of time, [2..6]
 * @param sigmaMps one standard error of each
 * @throws RangeError for fewer than 2 or more than 6 runs, or columns of different length
 *
 * Source: ITTC 7.5-04-01-01.1, double runs, mean of means; weights for 5 and 6 runs by the same rule.
 */
export function meanOfMeans(alongMps: ArrayLike<number>, sigmaMps: ArrayLike<number>): MeanOfMeans {
  const n = alongMps.length;
  if (sigmaMps.length !== n) throw new RangeError(`${n} speeds and ${sigmaMps.length} errors: expected the same number`);
  const weights = pascalWeights(n);
  let speed = 0;
  let current = 0;
  let variance = 0;
  for (let i = 0; i < n; i++) {
    const weighted = weights[i]! * alongMps[i]!;
    speed += weighted;
    current += i % 2 === 0 ? weighted : -weighted;
    variance += (weights[i]! * sigmaMps[i]!) ** 2;
  }
  return { speedMps: speed, sigmaMps: Math.sqrt(variance), currentAlongMps: current };
}
