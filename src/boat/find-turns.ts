import type { FoundWindow } from './find-runs.js';
import { indexNear, type TrialSignals } from './find-signals.js';

/** Turning circles, spins and zig-zags of a log. */
export interface Turns {
  readonly circles: readonly FoundWindow[];
  readonly spins: readonly FoundWindow[];
  readonly zigZags: readonly FoundWindow[];
}

/** Of the approach in the window of a turning circle [s]. */
const APPROACH_S = 3;
/** A circle turns at least this far, a spin this far [deg]. */
const LEAST_CIRCLE_DEG = 320;
const LEAST_SPIN_DEG = 540;
/** Orders that differ less than this are one [%]. */
const SAME_ORDER_PCT = 3;
/** Half the difference of the thrusters that counts as helm [%]. */
const LEAST_HELM_PCT = 5;
/** Helms of a zig-zag, in order: at least so many. */
const LEAST_HELMS = 4;
const LEAST_SWING_DEG = 12;
/** Angles at which the helm is reversed lie within this share of their mean. */
const SAME_ANGLE_SHARE = 0.4;
/** The path of a spin is tighter than this [m]. */
const SPIN_RADIUS_M = 0.8;

/**
 * By the orders where they are logged, else by the motion alone. Without a compass and without orders a spin cannot be seen:
 * the positions stay where they are.
 */
export function findTurns(s: TrialSignals): Turns {
  return s.hasCommands ? byOrders(s) : byMotion(s);
}

interface Plateau extends FoundWindow {
  readonly mean: number;
  /** Half of port less starboard [%]. */
  readonly helm: number;
}

/** Stretches over which both thrusters keep their orders. */
function plateausOf(s: TrialSignals): Plateau[] {
  const plateaus: Plateau[] = [];
  let start = 0;
  for (let i = 1; i <= s.n; i++) {
    if (i < s.n && s.piece[i] === s.piece[start] && Math.abs(s.mean[i]! - s.mean[start]!) <= SAME_ORDER_PCT / 2 && Math.abs(s.helm[i]! - s.helm[start]!) <= SAME_ORDER_PCT) continue;
    plateaus.push({ start, end: i, mean: s.mean[start]!, helm: s.helm[start]! / 2 });
    start = i;
  }
  return plateaus;
}

function byOrders(s: TrialSignals): Turns {
  const circles: FoundWindow[] = [];
  const spins: FoundWindow[] = [];
  const plateaus = plateausOf(s).filter((one) => !Number.isNaN(one.mean));
  for (const { start, end, mean, helm } of plateaus) {
    const seconds = s.t[end - 1]! - s.t[start]!;
    if (seconds < 3 || Math.abs(helm) < LEAST_HELM_PCT) continue;
    const turned = Math.abs(s.angle[end - 1]! - s.angle[start]!);
    if (Math.abs(mean) < 0.3 * Math.abs(helm)) {
      if (Math.abs(helm) >= 20 && (s.hasHeading ? turned >= LEAST_SPIN_DEG : seconds >= 6)) spins.push({ start, end });
    } else if (mean >= 15 && turned >= LEAST_CIRCLE_DEG) circles.push({ start: indexNear(s, start, s.t[start]! - APPROACH_S), end });
  }
  return { circles, spins, zigZags: zigZagsByOrders(s, plateaus) };
}

/** Chains of equal helms to one side and the other at one mean command. Rows of an order half logged, under half a second, are passed over. */
function zigZagsByOrders(s: TrialSignals, plateaus: readonly Plateau[]): FoundWindow[] {
  const found: FoundWindow[] = [];
  let chain: Plateau[] = [];
  const close = (): void => {
    if (chain.length >= LEAST_HELMS && sameAngles(s, chain)) found.push({ start: chain[0]!.start, end: chain[chain.length - 1]!.end });
    chain = [];
  };
  for (const one of plateaus) {
    const seconds = s.t[one.end - 1]! - s.t[one.start]!;
    const last = chain[chain.length - 1];
    if (seconds < 0.35) {
      if (last !== undefined && s.t[one.end - 1]! - s.t[last.end - 1]! > 0.6) close();
      continue;
    }
    const helmLike = one.mean >= 15 && Math.abs(one.helm) >= LEAST_HELM_PCT && seconds <= 30 && swing(s, one) >= LEAST_SWING_DEG;
    const follows =
      last !== undefined &&
      s.piece[last.start] === s.piece[one.start] &&
      one.helm * last.helm < 0 &&
      Math.abs(Math.abs(one.helm) - Math.abs(last.helm)) < 0.2 * Math.abs(last.helm) &&
      Math.abs(one.mean - last.mean) < 2;
    if (!helmLike || !follows) close();
    if (helmLike) chain.push(one);
  }
  close();
  return found;
}

/** Whether the helm was reversed at one angle to either side of a heading, as a zig-zag is; steering by hand is not. */
function sameAngles(s: TrialSignals, chain: readonly Plateau[]): boolean {
  const at = chain.slice(0, -1).map((one) => Math.sign(one.helm) * (s.angle[one.end - 1]! - s.angle[chain[0]!.start]!));
  const mean = at.reduce((sum, one) => sum + one, 0) / at.length;
  return mean > LEAST_SWING_DEG / 2 && at.every((one) => Math.abs(one - mean) < SAME_ANGLE_SHARE * mean);
}

function swing(s: TrialSignals, window: FoundWindow): number {
  let low = Infinity;
  let high = -Infinity;
  for (let i = window.start; i < window.end; i++) {
    low = Math.min(low, s.angle[i]!);
    high = Math.max(high, s.angle[i]!);
  }
  return high - low;
}

/** A stretch over which the boat turns one way. */
interface Lobe extends FoundWindow {
  readonly turned: number;
}

const LEAST_RATE_DEG_PER_S = 5;

function lobesOf(s: TrialSignals): Lobe[] {
  const lobes: Lobe[] = [];
  let start = -1;
  for (let i = 0; i <= s.n; i++) {
    // Where there is no compass a boat at rest has no course.
    const turning = i < s.n && Math.abs(s.rate[i]!) >= LEAST_RATE_DEG_PER_S;
    const same = start >= 0 && i < s.n && s.piece[i] === s.piece[start] && turning && s.rate[i]! * s.rate[start]! > 0;
    if (start >= 0 && !same) {
      lobes.push({ start, end: i, turned: s.angle[i - 1]! - s.angle[start]! });
      start = -1;
    }
    if (start < 0 && turning) start = i;
  }
  return lobes;
}

function byMotion(s: TrialSignals): Turns {
  const circles: FoundWindow[] = [];
  const spins: FoundWindow[] = [];
  const lobes = lobesOf(s);
  for (const lobe of lobes) {
    if (Math.abs(lobe.turned) < LEAST_CIRCLE_DEG) continue;
    const usual = medianRate(s, lobe);
    const radius = pathRadius(s, lobe, usual);
    const spinning = radius < SPIN_RADIUS_M;
    if (spinning && (!s.hasHeading || Math.abs(lobe.turned) < LEAST_SPIN_DEG)) continue;
    // The turn ends where its rate leaves the usual one for good; it was ordered where it first shows.
    let end = lobe.end;
    while (end > lobe.start + 2 && Math.abs(s.rate[end - 1]!) < (s.hasHeading ? 0.7 : 0.45) * usual) end--;
    let start = lobe.start;
    while (start < end && Math.abs(s.rate[start]!) < 0.12 * usual) start++;
    if (spinning) spins.push({ start, end });
    else if (s.speed[start]! > 0.2 * s.fastMps) circles.push({ start: indexNear(s, start, s.t[start]! - APPROACH_S), end });
  }
  return { circles, spins, zigZags: zigZagsByMotion(s, lobes) };
}

function medianRate(s: TrialSignals, { start, end }: FoundWindow): number {
  const rates = Array.from(s.rate.subarray(start, end), Math.abs).sort((a, b) => a - b);
  return rates[rates.length >> 1]!;
}

/** Radius of the path once the even drift is taken out: scatter of the velocity over the rate of turn [m]. */
function pathRadius(s: TrialSignals, { start, end }: FoundWindow, rateDegPerS: number): number {
  // Over the last whole turn, so that the mean velocity is the drift.
  let from = end - 1;
  while (from > start && Math.abs(s.angle[end - 1]! - s.angle[from]!) < 360) from--;
  let mx = 0;
  let my = 0;
  const m = end - from;
  for (let i = from; i < end; i++) {
    mx += s.vx[i]! / m;
    my += s.vy[i]! / m;
  }
  let squares = 0;
  for (let i = from; i < end; i++) squares += (s.vx[i]! - mx) ** 2 + (s.vy[i]! - my) ** 2;
  return Math.sqrt(squares / m) / ((rateDegPerS * Math.PI) / 180);
}

/**
 * Swings to one side and the other of the same size and time, one after the other: where no orders are logged steering by hand
 * looks much alike, so that more of them are asked for, and alike within a fifth.
 */
function zigZagsByMotion(s: TrialSignals, lobes: readonly Lobe[]): FoundWindow[] {
  const swings = lobes.filter((lobe) => Math.abs(lobe.turned) >= 3 || s.t[lobe.end - 1]! - s.t[lobe.start]! >= 0.5);
  const size = (i: number): number => Math.abs(swings[i]!.turned);
  const seconds = (i: number): number => s.t[swings[i]!.end - 1]! - s.t[swings[i]!.start]!;
  const joined = (i: number): boolean =>
    i > 0 &&
    i < swings.length &&
    s.piece[swings[i - 1]!.start] === s.piece[swings[i]!.start] &&
    swings[i - 1]!.turned * swings[i]!.turned < 0 &&
    s.t[swings[i]!.start]! - s.t[swings[i - 1]!.end - 1]! < 1;
  const found: FoundWindow[] = [];
  let i = 0;
  while (i < swings.length) {
    let end = i + 1;
    if (size(i) >= 2 * LEAST_SWING_DEG && size(i) <= 130) {
      while (joined(end) && alike(size(end), size(i), 0.2) && alike(seconds(end), seconds(i), 0.25)) end++;
    }
    if (end - i >= LEAST_HELMS) {
      // Before the first whole swing comes half a one from straight ahead; after the last, one cut short.
      const first = joined(i) && size(i - 1) > 0.25 * size(i) ? i - 1 : i;
      const last = joined(end) && size(end) > 0.5 * size(i) ? end : end - 1;
      found.push({ start: swings[first]!.start, end: swings[last]!.end });
      end = last + 1;
    } else end = i + 1;
    i = end;
  }
  return found;
}

function alike(a: number, b: number, share: number): boolean {
  return Math.abs(a - b) <= share * Math.max(a, b);
}
