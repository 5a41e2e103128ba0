import { correlationTime } from '../boat/curve-fit.js';
import type { Estimate } from '../boat/estimate.js';
import { thuLimitM, type OrderName } from './orders.js';

/** Positions of an antenna that stood still. Shape of every column: [n]. */
export interface StaticFixes {
  readonly n: number;
  readonly timeS: Float64Array;
  readonly xM: Float64Array;
  readonly yM: Float64Array;
}

export interface StaticCheckOptions {
  /** The mark in the survey frame, and one sigma of it in one dimension [m]. */
  readonly markXM: number;
  readonly markYM: number;
  readonly markSigmaM: number;
  /** Order asked for, to judge by; limits are taken at the surface. */
  readonly order: OrderName;
}

/** What minutes on a known mark say of the positions. */
export interface StaticCheck {
  readonly n: number;
  readonly spanS: number;
  /** Mean position less the mark [m]. */
  readonly eastM: Estimate;
  readonly northM: Estimate;
  readonly offsetM: number;
  /** Whether the offset is beyond chance at 95 %. */
  readonly offsetIsReal: boolean;
  /** Scatter about the mean, one sigma in one dimension [m]. */
  readonly noiseM: number;
  /** Fixes that say as much as one independent one. */
  readonly correlatedFixes: number;
  /** Radius about the mark that held 95 % of the fixes [m]. */
  readonly radius95M: number;
  /** What gnss.sigmaM should be for these positions: scatter and offset together, one sigma in one dimension [m]. */
  readonly sigmaM: number;
  /** The order's horizontal limit, and whether 95 % of the fixes kept it. */
  readonly limitM: number;
  readonly met: boolean;
  readonly refused: string;
}

const LEAST_FIXES = 30;
const LEAST_SPAN_S = 120;
/** Further off than this is another place, or positions on another datum [m]. */
const LARGEST_OFFSET_M = 50;
/** The first third of the fixes further from the last third than this many times the scatter about a steady drift, and this far: it moved [m]. */
const MOVED_SIGMAS = 4;
const MOVED_M = 2;

/**
 * Position noise and offset from minutes on a known mark.
 *
 * Fixes lie seconds apart and their errors last minutes, so that hundreds of fixes may be worth a dozen: the mean's standard
 * error counts them by their autocorrelation.
 *
 * Source: IHO C-13 (2005), ch. 2 and USACE EM 1110-2-1003 (static check of positioning); 95 % in two dimensions, S-44 ed. 6.1.0.
 */
export function staticCheck(fixes: StaticFixes, options: StaticCheckOptions): StaticCheck {
  const rows = Array.from({ length: fixes.n }, (_, i) => i).filter((i) => Number.isFinite(fixes.xM[i]!) && Number.isFinite(fixes.yM[i]!) && Number.isFinite(fixes.timeS[i]!));
  const n = rows.length;
  const spanS = n === 0 ? 0 : fixes.timeS[rows[n - 1]!]! - fixes.timeS[rows[0]!]!;
  const east = Float64Array.from(rows, (i) => fixes.xM[i]! - options.markXM);
  const north = Float64Array.from(rows, (i) => fixes.yM[i]! - options.markYM);
  const [meanEast, meanNorth] = [meanOf(east), meanOf(north)];
  const scatter = Math.sqrt((squaresAbout(east, meanEast) + squaresAbout(north, meanNorth)) / Math.max(1, 2 * (n - 1)));
  const correlated = n < 8 ? 1 : Math.max(correlationTime(east.map((one) => one - meanEast)), correlationTime(north.map((one) => one - meanNorth)));
  const worth = Math.max(1, n / correlated);
  const estimate = (value: number, values: Float64Array): Estimate => ({ value, sigma: Math.hypot(Math.sqrt(squaresAbout(values, value) / Math.max(1, n - 1) / worth), options.markSigmaM), dof: Math.max(1, worth - 1) });
  const eastM = estimate(meanEast, east);
  const northM = estimate(meanNorth, north);
  const offsetM = Math.hypot(meanEast, meanNorth);
  const radii = east.map((one, i) => Math.hypot(one, north[i]!)).sort();
  const radius95M = n === 0 ? NaN : radii[Math.min(n - 1, Math.ceil(0.95 * n) - 1)]!;
  const third = Math.floor(n / 3);
  const moved = third === 0 ? 0 : Math.hypot(meanOf(east.subarray(0, third)) - meanOf(east.subarray(n - third)), meanOf(north.subarray(0, third)) - meanOf(north.subarray(n - third)));
  const steady = Math.sqrt((squaresAboutLine(east) + squaresAboutLine(north)) / Math.max(1, 2 * (n - 2)));
  const limitM = thuLimitM(options.order, 0);
  const refused = ((): string => {
    if (n < LEAST_FIXES || spanS < LEAST_SPAN_S) return `${n} fixes over ${Math.round(spanS)} s: expected at least ${LEAST_FIXES} over ${LEAST_SPAN_S} s; leave the antenna on the mark longer`;
    if (moved > MOVED_M && moved > MOVED_SIGMAS * steady) return `the antenna moved by ${moved.toFixed(1)} m meanwhile: expected it to stand still; give the time it stood on the mark`;
    if (offsetM > LARGEST_OFFSET_M) return `the positions lie ${offsetM.toFixed(0)} m from the mark: expected less than ${LARGEST_OFFSET_M} m; look at the mark's coordinates, their order and their datum`;
    return '';
  })();
  return {
    n,
    spanS,
    eastM,
    northM,
    offsetM,
    // 2.4477 sigma hold 95 % in two dimensions.
    offsetIsReal: offsetM > 2.4477 * Math.hypot(eastM.sigma, northM.sigma) * Math.SQRT1_2,
    noiseM: scatter,
    correlatedFixes: correlated,
    radius95M,
    sigmaM: Math.sqrt(scatter ** 2 + offsetM ** 2 / 2),
    limitM,
    met: radius95M <= limitM,
    refused,
  };
}

function meanOf(values: Float64Array): number {
  return values.length === 0 ? NaN : values.reduce((sum, one) => sum + one, 0) / values.length;
}

function squaresAbout(values: Float64Array, middle: number): number {
  return values.reduce((sum, one) => sum + (one - middle) ** 2, 0);
}

/** Sum of squares about the straight line through evenly spaced values. */
function squaresAboutLine(values: Float64Array): number {
  const n = values.length;
  if (n < 2) return 0;
  const middle = meanOf(values);
  let both = 0;
  let own = 0;
  for (let i = 0; i < n; i++) {
    both += (i - (n - 1) / 2) * (values[i]! - middle);
    own += (i - (n - 1) / 2) ** 2;
  }
  return Math.max(0, squaresAbout(values, middle) - (both * both) / own);
}
