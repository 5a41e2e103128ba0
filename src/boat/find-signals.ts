import type { TrialLog } from './trial-log.js';

/**
 * A log of trials as the finder sees it: rows with a position only, with velocity, a running angle and the orders.
 * Shape of every column: [n].
 */
export interface TrialSignals {
  readonly n: number;
  /** Row of the log. */
  readonly row: Int32Array;
  /** Since the first row with a position [s]. */
  readonly t: Float64Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Number of the piece of the log between gaps; rises by one at each. */
  readonly piece: Int32Array;
  /** Velocity over the ground in the frame, a line through half a second either way [m/s]. */
  readonly vx: Float64Array;
  readonly vy: Float64Array;
  readonly speed: Float64Array;
  /** Heading where a compass was logged, else course over the ground, running on past 360, in the frame [deg]. */
  readonly angle: Float64Array;
  /** Its rate, over half a second either way [deg/s]. */
  readonly rate: Float64Array;
  /** Mean of the thrusters and port less starboard [%]; held from the row before where not logged, NaN before the first. */
  readonly mean: Float64Array;
  readonly helm: Float64Array;
  readonly hasHeading: boolean;
  readonly hasCommands: boolean;
  /** A speed that the boat was faster than 2 % of the time [m/s]. */
  readonly fastMps: number;
  /** White noise of a position, one dimension [m]. */
  readonly noiseM: number;
}

const HALF_S = 0.5;
/** A gap: longer than this, or than five usual steps. As the analysis takes it. */
const GAP_S = 2.5;
/** An instrument counts as logged where this share of the rows has it. */
const LOGGED_SHARE = 0.5;
/** Slower than this over the ground positions give no course [m/s]. */
const NO_COURSE_MPS = 0.25;

/** First index of [0, n) with t >= timeS. */
export function indexAt(t: Float64Array, timeS: number): number {
  let low = 0;
  let high = t.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (t[middle]! < timeS) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** First index of the same piece with t >= timeS, from an index on or back; never outside the piece. */
export function indexNear(s: TrialSignals, from: number, timeS: number): number {
  let i = from;
  while (i > 0 && s.piece[i - 1] === s.piece[from] && s.t[i - 1]! >= timeS) i--;
  while (i + 1 < s.n && s.piece[i + 1] === s.piece[from] && s.t[i]! < timeS) i++;
  return i;
}

/** Commands that differ by less are one setting [%]; at full ahead steering takes from one side only, and more is one setting too. */
const SAME_SETTING_PCT = 3;
const SAME_AT_FULL_PCT = 11;
const FULL_PCT = 98;

/** Whether the boat is at one setting of the thrusters in two rows, steering left aside. */
export function sameSetting(s: TrialSignals, a: number, b: number): boolean {
  const most = (i: number): number => s.mean[i]! + Math.abs(s.helm[i]!) / 2;
  const within = most(a) >= FULL_PCT && most(b) >= FULL_PCT ? SAME_AT_FULL_PCT : SAME_SETTING_PCT;
  return Math.abs(s.mean[a]! - s.mean[b]!) <= within;
}

/** The signals of a log, in one pass of each kind. */
export function trialSignals(log: TrialLog): TrialSignals {
  const rows: number[] = [];
  for (let i = 0; i < log.n; i++) if (!Number.isNaN(log.xM[i]!) && !Number.isNaN(log.yM[i]!) && !Number.isNaN(log.timeS[i]!)) rows.push(i);
  const row = Int32Array.from(rows);
  const n = row.length;
  const t = new Float64Array(n);
  const x = new Float64Array(n);
  const y = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    t[i] = log.timeS[row[i]!]! - log.timeS[row[0]!]!;
    x[i] = log.xM[row[i]!]! - log.xM[row[0]!]!;
    y[i] = log.yM[row[i]!]! - log.yM[row[0]!]!;
  }
  const stepS = usualStep(t);
  const gapS = Math.max(GAP_S, 5 * stepS);
  const piece = new Int32Array(n);
  for (let i = 1; i < n; i++) piece[i] = piece[i - 1]! + (t[i]! - t[i - 1]! > gapS ? 1 : 0);
  const half = Math.max(HALF_S, 1.5 * stepS);
  const vx = new Float64Array(n);
  const vy = new Float64Array(n);
  const speed = new Float64Array(n);
  velocities(t, x, y, piece, half, vx, vy);
  for (let i = 0; i < n; i++) speed[i] = Math.hypot(vx[i]!, vy[i]!);
  let headings = 0;
  let commands = 0;
  for (let i = 0; i < n; i++) {
    if (!Number.isNaN(log.headingDeg[row[i]!]!)) headings++;
    if (!Number.isNaN(log.thrusterPortPct[row[i]!]! + log.thrusterStarboardPct[row[i]!]!)) commands++;
  }
  const hasHeading = n > 0 && headings >= LOGGED_SHARE * n;
  const hasCommands = n > 0 && commands >= LOGGED_SHARE * n;
  const angle = new Float64Array(n);
  let last = NaN;
  for (let i = 0; i < n; i++) {
    let now = NaN;
    if (hasHeading) now = log.headingDeg[row[i]!]! - log.convergenceDeg;
    else if (speed[i]! >= NO_COURSE_MPS) now = (Math.atan2(vx[i]!, vy[i]!) * 180) / Math.PI;
    if (!Number.isNaN(now)) last = Number.isNaN(last) ? now : last + (((((now - last) % 360) + 540) % 360) - 180);
    angle[i] = Number.isNaN(last) ? 0 : last;
  }
  const mean = new Float64Array(n);
  const helm = new Float64Array(n);
  let lastMean = NaN;
  let lastHelm = NaN;
  for (let i = 0; i < n; i++) {
    const port = log.thrusterPortPct[row[i]!]!;
    const starboard = log.thrusterStarboardPct[row[i]!]!;
    if (!Number.isNaN(port + starboard)) {
      lastMean = (port + starboard) / 2;
      lastHelm = port - starboard;
    }
    mean[i] = lastMean;
    helm[i] = lastHelm;
  }
  return { n, row, t, x, y, piece, vx, vy, speed, angle, rate: rates(t, angle, piece, half), mean, helm, hasHeading, hasCommands, fastMps: fastSpeed(speed), noiseM: whiteNoise(x, y, piece) };
}

function usualStep(t: Float64Array): number {
  if (t.length < 2) return 1;
  // Gaps are few: the middle of a thousand steps.
  const every = Math.max(1, Math.floor(t.length / 1000));
  const steps: number[] = [];
  for (let i = 1; i < t.length; i += every) steps.push(t[i]! - t[i - 1]!);
  steps.sort((a, b) => a - b);
  return Math.max(1e-3, steps[steps.length >> 1]!);
}

/** Slope of a least-squares line through the rows within half a window; 0 where a piece has one row. */
function velocities(t: Float64Array, x: Float64Array, y: Float64Array, piece: Int32Array, half: number, vx: Float64Array, vy: Float64Array): void {
  const n = t.length;
  let start = 0;
  let end = 0;
  for (let i = 0; i < n; i++) {
    while (piece[start] !== piece[i] || t[start]! < t[i]! - half - 1e-9) start++;
    while (end < n && piece[end] === piece[i] && t[end]! <= t[i]! + half + 1e-9) end++;
    let st = 0;
    let sx = 0;
    let sy = 0;
    let tt = 0;
    let tx = 0;
    let ty = 0;
    const m = end - start;
    for (let k = start; k < end; k++) {
      const dt = t[k]! - t[i]!;
      const dx = x[k]! - x[i]!;
      const dy = y[k]! - y[i]!;
      st += dt;
      sx += dx;
      sy += dy;
      tt += dt * dt;
      tx += dt * dx;
      ty += dt * dy;
    }
    const spread = tt - (st * st) / m;
    vx[i] = spread > 0 ? (tx - (st * sx) / m) / spread : 0;
    vy[i] = spread > 0 ? (ty - (st * sy) / m) / spread : 0;
  }
}

function rates(t: Float64Array, angle: Float64Array, piece: Int32Array, half: number): Float64Array {
  const n = t.length;
  const rate = new Float64Array(n);
  let start = 0;
  let end = 0;
  for (let i = 0; i < n; i++) {
    while (piece[start] !== piece[i] || t[start]! < t[i]! - half - 1e-9) start++;
    while (end < n && piece[end] === piece[i] && t[end]! <= t[i]! + half + 1e-9) end++;
    const dt = t[end - 1]! - t[start]!;
    rate[i] = dt > 0 ? (angle[end - 1]! - angle[start]!) / dt : 0;
  }
  return rate;
}

/** The speed that 2 % lie above, by a histogram of 0.02 m/s. */
function fastSpeed(speed: Float64Array): number {
  const counts = new Int32Array(1000);
  for (let i = 0; i < speed.length; i++) {
    const bin = Math.min(999, Math.floor(speed[i]! / 0.02));
    counts[bin] = counts[bin]! + 1;
  }
  let above = 0;
  for (let bin = 999; bin >= 0; bin--) {
    above += counts[bin]!;
    if (above > 0.02 * speed.length) return (bin + 1) * 0.02;
  }
  return 0;
}

/** From third differences, the middle of them: motion smoother than that falls out, jumps do not count. */
function whiteNoise(x: Float64Array, y: Float64Array, piece: Int32Array): number {
  const n = x.length;
  const every = Math.max(1, Math.floor(n / 4000));
  const sizes: number[] = [];
  for (let i = 3; i < n; i += every) {
    if (piece[i] !== piece[i - 3]) continue;
    const dx = x[i]! - 3 * x[i - 1]! + 3 * x[i - 2]! - x[i - 3]!;
    const dy = y[i]! - 3 * y[i - 1]! + 3 * y[i - 2]! - y[i - 3]!;
    sizes.push((dx * dx + dy * dy) / 2);
  }
  if (sizes.length === 0) return 0;
  sizes.sort((a, b) => a - b);
  // Median of a mean of two squares of a normal is ln 2 of its variance.
  return Math.sqrt(sizes[sizes.length >> 1]! / Math.LN2 / 20);
}
