import { fitCurve, fitLinear } from './curve-fit.js';
import type { Estimate, Refusal } from './estimate.js';

/** P = P0 + a v^n, fitted. */
export interface PowerCurve {
  readonly hotelW: Estimate;
  readonly coefficient: Estimate;
  readonly exponent: Estimate;
  /** Of (P0, a, n), [9] row-major; zero rows for what was given. */
  readonly covariance: Float64Array;
}

export interface PowerCurveOptions {
  /** n where it is known; null: fitted. */
  readonly exponent: number | null;
  /** P0 where it was measured at rest, null: fitted. */
  readonly hotelW: Estimate | null;
}

/** Electrical power of the thrusters: n of a hull below its wave-making speed is about 3; these hold any that is not a mistake. */
const MIN_EXPONENT = 1;
const MAX_EXPONENT = 6;

/**
 * Electrical power against speed through the water: P = P0 + a v^n.
 *
 * Least squares; n by search, P0 and a linear under it, then all together for the covariance. A hotel load measured at rest
 * is kept and its error carried into a and n.
 *
 * @param speedMps speed through the water, [m]
 * @param powerW electrical power at it, [m]
 * @param sigmaW one standard error of each power, that of the speed told in; its share decides the weight
 * @returns refused with fewer speeds than unknowns, speeds too alike, or a power that falls with speed
 * Source: TRADE, Power: n about 3 below hull speed 1.34 sqrt(LWL ft) kn.
 */
export function fitPowerCurve(speedMps: ArrayLike<number>, powerW: ArrayLike<number>, sigmaW: ArrayLike<number>, options: PowerCurveOptions): PowerCurve | Refusal {
  const m = speedMps.length;
  if (powerW.length !== m || sigmaW.length !== m) throw new RangeError(`${m} speeds, ${powerW.length} powers and ${sigmaW.length} errors: expected the same number`);
  const fitN = options.exponent === null;
  const fitHotel = options.hotelW === null;
  const unknowns = 1 + (fitN ? 1 : 0) + (fitHotel ? 1 : 0);
  if (m < unknowns) return { refused: `${m} speed${m === 1 ? '' : 's'} with power: ${unknowns} or more are needed` };
  let slow = Infinity;
  let fast = 0;
  let most = 0;
  for (let i = 0; i < m; i++) {
    if (!(speedMps[i]! > 0)) return { refused: `speed ${speedMps[i]}: expected more than 0` };
    if (!(powerW[i]! > 0)) return { refused: `power ${powerW[i]!.toFixed(1)} W under way: the battery current has the wrong sign, or was not logged; discharge is positive` };
    slow = Math.min(slow, speedMps[i]!);
    fast = Math.max(fast, speedMps[i]!);
    most = Math.max(most, powerW[i]!);
  }
  if (fitN && fast < 1.3 * slow) return { refused: `speeds from ${slow.toFixed(2)} to ${fast.toFixed(2)} m/s are too alike to tell the curve: add runs at half the command or less` };
  const solve = (n: number): { hotel: number; a: number; cost: number } => {
    const inverse = Float64Array.from({ length: m }, (_, i) => 1 / sigmaW[i]!);
    const rise = Float64Array.from({ length: m }, (_, i) => (speedMps[i]! / fast) ** n * inverse[i]!);
    const values = Float64Array.from({ length: m }, (_, i) => (powerW[i]! - (fitHotel ? 0 : options.hotelW.value)) * inverse[i]!);
    const linear = fitLinear(fitHotel ? [rise, inverse] : [rise], values);
    if (linear === null) return { hotel: NaN, a: NaN, cost: Infinity };
    return { a: linear.coefficients[0]!, hotel: fitHotel ? linear.coefficients[1]! : options.hotelW.value, cost: linear.sumSquares };
  };
  let n = options.exponent ?? 3;
  if (fitN) {
    let best = Infinity;
    for (let tryN = MIN_EXPONENT; tryN <= MAX_EXPONENT + 1e-9; tryN += 0.1) {
      const { cost } = solve(tryN);
      if (cost < best) [best, n] = [cost, tryN];
    }
    if (n <= MIN_EXPONENT + 0.05 || n >= MAX_EXPONENT - 0.05) return { refused: `power does not follow P0 + a v^n with n between ${MIN_EXPONENT} and ${MAX_EXPONENT}: more speeds, or the same wind and current for all` };
  }
  const begun = solve(n);
  if (!(begun.a > 0)) return { refused: 'power does not rise with speed: check battery current and the runs' };
  // a is carried as the thrusters' power at the fastest run, which the data know best.
  const given = options.hotelW;
  const rows = m + (given !== null && given.sigma > 0 ? 1 : 0);
  const order: ('hotel' | 'a' | 'n')[] = ['a', ...(fitN ? (['n'] as const) : []), ...(fitHotel || rows > m ? (['hotel'] as const) : [])];
  const start = order.map((name) => (name === 'a' ? begun.a : name === 'n' ? n : begun.hotel));
  const scale = order.map((name) => (name === 'n' ? 0.5 : 0.1 * most));
  const read = (params: ArrayLike<number>, name: 'hotel' | 'a' | 'n'): number => {
    const at = order.indexOf(name);
    return at >= 0 ? params[at]! : name === 'n' ? n : given!.value;
  };
  const fit = fitCurve(
    (params, out) => {
      const a = read(params, 'a');
      const power = read(params, 'n');
      const hotel = read(params, 'hotel');
      for (let i = 0; i < m; i++) out[i] = (powerW[i]! - hotel - a * (speedMps[i]! / fast) ** power) / sigmaW[i]!;
      if (rows > m) out[m] = (given!.value - hotel) / given!.sigma;
    },
    rows,
    start,
    scale,
    { standardised: true, unordered: true },
  );
  const p = order.length;
  if (!(fit.covariance[0]! >= 0)) return { refused: 'the runs do not tell hotel load, coefficient and exponent apart: add runs at other speeds' };
  const exponent = read(fit.params, 'n');
  const top = read(fit.params, 'a');
  const coefficient = top * fast ** -exponent;
  // From (top, n, hotel) to (hotel, a, n): a = top fast^-n.
  const jacobian = [order.map((name) => (name === 'hotel' ? 1 : 0)), order.map((name) => (name === 'a' ? fast ** -exponent : name === 'n' ? -coefficient * Math.log(fast) : 0)), order.map((name) => (name === 'n' ? 1 : 0))];
  const covariance = new Float64Array(9);
  for (let i = 0; i < 3; i++) {
    for (let j = 0; j < 3; j++) {
      let sum = 0;
      for (let k = 0; k < p; k++) for (let l = 0; l < p; l++) sum += jacobian[i]![k]! * fit.covariance[k * p + l]! * jacobian[j]![l]!;
      covariance[i * 3 + j] = sum;
    }
  }
  const dof = Infinity;
  return {
    hotelW: { value: read(fit.params, 'hotel'), sigma: Math.sqrt(covariance[0]!), dof },
    coefficient: { value: coefficient, sigma: Math.sqrt(covariance[4]!), dof },
    exponent: { value: exponent, sigma: Math.sqrt(covariance[8]!), dof },
    covariance,
  };
}

/** Power at a speed with one standard error, covariance of the curve's figures told in [W]. */
export function powerAt(curve: PowerCurve, speedMps: number): Estimate {
  const a = curve.coefficient.value;
  const rise = speedMps ** curve.exponent.value;
  const slopes = [1, rise, a * rise * Math.log(speedMps)];
  let variance = 0;
  for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) variance += slopes[i]! * slopes[j]! * curve.covariance[i * 3 + j]!;
  return { value: curve.hotelW.value + a * rise, sigma: Math.sqrt(variance), dof: Infinity };
}
