import { solveSymmetric, invertSymmetric } from '../boat/curve-fit.js';
import { tvuLimitM, type OrderName } from './orders.js';
import type { Crossings } from './crossings.js';

/** How one line agrees with those that cross it. Differences are the line's depth less the other's [m]. */
export interface LineAgreement {
  readonly line: number;
  readonly count: number;
  readonly meanM: number;
  /** Of its differences, one sigma; NaN of a single one. */
  readonly deviationM: number;
  /** Size that 95 % of its differences stay below. */
  readonly p95M: number;
  /**
   * How much deeper it reads than the whole survey once the lines it crosses are allowed for, with the half width of its 95 %
   * interval; 0 is the mean of all lines that cross any.
   */
  readonly offsetM: number;
  readonly offsetHalf95M: number;
}

/** How a survey's crossings stand against an order. */
export interface CrossingStanding {
  readonly order: OrderName;
  readonly count: number;
  readonly meanM: number;
  readonly deviationM: number;
  readonly p95M: number;
  /** Share of differences within what two soundings of that order may differ by at 95 %: sqrt(2) times its TVU limit. */
  readonly shareWithin: number;
  /** At least 95 % are. */
  readonly met: boolean;
}

/** A trace of belief that a line's offset is nought, in crossings: it holds together networks that fall apart. */
const PRIOR_CROSSINGS = 1e-3;
const MET_SHARE = 0.95;

/**
 * Each line against those it crosses, and the offsets that bring all crossings together best.
 *
 * Offsets are those of a least squares adjustment: difference = offset of B less offset of A, mean of offsets nought.
 *
 * Source: least squares adjustment of differences, as of a levelling net: textbook; of cross lines: common practice.
 */
export function lineAgreements(crossings: Pick<Crossings, 'count' | 'lineA' | 'lineB' | 'differenceM'>): LineAgreement[] {
  const lines = [...new Set([...crossings.lineA, ...crossings.lineB])].sort((a, b) => a - b);
  const index = new Map(lines.map((line, at) => [line, at]));
  const m = lines.length;
  const differences: number[][] = lines.map(() => []);
  const normal = new Float64Array(m * m);
  const right = new Float64Array(m);
  for (let i = 0; i < crossings.count; i++) {
    const a = index.get(crossings.lineA[i]!)!;
    const b = index.get(crossings.lineB[i]!)!;
    const difference = crossings.differenceM[i]!;
    differences[a]!.push(-difference);
    differences[b]!.push(difference);
    normal[a * m + a]!++;
    normal[b * m + b]!++;
    normal[a * m + b]!--;
    normal[b * m + a]!--;
    right[b]! += difference;
    right[a]! -= difference;
  }
  // Nothing in the differences says where nought is: the sum of offsets is held there.
  for (let k = 0; k < m * m; k++) normal[k]! += 1 / m;
  for (let k = 0; k < m; k++) normal[k * m + k]! += PRIOR_CROSSINGS;
  const offset = solveSymmetric(normal, right, m);
  const inverse = invertSymmetric(normal, m);
  let squares = 0;
  for (let i = 0; i < crossings.count; i++) {
    squares += (crossings.differenceM[i]! - (offset === null ? 0 : offset[index.get(crossings.lineB[i]!)!]! - offset[index.get(crossings.lineA[i]!)!]!)) ** 2;
  }
  const free = crossings.count - m + 1;
  const sigmaM = free > 0 ? Math.sqrt(squares / free) : NaN;
  return lines.map((line, at) => {
    const own = differences[at]!;
    const meanM = own.reduce((sum, one) => sum + one, 0) / own.length;
    return {
      line,
      count: own.length,
      meanM,
      deviationM: own.length > 1 ? Math.sqrt(own.reduce((sum, one) => sum + (one - meanM) ** 2, 0) / (own.length - 1)) : NaN,
      p95M: within95(own),
      offsetM: offset === null ? NaN : offset[at]!,
      // The part of the mean that is held at nought is no uncertainty.
      offsetHalf95M: inverse === null ? NaN : 1.96 * sigmaM * Math.sqrt(Math.max(0, inverse[at * m + at]! - 1 / m)),
    };
  });
}

/**
 * Crossings against an order: two soundings that each keep its TVU with 95 % differ by no more than sqrt(2) times it with 95 %.
 * Source: IHO S-44 ed. 6.1.0, table 1, for the limit; its square root of two from independence of the two.
 */
export function crossingStanding(crossings: Pick<Crossings, 'count' | 'depthAM' | 'depthBM' | 'differenceM'>, order: OrderName): CrossingStanding {
  const { count, differenceM } = crossings;
  let inside = 0;
  let sum = 0;
  let squares = 0;
  for (let i = 0; i < count; i++) {
    const size = differenceM[i]!;
    sum += size;
    squares += size * size;
    if (Math.abs(size) <= Math.SQRT2 * tvuLimitM(order, (crossings.depthAM[i]! + crossings.depthBM[i]!) / 2)) inside++;
  }
  const meanM = sum / count;
  return {
    order,
    count,
    meanM,
    deviationM: count > 1 ? Math.sqrt((squares - count * meanM * meanM) / (count - 1)) : NaN,
    p95M: within95([...differenceM.subarray(0, count)]),
    shareWithin: inside / count,
    met: inside >= MET_SHARE * count && count > 0,
  };
}

function within95(differences: readonly number[]): number {
  const sizes = differences.map(Math.abs).sort((a, b) => a - b);
  return sizes[Math.ceil(0.95 * sizes.length) - 1] ?? NaN;
}
