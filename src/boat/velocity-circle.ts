import { fitCurve, fitLinear, type CurveFit } from './curve-fit.js';
import type { Refusal } from './estimate.js';
import { median } from '../base/robust.js';

/** Speeds through the water and the current, from velocities over the ground. */
export interface VelocityFit {
  /** Speed through the water of each group [m/s]. */
  readonly speedMps: Float64Array;
  readonly sigmaSpeedMps: Float64Array;
  /** Current in the middle of the time, true east and north [m/s]. */
  readonly currentEastMps: number;
  readonly currentNorthMps: number;
  /** How fast the current changes [m/s per s], with one standard error; 0 where it was taken as steady. */
  readonly rateEastMps2: number;
  readonly rateNorthMps2: number;
  readonly sigmaRateMps2: number;
  /** Middle of the runs' times, which the current holds at, and half their span [s]. */
  readonly midS: number;
  readonly halfS: number;
  /** Where the current sets to, true [deg], and its speed [m/s], each with one standard error. */
  readonly setDeg: number;
  readonly sigmaSetDeg: number;
  readonly driftMps: number;
  readonly sigmaDriftMps: number;
  /** Of (current east, current north, speeds of the groups), [(2 + k)^2] row-major. */
  readonly covariance: Float64Array;
  /** Degrees of freedom behind the errors. */
  readonly dof: number;
  /** Share of the robust weight each velocity kept, 0 (left out) to 1. */
  readonly weights: Float64Array;
}

/** Velocities over the ground, one a steady run. Shape of every column: [n]. */
export interface Velocities {
  readonly eastMps: ArrayLike<number>;
  readonly northMps: ArrayLike<number>;
  /** One standard error of the velocity along its course [m/s]. */
  readonly sigmaMps: ArrayLike<number>;
  /** Degrees of freedom behind those errors. */
  readonly sigmaDof: number;
  /** Runs with the same setting share a number, 0 up to the number of groups. */
  readonly group: ArrayLike<number>;
  readonly timeS: ArrayLike<number>;
}

/** Algebraic circle through points: centre and radius. */
export interface Circle {
  readonly x: number;
  readonly y: number;
  readonly radius: number;
}

/**
 * Circle through points with the least sum of (distance^2 - radius^2)^2 over its mean gradient: Taubin's algebraic fit.
 * Not robust; a start for the geometric fit, and good in itself where the noise is small against the radius.
 * @returns null for fewer than 3 points, or points on a line
 * Source: Taubin (1991), IEEE PAMI 13(11), 1115-1138; the Newton form of Chernov (2010), Circular and Linear Regression, ch. 5.
 */
export function circleThrough(x: ArrayLike<number>, y: ArrayLike<number>): Circle | null {
  const n = x.length;
  if (n < 3) return null;
  let mx = 0;
  let my = 0;
  for (let i = 0; i < n; i++) {
    mx += x[i]! / n;
    my += y[i]! / n;
  }
  let xx = 0;
  let yy = 0;
  let xy = 0;
  let xz = 0;
  let yz = 0;
  let zz = 0;
  for (let i = 0; i < n; i++) {
    const dx = x[i]! - mx;
    const dy = y[i]! - my;
    const z = dx * dx + dy * dy;
    xx += (dx * dx) / n;
    yy += (dy * dy) / n;
    xy += (dx * dy) / n;
    xz += (dx * z) / n;
    yz += (dy * z) / n;
    zz += (z * z) / n;
  }
  const mz = xx + yy;
  const det = xx * yy - xy * xy;
  if (!(det > 1e-12 * mz * mz)) return null;
  const varZ = zz - mz * mz;
  const a3 = 4 * mz;
  const a2 = -3 * mz * mz - zz;
  const a1 = varZ * mz + 4 * det * mz - xz * xz - yz * yz;
  const a0 = xz * (xz * yy - yz * xy) + yz * (yz * xx - xz * xy) - varZ * det;
  let root = 0;
  let value = a0;
  for (let i = 0; i < 100; i++) {
    const slope = a1 + root * (2 * a2 + root * 3 * a3);
    const next = root - value / slope;
    if (!Number.isFinite(next) || next === root) break;
    const there = a0 + next * (a1 + next * (a2 + next * a3));
    if (Math.abs(there) >= Math.abs(value)) break;
    root = next;
    value = there;
  }
  const bottom = 2 * (root * root - root * mz + det);
  const cx = (xz * (yy - root) - yz * xy) / bottom;
  const cy = (yz * (xx - root) - xz * xy) / bottom;
  return { x: cx + mx, y: cy + my, radius: Math.sqrt(cx * cx + cy * cy + mz) };
}

/** Tukey's constant: 95 % as good as least squares on normal errors. */
const TUKEY = 4.685;
const ROBUST_ROUNDS = 40;
/** Runs of one circle whose directions lie within this arc say nothing of its centre. */
const MIN_SPREAD_DEG = 60;

/**
 * Speed through the water and current from velocities over the ground on any headings, the compass not needed: circles about
 * one centre, the current; radii the speeds.
 *
 * Geometric least squares with robust weights (least absolute first, then Tukey's), started from Taubin's algebraic circle.
 * Errors come from those of the runs, made larger where the runs scatter more.
 *
 * @param changing whether the current may change evenly with time; needs two more runs
 * @returns refused with too few runs, all on one heading, or where they do not tell current from speed
 * Source: v_ground = V (sin psi, cos psi) + C. Tukey's weights: Beaton & Tukey (1974), Technometrics 16(2), 147-185.
 */
export function fitVelocityCircles(velocities: Velocities, changing = false): VelocityFit | Refusal {
  const { eastMps, northMps, sigmaMps, group, timeS } = velocities;
  const n = eastMps.length;
  let groups = 0;
  for (let i = 0; i < n; i++) groups = Math.max(groups, group[i]! + 1);
  const head = changing ? 4 : 2;
  const p = head + groups;
  if (n < Math.max(3, p)) return { refused: `${n} run${n === 1 ? '' : 's'} for ${groups} setting${groups === 1 ? '' : 's'}: a circle needs ${Math.max(3, p)} or more on different headings` };
  const spread = directionSpreadDeg(eastMps, northMps);
  if (spread < MIN_SPREAD_DEG) return { refused: `one heading only: the courses lie within ${spread.toFixed(0)} degrees, and the current cannot be told from the boat's speed; add the reciprocal` };
  const start = startOf(velocities, groups);
  if (start === null) return { refused: 'the velocities lie on a line: add a run on another heading' };
  const { midS, halfS } = timeSpan(timeS);
  const weights = new Float64Array(n).fill(1);
  const radial = (params: Float64Array, out: Float64Array): void => {
    for (let i = 0; i < n; i++) {
      const late = changing ? (timeS[i]! - midS) / halfS : 0;
      const cx = params[0]! + (changing ? params[2]! * late : 0);
      const cy = params[1]! + (changing ? params[3]! * late : 0);
      out[i] = ((Math.hypot(eastMps[i]! - cx, northMps[i]! - cy) - params[head + group[i]!]!) / sigmaMps[i]!) * Math.sqrt(weights[i]!);
    }
  };
  const first = new Float64Array(p);
  first[0] = start.x;
  first[1] = start.y;
  for (let k = 0; k < groups; k++) first[head + k] = start.speeds[k]!;
  const scale = new Float64Array(p).fill(0.1);
  const fit = robustFit(radial, weights, first, scale);
  const kept = weights.reduce((sum, weight) => sum + (weight > 0 ? 1 : 0), 0);
  if (kept < p) return { refused: 'the runs contradict one another: fewer agree than a circle needs' };
  return asVelocityFit(fit, head, groups, weights, kept - p, velocities, changing ? [2, 3] : null);
}

/**
 * Speed through the water, current and the compass's mean error from velocities over the ground with known headings.
 *
 * @param headingDeg true heading of each run, [n]
 * @param changing whether the current may change evenly with time
 * @returns as `fitVelocityCircles`, and what to add to the compass to get the direction of motion through the water
 * Source: v_ground = V (sin psi, cos psi) + C.
 */
export function fitVelocityVectors(velocities: Velocities, headingDeg: ArrayLike<number>, changing = false): (VelocityFit & { readonly headingErrorDeg: number; readonly sigmaHeadingErrorDeg: number }) | Refusal {
  const { eastMps, northMps, sigmaMps, group } = velocities;
  const n = eastMps.length;
  let groups = 0;
  for (let i = 0; i < n; i++) groups = Math.max(groups, group[i]! + 1);
  const head = changing ? 5 : 3;
  const p = head + groups;
  if (2 * n < p) return { refused: `${n} run${n === 1 ? '' : 's'}: too few for speed, current and compass error` };
  if (directionSpreadDeg(headingDeg) < MIN_SPREAD_DEG) return { refused: 'one heading only: the current cannot be told from the boat\'s speed; add the reciprocal' };
  // Start: one speed for all, compass error within the linear form V cos d, V sin d.
  const rows = 2 * n;
  const columns = [0, 1, 2, 3].map(() => new Float64Array(rows));
  const values = new Float64Array(rows);
  for (let i = 0; i < n; i++) {
    const psi = (headingDeg[i]! * Math.PI) / 180;
    columns[0]![2 * i] = Math.sin(psi);
    columns[1]![2 * i] = Math.cos(psi);
    columns[0]![2 * i + 1] = Math.cos(psi);
    columns[1]![2 * i + 1] = -Math.sin(psi);
    columns[2]![2 * i] = 1;
    columns[3]![2 * i + 1] = 1;
    values[2 * i] = eastMps[i]!;
    values[2 * i + 1] = northMps[i]!;
  }
  const linear = fitLinear(columns, values);
  if (linear === null) return { refused: 'the headings do not tell current from speed: add a run on another heading' };
  const [a, b, east, north] = linear.coefficients as unknown as [number, number, number, number];
  const first = new Float64Array(p);
  first[0] = east;
  first[1] = north;
  first[2] = Math.atan2(b, a);
  first.fill(Math.hypot(a, b), head);
  const { midS, halfS } = timeSpan(velocities.timeS);
  const weights = new Float64Array(rows).fill(1);
  const fit = robustFit(
    (params, out) => {
      for (let i = 0; i < n; i++) {
        const psi = (headingDeg[i]! * Math.PI) / 180 + params[2]!;
        const speed = params[head + group[i]!]!;
        const late = changing ? (velocities.timeS[i]! - midS) / halfS : 0;
        const cx = params[0]! + (changing ? params[3]! * late : 0);
        const cy = params[1]! + (changing ? params[4]! * late : 0);
        out[2 * i] = ((eastMps[i]! - cx - speed * Math.sin(psi)) / sigmaMps[i]!) * Math.sqrt(weights[2 * i]!);
        out[2 * i + 1] = ((northMps[i]! - cy - speed * Math.cos(psi)) / sigmaMps[i]!) * Math.sqrt(weights[2 * i + 1]!);
      }
    },
    weights,
    first,
    new Float64Array(p).fill(0.1),
  );
  const kept = weights.reduce((sum, weight) => sum + (weight > 0 ? 1 : 0), 0);
  if (kept < p) return { refused: 'the runs contradict one another: fewer agree than the fit needs' };
  return {
    ...asVelocityFit(fit, head, groups, weights, kept - p, velocities, changing ? [3, 4] : null),
    headingErrorDeg: ((((fit.params[2]! * 180) / Math.PI + 180) % 360) + 360) % 360 - 180,
    sigmaHeadingErrorDeg: (Math.sqrt(fit.covariance[2 * p + 2]!) * 180) / Math.PI,
  };
}

/** The smallest arc that holds all directions [deg]; of vectors, or of bearings [deg] where one column is given. */
export function directionSpreadDeg(east: ArrayLike<number>, north?: ArrayLike<number>): number {
  const angles = Array.from({ length: east.length }, (_, i) => (north === undefined ? (((east[i]! % 360) + 360) % 360) : ((Math.atan2(east[i]!, north[i]!) * 180) / Math.PI + 360) % 360)).sort((a, b) => a - b);
  let widest = 360 - (angles[angles.length - 1]! - angles[0]!);
  for (let i = 1; i < angles.length; i++) widest = Math.max(widest, angles[i]! - angles[i - 1]!);
  return 360 - widest;
}

/** Least absolute values for the first rounds, then Tukey's weights about the middle residual, until they settle. */
function robustFit(residualsInto: (params: Float64Array, out: Float64Array) => void, weights: Float64Array, start: Float64Array, scale: Float64Array): CurveFit {
  const m = weights.length;
  const p = start.length;
  const options = { standardised: true, unordered: true, maxIterations: 30 };
  let fit = fitCurve(residualsInto, m, start, scale, options);
  // With no run to spare nothing can be told to be an outlier.
  if (m - p < 2) return fit;
  const plain = new Float64Array(m);
  for (let round = 0; round < ROBUST_ROUNDS; round++) {
    const held = weights.slice();
    weights.fill(1);
    residualsInto(fit.params, plain);
    const sizes = plain.map(Math.abs);
    // The fit uses up p of the residuals: the middle one is looked for among the rest. Errors are known, so never below them.
    const spread = Math.max(1, 1.4826 * median(sizes.slice().sort().subarray(Math.min(p, m - 1))));
    for (let i = 0; i < m; i++) {
      if (round < 12) weights[i] = 1 / Math.max(sizes[i]!, 0.1);
      else {
        const u = sizes[i]! / (TUKEY * spread);
        weights[i] = u < 1 ? (1 - u * u) ** 2 : 0;
      }
    }
    if (round === 11) {
      fit = fitCurve(residualsInto, m, fit.params, scale, options);
      continue;
    }
    let change = 0;
    for (let i = 0; i < m; i++) change = Math.max(change, Math.abs(weights[i]! - held[i]!));
    fit = fitCurve(residualsInto, m, fit.params, scale, options);
    if (round > 12 && change < 1e-6) break;
  }
  // Errors from the runs that were kept, each counted whole: Tukey's weights are for finding the place, not its error.
  const soft = fit;
  for (let i = 0; i < m; i++) weights[i] = weights[i]! > 0.1 ? 1 : 0;
  let kept = 0;
  for (let i = 0; i < m; i++) kept += weights[i]!;
  if (kept < p) return soft;
  const hard = fitCurve(residualsInto, m, soft.params, scale, options);
  const chi = hard.residuals.reduce((sum, r) => sum + r * r, 0);
  const was = Math.max(1, chi / (m - p));
  const factor = kept > p ? Math.max(1, chi / (kept - p)) : 1;
  return { ...hard, covariance: hard.covariance.map((value) => (value / was) * factor) };
}

function startOf(velocities: Velocities, groups: number): { x: number; y: number; speeds: Float64Array } | null {
  const { eastMps, northMps, group } = velocities;
  const n = eastMps.length;
  // The circle of the group with most runs; its centre serves all.
  const counts = new Int32Array(groups);
  for (let i = 0; i < n; i++) counts[group[i]!] = counts[group[i]!]! + 1;
  const most = counts.indexOf(Math.max(...counts));
  const east: number[] = [];
  const north: number[] = [];
  for (let i = 0; i < n; i++) {
    if (group[i] !== most) continue;
    east.push(eastMps[i]!);
    north.push(northMps[i]!);
  }
  const circle = circleThrough(east, north);
  // Fewer than three of one setting: the middle of the velocities, as out and home share the current.
  const x = circle !== null ? circle.x : median(eastMps);
  const y = circle !== null ? circle.y : median(northMps);
  const speeds = new Float64Array(groups);
  for (let k = 0; k < groups; k++) {
    let sum = 0;
    for (let i = 0; i < n; i++) if (group[i] === k) sum += Math.hypot(eastMps[i]! - x, northMps[i]! - y);
    speeds[k] = sum / counts[k]!;
  }
  return Number.isFinite(x) && speeds.every(Number.isFinite) ? { x, y, speeds } : null;
}

function timeSpan(timeS: ArrayLike<number>): { midS: number; halfS: number } {
  let low = Infinity;
  let high = -Infinity;
  for (let i = 0; i < timeS.length; i++) {
    low = Math.min(low, timeS[i]!);
    high = Math.max(high, timeS[i]!);
  }
  return { midS: (low + high) / 2, halfS: Math.max(1, (high - low) / 2) };
}

function asVelocityFit(fit: CurveFit, head: number, groups: number, weights: Float64Array, spare: number, velocities: Velocities, rates: readonly [number, number] | null): VelocityFit {
  const { midS, halfS } = timeSpan(velocities.timeS);
  const p = head + groups;
  const pick = [0, 1, ...Array.from({ length: groups }, (_, k) => head + k)];
  const covariance = new Float64Array(pick.length ** 2);
  pick.forEach((row, i) => pick.forEach((column, j) => (covariance[i * pick.length + j] = fit.covariance[row * p + column]!)));
  const east = fit.params[0]!;
  const north = fit.params[1]!;
  const drift = Math.hypot(east, north);
  const q = pick.length;
  const [ee, en, nn] = [covariance[0]!, covariance[1]!, covariance[q + 1]!];
  const along = (east * east * ee + 2 * east * north * en + north * north * nn) / (drift * drift);
  const across = (north * north * ee - 2 * east * north * en + east * east * nn) / (drift * drift);
  return {
    speedMps: fit.params.slice(head),
    sigmaSpeedMps: Float64Array.from({ length: groups }, (_, k) => Math.sqrt(covariance[(2 + k) * q + 2 + k]!)),
    currentEastMps: east,
    currentNorthMps: north,
    rateEastMps2: rates === null ? 0 : fit.params[rates[0]]! / halfS,
    rateNorthMps2: rates === null ? 0 : fit.params[rates[1]]! / halfS,
    sigmaRateMps2: rates === null ? 0 : Math.sqrt((fit.covariance[rates[0] * p + rates[0]]! + fit.covariance[rates[1] * p + rates[1]]!) / 2) / halfS,
    midS,
    halfS,
    setDeg: ((Math.atan2(east, north) * 180) / Math.PI + 360) % 360,
    sigmaSetDeg: Math.min(180, (Math.sqrt(across) / drift) * (180 / Math.PI)),
    driftMps: drift,
    sigmaDriftMps: Math.sqrt(along),
    covariance,
    dof: velocities.sigmaDof + Math.max(0, spare),
    weights,
  };
}

/** The current of a fit at a time, its change told for at most half a span beyond the runs. */
export function currentAt(fit: VelocityFit, timeS: number): { eastMps: number; northMps: number; sigmaMps: number } {
  const late = Math.max(-2 * fit.halfS, Math.min(2 * fit.halfS, timeS - fit.midS));
  const q = 2 + fit.speedMps.length;
  const sigma = Math.sqrt((fit.covariance[0]! + fit.covariance[q + 1]!) / 2);
  return { eastMps: fit.currentEastMps + fit.rateEastMps2 * late, northMps: fit.currentNorthMps + fit.rateNorthMps2 * late, sigmaMps: Math.hypot(sigma, fit.sigmaRateMps2 * late) };
}
