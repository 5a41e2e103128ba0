import { turnDeg, unrolledDeg } from '../base/interpolate.js';
import { timeAtAngle } from './bearings.js';
import { fitCurve, fitLinear, standardError, type CurveFit } from './curve-fit.js';
import type { Estimate, Refusal } from './estimate.js';
import { gapFault } from './run-mean.js';
import type { TrialLog } from './trial-log.js';

/** A turning circle with the drift taken out, measured from where the helm was ordered. */
export interface TurningCircle {
  readonly side: 'port' | 'starboard';
  /** Speed through the water before the helm was ordered [m/s]. */
  readonly approachMps: Estimate;
  readonly orderS: number;
  /** Along and across the approach, at 90 degrees; across at 180 [m]. */
  readonly advanceM: Estimate;
  readonly transferM: Estimate;
  readonly tacticalDiameterM: Estimate | Refusal;
  readonly steadyDiameterM: Estimate | Refusal;
  readonly timeTo90S: Estimate;
  readonly timeTo180S: Estimate | Refusal;
  readonly timeTo360S: Estimate | Refusal;
  readonly speedKept: Estimate | Refusal;
  /** Drift over the ground, true east and north [m/s], as the steady part of the turn told it. */
  readonly driftEastMps: number;
  readonly driftNorthMps: number;
  readonly sigmaDriftMps: number;
  readonly dof: number;
  readonly note: string;
}

/** The approach is told from this much before the order, if the log has it [s]. */
const APPROACH_S = 8;
const MIN_APPROACH_S = 2;
/** The turn counts as steady from this change of heading on [deg]. */
const STEADY_FROM_DEG = 120;
/** An arc shorter than this does not tell circle from drift [deg]. */
const MIN_STEADY_ARC_DEG = 200;
const BAND_DEG = 15;

/** First row at which the thrusters differ as they do in the turn; -1 where none is logged. */
export function helmOrderRow(log: TrialLog, rowStart: number, rowEnd: number): number {
  const helm = (row: number): number => log.thrusterPortPct[row]! - log.thrusterStarboardPct[row]!;
  const later: number[] = [];
  for (let i = Math.floor((rowStart + rowEnd) / 2); i < rowEnd; i++) if (!Number.isNaN(helm(i))) later.push(helm(i));
  if (later.length === 0) return -1;
  later.sort((a, b) => a - b);
  const full = later[later.length >> 1]!;
  if (Math.abs(full) < 2) return -1;
  for (let i = rowStart; i < rowEnd; i++) if (helm(i) / full >= 0.5) return i;
  return -1;
}

/**
 * Advance, transfer, tactical and steady diameter, times and speed kept of one turning circle.
 *
 * The steady part (from 120 degrees on) is fitted as a circle that drifts evenly; that drift is taken out of the whole track
 * from the order on. Heading is the compass's where logged, else the direction of motion through the water, which differs from
 * it by the drift angle of the hull in the turn. Approach: line through the seconds before the order.
 *
 * @param orderS when the helm was ordered, UTC [s]; null: from the thrusters, else from where the boat begins to turn
 * @returns refused with a gap, no approach, a turn of less than 90 degrees, or an arc too short to tell the drift
 * Source: IMO MSC.137(76), 5.2 to 5.4; ITTC 7.5-04-02-01 (drift taken out).
 */
export function turningCircle(log: TrialLog, rowStart: number, rowEnd: number, orderS: number | null = null): TurningCircle | Refusal {
  let orderRow = orderS === null ? helmOrderRow(log, rowStart, rowEnd) : rowAtOrAfter(log, rowStart, rowEnd, orderS);
  let note = '';
  let sigmaOrderS = orderS === null ? usualStepS(log, rowStart, rowEnd) / Math.sqrt(12) : 0;
  if (orderRow < 0) {
    orderRow = onsetRow(log, rowStart, rowEnd);
    if (orderRow < 0) return { refused: 'the helm order is not in the log and no turn begins in it' };
    sigmaOrderS = 0.5;
    note = 'thruster commands not logged: the order is where the boat begins to turn, good to half a second; ';
  }
  let first = orderRow;
  while (first > 0 && log.timeS[orderRow]! - log.timeS[first - 1]! <= APPROACH_S && steadyBefore(log, first - 1, orderRow)) first--;
  if (log.timeS[orderRow]! - log.timeS[first]! < MIN_APPROACH_S) return { refused: `only ${(log.timeS[orderRow]! - log.timeS[first]!).toFixed(1)} s of steady approach before the order: run straight for ${APPROACH_S} s first` };
  const fault = gapFault(log, first, rowEnd);
  if (fault !== '') return { refused: fault };

  // Read from a row it was given since the row before.
  const order = orderS ?? log.timeS[orderRow]! - (note === '' ? usualStepS(log, rowStart, rowEnd) / 2 : 0);
  const track = positions(log, first, rowEnd, order);
  const n = track.timeS.length;
  const from = track.timeS.findIndex((t) => t >= 0);
  const compass = !track.headingDeg.every(Number.isNaN);
  let heading = compass ? unrolledDeg(track.headingDeg, 0, n) : courseAlong(track, 0, 0);
  if (!compass) note += 'compass not logged: heading is the direction of motion through the water; ';
  let steady = steadyPart(track, heading, from);
  if ('refused' in steady) return steady;
  if (!compass) {
    // With the drift known the direction of motion through the water is; once more with that.
    heading = courseAlong(track, steady.fit.params[2]!, steady.fit.params[3]!);
    steady = steadyPart(track, heading, from);
    if ('refused' in steady) return steady;
  }
  const { fit, starboard, wander, spanS } = steady;
  const sign = starboard ? 1 : -1;
  const [, , ux, uy, radius, omega] = fit.params as unknown as [number, number, number, number, number, number];
  const p = fit.params.length;
  const sigmaRadius = Math.hypot(Math.sqrt(fit.covariance[4 * p + 4]!), radius * wander);
  /** Share by which rate and radius wander over the first so many seconds of the turn. */
  const wanderOver = (seconds: number): { rate: number; radius: number } => {
    const shorter = Math.sqrt(spanS / Math.max(1, seconds));
    return { rate: wander * shorter, radius: (sigmaRadius / radius) * shorter };
  };
  const sigmaDrift = Math.sqrt((fit.covariance[2 * p + 2]! + fit.covariance[3 * p + 3]!) / 2);
  const x = track.xM.map((value, i) => value - ux * track.timeS[i]!);
  const y = track.yM.map((value, i) => value - uy * track.timeS[i]!);

  // Approach: line through the rows before the order, in drift-free axes.
  const lineX = lineAt(track.timeS, x, 0, from, 0);
  const lineY = lineAt(track.timeS, y, 0, from, 0);
  if (lineX === null || lineY === null) return { refused: 'too few positions in the approach' };
  const speed = Math.hypot(lineX.slope, lineY.slope);
  if (!(speed > 0.1)) return { refused: 'the boat was not under way when the helm was ordered' };
  const noise = Math.max(fit.residualSd, 1e-6);
  const sigmaSlope = Math.hypot(Math.hypot(lineX.sigmaSlope, lineY.sigmaSlope) / Math.SQRT2, sigmaDrift);
  const sigmaOrigin = Math.hypot(Math.hypot(lineX.sigma, lineY.sigma) / Math.SQRT2, noise * Math.sqrt(fit.correlation / Math.max(1, from)));
  const aheadX = lineX.slope / speed;
  const aheadY = lineY.slope / speed;
  const sideX = sign * aheadY;
  const sideY = -sign * aheadX;
  const sigmaDirection = sigmaSlope / speed;
  const begin = meanBefore(heading, from, aheadX, aheadY, compass);
  const turned = heading.slice(from).map((value) => sign * (value - begin));
  const times = track.timeS.subarray(from);

  interface Mark {
    readonly time: Estimate;
    readonly ahead: number;
    readonly side: number;
    readonly sigmaAhead: number;
    readonly sigmaSide: number;
  }
  const mark = (angle: number): Mark | null => {
    const found = timeAtAngle(times, turned, angle, BAND_DEG);
    if (found === null) return null;
    const t = found.timeS;
    const place = pointAt(track.timeS, x, y, t);
    if (place === null) return null;
    const dx = place.x - lineX.value;
    const dy = place.y - lineY.value;
    const ahead = dx * aheadX + dy * aheadY;
    const side = dx * sideX + dy * sideY;
    // Velocity there: an error of the time moves the point along the track; the order's error moves the origin along the approach.
    const alongTrack = (vx: number, vy: number): number => place.vx * vx + place.vy * vy;
    const over = wanderOver(t);
    const point = Math.hypot(place.sigma, sigmaOrigin, sigmaDrift * t);
    const grown = radius * over.radius;
    return {
      time: { value: t, sigma: Math.hypot(found.sigmaS, sigmaOrderS, over.rate * t), dof: fit.dof },
      ahead,
      side,
      sigmaAhead: Math.hypot(point, grown, sigmaDirection * side, found.sigmaS * alongTrack(aheadX, aheadY), sigmaOrderS * speed),
      sigmaSide: Math.hypot(point, grown * (angle > 135 ? 2 : 1), sigmaDirection * ahead, found.sigmaS * alongTrack(sideX, sideY)),
    };
  };
  const at90 = mark(90);
  if (at90 === null) return { refused: 'the turn stops short of 90 degrees' };
  const at180 = mark(180);
  const at360 = mark(360);
  const short = (angle: number): Refusal => ({ refused: `the turn stops short of ${angle} degrees` });
  const turn = (log.convergenceDeg * Math.PI) / 180;
  const rate = Math.abs(omega);
  const kept = (radius * rate) / speed;
  const sigmaKept = kept * Math.hypot(Math.hypot(sigmaRadius / radius, Math.sqrt(fit.covariance[5 * p + 5]!) / rate), sigmaSlope / speed);
  return {
    side: starboard ? 'starboard' : 'port',
    approachMps: { value: speed, sigma: sigmaSlope, dof: Math.max(1, from - 2) },
    orderS: order,
    advanceM: { value: at90.ahead, sigma: at90.sigmaAhead, dof: fit.dof },
    transferM: { value: at90.side, sigma: at90.sigmaSide, dof: fit.dof },
    tacticalDiameterM: at180 === null ? short(180) : { value: at180.side, sigma: at180.sigmaSide, dof: fit.dof },
    steadyDiameterM: { value: 2 * radius, sigma: 2 * sigmaRadius, dof: fit.dof },
    timeTo90S: at90.time,
    timeTo180S: at180 === null ? short(180) : at180.time,
    timeTo360S: at360 === null ? short(360) : at360.time,
    speedKept: { value: kept, sigma: sigmaKept, dof: fit.dof },
    driftEastMps: ux * Math.cos(turn) + uy * Math.sin(turn),
    driftNorthMps: -ux * Math.sin(turn) + uy * Math.cos(turn),
    sigmaDriftMps: sigmaDrift,
    dof: fit.dof,
    note: note.replace(/; $/, ''),
  };
}

interface Track {
  /** Since the order [s]. */
  readonly timeS: Float64Array;
  /** From the first position [m]. */
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** In the frame's north, so that it is comparable with the track [deg]. */
  readonly headingDeg: Float64Array;
}

function positions(log: TrialLog, rowStart: number, rowEnd: number, zeroS: number): Track {
  const rows: number[] = [];
  for (let i = rowStart; i < rowEnd; i++) if (!Number.isNaN(log.xM[i]!) && !Number.isNaN(log.yM[i]!)) rows.push(i);
  const first = rows[0]!;
  return {
    timeS: Float64Array.from(rows, (row) => log.timeS[row]! - zeroS),
    xM: Float64Array.from(rows, (row) => log.xM[row]! - log.xM[first]!),
    yM: Float64Array.from(rows, (row) => log.yM[row]! - log.yM[first]!),
    headingDeg: Float64Array.from(rows, (row) => log.headingDeg[row]! - log.convergenceDeg),
  };
}

function rowAtOrAfter(log: TrialLog, rowStart: number, rowEnd: number, timeS: number): number {
  for (let i = rowStart; i < rowEnd; i++) if (log.timeS[i]! >= timeS) return i;
  return -1;
}

function usualStepS(log: TrialLog, rowStart: number, rowEnd: number): number {
  return rowEnd - rowStart > 1 ? (log.timeS[rowEnd - 1]! - log.timeS[rowStart]!) / (rowEnd - rowStart - 1) : NaN;
}

/** Whether a row before the order belongs to the same straight approach. */
function steadyBefore(log: TrialLog, row: number, orderRow: number): boolean {
  const heading = turnDeg(log.headingDeg[orderRow]!, log.headingDeg[row]!);
  if (!Number.isNaN(heading) && Math.abs(heading) > 12) return false;
  const helm = Math.abs(log.thrusterPortPct[row]! - log.thrusterStarboardPct[row]!);
  const mean = (at: number): number => (log.thrusterPortPct[at]! + log.thrusterStarboardPct[at]!) / 2;
  const before = Math.max(0, orderRow - 1);
  if (!Number.isNaN(helm) && (helm > 40 || Math.abs(mean(row) - mean(before)) > 10)) return false;
  return log.timeS[row + 1]! - log.timeS[row]! < 2.5;
}

/** Where the turn begins when no command is logged: back from where it is 3 and 10 degrees off the early course. */
function onsetRow(log: TrialLog, rowStart: number, rowEnd: number): number {
  const track = positions(log, rowStart, rowEnd, log.timeS[rowStart]!);
  const compass = !track.headingDeg.every(Number.isNaN);
  const heading = compass ? unrolledDeg(track.headingDeg, 0, track.timeS.length) : courseAlong(track, 0, 0);
  const early = Math.max(3, heading.findIndex((_, i) => track.timeS[i]! >= 2));
  if (heading.length < 2 * early) return -1;
  let begin = 0;
  for (let i = 0; i < early; i++) begin += heading[i]! / early;
  const at = (angle: number): number => heading.findIndex((value) => Math.abs(value - begin) >= angle);
  const [three, ten] = [at(3), at(10)];
  if (three < 0 || ten < 0) return -1;
  // A turn that begins as t^2 passes 10 degrees at sqrt(10/3) the time it passes 3.
  const ratio = Math.sqrt(10 / 3);
  const onset = (ratio * track.timeS[three]! - track.timeS[ten]!) / (ratio - 1);
  return rowAtOrAfter(log, rowStart, rowEnd, log.timeS[rowStart]! + Math.min(track.timeS[three]!, Math.max(0, onset)));
}

/** Direction of motion through the water from positions, a line through 1 s about each, as a running angle [deg]. */
function courseAlong(track: Track, ux: number, uy: number): Float64Array {
  const n = track.timeS.length;
  const courses = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const motion = pointAt(track.timeS, track.xM, track.yM, track.timeS[i]!);
    courses[i] = motion === null ? NaN : (Math.atan2(motion.vx - ux, motion.vy - uy) * 180) / Math.PI;
  }
  return unrolledDeg(courses, 0, n);
}

/** Place and velocity at a time from a parabola through the rows about it: 0.5 s either way, or as many as it takes for 5. */
function pointAt(timeS: Float64Array, x: Float64Array, y: Float64Array, atS: number): { x: number; y: number; vx: number; vy: number; sigma: number } | null {
  const n = timeS.length;
  let near = 0;
  let high = n;
  while (high - near > 1) {
    const middle = (near + high) >> 1;
    if (timeS[middle]! <= atS) near = middle;
    else high = middle;
  }
  let start = near;
  let end = near + 1;
  while (start > 0 && (atS - timeS[start - 1]! <= 0.5 || end - start < 3)) start--;
  while (end < n && (timeS[end]! - atS <= 0.5 || end - start < 5)) end++;
  while (start > 0 && end - start < 5) start--;
  const m = end - start;
  if (m < 4) return null;
  const t = Float64Array.from({ length: m }, (_, i) => timeS[start + i]! - atS);
  const columns = [new Float64Array(m).fill(1), t, t.map((one) => one * one)];
  const fx = fitLinear(columns, x.subarray(start, end));
  const fy = fitLinear(columns, y.subarray(start, end));
  if (fx === null || fy === null) return null;
  const constant = fitLinear([t, columns[2]!], columns[0]!);
  const variance = m > 3 ? (fx.sumSquares + fy.sumSquares) / (2 * (m - 3)) : 0;
  return { x: fx.coefficients[0]!, y: fy.coefficients[0]!, vx: fx.coefficients[1]!, vy: fy.coefficients[1]!, sigma: constant === null ? NaN : Math.sqrt(variance / constant.sumSquares) };
}

function lineAt(timeS: Float64Array, values: Float64Array, start: number, end: number, atS: number): { value: number; slope: number; sigma: number; sigmaSlope: number } | null {
  const m = end - start;
  if (m < 4) return null;
  const t = timeS.subarray(start, end);
  const slope = (values[end - 1]! - values[start]!) / (t[m - 1]! - t[0]!);
  const fit = fitCurve(
    (params, out) => {
      for (let i = 0; i < m; i++) out[i] = params[0]! + params[1]! * (t[i]! - atS) - values[start + i]!;
    },
    m,
    [values[end - 1]!, slope],
    [1, 0.5],
    { walkTimeS: t },
  );
  return { value: fit.params[0]!, slope: fit.params[1]!, sigma: Math.sqrt(fit.covariance[0]!), sigmaSlope: Math.sqrt(fit.covariance[3]!) };
}

/** Mean running heading before the order; without a compass the approach line's direction on the same turn of the angle. */
function meanBefore(heading: Float64Array, from: number, aheadX: number, aheadY: number, compass: boolean): number {
  let sum = 0;
  let n = 0;
  for (let i = 0; i < from; i++) {
    if (Number.isNaN(heading[i]!)) continue;
    sum += heading[i]!;
    n++;
  }
  const mean = sum / n;
  if (compass) return mean;
  return mean + turnDeg(mean, (Math.atan2(aheadX, aheadY) * 180) / Math.PI);
}

/** Circle that drifts evenly, through the steady part: x = x0 + u t + R sin(w t + f), y = y0 + v t + R cos(w t + f). */
function steadyPart(track: Track, heading: Float64Array, from: number): { fit: CurveFit; starboard: boolean; wander: number; spanS: number } | Refusal {
  const n = heading.length;
  let begin = 0;
  for (let i = Math.max(0, from - 5); i <= from; i++) begin += heading[i]! / (from - Math.max(0, from - 5) + 1);
  let last = n - 1;
  while (last > from && Number.isNaN(heading[last]!)) last--;
  const total = heading[last]! - begin;
  const starboard = total > 0;
  if (!(Math.abs(total) >= 90)) return { refused: `the heading changes by ${Math.abs(total).toFixed(0)} degrees only: a turning circle needs at least ${STEADY_FROM_DEG + MIN_STEADY_ARC_DEG}` };
  let start = from;
  while (start < n && Math.abs(heading[start]! - begin) < STEADY_FROM_DEG) start++;
  const arc = start < n ? Math.abs(heading[last]! - heading[start]!) : 0;
  if (!(arc >= MIN_STEADY_ARC_DEG)) return { refused: `the turn ends after ${Math.abs(total).toFixed(0)} degrees: ${STEADY_FROM_DEG + MIN_STEADY_ARC_DEG} are needed to tell the circle from the drift, 540 are better` };
  const m = last + 1 - start;
  if (m < 10) return { refused: `${m} positions in the steady turn: too few` };
  const t = track.timeS.subarray(start, last + 1);
  const x = track.xM.subarray(start, last + 1);
  const y = track.yM.subarray(start, last + 1);
  // For a given rate the rest is linear, the same sine and cosine in both directions.
  const linear = (omega: number): { cost: number; c: Float64Array } | null => {
    const columns = [0, 1, 2, 3, 4, 5].map(() => new Float64Array(2 * m));
    const values = new Float64Array(2 * m);
    for (let i = 0; i < m; i++) {
      const sin = Math.sin(omega * t[i]!);
      const cos = Math.cos(omega * t[i]!);
      columns[0]![i] = 1;
      columns[1]![m + i] = 1;
      columns[2]![i] = t[i]!;
      columns[3]![m + i] = t[i]!;
      columns[4]![i] = sin;
      columns[5]![i] = cos;
      columns[4]![m + i] = cos;
      columns[5]![m + i] = -sin;
      values[i] = x[i]!;
      values[m + i] = y[i]!;
    }
    const solved = fitLinear(columns, values);
    return solved === null ? null : { cost: solved.sumSquares, c: solved.coefficients };
  };
  const guess = ((heading[last]! - heading[start]!) * Math.PI) / 180 / (t[m - 1]! - t[0]!);
  let omega = guess;
  let best = linear(guess);
  for (let factor = 0.8; factor <= 1.2001; factor += 0.05) {
    const tried = linear(guess * factor);
    if (tried !== null && (best === null || tried.cost < best.cost)) [best, omega] = [tried, guess * factor];
  }
  if (best === null) return { refused: 'the steady turn does not tell circle from drift: turn further' };
  const [x0, y0, u, v, a, b] = best.c as unknown as [number, number, number, number, number, number];
  const radius = Math.hypot(a, b);
  const fit = fitCurve(
    (params, out) => {
      const [px, py, pu, pv, pr, pw, pf] = params as unknown as [number, number, number, number, number, number, number];
      for (let i = 0; i < m; i++) {
        const angle = pw * t[i]! + pf;
        out[i] = px + pu * t[i]! + pr * Math.sin(angle) - x[i]!;
        out[m + i] = py + pv * t[i]! + pr * Math.cos(angle) - y[i]!;
      }
    },
    2 * m,
    [x0, y0, u, v, radius, omega, Math.atan2(b, a)],
    [1, 1, 0.1, 0.1, Math.max(0.1, radius), 0.1, 0.3],
    { series: 2, walkTimeS: t },
  );
  if (!(fit.params[4]! > 0) || !Number.isFinite(fit.residualSd) || Number.isNaN(fit.covariance[0]!)) return { refused: 'the steady turn does not fit a circle with drift' };
  if (fit.residualSd > 0.3 * fit.params[4]!) return { refused: `the turn is no circle: positions lie ${fit.residualSd.toFixed(2)} m from one of ${fit.params[4]!.toFixed(2)} m radius` };
  // The yaw wanders: the mean rate is no surer than the heading's walk lets it be.
  const spanS = t[m - 1]! - t[0]!;
  const yaw = heading.subarray(start, last + 1);
  const line = fitCurve(
    (params, out) => {
      for (let i = 0; i < m; i++) out[i] = Number.isNaN(yaw[i]!) ? 0 : params[0]! + params[1]! * (t[i]! - t[0]! - spanS / 2) - yaw[i]!;
    },
    m,
    [(yaw[0]! + yaw[m - 1]!) / 2, (yaw[m - 1]! - yaw[0]!) / spanS],
    [1, 1],
    { walkTimeS: t },
  );
  return { fit, starboard, wander: standardError(line, 1) / Math.abs(line.params[1]!), spanS };
}
