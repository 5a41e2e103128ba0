import { correlation } from './variogram-model.js';
import type { VariogramModel } from './variogram-model.js';

/** Points to krige from. Columns of one length [n]; no two at one place (see `mergedPoints`). */
export interface KrigingPoints {
  /** Place in the survey frame [m]. */
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  readonly value: Float64Array;
  /** One sigma of the error of each value, independent from point to point; 0 or NaN: without error. None unless given. */
  readonly sigma?: Float64Array;
}

/** A pivot below this share of the variance: the point tells nothing that others have not told, and is passed over. */
const LEAST_PIVOT = 1e-11;
/** A drift whose matrix is worse conditioned than this cannot be told from these points: a plane from points in a line. */
const LEAST_DRIFT = 1e-9;

/**
 * The equations of kriging for one neighbourhood: set up once, solved for as many places as use it.
 *
 * With C the covariances of the points, errors on its diagonal, c0 those with the place, F the drift at the points and f0
 * at the place: value = f0' b + c0' C^-1 (z - F b), b = (F' C^-1 F)^-1 F' C^-1 z; variance = C(0) - c0' C^-1 c0
 * + r' (F' C^-1 F)^-1 r, r = f0 - F' C^-1 c0. The value is that of the floor without the points' errors.
 *
 * Source: Chiles & Delfiner (2012), Geostatistics, 2nd ed., sections 3.4 (kriging with a drift) and 3.7.1 (measurement error).
 */
export class KrigingSystem {
  /** Results of the last `solve`; NaN without points. */
  value = NaN;
  variance = NaN;

  private n = 0;
  /** Columns of the drift: 1 for a constant, 3 for a plane. */
  private terms = 1;
  private readonly rows: Uint32Array;
  /** Lower triangle of the Cholesky factor of C, `most` to a row; an infinite pivot takes a point out. */
  private readonly factor: Float64Array;
  private readonly x: Float64Array;
  private readonly y: Float64Array;
  /** L^-1 (z - F b), and L^-1 F, `most` to a column. */
  private readonly whiteValue: Float64Array;
  private readonly whiteDrift: Float64Array;
  private readonly right: Float64Array;
  /** Cholesky factor of F' C^-1 F. */
  private readonly drift = new Float64Array(9);
  private readonly beta = new Float64Array(3);
  private readonly rest = new Float64Array(3);
  private readonly half = new Float64Array(3);
  private centreX = 0;
  private centreY = 0;
  private scale = 1;

  constructor(
    private readonly points: KrigingPoints,
    private readonly model: VariogramModel,
    private readonly most: number,
    private readonly plane: boolean,
  ) {
    this.rows = new Uint32Array(most);
    this.factor = new Float64Array(most * most);
    this.x = new Float64Array(most);
    this.y = new Float64Array(most);
    this.whiteValue = new Float64Array(most);
    this.whiteDrift = new Float64Array(3 * most);
    this.right = new Float64Array(most);
  }

  /** Takes a neighbourhood, the first n of the rows, ascending; nothing to do where it has that one. */
  take(found: Uint32Array, n: number): void {
    if (n === this.n && this.has(found)) return;
    this.n = n;
    this.rows.set(found.subarray(0, n));
    if (n === 0) return;
    this.centre();
    this.factorise();
    this.fitDrift();
  }

  /** The value at a place and the variance of its error. */
  solve(xM: number, yM: number): void {
    const { n, terms, most, factor, right, whiteDrift, whiteValue, rest, half } = this;
    if (n === 0) {
      this.value = this.variance = NaN;
      return;
    }
    const { nugget, partialSill, shape, rangeM } = this.model;
    const x = xM - this.centreX;
    const y = yM - this.centreY;
    rest[0] = 1;
    rest[1] = x / this.scale;
    rest[2] = y / this.scale;
    let value = 0;
    let variance = nugget + partialSill;
    for (let p = 0; p < terms; p++) value += rest[p]! * this.beta[p]!;
    for (let i = 0; i < n; i++) {
      const dx = x - this.x[i]!;
      const dy = y - this.y[i]!;
      const lag = Math.sqrt(dx * dx + dy * dy);
      let sum = partialSill * correlation(shape, lag / rangeM);
      if (lag === 0) sum += nugget;
      const row = i * most;
      for (let j = 0; j < i; j++) sum -= factor[row + j]! * right[j]!;
      const white = sum / factor[row + i]!;
      right[i] = white;
      value += white * whiteValue[i]!;
      variance -= white * white;
      for (let p = 0; p < terms; p++) rest[p]! -= whiteDrift[p * most + i]! * white;
    }
    for (let p = 0; p < terms; p++) {
      let sum = rest[p]!;
      for (let q = 0; q < p; q++) sum -= this.drift[p * 3 + q]! * half[q]!;
      half[p] = sum / this.drift[p * 3 + p]!;
      variance += half[p]! * half[p]!;
    }
    this.value = value;
    this.variance = Math.max(0, variance);
  }

  private has(found: Uint32Array): boolean {
    for (let i = 0; i < this.n; i++) if (this.rows[i] !== found[i]) return false;
    return true;
  }

  /** Places from the neighbourhood's middle, so that a northing of millions costs no digits. */
  private centre(): void {
    const { n, rows, points, x, y } = this;
    let [sumX, sumY] = [0, 0];
    const first = rows[0]!;
    for (let i = 0; i < n; i++) {
      sumX += points.xM[rows[i]!]! - points.xM[first]!;
      sumY += points.yM[rows[i]!]! - points.yM[first]!;
    }
    this.centreX = points.xM[first]! + sumX / n;
    this.centreY = points.yM[first]! + sumY / n;
    let furthest = 0;
    for (let i = 0; i < n; i++) {
      x[i] = points.xM[rows[i]!]! - this.centreX;
      y[i] = points.yM[rows[i]!]! - this.centreY;
      furthest = Math.max(furthest, Math.abs(x[i]!), Math.abs(y[i]!));
    }
    this.scale = furthest > 0 ? furthest : 1;
  }

  private factorise(): void {
    const { n, most, factor, x, y, rows } = this;
    const { nugget, partialSill, shape, rangeM } = this.model;
    const sigma = this.points.sigma;
    for (let i = 0; i < n; i++) {
      const row = i * most;
      for (let j = 0; j < i; j++) {
        const dx = x[i]! - x[j]!;
        const dy = y[i]! - y[j]!;
        let sum = partialSill * correlation(shape, Math.sqrt(dx * dx + dy * dy) / rangeM);
        const other = j * most;
        for (let k = 0; k < j; k++) sum -= factor[row + k]! * factor[other + k]!;
        factor[row + j] = sum / factor[other + j]!;
      }
      const error = sigma === undefined ? 0 : sigma[rows[i]!]!;
      const whole = nugget + partialSill + (error === error ? error * error : 0);
      let pivot = whole;
      for (let k = 0; k < i; k++) pivot -= factor[row + k]! * factor[row + k]!;
      factor[row + i] = pivot > LEAST_PIVOT * whole ? Math.sqrt(pivot) : Infinity;
    }
  }

  /** The drift of least squares, and what it leaves of the values, whitened. */
  private fitDrift(): void {
    const { n, most, factor, whiteDrift, whiteValue, rows, points, drift, beta } = this;
    const wanted = this.plane && n >= 4 ? 3 : 1;
    // Less the first value: depths differ by metres about thousands.
    const level = points.value[rows[0]!]!;
    for (let i = 0; i < n; i++) {
      const row = i * most;
      let value = points.value[rows[i]!]! - level;
      let [one, east, north] = [1, this.x[i]! / this.scale, this.y[i]! / this.scale];
      for (let j = 0; j < i; j++) {
        const l = factor[row + j]!;
        value -= l * whiteValue[j]!;
        one -= l * whiteDrift[j]!;
        east -= l * whiteDrift[most + j]!;
        north -= l * whiteDrift[2 * most + j]!;
      }
      const pivot = factor[row + i]!;
      whiteValue[i] = value / pivot;
      whiteDrift[i] = one / pivot;
      whiteDrift[most + i] = east / pivot;
      whiteDrift[2 * most + i] = north / pivot;
    }
    this.terms = 0;
    for (let p = 0; p < wanted; p++) {
      let pivot = 0;
      for (let q = 0; q <= p; q++) {
        let sum = 0;
        for (let i = 0; i < n; i++) sum += whiteDrift[p * most + i]! * whiteDrift[q * most + i]!;
        const whole = sum;
        for (let k = 0; k < q; k++) sum -= drift[p * 3 + k]! * drift[q * 3 + k]!;
        if (q < p) drift[p * 3 + q] = sum / drift[q * 3 + q]!;
        else pivot = sum > LEAST_DRIFT * whole ? Math.sqrt(sum) : 0;
      }
      if (pivot === 0) break;
      drift[p * 3 + p] = pivot;
      this.terms = p + 1;
    }
    // A plane or a constant, nothing between: points in one line tell no slope across it.
    if (this.terms === 2) this.terms = 1;
    for (let p = 0; p < this.terms; p++) {
      let sum = 0;
      for (let i = 0; i < n; i++) sum += whiteDrift[p * most + i]! * whiteValue[i]!;
      for (let q = 0; q < p; q++) sum -= drift[p * 3 + q]! * beta[q]!;
      beta[p] = sum / drift[p * 3 + p]!;
    }
    for (let p = this.terms - 1; p >= 0; p--) {
      let sum = beta[p]!;
      for (let q = p + 1; q < this.terms; q++) sum -= drift[q * 3 + p]! * beta[q]!;
      beta[p] = sum / drift[p * 3 + p]!;
    }
    for (let i = 0; i < n; i++) for (let p = 0; p < this.terms; p++) whiteValue[i]! -= whiteDrift[p * most + i]! * beta[p]!;
    beta[0]! += level;
  }
}
