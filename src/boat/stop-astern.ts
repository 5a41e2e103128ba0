import { fitLinear } from './curve-fit.js';
import { isRefused, type Estimate, type Refusal } from './estimate.js';
import { alongWay, firstCommandRow, type KnownCurrent } from './along-way.js';
import { gapFault } from './run-mean.js';
import type { TrialLog } from './trial-log.js';

/** Stopping under full astern, from the order to rest through the water. */
export interface StopAstern {
  readonly wayM: Estimate;
  readonly timeS: Estimate;
  /** Speed through the water when astern was ordered [m/s]. */
  readonly fromSpeedMps: Estimate;
}

/** The way is read off a line fitted to this much before the order, and a curve to this much about the rest [s]. */
const LEAD_S = 2;
const REST_S = 0.4;

/**
 * Way and time from the order full astern until the boat is at rest through the water, read off the way itself: no model of
 * the thrust is needed.
 *
 * At rest the way is at its most; a parabola through the rows about it gives time and height. The way at the order is that of
 * a line through the two seconds before.
 *
 * @param timeS rising, [n]
 * @param wayM way through the water, current taken out, [n]
 * @param orderS when astern was ordered, in the time of the columns
 * @param sigmaCurrentMps,sigmaOrderS one standard error of the current taken out and of the time of the order
 * @returns refused where the boat was not seen to come to rest, or with too few rows
 * Source: TRADE, Turning circle (stopping); IMO MSC.137(76), full astern stopping test, track reach along the course.
 */
export function fitStopAstern(timeS: Float64Array, wayM: Float64Array, orderS: number, sigmaCurrentMps = 0, sigmaOrderS = 0): StopAstern | Refusal {
  const n = timeS.length;
  let top = -1;
  for (let i = 0; i < n; i++) if (timeS[i]! >= orderS && (top < 0 || wayM[i]! > wayM[top]!)) top = i;
  if (top < 0 || timeS[n - 1]! - timeS[top]! < REST_S / 2) return { refused: 'the boat was not seen to come to rest: hold full astern until it moves astern' };
  const lead = rowsBetween(timeS, orderS - LEAD_S, orderS + 1e-9);
  if (lead.end - lead.start < 4) return { refused: `only ${lead.end - lead.start} positions in the ${LEAD_S} s before the order: begin the window earlier` };
  const before = polynomial(timeS, wayM, lead, orderS, 1);
  let half = REST_S;
  let around = rowsBetween(timeS, timeS[top]! - half, timeS[top]! + half);
  while (around.end - around.start < 6 && half < 4) {
    half *= 1.4;
    around = rowsBetween(timeS, timeS[top]! - half, timeS[top]! + half);
  }
  const rest = polynomial(timeS, wayM, around, timeS[top]!, 2);
  if (before === null || rest === null || !(rest.values[2]! < 0)) return { refused: 'positions too coarse or too noisy about the moment of rest' };
  const shift = -rest.values[1]! / (2 * rest.values[2]!);
  const restS = timeS[top]! + Math.max(-half, Math.min(half, shift));
  const height = rest.values[0]! + rest.values[1]! * shift + rest.values[2]! * shift * shift;
  const speed = before.values[1]!;
  if (!(speed > 0.05)) return { refused: 'the boat was not moving ahead when astern was ordered' };
  const took = restS - orderS;
  const deceleration = -2 * rest.values[2]!;
  // The moment of rest is where the speed is nought: error of the speed over the deceleration.
  const sigmaSpeedAtRest = Math.hypot(rest.sigmas[1]!, sigmaCurrentMps);
  return {
    wayM: { value: height - before.values[0]!, sigma: Math.hypot(rest.sigmas[0]!, before.sigmas[0]!, sigmaCurrentMps * took, sigmaOrderS * speed), dof: before.dof + rest.dof },
    timeS: { value: took, sigma: Math.hypot(sigmaSpeedAtRest / deceleration, sigmaOrderS), dof: rest.dof },
    fromSpeedMps: { value: speed, sigma: Math.hypot(before.sigmas[1]!, sigmaCurrentMps), dof: before.dof },
  };
}

function rowsBetween(timeS: Float64Array, fromS: number, toS: number): { start: number; end: number } {
  let start = 0;
  while (start < timeS.length && timeS[start]! < fromS) start++;
  let end = start;
  while (end < timeS.length && timeS[end]! <= toS) end++;
  return { start, end };
}

/** Polynomial through rows, about a time: its coefficients with their standard errors; null with too few rows. */
function polynomial(timeS: Float64Array, values: Float64Array, rows: { start: number; end: number }, aboutS: number, degree: 1 | 2): { values: Float64Array; sigmas: Float64Array; dof: number } | null {
  const m = rows.end - rows.start;
  const p = degree + 1;
  if (m <= p) return null;
  const t = Float64Array.from({ length: m }, (_, i) => timeS[rows.start + i]! - aboutS);
  const columns = [new Float64Array(m).fill(1), t, ...(degree === 2 ? [t.map((one) => one * one)] : [])];
  const fit = fitLinear(columns, values.subarray(rows.start, rows.end));
  if (fit === null) return null;
  const variance = fit.sumSquares / (m - p);
  // Standard errors: the inverse's diagonal, one unit right-hand side at a time.
  const sigmas = new Float64Array(p);
  for (let k = 0; k < p; k++) {
    const others = columns.filter((_, j) => j !== k);
    const projection = fitLinear(others, columns[k]!);
    sigmas[k] = projection === null ? NaN : Math.sqrt(variance / projection.sumSquares);
  }
  return { values: fit.coefficients, sigmas, dof: m - p };
}

/** Stopping full astern in rows of a log. As `fitStopAstern`; the order is read from the commands, else the window's start. */
export function stopOf(log: TrialLog, rowStart: number, rowEnd: number, current: KnownCurrent): StopAstern | Refusal {
  const ordered = firstCommandRow(log, rowStart, rowEnd, (command) => command < -10);
  if (!Number.isNaN(log.thrusterPortPct[rowStart]!) && ordered < 0) return { refused: 'astern was never ordered in it' };
  const order = ordered >= 0 ? ordered : rowStart;
  let from = order;
  while (from > 0 && log.timeS[order]! - log.timeS[from - 1]! <= LEAD_S) from--;
  const fault = gapFault(log, from, rowEnd);
  if (fault !== '') return { refused: fault };
  const way = alongWay(log, from, rowEnd, current, from, Math.max(from + 2, order + 1));
  if (isRefused(way)) return way;
  // Read from a row it was given since the row before.
  const stepS = ordered > 0 ? log.timeS[order]! - log.timeS[order - 1]! : 0;
  return fitStopAstern(way.timeS, way.wayM, log.timeS[order]! - way.zeroS - stepS / 2, way.sigmaCurrentMps, stepS / Math.sqrt(12));
}
