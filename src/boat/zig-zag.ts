import { unrolledDeg } from '../base/interpolate.js';
import { fitCurve, fitLinear, standardError } from './curve-fit.js';
import type { Estimate, Refusal } from './estimate.js';
import type { TrialLog } from './trial-log.js';

/** What a zig-zag says of the boat's yaw. */
export interface ZigZag {
  /** Overshoots in order: how far the heading went on past where the helm was reversed [deg]. */
  readonly overshootsDeg: Float64Array;
  readonly sigmaOvershootDeg: number;
  /** Yaw response of T r' + r = K d: K per unit of helm [1/s], T [s]; refused where the record does not tell them. */
  readonly nomoto: NomotoFit | Refusal;
  readonly reversals: number;
}

export interface NomotoFit {
  /** [1/s] where the helm is in radians or in shares of full. */
  readonly k: Estimate;
  readonly tS: Estimate;
  /** What T may be off by because an order is known to the row only, and rows may fall alike on every order: shared by all trials of a log [s]. */
  readonly sigmaTimingS: number;
  /** Helm at which the boat runs straight. */
  readonly neutral: number;
  /** Of the heading [deg]. */
  readonly residualSdDeg: number;
}

const MIN_T_S = 0.02;

/**
 * Overshoots of a zig-zag: from the moment the helm is reversed, how far the heading goes on the same way before it turns.
 *
 * @param timeS rising, [n]
 * @param headingDeg bearings or a running angle, [n]
 * @param helm positive turns to starboard, [n]; any unit
 * @returns refused with no reversal of the helm or no heading
 * Source: IMO MSC.137(76), zig-zag test; ITTC 7.5-04-02-01.
 */
export function zigZag(timeS: ArrayLike<number>, headingDeg: ArrayLike<number>, helm: ArrayLike<number>): ZigZag | Refusal {
  const n = timeS.length;
  const heading = unrolledDeg(headingDeg, 0, n);
  if (heading.every(Number.isNaN)) return { refused: 'no compass in it: overshoots are changes of heading' };
  let most = 0;
  for (let i = 0; i < n; i++) if (Math.abs(helm[i]!) > most) most = Math.abs(helm[i]!);
  if (!(most > 0)) return { refused: 'thruster commands not logged: overshoots are measured from the reversal of the helm' };
  // A reversal: the helm comes to half its most on the other side; it was ordered at the last row at which it was still held,
  // within a twentieth of the most it came to on the old side (a rudder takes time to go over).
  const reversals: number[] = [];
  let side = 0;
  let held = 0;
  let left = -1;
  for (let i = 0; i < n; i++) {
    const share = helm[i]! / most;
    if (Number.isNaN(share)) continue;
    const now = share > 0.5 ? 1 : share < -0.5 ? -1 : 0;
    if (now !== 0 && now !== side) {
      if (side !== 0) reversals.push(left + 1);
      side = now;
      held = 0;
    }
    if (side === 0) continue;
    held = Math.max(held, share * side);
    if (share * side >= 0.95 * held) left = i;
  }
  if (reversals.length === 0) return { refused: 'the helm was never reversed in it' };
  const overshoots: number[] = [];
  let timing = 0;
  reversals.forEach((row, r) => {
    const end = reversals[r + 1] ?? n;
    const before = helm[Math.max(0, row - 1)]! > 0 ? 1 : -1;
    let peak = -1;
    for (let i = row; i < end; i++) if (!Number.isNaN(heading[i]!) && (peak < 0 || heading[i]! * before > heading[peak]! * before)) peak = i;
    // Not seen to turn: the record ends on the way.
    if (peak < 0 || peak >= end - 2) return;
    const there = around(timeS, heading, peak);
    // Read from a row it was given since the row before.
    const here = row > 0 ? (around(timeS, heading, row) + around(timeS, heading, row - 1)) / 2 : heading[row]!;
    if (row > 0) timing = Math.max(timing, Math.abs(heading[row]! - heading[row - 1]!) / Math.sqrt(12));
    overshoots.push(Math.max(0, (there - here) * before));
  });
  if (overshoots.length === 0) return { refused: 'the heading was not seen to turn after the helm was reversed: hold on until it does' };
  return { overshootsDeg: Float64Array.from(overshoots), sigmaOvershootDeg: Math.hypot(headingNoise(heading), timing), nomoto: fitNomoto(timeS, headingDeg, helm), reversals: reversals.length };
}

/** Heading at a row from a parabola through its neighbours: 2 before and after. */
function around(timeS: ArrayLike<number>, heading: Float64Array, row: number): number {
  const start = Math.max(0, row - 2);
  const end = Math.min(heading.length, row + 3);
  const t: number[] = [];
  const h: number[] = [];
  for (let i = start; i < end; i++) {
    if (Number.isNaN(heading[i]!)) continue;
    t.push(timeS[i]! - timeS[row]!);
    h.push(heading[i]!);
  }
  const fit = fitLinear([t.map(() => 1), t, t.map((one) => one * one)], h);
  return t.length < 5 || fit === null ? heading[row]! : fit.coefficients[0]!;
}

/** Standard deviation of the noise from row to row, from third differences [deg]. */
function headingNoise(heading: Float64Array): number {
  let sum = 0;
  let n = 0;
  for (let i = 3; i < heading.length; i++) {
    const third = heading[i]! - 3 * heading[i - 1]! + 3 * heading[i - 2]! - heading[i - 3]!;
    if (Number.isNaN(third)) continue;
    sum += third * third;
    n++;
  }
  return Math.sqrt(sum / (20 * Math.max(1, n)));
}

/**
 * First-order yaw response T r' + r = K (d - d0) from helm and heading.
 *
 * The heading itself is fitted, not its rate: for a given T the heading that the recorded helm makes is linear in K, in the
 * neutral helm, in the heading and the yaw rate at the start, so T alone is searched for. No difference is taken and noise in
 * the heading does not bend the answer, as it does when rates are regressed. The helm goes
 * straight from row to row, so that an order given between two rows counts from their middle.
 *
 * @param helm in radians, or as a share of full: K comes in 1/s for it
 * @returns refused with fewer than 20 rows, or where T is shorter than rows can show or longer than the record
 * Source: Nomoto et al. (1957), International Shipbuilding Progress 4(35), 354-370; first-order form.
 */
export function fitNomoto(timeS: ArrayLike<number>, headingDeg: ArrayLike<number>, helm: ArrayLike<number>): NomotoFit | Refusal {
  const running = unrolledDeg(headingDeg, 0, headingDeg.length);
  const rows: number[] = [];
  for (let i = 0; i < running.length; i++) if (!Number.isNaN(running[i]!) && !Number.isNaN(helm[i]!)) rows.push(i);
  const m = rows.length;
  if (m < 20) return { refused: `${m} rows with heading and helm: 20 or more are needed` };
  const t = Float64Array.from(rows, (row) => timeS[row]! - timeS[rows[0]!]!);
  const psi = Float64Array.from(rows, (row) => (running[row]! * Math.PI) / 180);
  const d = Float64Array.from(rows, (row) => helm[row]!);
  const one = new Float64Array(m).fill(1);
  const columnsAt = (T: number): Float64Array[] => {
    const decay = new Float64Array(m);
    const driven = new Float64Array(m);
    const steady = new Float64Array(m);
    let rate = 0;
    let angle = 0;
    for (let i = 0; i < m; i++) {
      if (i > 0) {
        const dt = t[i]! - t[i - 1]!;
        const left = Math.exp(-dt / T);
        // Exact for a helm that goes straight from one row's value to the next.
        const slope = (d[i]! - d[i - 1]!) / dt;
        const free = rate - d[i - 1]! + slope * T;
        angle += d[i - 1]! * dt + (slope * dt * dt) / 2 - slope * T * dt + free * T * (1 - left);
        rate = d[i]! - slope * T + free * left;
      }
      driven[i] = angle;
      decay[i] = T * (1 - Math.exp(-t[i]! / T));
      steady[i] = t[i]! - decay[i]!;
    }
    return [one, decay, driven, steady];
  };
  const costAt = (logT: number): number => fitLinear(columnsAt(Math.exp(logT)), psi)?.sumSquares ?? Infinity;
  const low = Math.log(MIN_T_S);
  const high = Math.log(t[m - 1]!);
  let best = low;
  let least = Infinity;
  const steps = 40;
  for (let i = 0; i <= steps; i++) {
    const at = low + ((high - low) * i) / steps;
    const cost = costAt(at);
    if (cost < least) [least, best] = [cost, at];
  }
  const width = (high - low) / steps;
  if (best <= low + width / 2 || best >= high - width / 2) return { refused: 'the record does not tell the time constant of the yaw: more reversals of the helm, at a higher rate of logging' };
  let a = best - width;
  let b = best + width;
  const ratio = (Math.sqrt(5) - 1) / 2;
  let left = b - ratio * (b - a);
  let right = a + ratio * (b - a);
  let costLeft = costAt(left);
  let costRight = costAt(right);
  for (let i = 0; i < 28; i++) {
    if (costLeft < costRight) {
      b = right;
      [right, costRight] = [left, costLeft];
      left = b - ratio * (b - a);
      costLeft = costAt(left);
    } else {
      a = left;
      [left, costLeft] = [right, costRight];
      right = a + ratio * (b - a);
      costRight = costAt(right);
    }
  }
  const logT = (a + b) / 2;
  const T = Math.exp(logT);
  const columns = columnsAt(T);
  const fit = fitLinear(columns, psi);
  if (fit === null) return { refused: 'the helm hardly moved: its effect cannot be told' };
  const k = fit.coefficients[2]!;
  const bias = fit.coefficients[3]!;
  // Errors of all five together; the yaw wanders, so that the heading walks.
  const all = fitCurve(
    (params, out) => {
      const at = columnsAt(Math.exp(params[4]!));
      for (let i = 0; i < m; i++) {
        let sum = -psi[i]!;
        for (let c = 0; c < 4; c++) sum += params[c]! * at[c]![i]!;
        out[i] = sum;
      }
    },
    m,
    [...fit.coefficients, logT],
    [0.1, 0.1, Math.max(0.01, Math.abs(k)), 0.1, 0.3],
    { walkTimeS: t, maxIterations: 5 },
  );
  const sigmaK = standardError(all, 2);
  const sigmaLogT = standardError(all, 4);
  if (!(sigmaLogT < 0.5)) return { refused: `the record does not tell the time constant of the yaw: ${T.toFixed(2)} s with a standard error of ${(sigmaLogT * T).toFixed(2)} s` };
  const dof = all.dof;
  return {
    k: { value: k, sigma: sigmaK, dof },
    tS: { value: T, sigma: sigmaLogT * T, dof },
    sigmaTimingS: t[m - 1]! / (m - 1) / Math.sqrt(12),
    neutral: -bias / k,
    residualSdDeg: (Math.sqrt(fit.sumSquares / Math.max(1, m - 5)) * 180) / Math.PI,
  };
}

/** The zig-zag in rows of a log; helm is the difference of the thrusters, 1 for full ahead to port with full astern to starboard. */
export function zigZagOf(log: TrialLog, rowStart: number, rowEnd: number): ZigZag | Refusal {
  const m = rowEnd - rowStart;
  const helm = Float64Array.from({ length: m }, (_, i) => (log.thrusterPortPct[rowStart + i]! - log.thrusterStarboardPct[rowStart + i]!) / 200);
  return zigZag(log.timeS.subarray(rowStart, rowEnd), log.headingDeg.subarray(rowStart, rowEnd), helm);
}
