import { fitCurve, standardError } from './curve-fit.js';
import { isRefused, type Estimate, type Refusal } from './estimate.js';
import { alongWay, type KnownCurrent } from './along-way.js';
import { gapFault } from './run-mean.js';
import type { TrialLog } from './trial-log.js';

/** Acceleration from rest under full thrust: v = vmax tanh(t / tau). */
export interface StartFit {
  readonly topSpeedMps: Estimate;
  readonly tauS: Estimate;
  /** When the boat began to move, in the time of the columns [s]. */
  readonly startS: Estimate;
  /** Times [s] and ways [m] to 63, 90 and 95 % of top speed. */
  readonly timeTo63S: Estimate;
  readonly timeTo90S: Estimate;
  readonly timeTo95S: Estimate;
  readonly distanceTo63M: Estimate;
  readonly distanceTo90M: Estimate;
  readonly distanceTo95M: Estimate;
  readonly residualSdM: number;
}

/** ln cosh z without overflow. */
export function logCosh(z: number): number {
  const size = Math.abs(z);
  return size + Math.log1p(Math.exp(-2 * size)) - Math.LN2;
}

/** The boat must be seen up to this share of its top speed, or the top is a guess. */
const MIN_REACHED = 0.9;

/**
 * Fits v = vmax tanh((t - t0)/tau) from rest, on the way made: s = s0 + vmax tau ln cosh((t - t0)/tau) after t0, s0 before.
 *
 * Thrust against quadratic drag, m dv/dt = T - k v |v|. The way, not the speed, is fitted: it is what positions give, and no
 * difference has to be taken. The current must have been taken out of the way.
 *
 * @param timeS rising, any origin, [n]
 * @param wayM way through the water, [n]
 * @param sigmaCurrentMps one standard error of the current that was taken out; carried into the figures
 * @returns refused with fewer than 8 rows, without acceleration, or when the run ended before 90 % of top speed
 * Source: TRADE, Acceleration.
 */
export function fitStart(timeS: Float64Array, wayM: Float64Array, sigmaCurrentMps = 0): StartFit | Refusal {
  const whole = fitWay(timeS, wayM, sigmaCurrentMps);
  if (isRefused(whole)) return whole;
  // Past four time constants the boat runs steadily and only its wander is added: the rest is fitted again without.
  const endS = whole.startS.value + STEADY_AFTER * whole.tauS.value;
  let end = timeS.length;
  while (end > 0 && timeS[end - 1]! > endS) end--;
  if (end === timeS.length || timeS[end - 1]! - timeS[0]! < 1) return whole;
  const part = fitWay(timeS.subarray(0, end), wayM.subarray(0, end), sigmaCurrentMps);
  return isRefused(part) ? whole : { ...part, topSpeedMps: whole.topSpeedMps };
}

/** In time constants; tanh 4 is 0.9993. */
const STEADY_AFTER = 4;

function fitWay(timeS: Float64Array, wayM: Float64Array, sigmaCurrentMps: number): StartFit | Refusal {
  const n = timeS.length;
  if (n < 8) return { refused: `${n} positions: too few to tell an acceleration, 8 or more are needed` };
  const fitted = (way: Float64Array, near: Float64Array | null): ReturnType<typeof fitCurve> => {
    // Start: top speed from the last quarter; there s = s0 + vmax (t - t0 - tau ln 2).
    const from = Math.floor(0.75 * n);
    const vmax = (way[n - 1]! - way[from]!) / (timeS[n - 1]! - timeS[from]!);
    const rest = way[0]!;
    const meet = timeS[n - 1]! - (way[n - 1]! - rest) / vmax;
    const tau = Math.max(0.3, Math.min(5, (timeS[n - 1]! - meet) / 6));
    const model = (params: Float64Array, out: Float64Array): void => {
      const [s0, top, ownTau, t0] = params as unknown as [number, number, number, number];
      for (let i = 0; i < n; i++) {
        const z = (timeS[i]! - t0) / ownTau;
        out[i] = s0 + (z > 0 ? top * ownTau * logCosh(z) : 0) - way[i]!;
      }
    };
    if (near !== null) return fitCurve(model, n, near, [1, 0.5, 0.5, 0.5], { walkTimeS: timeS });
    let best: ReturnType<typeof fitCurve> | null = null;
    for (const share of [0.4, 1, 2.5]) {
      const fit = fitCurve(model, n, [rest, vmax, tau * share, meet - tau * share * Math.LN2], [1, 0.5, 0.5, 0.5], { walkTimeS: timeS });
      if (fit.params[2]! > 0 && (best === null || !(best.params[2]! > 0) || fit.residualSd < best.residualSd)) best = fit;
      best ??= fit;
    }
    return best!;
  };
  const fit = fitted(wayM, null);
  const [, vmax, tau, t0] = fit.params as unknown as [number, number, number, number];
  if (!(vmax > 0.05) || !(tau > 0.01) || !Number.isFinite(fit.residualSd)) return { refused: 'no acceleration from rest to be seen in it' };
  const reached = Math.tanh((timeS[n - 1]! - t0) / tau);
  if (!(reached >= MIN_REACHED)) return { refused: `it ends at ${(100 * reached).toFixed(0)} % of the top speed it heads for: hold full ahead longer` };
  if (t0 < timeS[0]! - tau) return { refused: 'it begins when the boat is already moving: begin the window at rest' };
  // What an error of the current does: the same fit with the way off by it.
  const moved = sigmaCurrentMps > 0 ? fitted(wayM.map((way, i) => way + sigmaCurrentMps * (timeS[i]! - timeS[0]!)), fit.params).params : fit.params;
  const sigma = (slopes: readonly [number, number, number, number], there: number, here: number): number => {
    let variance = (there - here) ** 2;
    for (let i = 0; i < 4; i++) for (let j = 0; j < 4; j++) variance += slopes[i]! * slopes[j]! * fit.covariance[i * 4 + j]!;
    return Math.sqrt(variance);
  };
  if (!(standardError(fit, 2) < 0.5 * tau)) return { refused: `positions too coarse or too noisy to tell the acceleration: tau ${tau.toFixed(2)} s with a standard error of ${standardError(fit, 2).toFixed(2)} s` };
  const time = (share: number): Estimate => {
    const k = Math.atanh(share);
    return { value: tau * k, sigma: sigma([0, 0, k, 0], moved[2]! * k, tau * k), dof: fit.dof };
  };
  const distance = (share: number): Estimate => {
    const k = logCosh(Math.atanh(share));
    return { value: vmax * tau * k, sigma: sigma([0, tau * k, vmax * k, 0], moved[1]! * moved[2]! * k, vmax * tau * k), dof: fit.dof };
  };
  return {
    topSpeedMps: { value: vmax, sigma: sigma([0, 1, 0, 0], moved[1]!, vmax), dof: fit.dof },
    tauS: { value: tau, sigma: sigma([0, 0, 1, 0], moved[2]!, tau), dof: fit.dof },
    startS: { value: t0, sigma: sigma([0, 0, 0, 1], moved[3]!, t0), dof: fit.dof },
    timeTo63S: time(0.63),
    timeTo90S: time(0.9),
    timeTo95S: time(0.95),
    distanceTo63M: distance(0.63),
    distanceTo90M: distance(0.9),
    distanceTo95M: distance(0.95),
    residualSdM: fit.residualSd,
  };
}

/** The standing start in rows of a log. As `fitStart`; refused with a gap too. */
export function startOf(log: TrialLog, rowStart: number, rowEnd: number, current: KnownCurrent): StartFit | Refusal {
  const fault = gapFault(log, rowStart, rowEnd);
  if (fault !== '') return { refused: fault };
  const way = alongWay(log, rowStart, rowEnd, current, Math.floor(rowStart + 0.7 * (rowEnd - rowStart)), rowEnd);
  return isRefused(way) ? way : fitStart(way.timeS, way.wayM, way.sigmaCurrentMps);
}
