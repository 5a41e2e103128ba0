import { unrolledDeg } from '../base/interpolate.js';
import { correlationTime, fitCurve, standardError } from './curve-fit.js';
import { quantile } from '../base/statistics.js';
import type { Estimate, Refusal } from './estimate.js';
import { gapFault } from './run-mean.js';
import type { TrialLog } from './trial-log.js';

/** A spin on the spot. */
export interface Spin {
  readonly side: 'port' | 'starboard';
  /** Yaw rate once steady [deg/s]. */
  readonly rateDegPerS: Estimate;
  /** How far the pivot lies from its even drift, 95 % of the time [m]. */
  readonly wanderM: Estimate;
  /** From the point whose position is logged to the pivot [m]. */
  readonly armM: number;
  readonly driftMps: number;
}

/** The yaw counts as steady after a third of the spin, half a turn at least and two at most; the rest must hold a full turn [deg]. */
const SETTLE_LEAST_DEG = 180;
const SETTLE_MOST_DEG = 720;
const MIN_STEADY_DEG = 360;

/**
 * Yaw rate and wander of the pivot of a spin, once the yaw has settled.
 *
 * The position logged circles the pivot on an arm whose length and direction in the boat are fitted together with the pivot's
 * place and even drift; what is left is the wander. It holds the noise of the positions, so it is an upper bound when that is
 * larger than the wander.
 *
 * @returns refused without a compass, with a gap, or under one and a half turns
 */
export function spinOf(log: TrialLog, rowStart: number, rowEnd: number): Spin | Refusal {
  const fault = gapFault(log, rowStart, rowEnd);
  if (fault !== '') return { refused: fault };
  const rows: number[] = [];
  for (let i = rowStart; i < rowEnd; i++) if (!Number.isNaN(log.headingDeg[i]!) && !Number.isNaN(log.xM[i]!)) rows.push(i);
  if (rows.length < 20) return { refused: 'no compass in it: a spin cannot be seen from positions alone' };
  const headingDeg = Float64Array.from(rows, (row) => log.headingDeg[row]!);
  const all = unrolledDeg(headingDeg, 0, rows.length);
  const total = all[all.length - 1]! - all[0]!;
  const settleDeg = Math.min(SETTLE_MOST_DEG, Math.max(SETTLE_LEAST_DEG, Math.abs(total) / 3));
  let start = 0;
  while (start < all.length && Math.abs(all[start]! - all[0]!) < settleDeg) start++;
  let end = all.length;
  // The end too: the last half turn may hold the check of the yaw.
  while (end > start && Math.abs(all[all.length - 1]! - all[end - 1]!) < 45) end--;
  const turned = start < end ? Math.abs(all[end - 1]! - all[start]!) : 0;
  if (turned < MIN_STEADY_DEG) return { refused: `${Math.abs(total / 360).toFixed(1)} turns: two are needed, three are better` };
  const m = end - start;
  const t = Float64Array.from({ length: m }, (_, i) => log.timeS[rows[start + i]!]! - log.timeS[rows[start]!]!);
  const angle = all.subarray(start, end);
  const mid = t[m - 1]! / 2;
  const rate = fitCurve(
    (params, out) => {
      for (let i = 0; i < m; i++) out[i] = params[0]! + params[1]! * (t[i]! - mid) - angle[i]!;
    },
    m,
    [(angle[0]! + angle[m - 1]!) / 2, (angle[m - 1]! - angle[0]!) / t[m - 1]!],
    [1, 1],
    { walkTimeS: t },
  );
  const x = Float64Array.from({ length: m }, (_, i) => log.xM[rows[start + i]!]! - log.xM[rows[start]!]!);
  const y = Float64Array.from({ length: m }, (_, i) => log.yM[rows[start + i]!]! - log.yM[rows[start]!]!);
  const radians = angle.map((one) => ((one - log.convergenceDeg) * Math.PI) / 180);
  const place = fitCurve(
    (params, out) => {
      const [x0, y0, u, v, ahead, side] = params as unknown as [number, number, number, number, number, number];
      for (let i = 0; i < m; i++) {
        const sin = Math.sin(radians[i]!);
        const cos = Math.cos(radians[i]!);
        out[i] = x0 + u * (t[i]! - mid) + ahead * sin + side * cos - x[i]!;
        out[m + i] = y0 + v * (t[i]! - mid) + ahead * cos - side * sin - y[i]!;
      }
    },
    2 * m,
    [x[m >> 1]!, y[m >> 1]!, 0, 0, 0, 0],
    [1, 1, 0.1, 0.1, 0.3, 0.3],
    { series: 2, walkTimeS: t },
  );
  const off = Float64Array.from({ length: m }, (_, i) => Math.hypot(place.residuals[i]!, place.residuals[m + i]!));
  const wander = quantile(off, 0.95);
  const independent = Math.max(2, m / correlationTime(place.residuals, 2));
  return {
    side: total > 0 ? 'starboard' : 'port',
    rateDegPerS: { value: Math.abs(rate.params[1]!), sigma: standardError(rate, 1), dof: rate.dof },
    // A Rayleigh scale from 2k values has a relative error of 1 / (2 sqrt k).
    wanderM: { value: wander, sigma: wander / (2 * Math.sqrt(independent)), dof: independent },
    armM: Math.hypot(place.params[4]!, place.params[5]!),
    driftMps: Math.hypot(place.params[2]!, place.params[3]!),
  };
}
