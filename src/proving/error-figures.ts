/** How a set of errors lies. All NaN, n 0, where there is none. */
export interface ErrorFigures {
  readonly n: number;
  /** Mean [m]. */
  readonly biasM: number;
  readonly rmsM: number;
  /** 95 % of errors are no larger than this, either way [m]. */
  readonly p95M: number;
  readonly maxM: number;
}

/** Figures of errors; NaN values are passed over. The 95 % figure is the smallest error that 95 % do not exceed. */
export function errorFigures(errorsM: Float64Array): ErrorFigures {
  const sizes = new Float64Array(errorsM.length);
  let n = 0;
  let sum = 0;
  let squares = 0;
  for (const error of errorsM) {
    if (Number.isNaN(error)) continue;
    sum += error;
    squares += error * error;
    sizes[n++] = Math.abs(error);
  }
  if (n === 0) return { n: 0, biasM: NaN, rmsM: NaN, p95M: NaN, maxM: NaN };
  const sorted = sizes.subarray(0, n).sort();
  return { n, biasM: sum / n, rmsM: Math.sqrt(squares / n), p95M: sorted[Math.ceil(0.95 * n) - 1]!, maxM: sorted[n - 1]! };
}

/** How many of how many. */
export interface Share {
  readonly count: number;
  readonly of: number;
  /** NaN where there is none. */
  readonly share: number;
}

export function shareOf(count: number, of: number): Share {
  return { count, of, share: of > 0 ? count / of : NaN };
}
