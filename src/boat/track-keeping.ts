import { correlationTime } from './curve-fit.js';
import { quantile } from '../base/statistics.js';
import type { Estimate, Refusal } from './estimate.js';
import { gapFault } from './run-mean.js';
import type { TrialLog } from './trial-log.js';

/** How well the boat kept one straight leg. */
export interface TrackKeeping {
  /** Mean, to starboard positive [m]; refused where the line it should have kept is not known. */
  readonly meanM: Estimate | Refusal;
  readonly rmsM: Estimate;
  readonly within95M: Estimate;
  /** Way from the start of the leg until the error stays within the 95 % [m]. */
  readonly settleM: Estimate | Refusal;
}

/** A line the boat was to keep, in the frame [m]. */
export interface IntendedLine {
  readonly fromXM: number;
  readonly fromYM: number;
  readonly toXM: number;
  readonly toYM: number;
}

/** Settled: within the 95 % error for this long [s]. */
const SETTLED_S = 5;
/** The error is told from the last share of the leg, so that settling does not count. */
const SETTLED_SHARE = 0.6;

/**
 * Cross-track error of a straight leg: mean, root mean square, 95 %, and the way it takes to settle after the turn before it.
 *
 * Against the line it was to keep where that is known; else against the straight line through the settled part, which hides
 * any mean offset, so that the mean is refused and the others are as small as they can be. The settled part is the last 60 %.
 *
 * @returns refused with a gap, fewer than 20 positions, or a leg under 20 m
 */
export function trackKeeping(log: TrialLog, rowStart: number, rowEnd: number, line: IntendedLine | null = null): TrackKeeping | Refusal {
  const fault = gapFault(log, rowStart, rowEnd);
  if (fault !== '') return { refused: fault };
  const rows: number[] = [];
  for (let i = rowStart; i < rowEnd; i++) if (!Number.isNaN(log.xM[i]!) && !Number.isNaN(log.yM[i]!)) rows.push(i);
  const n = rows.length;
  if (n < 20) return { refused: `${n} positions: too few, 20 or more are needed` };
  const x = Float64Array.from(rows, (row) => log.xM[row]! - log.xM[rows[0]!]!);
  const y = Float64Array.from(rows, (row) => log.yM[row]! - log.yM[rows[0]!]!);
  const lengthM = Math.hypot(x[n - 1]!, y[n - 1]!);
  if (!(lengthM >= 20)) return { refused: `${lengthM.toFixed(0)} m long: too short, 20 m or more are needed` };
  const settledFrom = Math.floor((1 - SETTLED_SHARE) * n);
  const { cx, cy, ax, ay } = line === null ? lineThrough(x, y, settledFrom) : lineGiven(line, log.xM[rows[0]!]!, log.yM[rows[0]!]!, x, y);
  // To starboard of the way made: the frame's x is east, y north.
  const across = Float64Array.from({ length: n }, (_, i) => (x[i]! - cx) * ay - (y[i]! - cy) * ax);
  const along = Float64Array.from({ length: n }, (_, i) => (x[i]! - x[0]!) * ax + (y[i]! - y[0]!) * ay);
  const settled = across.subarray(settledFrom);
  const m = settled.length;
  let sum = 0;
  let squares = 0;
  for (let i = 0; i < m; i++) {
    sum += settled[i]!;
    squares += settled[i]! * settled[i]!;
  }
  const mean = sum / m;
  const lost = line === null ? 2 : 0;
  const about = settled.map((value) => value - mean);
  const independent = Math.max(3, m / correlationTime(about));
  const rms = Math.sqrt((squares / m) * (independent / Math.max(1, independent - lost)));
  const deviation = Math.sqrt(about.reduce((total, value) => total + value * value, 0) / m);
  const within = quantile(settled.map(Math.abs), 0.95) * (rms / Math.sqrt(squares / m));
  const share = 1 / Math.sqrt(2 * Math.max(1, independent - lost));
  const stepS = (log.timeS[rows[n - 1]!]! - log.timeS[rows[0]!]!) / (n - 1);
  return {
    meanM: line === null ? { refused: 'the line the boat was to keep is not known: give it with the leg' } : { value: mean, sigma: deviation / Math.sqrt(independent), dof: independent - 1 },
    rmsM: { value: rms, sigma: rms * share, dof: Infinity },
    within95M: { value: within, sigma: within * share, dof: Infinity },
    settleM: settleDistance(across, along, within, Math.max(2, Math.round(SETTLED_S / stepS))),
  };
}

function settleDistance(across: Float64Array, along: Float64Array, within: number, hold: number): Estimate | Refusal {
  let run = 0;
  for (let i = 0; i < across.length; i++) {
    run = Math.abs(across[i]!) <= within ? run + 1 : 0;
    if (run === hold) {
      const at = i - hold + 1;
      // The boat crosses into the band between two rows; slower swings of the error make it uncertain by as much again.
      const step = along[Math.min(across.length - 1, at + 1)]! - along[Math.max(0, at - 1)]!;
      return { value: Math.max(0, along[at]!), sigma: Math.max(Math.abs(step), 0.1 * Math.abs(along[at]!)), dof: Infinity };
    }
  }
  return { refused: 'the leg ends before the error settles' };
}

/** Straight line through the settled part by least squares of the distance from it. */
function lineThrough(x: Float64Array, y: Float64Array, from: number): { cx: number; cy: number; ax: number; ay: number } {
  const m = x.length - from;
  let cx = 0;
  let cy = 0;
  for (let i = from; i < x.length; i++) {
    cx += x[i]! / m;
    cy += y[i]! / m;
  }
  let xx = 0;
  let yy = 0;
  let xy = 0;
  for (let i = from; i < x.length; i++) {
    xx += (x[i]! - cx) ** 2;
    yy += (y[i]! - cy) ** 2;
    xy += (x[i]! - cx) * (y[i]! - cy);
  }
  const angle = 0.5 * Math.atan2(2 * xy, xx - yy);
  const forward = Math.cos(angle) * (x[x.length - 1]! - x[from]!) + Math.sin(angle) * (y[x.length - 1]! - y[from]!) >= 0 ? 1 : -1;
  return { cx, cy, ax: forward * Math.cos(angle), ay: forward * Math.sin(angle) };
}

function lineGiven(line: IntendedLine, x0: number, y0: number, x: Float64Array, y: Float64Array): { cx: number; cy: number; ax: number; ay: number } {
  const length = Math.hypot(line.toXM - line.fromXM, line.toYM - line.fromYM);
  if (!(length > 0)) throw new RangeError('line: expected two different ends');
  const ax = (line.toXM - line.fromXM) / length;
  const ay = (line.toYM - line.fromYM) / length;
  const n = x.length - 1;
  const forward = ax * (x[n]! - x[0]!) + ay * (y[n]! - y[0]!) >= 0 ? 1 : -1;
  return { cx: line.fromXM - x0, cy: line.fromYM - y0, ax: forward * ax, ay: forward * ay };
}
