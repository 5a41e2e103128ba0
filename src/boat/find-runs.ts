import { indexNear, sameSetting, type TrialSignals } from './find-signals.js';

/** Rows [start, end) of the signals. */
export interface FoundWindow {
  readonly start: number;
  readonly end: number;
}

export interface FoundRun extends FoundWindow {
  /** Straight leg about it: from where the boat headed along it. */
  readonly leg: FoundWindow | null;
  /** Mean over the settled part: speed over the ground [m/s], course and heading (or course) [deg], command [%]. */
  readonly speedMps: number;
  readonly courseDeg: number;
  readonly angleDeg: number;
  readonly commandPct: number;
}

/** Velocities of this long before and after a row are compared [s]. */
const LOOK_S = 2.5;
const LEAST_RUN_S = 15;
const LEAST_LEG_M = 20;
/** Unsteady for shorter than this, between steady stretches, is passed over [s]. */
const BLIP_S = 0.8;
/** The same where the commands are logged and stay: the chop may swing a slow boat for longer. */
const COMMANDED_BLIP_S = 3;
/** A command below this is no run [%]; and a speed below this share of the fast one where no command is logged. */
const LEAST_COMMAND_PCT = 10;
const LEAST_SPEED_SHARE = 0.2;
/** Off the mean of the settled part a run's speed and heading may be by this at most at its ends. */
const OFF_SPEED_SHARE = 0.05;
const OFF_DEG = 8;
/** Or by so many standard deviations of the settled part, where chop makes it scatter more. */
const OFF_SCATTERS = 2.5;
const LEG_OFF_DEG = 20;
const MOST_SPREAD_DEG = 15;
/** The bow may turn by this much from the first third of a run to the last [deg]. */
const MOST_BOW_TURN_DEG = 8;

/**
 * Steady straight stretches and the straight legs about them.
 *
 * A row is steady where the way made in the 2.5 s before and after it agrees along and across; rows together are a stretch, cut
 * at its ends to where speed and heading are those of its later part.
 *
 * @param turns what is known to be something else: no run reaches into it
 */
export function findRuns(s: TrialSignals, turns: readonly FoundWindow[] = []): FoundRun[] {
  const steady = steadyRows(s);
  const turning = new Uint8Array(s.n);
  for (const { start, end } of turns) turning.fill(1, start, end);
  for (let i = 0; i < s.n; i++) if (turning[i] === 1) steady[i] = 0;
  const runs: FoundRun[] = [];
  let i = 0;
  while (i < s.n) {
    if (steady[i] === 0) {
      i++;
      continue;
    }
    let end = i + 1;
    for (let k = end; k < s.n && s.piece[k] === s.piece[i]; k++) {
      if (steady[k] === 1) end = k + 1;
      else if (s.t[k]! - s.t[end - 1]! > (s.hasCommands ? COMMANDED_BLIP_S : BLIP_S) || commandLeft(s, i, k) || turning[k] === 1) break;
    }
    const run = trimmed(s, i, end, runs[runs.length - 1], turning);
    if (run !== null) runs.push(run);
    i = end;
  }
  return runs;
}

function steadyRows(s: TrialSignals): Uint8Array {
  const steady = new Uint8Array(s.n);
  const floor = Math.max(0.08, (4 * Math.sqrt(6) * s.noiseM) / LOOK_S);
  const least = LEAST_SPEED_SHARE * s.fastMps;
  let before = 0;
  let after = 0;
  for (let i = 0; i < s.n; i++) {
    while (s.piece[before] !== s.piece[i] || s.t[before]! < s.t[i]! - LOOK_S - 1e-9) before++;
    if (after < i) after = i;
    while (after + 1 < s.n && s.piece[after + 1] === s.piece[i] && s.t[after]! < s.t[i]! + LOOK_S - 1e-9) after++;
    const backS = s.t[i]! - s.t[before]!;
    const onS = s.t[after]! - s.t[i]!;
    if (backS < LOOK_S / 2 || onS < LOOK_S / 2) continue;
    const bx = (s.x[i]! - s.x[before]!) / backS;
    const by = (s.y[i]! - s.y[before]!) / backS;
    const ax = (s.x[after]! - s.x[i]!) / onS;
    const ay = (s.y[after]! - s.y[i]!) / onS;
    const speed = Math.hypot(ax + bx, ay + by) / 2;
    if (speed < (s.hasCommands ? 0.1 : least)) continue;
    if (s.hasCommands && !(s.mean[i]! >= LEAST_COMMAND_PCT && sameSetting(s, before, after))) continue;
    const along = ((ax - bx) * (ax + bx) + (ay - by) * (ay + by)) / (2 * speed);
    const across = ((ax - bx) * (ay + by) - (ay - by) * (ax + bx)) / (2 * speed);
    if (Math.abs(along) <= floor + 0.04 * speed && Math.abs(across) <= floor + 0.09 * speed) steady[i] = 1;
  }
  return steady;
}

function commandLeft(s: TrialSignals, from: number, at: number): boolean {
  return s.hasCommands && !sameSetting(s, at, from);
}

/** Mean velocity, angle and command of rows. */
function meanOf(s: TrialSignals, start: number, end: number): { speed: number; ux: number; uy: number; angle: number; command: number } {
  const seconds = s.t[end - 1]! - s.t[start]!;
  const dx = s.x[end - 1]! - s.x[start]!;
  const dy = s.y[end - 1]! - s.y[start]!;
  const way = Math.hypot(dx, dy);
  let angle = 0;
  let command = 0;
  for (let i = start; i < end; i++) {
    angle += s.angle[i]! - s.angle[start]!;
    command += s.mean[i]!;
  }
  return { speed: way / seconds, ux: dx / way, uy: dy / way, angle: s.angle[start]! + angle / (end - start), command: command / (end - start) };
}

/** Standard deviations about the mean of rows: speed along and across [m/s], angle [deg]. */
function scatterOf(s: TrialSignals, start: number, end: number, usual: { speed: number; ux: number; uy: number; angle: number }): { speed: number; across: number; angle: number } {
  let along = 0;
  let across = 0;
  let angle = 0;
  for (let i = start; i < end; i++) {
    along += (s.vx[i]! * usual.ux + s.vy[i]! * usual.uy - usual.speed) ** 2;
    across += (s.vx[i]! * usual.uy - s.vy[i]! * usual.ux) ** 2;
    angle += (s.angle[i]! - usual.angle) ** 2;
  }
  const n = end - start;
  return { speed: Math.sqrt(along / n), across: Math.sqrt(across / n), angle: Math.sqrt(angle / n) };
}

function trimmed(s: TrialSignals, first: number, last: number, before: FoundRun | undefined, turning: Uint8Array): FoundRun | null {
  // The look either way keeps the stretch short of its true ends: out again by as much, as far as it is like.
  let start = indexNear(s, first, s.t[first]! - LOOK_S);
  let end = indexNear(s, last - 1, s.t[last - 1]! + LOOK_S) + 1;
  if (s.t[end - 1]! - s.t[start]! < LEAST_RUN_S) return null;
  const settled = first + Math.floor(0.4 * (last - first));
  const usual = meanOf(s, settled, last);
  const swings = scatterOf(s, settled, last, usual);
  const noise = 3 * s.noiseM;
  const offSpeed = Math.max(OFF_SPEED_SHARE * usual.speed + 0.06 + noise, OFF_SCATTERS * swings.speed);
  const offAngle = Math.max(OFF_DEG, OFF_SCATTERS * swings.angle);
  const off = (i: number): boolean => {
    const along = s.vx[i]! * usual.ux + s.vy[i]! * usual.uy;
    const across = s.vx[i]! * usual.uy - s.vy[i]! * usual.ux;
    if (Math.abs(along - usual.speed) > offSpeed) return true;
    if (s.hasHeading && Math.abs(s.angle[i]! - usual.angle) > offAngle) return true;
    if (s.hasCommands && !sameSetting(s, i, last - 1)) return true;
    return Math.abs(across) > Math.max(Math.tan((OFF_DEG * Math.PI) / 180) * usual.speed + 0.06 + noise, OFF_SCATTERS * swings.across);
  };
  // From the settled part outwards to the first half second that is off.
  const other = (i: number): boolean => turning[i] === 1;
  start = outward(s, settled, start, -1, off, other);
  end = outward(s, settled, end - 1, 1, off, other) + 1;
  // On to where it first has the usual speed: what is left of the settling would lower the mean.
  const near = Math.max(0.01 * usual.speed, swings.speed);
  while (start < settled && Math.abs(s.vx[start]! * usual.ux + s.vy[start]! * usual.uy - usual.speed) > near) start++;
  const durationS = s.t[end - 1]! - s.t[start]!;
  if (!(durationS >= LEAST_RUN_S)) return null;
  if (Math.abs(halfTurn(s, start, end)) > MOST_SPREAD_DEG) return null;
  if (s.hasHeading && Math.abs(bowTurn(s, start, end)) > MOST_BOW_TURN_DEG) return null;
  const mean = meanOf(s, start, end);
  return {
    start,
    end,
    leg: legAbout(s, start, end, usual.angle, mean, before),
    speedMps: mean.speed,
    courseDeg: (Math.atan2(mean.ux, mean.uy) * 180) / Math.PI,
    angleDeg: mean.angle,
    commandPct: mean.command,
  };
}

/** Steps from one row towards another and stops before rows that stay off for half a second. */
function outward(s: TrialSignals, from: number, to: number, step: 1 | -1, off: (i: number) => boolean, never: (i: number) => boolean): number {
  let good = from;
  for (let i = from; i !== to + step; i += step) {
    if (never(i)) break;
    if (!off(i)) good = i;
    else if (Math.abs(s.t[i]! - s.t[good]!) > 0.6) break;
  }
  return good;
}

/** Course of the second half less that of the first [deg]. */
function halfTurn(s: TrialSignals, start: number, end: number): number {
  const middle = (start + end) >> 1;
  const a = Math.atan2(s.x[middle]! - s.x[start]!, s.y[middle]! - s.y[start]!);
  const b = Math.atan2(s.x[end - 1]! - s.x[middle]!, s.y[end - 1]! - s.y[middle]!);
  const turn = b - a;
  return (Math.atan2(Math.sin(turn), Math.cos(turn)) * 180) / Math.PI;
}

/** Mean heading of the last third less that of the first [deg]. */
function bowTurn(s: TrialSignals, start: number, end: number): number {
  const third = Math.max(1, Math.floor((end - start) / 3));
  let turn = 0;
  for (let i = 0; i < third; i++) turn += (s.angle[end - 1 - i]! - s.angle[start + i]!) / third;
  return turn;
}

function legAbout(s: TrialSignals, start: number, end: number, angle: number, mean: { speed: number; ux: number; uy: number }, before: FoundRun | undefined): FoundWindow | null {
  const from = before === undefined ? 0 : before.end;
  const longestS = s.t[end - 1]! - s.t[start]!;
  const along = (i: number): boolean => {
    if (Math.abs(s.angle[i]! - angle) > LEG_OFF_DEG) return false;
    if (s.hasCommands && s.mean[i]! < LEAST_COMMAND_PCT) return false;
    return s.vx[i]! * mean.ux + s.vy[i]! * mean.uy > 0.2 * mean.speed;
  };
  let first = start;
  while (first > from && s.piece[first - 1] === s.piece[start] && s.t[start]! - s.t[first - 1]! <= longestS && along(first - 1)) first--;
  const lengthM = Math.hypot(s.x[end - 1]! - s.x[first]!, s.y[end - 1]! - s.y[first]!);
  return lengthM >= LEAST_LEG_M ? { start: first, end } : null;
}

/**
 * Numbers for runs that go out and home, one after the other: the same command (or, where none is logged, speeds that one
 * current explains) on opposite headings. -1 for a run without a partner.
 */
export function seriesOf(s: TrialSignals, runs: readonly FoundRun[]): number[] {
  const series = runs.map(() => -1);
  let next = 0;
  let members: number[] = [];
  const close = (): void => {
    if (members.length >= 2) {
      for (const member of members) series[member] = next;
      next++;
    }
  };
  runs.forEach((run, i) => {
    const last = runs[members[members.length - 1] ?? -1];
    if (last !== undefined && opposite(s, last, run) && sameSeries(s, runs, members, run)) members.push(i);
    else {
      close();
      members = [i];
    }
  });
  close();
  return series;
}

/** Opposite within 25 degrees; courses, where no compass is logged, are bent by the current and may be off by more. */
function opposite(s: TrialSignals, a: FoundRun, b: FoundRun): boolean {
  const turn = (((((b.angleDeg - a.angleDeg) % 360) + 540) % 360) - 180);
  return Math.abs(Math.abs(turn) - 180) <= (s.hasHeading ? 25 : 40);
}

function sameSeries(s: TrialSignals, runs: readonly FoundRun[], members: readonly number[], run: FoundRun): boolean {
  const last = runs[members[members.length - 1]!]!;
  if (s.hasCommands) return Math.abs(last.commandPct - run.commandPct) < 4;
  if (s.t[run.start]! - s.t[last.end - 1]! > 120) return false;
  // Runs the same way make the same speed over the ground.
  const sameWay = members.length >= 2 ? runs[members[members.length - 2]!]! : null;
  return sameWay === null ? Math.min(run.speedMps, last.speedMps) > 0.35 * Math.max(run.speedMps, last.speedMps) : Math.abs(sameWay.speedMps - run.speedMps) < 0.08 + 0.05 * run.speedMps;
}
