import type { FoundWindow } from './find-runs.js';
import { indexNear, sameSetting, type TrialSignals } from './find-signals.js';

/** Standing starts, coast-downs and stops astern of a log. */
export interface SpeedChanges {
  readonly starts: readonly FoundWindow[];
  readonly coasts: readonly FoundWindow[];
  readonly stops: readonly FoundWindow[];
}

/** A start is looked at from this long before the order, and for this long after it at most [s]. */
const LEAD_S = 3;
const START_S = 16;
/** At rest before a start, and even motion before a change told by the motion, for this long [s]. */
const REST_S = 3;
const STEADY_S = 4;
/** Straight at one command before a slowing for this long: a change of command takes as long to settle at half speed (2 L / v) [s]. */
const SETTLED_S = 6;
const COAST_S = 30;
const LEAST_COAST_S = 4;
const STOP_S = 8;
/** Below this the thrusters count as off [%]. */
const OFF_PCT = 5;
/** A command this share of the largest in the log counts as full. */
const FULL_SHARE = 0.85;
/** A coast ends where a tenth of the speed is left: nine times as long as to half of it, by quadratic drag. */
const TO_TENTH = 9;
/** The water's velocity is that of the boat this long after the cut [s]. */
const SLOWED_S = 12;
const STRAIGHT_DEG = 15;

/** By the orders where they are logged, else by the motion alone. */
export function findSpeedChanges(s: TrialSignals): SpeedChanges {
  return s.hasCommands ? byOrders(s) : byMotion(s);
}

function byOrders(s: TrialSignals): SpeedChanges {
  let most = 0;
  for (let i = 0; i < s.n; i++) if (Math.abs(s.mean[i]!) > most) most = Math.abs(s.mean[i]!);
  const full = FULL_SHARE * most;
  const starts: FoundWindow[] = [];
  const coasts: Slowing[] = [];
  const stops: FoundWindow[] = [];
  if (!(full > 30)) return { starts, coasts: [], stops };
  for (let i = 1; i < s.n; i++) {
    if (s.piece[i] !== s.piece[i - 1]) continue;
    const now = s.mean[i]!;
    const before = s.mean[i - 1]!;
    if (Math.abs(now - before) < 15) continue;
    // An order may be logged in two steps: what it comes to within 0.6 s counts.
    const then = s.mean[indexNear(s, i, s.t[i]! + 0.6)]!;
    if (Math.abs(before) < OFF_PCT && then >= full && heldBefore(s, i, REST_S, (mean) => Math.abs(mean) < OFF_PCT) && atRest(s, i)) {
      const end = heldAfter(s, i, START_S, (mean) => mean >= 0.9 * full);
      if (s.t[end - 1]! - s.t[i]! >= 5 && straightOver(s, i, end, 2 * STRAIGHT_DEG)) starts.push({ start: indexNear(s, i, s.t[i]! - LEAD_S), end });
    } else if (before >= 30 && Math.abs(then) < OFF_PCT && Math.abs(now) < OFF_PCT && heldBefore(s, i, SETTLED_S, (_, k) => sameSetting(s, k, i - 1)) && straightBefore(s, i)) {
      const held = heldAfter(s, i, COAST_S, (mean, helm) => Math.abs(mean) < OFF_PCT && Math.abs(helm) < 2 * OFF_PCT);
      coasts.push(slowing(s, i, held));
    } else if (before >= full && then <= -full && heldBefore(s, i, SETTLED_S, (mean) => mean >= 0.9 * full) && straightBefore(s, i)) {
      const end = heldAfter(s, i, STOP_S, (mean) => mean < -OFF_PCT);
      if (s.t[end - 1]! - s.t[i]! >= 0.6) stops.push({ start: i, end });
      i = end - 1;
    }
  }
  return { starts, coasts: coastWindows(s, coasts), stops };
}

/** Whether the orders of the seconds before a row satisfy a test. */
function heldBefore(s: TrialSignals, at: number, seconds: number, test: (mean: number, row: number) => boolean): boolean {
  let i = at - 1;
  while (i >= 0 && s.piece[i] === s.piece[at] && s.t[at]! - s.t[i]! <= seconds) {
    if (!test(s.mean[i]!, i)) return false;
    i--;
  }
  return s.t[at]! - s.t[i + 1]! >= 0.8 * seconds;
}

/** End of the rows from one on in which the orders satisfy a test: the order may take 0.6 s to be logged whole. */
function heldAfter(s: TrialSignals, at: number, seconds: number, test: (mean: number, helm: number) => boolean): number {
  let i = at;
  while (i < s.n && s.piece[i] === s.piece[at] && s.t[i]! - s.t[at]! <= seconds && (s.t[i]! - s.t[at]! < 0.6 || test(s.mean[i]!, s.helm[i]!))) i++;
  return i;
}

/** Whether the boat moved evenly, as the water does, over the two seconds before a row. */
function atRest(s: TrialSignals, at: number): boolean {
  const a = indexNear(s, at, s.t[at]! - 2.4);
  const b = indexNear(s, at, s.t[at]! - 0.6);
  return Math.hypot(s.vx[b]! - s.vx[a]!, s.vy[b]! - s.vy[a]!) < 0.15 + 4 * s.noiseM;
}

/** Whether the bow kept within a few degrees over the seconds before a row: a boat that weaves comes back to its heading, too. */
function straightBefore(s: TrialSignals, at: number): boolean {
  let low = Infinity;
  let high = -Infinity;
  for (let i = indexNear(s, at, s.t[at]! - SETTLED_S); i < at; i++) {
    if (s.angle[i]! < low) low = s.angle[i]!;
    if (s.angle[i]! > high) high = s.angle[i]!;
  }
  return high - low < 1.5 * STRAIGHT_DEG && Math.abs(s.rate[indexNear(s, at, s.t[at]! - 0.6)]!) < 15;
}

function straightOver(s: TrialSignals, start: number, end: number, mostDeg: number): boolean {
  // At rest a course over the ground is the current's: from where the boat is under way.
  const a = s.hasHeading ? start : indexNear(s, start, s.t[start]! + 2);
  const b = Math.max(a, indexNear(s, start, s.t[start]! + 5));
  return b < end && Math.abs(s.angle[b]! - s.angle[a]!) < mostDeg;
}

/** A coast seen: rows from the cut to where the thrusters start again, length L [m] and speed through the water at the cut [m/s]; NaN where not told. */
interface Slowing extends FoundWindow {
  readonly lengthM: number;
  readonly speedMps: number;
}

/**
 * How the boat slows, and with it where a tenth of the speed through the water is left, told from how long it took to lose the first half and two thirds:
 * v = v0 / (1 + v0 t / L) has lost half at L/v0, two thirds at 2 L/v0, nine tenths at 9 L/v0. The tail itself is lost in the
 * chop. The water's velocity is told from the late rows, less what is left of the speed there.
 */
function slowing(s: TrialSignals, start: number, end: number): Slowing {
  const first = indexNear(s, start, s.t[start]! - 0.6);
  const lastS = Math.min(s.t[end - 1]! - 0.6, s.t[start]! + SLOWED_S);
  const late = indexNear(s, start, lastS);
  const early = indexNear(s, start, Math.max(s.t[start]!, lastS - 3));
  const untold: Slowing = { start, end, lengthM: NaN, speedMps: NaN };
  if (late <= early) return untold;
  let lateX = 0;
  let lateY = 0;
  for (let i = early; i < late; i++) {
    lateX += s.vx[i]! / (late - early);
    lateY += s.vy[i]! / (late - early);
  }
  const middleS = (s.t[early]! + s.t[late]!) / 2 - s.t[start]!;
  let unitS = 1.5;
  let speedMps = NaN;
  for (let pass = 0; pass < 4; pass++) {
    const left = 1 / (1 + middleS / unitS);
    // v_late = water + left (v0 - water).
    const waterX = (lateX - left * s.vx[first]!) / (1 - left);
    const waterY = (lateY - left * s.vy[first]!) / (1 - left);
    const dx = s.vx[first]! - waterX;
    const dy = s.vy[first]! - waterY;
    const whole = dx * dx + dy * dy;
    speedMps = Math.sqrt(whole);
    let half = NaN;
    let third = NaN;
    for (let i = start; i < end && Number.isNaN(third); i++) {
      const share = ((s.vx[i]! - waterX) * dx + (s.vy[i]! - waterY) * dy) / whole;
      if (share < 0.5 && Number.isNaN(half)) half = s.t[i]! - s.t[start]!;
      if (share < 1 / 3) third = s.t[i]! - s.t[start]!;
    }
    if (Number.isNaN(half)) return untold;
    unitS = Math.max(0.2, Number.isNaN(third) ? half : (half + third) / 3);
  }
  return { start, end, lengthM: unitS * speedMps, speedMps };
}

/** Windows of coast-downs: L is the boat's own, so the middle of all coasts' tells where each has a tenth of its speed left. */
function coastWindows(s: TrialSignals, slowings: readonly Slowing[]): FoundWindow[] {
  const lengths = slowings.map(({ lengthM }) => lengthM).filter((one) => !Number.isNaN(one)).sort((a, b) => a - b);
  const length = lengths.length % 2 === 1 ? lengths[lengths.length >> 1]! : (lengths[(lengths.length >> 1) - 1]! + lengths[lengths.length >> 1]!) / 2;
  return slowings.flatMap(({ start, end, speedMps }): FoundWindow[] => {
    const tenth = Number.isNaN(speedMps) ? end : Math.min(end, indexNear(s, start, s.t[start]! + (TO_TENTH * length) / speedMps) + 1);
    return s.t[tenth - 1]! - s.t[start]! >= LEAST_COAST_S ? [{ start, end: tenth }] : [];
  });
}

/** A change of speed seen in the motion: rows of its begin and of the velocity before. */
interface Change {
  readonly at: number;
  readonly beforeX: number;
  readonly beforeY: number;
}

/** A change of speed begins at this acceleration [m/s^2]. */
const LEAST_ACCELERATION = 0.4;

function byMotion(s: TrialSignals): SpeedChanges {
  const starts: FoundWindow[] = [];
  const coasts: Slowing[] = [];
  const stops: FoundWindow[] = [];
  const fast = s.fastMps;
  if (!(fast > 0.5)) return { starts, coasts: [], stops };
  const changes = changesOf(s);
  changes.forEach((change, c) => {
    const { at, beforeX, beforeY } = change;
    const speed = Math.hypot(beforeX, beforeY);
    const nextS = c + 1 < changes.length && s.piece[changes[c + 1]!.at] === s.piece[at] ? s.t[changes[c + 1]!.at]! : Infinity;
    const later = (seconds: number): number => indexNear(s, at, s.t[at]! + seconds);
    if (speed < 0.35 * fast) {
      const a = later(5);
      const b = later(8);
      if (s.t[b]! - s.t[at]! < 6) return;
      const gained = Math.hypot(s.vx[a]! - beforeX, s.vy[a]! - beforeY);
      const still = Math.hypot(s.vx[b]! - s.vx[a]!, s.vy[b]! - s.vy[a]!);
      if (gained < 0.7 * fast || still > 0.12 * fast || !straightOver(s, at, s.n, 2 * STRAIGHT_DEG)) return;
      let end = later(START_S);
      if (nextS < s.t[end]!) end = indexNear(s, at, nextS);
      starts.push({ start: indexNear(s, at, s.t[at]! - LEAD_S), end: leaves(s, a, end) });
      return;
    }
    // Speed left along the old course.
    const along = (i: number): number => (s.vx[i]! * beforeX + s.vy[i]! * beforeY) / (speed * speed);
    const across = (i: number): number => Math.abs(s.vx[i]! * beforeY - s.vy[i]! * beforeX) / (speed * speed);
    let lowest = at;
    const within = (i: number, seconds: number): boolean => i + 1 < s.n && s.piece[i] === s.piece[at] && s.t[i]! - s.t[at]! < seconds && s.t[i]! < nextS;
    for (let i = at; within(i, STOP_S); i++) if (along(i) < along(lowest)) lowest = i;
    const fall = 1 - along(lowest);
    if (fall < 0.6) return;
    let at80 = -1;
    let at30 = -1;
    let steepest = 0;
    for (let i = at; within(i, STOP_S) && at30 < 0; i++) {
      const left = 1 - (1 - along(i)) / fall;
      if (at80 < 0 && left < 0.8) at80 = i;
      if (left < 0.3) at30 = i;
      const on = later(s.t[i]! - s.t[at]! + 0.5);
      if (on > i) steepest = Math.max(steepest, (along(i) - along(on)) / (s.t[on]! - s.t[i]!) / fall);
    }
    if (at80 < 0 || at30 < 0 || across(at30) > 0.3 || (s.hasHeading && Math.abs(s.angle[at30]! - s.angle[at]!) > 2 * STRAIGHT_DEG)) return;
    // Quadratic drag alone makes the fall last twice as long as its steepest part would; thrust astern half as long.
    const shape = (s.t[at30]! - s.t[at80]!) * steepest;
    if (shape < 0.75) {
      if (speed < 0.7 * fast) return;
      stops.push({ start: at, end: lowest + 1 });
      return;
    }
    let end = at30;
    while (end < s.n && s.piece[end] === s.piece[at] && s.t[end]! < nextS && s.t[end]! - s.t[at]! <= COAST_S && across(end) < 0.4 && along(end) < along(at30) + 0.1) end++;
    coasts.push(slowing(s, at, end));
  });
  return { starts, coasts: coastWindows(s, coasts), stops };
}

/** Changes of velocity that begin from even motion. */
function changesOf(s: TrialSignals): Change[] {
  const changes: Change[] = [];
  let i = 0;
  while (i < s.n) {
    const on = indexNear(s, i, s.t[i]! + 0.5);
    const stepS = s.t[on]! - s.t[i]!;
    const acceleration = stepS > 0.2 ? Math.hypot(s.vx[on]! - s.vx[i]!, s.vy[on]! - s.vy[i]!) / stepS : 0;
    if (acceleration < LEAST_ACCELERATION + 6 * s.noiseM) {
      i++;
      continue;
    }
    // The velocity of a row looks half a second ahead: the change begins that much later.
    const at = indexNear(s, i, s.t[i]! + 0.35);
    const a = indexNear(s, i, s.t[i]! - STEADY_S);
    const b = indexNear(s, i, s.t[i]! - 0.3);
    const m = indexNear(s, i, s.t[i]! - STEADY_S / 2);
    const even = s.t[i]! - s.t[a]! > 0.8 * STEADY_S && Math.hypot(s.vx[b]! - s.vx[a]!, s.vy[b]! - s.vy[a]!) < 0.22 + 4 * s.noiseM && Math.hypot(s.vx[m]! - s.vx[a]!, s.vy[m]! - s.vy[a]!) < 0.22 + 4 * s.noiseM;
    if (even) changes.push({ at, beforeX: (s.vx[a]! + s.vx[b]!) / 2, beforeY: (s.vy[a]! + s.vy[b]!) / 2 });
    // On to where the acceleration is over, or a second later.
    const past = indexNear(s, i, s.t[i]! + 1);
    i = Math.max(i + 1, even ? past : i + 1);
  }
  return changes;
}

/** First row from one on where the motion is no longer that of the row. */
function leaves(s: TrialSignals, from: number, end: number): number {
  for (let i = from; i < end; i++) if (Math.hypot(s.vx[i]! - s.vx[from]!, s.vy[i]! - s.vy[from]!) > 0.25 * s.speed[from]!) return i;
  return end;
}
