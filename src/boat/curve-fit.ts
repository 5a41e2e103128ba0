/** A curve fitted by least squares. */
export interface CurveFit {
  readonly params: Float64Array;
  /** Of the parameters, [p * p] row-major; already scaled by the residuals' variance and their correlation. */
  readonly covariance: Float64Array;
  /** Residual standard deviation, divisor m - p. */
  readonly residualSd: number;
  /** How many residuals say as much as one independent one; 1 where they are independent. */
  readonly correlation: number;
  /** Degrees of freedom left once the correlation is allowed for. */
  readonly dof: number;
  readonly residuals: Float64Array;
  readonly converged: boolean;
}

export interface CurveFitOptions {
  /** How many equally long series the residuals are, one after the other (2 for x then y); their correlation is told within each. */
  readonly series?: number;
  /** Residuals are already over their known standard deviation: the covariance is not made smaller than those say. */
  readonly standardised?: boolean;
  /** Residuals come in no order of time: they are taken as independent. */
  readonly unordered?: boolean;
  /** Times of the residuals of one series [s], for positions: their errors are then white and a random walk, each as large as the residuals show. */
  readonly walkTimeS?: ArrayLike<number>;
  readonly maxIterations?: number;
}

/**
 * Parameters that make the sum of squared residuals least: Levenberg-Marquardt with central differences.
 *
 * Residuals in order of time are often alike from one to the next; the covariance is multiplied by the number of residuals
 * that say as much as one, 1 + 2 sum of autocorrelations up to where pairs of them turn negative. With `walkTimeS` it is that of
 * white noise and a random walk together: the wander of speed and receiver adds up along the way, the parameters take most of it
 * up, and the residuals show it only in how their differences grow with the lag.
 *
 * @param residualsInto fills the residuals at a set of parameters; must be smooth in them
 * @param m how many residuals
 * @param start first guess, [p]
 * @param scale size of a step that matters in each parameter, [p], more than 0
 * @returns covariance NaN where the residuals do not tell the parameters apart or m <= p
 *
 * Source: Marquardt (1963), J. SIAM 11(2), 431-441; Geyer (1992), Statistical Science 7(4), 473-483 (initial positive sequence).
 */
export function fitCurve(
  residualsInto: (params: Float64Array, out: Float64Array) => void,
  m: number,
  start: ArrayLike<number>,
  scale: ArrayLike<number>,
  options: CurveFitOptions = {},
): CurveFit {
  const p = start.length;
  const params = Float64Array.from(start);
  let residuals = new Float64Array(m);
  let trial = new Float64Array(m);
  const jacobian = new Float64Array(m * p);
  residualsInto(params, residuals);
  let cost = sumSquares(residuals);
  let damping = 1e-3;
  let converged = false;
  const normal = new Float64Array(p * p);
  const gradient = new Float64Array(p);
  const moved = new Float64Array(p);
  for (let iteration = 0; iteration < (options.maxIterations ?? 60) && !converged; iteration++) {
    jacobianInto(residualsInto, params, scale, trial, jacobian, m);
    normalInto(jacobian, residuals, normal, gradient, m, p);
    for (let attempt = 0; ; attempt++) {
      const damped = normal.slice();
      for (let k = 0; k < p; k++) damped[k * p + k] = damped[k * p + k]! * (1 + damping) + 1e-300;
      const step = solveSymmetric(damped, gradient, p);
      let size = 0;
      for (let k = 0; k < p; k++) {
        moved[k] = params[k]! - (step === null ? NaN : step[k]!);
        size = Math.max(size, Math.abs(moved[k]! - params[k]!) / scale[k]!);
      }
      residualsInto(moved, trial);
      const cost2 = sumSquares(trial);
      if (cost2 <= cost) {
        converged = size < 1e-8 || cost - cost2 <= 1e-11 * cost;
        params.set(moved);
        [residuals, trial] = [trial, residuals];
        cost = cost2;
        damping = Math.max(1e-12, damping / 10);
        break;
      }
      damping *= 10;
      if (attempt > 25 || size < 1e-10) {
        // No step down is left: as low as the arithmetic can tell.
        converged = size < 1e-6;
        iteration = Infinity;
        break;
      }
    }
  }
  jacobianInto(residualsInto, params, scale, trial, jacobian, m);
  normalInto(jacobian, residuals, normal, gradient, m, p);
  if (options.walkTimeS !== undefined && m > p) return withWalk(options.walkTimeS, options.series ?? 1, params, normal, jacobian, residuals, cost, converged);
  const correlation = options.unordered === true ? 1 : correlationTime(residuals, options.series ?? 1);
  const variance = m > p ? cost / (m - p) : NaN;
  const inverse = invertSymmetric(normal, p) ?? new Float64Array(p * p).fill(NaN);
  const factor = options.standardised === true ? Math.max(1, Number.isNaN(variance) ? 1 : variance) : variance * correlation;
  for (let k = 0; k < p * p; k++) inverse[k] = inverse[k]! * factor;
  return { params, covariance: inverse, residualSd: Math.sqrt(variance), correlation, dof: Math.max(0, m / correlation - p), residuals, converged };
}

/** Lag over which a random walk is told from white noise [s]. */
const WALK_LAG_S = 5;

function withWalk(timeS: ArrayLike<number>, series: number, params: Float64Array, normal: Float64Array, jacobian: Float64Array, residuals: Float64Array, cost: number, converged: boolean): CurveFit {
  const p = params.length;
  const m = residuals.length;
  const n = m / series;
  const spanS = timeS[n - 1]! - timeS[0]!;
  const stepS = spanS / (n - 1);
  const long = Math.max(1, Math.min(Math.round(WALK_LAG_S / stepS), Math.floor(n / 4)));
  const apart = (lag: number): number => {
    let sum = 0;
    for (let s = 0; s < series; s++) for (let i = s * n; i + lag < (s + 1) * n; i++) sum += (residuals[i + lag]! - residuals[i]!) ** 2;
    return sum / (series * (n - lag));
  };
  // Differences of white noise have variance 2 s^2 at any lag, those of a walk q per second.
  const near = apart(1);
  const q = long > 1 ? Math.max(0, (apart(long) - near) / ((long - 1) * stepS)) : 0;
  const white = Math.max(1e-300, near / 2, cost / (m - p) - q * long * stepS);
  const inverse = invertSymmetric(normal, p);
  const covariance = new Float64Array(p * p).fill(NaN);
  if (inverse !== null) {
    for (let k = 0; k < p * p; k++) covariance[k] = inverse[k]! * white;
    // Of the walk: each second's step moves every later residual alike, so that the sum of their influences squares.
    const tail = new Float64Array(p);
    for (let s = 0; s < series; s++) {
      tail.fill(0);
      for (let i = n - 1; i > 0; i--) {
        for (let k = 0; k < p; k++) for (let l = 0; l < p; l++) tail[k] = tail[k]! + inverse[k * p + l]! * jacobian[(s * n + i) * p + l]!;
        const dt = timeS[i]! - timeS[i - 1]!;
        for (let k = 0; k < p; k++) for (let l = 0; l < p; l++) covariance[k * p + l] = covariance[k * p + l]! + q * dt * tail[k]! * tail[l]!;
      }
    }
  }
  return { params, covariance, residualSd: Math.sqrt(cost / (m - p)), correlation: 1, dof: Math.max(2, (series * spanS) / (2 * long * stepS)), residuals, converged };
}

/** Standard error of one parameter. */
export function standardError(fit: CurveFit, index: number): number {
  return Math.sqrt(fit.covariance[index * fit.params.length + index]!);
}

/**
 * How many values of a series say as much as one independent value: 1 + 2 sum of autocorrelations. At least 1.
 * @param series how many equally long series stand one after the other
 */
export function correlationTime(values: ArrayLike<number>, series = 1): number {
  const n = Math.floor(values.length / series);
  if (n < 8) return 1;
  const covariance = (lag: number): number => {
    let sum = 0;
    for (let s = 0; s < series; s++) for (let i = s * n; i + lag < (s + 1) * n; i++) sum += values[i]! * values[i + lag]!;
    return sum;
  };
  const zero = covariance(0);
  if (!(zero > 0)) return 1;
  let total = -1;
  for (let lag = 0; lag + 1 < n / 3; lag += 2) {
    const pair = (covariance(lag) + covariance(lag + 1)) / zero;
    if (pair <= 0) break;
    total += 2 * pair;
  }
  return Math.max(1, total);
}

function sumSquares(values: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i]! * values[i]!;
  return Number.isNaN(sum) ? Infinity : sum;
}

function jacobianInto(residualsInto: (params: Float64Array, out: Float64Array) => void, params: Float64Array, scale: ArrayLike<number>, work: Float64Array, jacobian: Float64Array, m: number): void {
  const p = params.length;
  const at = params.slice();
  for (let k = 0; k < p; k++) {
    const h = 1e-5 * scale[k]!;
    at[k] = params[k]! + h;
    residualsInto(at, work);
    for (let i = 0; i < m; i++) jacobian[i * p + k] = work[i]!;
    at[k] = params[k]! - h;
    residualsInto(at, work);
    for (let i = 0; i < m; i++) jacobian[i * p + k] = (jacobian[i * p + k]! - work[i]!) / (2 * h);
    at[k] = params[k]!;
  }
}

function normalInto(jacobian: Float64Array, residuals: Float64Array, normal: Float64Array, gradient: Float64Array, m: number, p: number): void {
  normal.fill(0);
  gradient.fill(0);
  for (let i = 0; i < m; i++) {
    for (let k = 0; k < p; k++) {
      const a = jacobian[i * p + k]!;
      gradient[k] = gradient[k]! + a * residuals[i]!;
      for (let l = 0; l <= k; l++) normal[k * p + l] = normal[k * p + l]! + a * jacobian[i * p + l]!;
    }
  }
  for (let k = 0; k < p; k++) for (let l = k + 1; l < p; l++) normal[k * p + l] = normal[l * p + k]!;
}

/** Lower triangle L of a = L L^T after scaling to a unit diagonal; null where it is not positive definite. */
function cholesky(a: Float64Array, p: number): { lower: Float64Array; unit: Float64Array } | null {
  const unit = new Float64Array(p);
  for (let k = 0; k < p; k++) {
    const diagonal = a[k * p + k]!;
    if (!(diagonal > 0)) return null;
    unit[k] = 1 / Math.sqrt(diagonal);
  }
  const lower = new Float64Array(p * p);
  for (let i = 0; i < p; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = a[i * p + j]! * unit[i]! * unit[j]!;
      for (let k = 0; k < j; k++) sum -= lower[i * p + k]! * lower[j * p + k]!;
      if (i !== j) lower[i * p + j] = sum / lower[j * p + j]!;
      else if (sum > 1e-14) lower[i * p + i] = Math.sqrt(sum);
      else return null;
    }
  }
  return { lower, unit };
}

/** Solves a x = b for a symmetric positive definite a, [p * p]; null where it is not. */
export function solveSymmetric(a: Float64Array, b: ArrayLike<number>, p: number): Float64Array | null {
  const parts = cholesky(a, p);
  if (parts === null) return null;
  const { lower, unit } = parts;
  const x = new Float64Array(p);
  for (let i = 0; i < p; i++) {
    let sum = b[i]! * unit[i]!;
    for (let k = 0; k < i; k++) sum -= lower[i * p + k]! * x[k]!;
    x[i] = sum / lower[i * p + i]!;
  }
  for (let i = p - 1; i >= 0; i--) {
    let sum = x[i]!;
    for (let k = i + 1; k < p; k++) sum -= lower[k * p + i]! * x[k]!;
    x[i] = sum / lower[i * p + i]!;
  }
  for (let i = 0; i < p; i++) x[i] = x[i]! * unit[i]!;
  return x;
}

/** Inverse of a symmetric positive definite matrix, [p * p]; null where it is not. */
export function invertSymmetric(a: Float64Array, p: number): Float64Array | null {
  const inverse = new Float64Array(p * p);
  const one = new Float64Array(p);
  for (let k = 0; k < p; k++) {
    one.fill(0);
    one[k] = 1;
    const column = solveSymmetric(a, one, p);
    if (column === null) return null;
    for (let i = 0; i < p; i++) inverse[i * p + k] = column[i]!;
  }
  return inverse;
}

/**
 * Linear least squares: coefficients of columns that come nearest to values.
 * @param columns [p] of [m]
 * @returns null where the columns do not tell the coefficients apart
 */
export function fitLinear(columns: readonly ArrayLike<number>[], values: ArrayLike<number>): { coefficients: Float64Array; sumSquares: number } | null {
  const p = columns.length;
  const m = values.length;
  // Columns of one sort of array: loops over several sorts run several times slower.
  const given = columns.map(inDoubles);
  const told = inDoubles(values);
  const normal = new Float64Array(p * p);
  const right = new Float64Array(p);
  for (let k = 0; k < p; k++) {
    for (let l = 0; l <= k; l++) normal[k * p + l] = normal[l * p + k] = product(given[k]!, given[l]!, m);
    right[k] = product(given[k]!, told, m);
  }
  const coefficients = solveSymmetric(normal, right, p);
  if (coefficients === null) return null;
  const left = Float64Array.from(told);
  for (let k = 0; k < p; k++) {
    const column = given[k]!;
    const coefficient = coefficients[k]!;
    for (let i = 0; i < m; i++) left[i]! -= coefficient * column[i]!;
  }
  return { coefficients, sumSquares: product(left, left, m) };
}

function inDoubles(values: ArrayLike<number>): Float64Array {
  return values instanceof Float64Array ? values : Float64Array.from(values);
}

function product(a: Float64Array, b: Float64Array, n: number): number {
  let sum = 0;
  for (let i = 0; i < n; i++) sum += a[i]! * b[i]!;
  return sum;
}
