import { fitCurve, fitLinear } from './curve-fit.js';
import { isRefused, type Estimate, type Refusal } from './estimate.js';
import { alongWay, firstCommandRow, type AlongWay, type KnownCurrent } from './along-way.js';
import { gapFault } from './run-mean.js';
import type { TrialLog } from './trial-log.js';

/** Coasting with the thrusters off: v = v0 / (1 + v0 t / L). */
export interface CoastFit {
  readonly startSpeedMps: Estimate;
  readonly lengthM: Estimate;
  /** Way made to a tenth of the speed at the start, L ln 10 [m]. */
  readonly wayTo10M: Estimate;
  /** When the boat begins to slow, in the time of the columns [s]. */
  readonly slowsS: number;
  readonly residualSdM: number;
}

/** The boat must be seen to slow to this share of its speed, or the length is a guess. */
const MAX_LEFT = 0.6;

/**
 * Fits v = v0/(1 + v0 t/L), on the way made: s = s0 + L ln(1 + v0 (t - t0)/L).
 *
 * Quadratic drag alone, m dv/dt = -k v |v|, L = m/k. The current must have been taken out. Where the time of the cut is not
 * known it is fitted too, and steady running before it must be in the columns.
 *
 * @param cutS when the thrusters were cut, in the time of the columns; all rows then lie after it. null: fitted
 * @param nearS where to begin to look for the cut when it is fitted; null: a quarter into the columns
 * @returns refused with fewer than 8 rows, or where the boat hardly slowed
 * Source: TRADE, Acceleration, coasting.
 */
export function fitCoast(timeS: Float64Array, wayM: Float64Array, cutS: number | null, sigmaCurrentMps = 0, nearS: number | null = null): CoastFit | Refusal {
  const n = timeS.length;
  if (n < 8) return { refused: `${n} positions: too few to tell a coast-down, 8 or more are needed` };
  const span = timeS[n - 1]! - timeS[0]!;
  const fitted = (way: Float64Array, near: Float64Array | null): ReturnType<typeof fitCurve> => {
    const early = Math.max(2, Math.floor(n / 10));
    const v0 = Math.max(0.1, (way[early]! - way[0]!) / (timeS[early]! - timeS[0]!));
    const model = (params: Float64Array, out: Float64Array): void => {
      const [s0, speed, inverse] = params as unknown as [number, number, number];
      const t0 = cutS ?? params[3]!;
      for (let i = 0; i < n; i++) {
        const t = timeS[i]! - t0;
        const z = speed * t * inverse;
        // As the length grows without bound the way becomes v0 t; 1/L is fitted so that this is no edge.
        const made = t <= 0 ? speed * t : Math.abs(z) < 1e-6 ? speed * t : z > -0.999 ? Math.log1p(z) / inverse : NaN;
        out[i] = s0 + made - way[i]!;
      }
    };
    if (near !== null) return fitCurve(model, n, near, [1, 0.5, 0.1, 0.5], { walkTimeS: timeS });
    let best: ReturnType<typeof fitCurve> | null = null;
    for (const length of [1.5, 4, 12]) {
      const start = cutS === null ? [way[0]! + v0 * ((nearS ?? timeS[0]! + span / 4) - timeS[0]!), v0, 1 / length, nearS ?? timeS[0]! + span / 4] : [way[0]!, v0, 1 / length];
      const fit = fitCurve(model, n, start, [1, 0.5, 0.1, 0.5], { walkTimeS: timeS });
      if (best === null || fit.residualSd < best.residualSd) best = fit;
    }
    return best!;
  };
  const fit = fitted(wayM, null);
  const p = fit.params.length;
  const v0 = fit.params[1]!;
  const inverse = fit.params[2]!;
  if (!(v0 > 0.05) || !Number.isFinite(fit.residualSd)) return { refused: 'no coast-down to be seen in it: the boat was not moving when the thrusters were cut' };
  const left = 1 / (1 + v0 * (timeS[n - 1]! - (cutS ?? fit.params[3]!)) * inverse);
  if (!(inverse > 0) || !(left <= MAX_LEFT)) return { refused: `the boat hardly slowed in it (${inverse > 0 ? `to ${(100 * left).toFixed(0)} % of its speed` : 'not at all'}): let it coast until nearly at rest` };
  const moved = sigmaCurrentMps > 0 ? fitted(wayM.map((way, i) => way + sigmaCurrentMps * (timeS[i]! - timeS[0]!)), fit.params).params : fit.params;
  const length = 1 / inverse;
  const sigmaLength = Math.sqrt(fit.covariance[2 * p + 2]! * length ** 4 + (1 / moved[2]! - length) ** 2);
  if (!Number.isFinite(sigmaLength)) return { refused: 'the positions do not tell the coasting length: no slowing by quadratic drag fits them' };
  if (!(sigmaLength < 0.5 * length)) return { refused: `positions too noisy to tell the coasting length: ${length.toFixed(1)} m with a standard error of ${sigmaLength.toFixed(1)} m` };
  return {
    startSpeedMps: { value: v0, sigma: Math.sqrt(fit.covariance[p + 1]! + (moved[1]! - v0) ** 2), dof: fit.dof },
    lengthM: { value: length, sigma: sigmaLength, dof: fit.dof },
    wayTo10M: { value: length * Math.LN10, sigma: sigmaLength * Math.LN10, dof: fit.dof },
    slowsS: cutS ?? fit.params[3]!,
    residualSdM: fit.residualSd,
  };
}

/** Thrusters run down for this long after the cut, and the fit begins after it; the speed before is told from this much [s]. */
const RUN_DOWN_S = 1;
const LEAD_S = 3;

/** The fit ends where this share of the speed is left: in the tail the chop moves the boat as much as its own way does. */
const FAST_SHARE = 0.4;
/** Where the thrust dies between two rows or over some tenths of a second is fitted, near the cut that is logged: not further off [s]. */
const MOST_RUN_DOWN_S = 0.8;

/**
 * The fit over the steady running before the cut and the fast part of the coast, the time at which the boat begins to slow free:
 * the thrusters' run-down is in it. The way to a tenth counts from the cut.
 */
function fastPart(way: AlongWay, whole: CoastFit, cutS: number, v0: number): CoastFit | null {
  const endS = cutS + ((1 / FAST_SHARE - 1) * whole.lengthM.value) / v0;
  let end = 0;
  while (end < way.timeS.length && way.timeS[end]! <= endS) end++;
  const fit = fitCoast(way.timeS.subarray(0, end), way.wayM.subarray(0, end), null, way.sigmaCurrentMps, cutS);
  if (isRefused(fit)) return null;
  const late = fit.slowsS - cutS;
  return late > -0.3 && late < MOST_RUN_DOWN_S ? { ...fit, wayTo10M: { ...fit.wayTo10M, value: fit.wayTo10M.value + late * fit.startSpeedMps.value } } : null;
}

/**
 * The coast-down in rows of a log. As `fitCoast`; the cut is read from the commands where they are logged. The fit is then that of
 * `fastPart`, and the way to a tenth counts from the cut. Where the steady running before the cut is too short for it, the fit
 * begins a second after the cut, when the thrusters have run down; the way to a tenth is what was made in that second, then
 * L ln(10 v1/v0) with v1 the speed a second on and v0 that before the cut.
 */
export function coastOf(log: TrialLog, rowStart: number, rowEnd: number, current: KnownCurrent): CoastFit | Refusal {
  const cut = firstCommandRow(log, rowStart, rowEnd, (command) => Math.abs(command) < 2);
  const logged = !Number.isNaN(log.thrusterPortPct[rowStart]!);
  if (logged && cut < 0) return { refused: 'the thrusters were never off in it' };
  let from = cut >= 0 ? cut : rowStart;
  if (cut >= 0) while (from < rowEnd - 1 && log.timeS[from]! - log.timeS[cut]! < RUN_DOWN_S) from++;
  let lead = Math.max(0, cut);
  while (cut >= 0 && lead > 0 && log.timeS[cut]! - log.timeS[lead - 1]! <= LEAD_S && log.thrusterPortPct[lead - 1]! > 2) lead--;
  const fault = gapFault(log, cut >= 0 ? lead : from, rowEnd);
  if (fault !== '') return { refused: fault };
  const third = from + Math.max(3, Math.floor((rowEnd - from) / 3));
  const way = alongWay(log, from, rowEnd, current, from, Math.min(rowEnd, third));
  if (isRefused(way)) return way;
  const fit = fitCoast(way.timeS, way.wayM, cut >= 0 ? 0 : null, way.sigmaCurrentMps);
  if (isRefused(fit) || cut < 0 || cut - lead < 4) return fit;
  const before = alongWay(log, lead, from + 1, current, lead, cut);
  if (isRefused(before)) return fit;
  // A line through the way before the cut; the cut fell between two rows.
  const cutS = log.timeS[cut]! - (log.timeS[cut]! - log.timeS[cut - 1]!) / 2 - before.zeroS;
  const rows = before.timeS.findIndex((t) => t > cutS);
  const line = rows < 4 ? null : fitLinear([new Float64Array(rows).fill(1), before.timeS.slice(0, rows).map((t) => t - cutS)], before.wayM.slice(0, rows));
  if (line === null) return fit;
  const v0 = line.coefficients[1]!;
  const all = alongWay(log, lead, rowEnd, current, lead, Math.min(rowEnd, third));
  const fast = isRefused(all) ? null : fastPart(all, fit, cutS, v0);
  if (fast !== null) return fast;
  const length = fit.lengthM.value;
  const share = Math.log((10 * fit.startSpeedMps.value) / v0);
  const runDown = before.wayM[before.wayM.length - 1]! - line.coefficients[0]!;
  const sigmaSpeed = Math.hypot(fit.startSpeedMps.sigma, way.sigmaCurrentMps, Math.sqrt((12 * line.sumSquares) / rows ** 2) / LEAD_S);
  return { ...fit, wayTo10M: { value: runDown + length * share, sigma: Math.hypot(fit.lengthM.sigma * share, (length * sigmaSpeed) / v0, 2 * fit.residualSdM), dof: fit.lengthM.dof } };
}
