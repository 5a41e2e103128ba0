import type { Random } from '../base/random.js';
import { TrialsCrew } from './trials-crew.js';
import type { TrialsOptions } from './trials-options.js';
import { createSea } from './trials-sea.js';
import { NO_PUSH, settledSpeedMps, stateAtRest, stepBoat, type TrialsBoat, type TrialsState } from './trials-boat.js';
import { MANOEUVRES } from './trials-script.js';
import { commandForThrustPct, settledThrustN } from './trials-boat.js';

/** Figures of a turning circle of the boat in still water. */
export interface TrueTurn {
  readonly commandPct: number;
  readonly helmPct: number;
  readonly approachMps: number;
  readonly advanceM: number;
  readonly transferM: number;
  readonly tacticalDiameterM: number;
  readonly steadyDiameterM: number;
  readonly timeTo90S: number;
  readonly timeTo180S: number;
  readonly timeTo360S: number;
  readonly speedKept: number;
}

/**
 * True figures of the boat, by the names the boat card uses. Those of single manoeuvres from the same motion in still water
 * without chop; top speed and rate of spin, which chop and steering lower for good and no repeat takes out, are means over long
 * runs in the chop of the day without current.
 */
export interface TrueFigures {
  /** Way made along a line at full ahead with the autopilot steering, over time: what reciprocal runs measure. */
  readonly topSpeed: number;
  /** From the order to shares of top speed, the thrusters' lag in it. */
  readonly timeTo63: number;
  readonly timeTo90: number;
  readonly timeTo95: number;
  readonly distanceTo90: number;
  /** Quadratic drag: L = m / k. */
  readonly coastLength: number;
  /** From the cut, the dying thrust in it. */
  readonly coastTo10: number;
  readonly stopAstern: number;
  readonly stopAsternTime: number;
  /** On the spot in the chop of the day: chop moves the boat through the water, and moving damps the yaw. */
  readonly spinRate: number;
  /** First-order response that follows the zig-zag of this boat best in heading. */
  readonly nomotoK: number;
  readonly nomotoT: number;
  readonly overshootFirst: number;
  readonly hotelPower: number;
  readonly powerCoefficient: number;
  readonly powerExponent: number;
}

/** Finer than the run's own steps [s]. */
const STEP_S = 0.002;

/** Runs the boat in still water from a state until a test is met or 60 s are over. */
function runStill(boat: TrialsBoat, state: TrialsState, order: (state: TrialsState, timeS: number) => readonly [number, number], done: (state: TrialsState, timeS: number) => boolean): number {
  let timeS = 0;
  for (let i = 0; i < 60 / STEP_S && !done(state, timeS); i++) {
    const [port, starboard] = order(state, timeS);
    stepBoat(boat, state, port, starboard, NO_PUSH, STEP_S);
    timeS = (i + 1) * STEP_S;
  }
  return timeS;
}

function settledAhead(boat: TrialsBoat, commandPct: number): TrialsState {
  const thrust = settledThrustN(boat, commandPct);
  return { ...stateAtRest(0), surgeMps: settledSpeedMps(boat, commandPct), portN: thrust, starboardN: thrust };
}

/** Without current and wind, with the chop of the day. */
function dayCrew(boat: TrialsBoat, options: TrialsOptions, random: Random): TrialsCrew {
  const sea = createSea(boat, { ...options, currentMps: 0, currentChangeMps: 0, windMps: 0 }, random.fork('sea'));
  return new TrialsCrew(boat, sea, random.fork('crew'), 1 / STEP_S, 0);
}

/** Long runs: their own error is a sixth of what a day of trials can tell [s]. */
const LINE_S = 400;
const SPINS = 20;

/** Mean way made along a line over time, steered by the autopilot, once settled [m/s]. */
function steeredSpeed(boat: TrialsBoat, options: TrialsOptions, commandPct: number, random: Random): number {
  const crew = dayCrew(boat, options, random);
  const course = crew.state.headingRad;
  const { control } = crew.keepLine(commandPct, course);
  crew.order(control, 20);
  const { eastM, northM } = crew.state;
  crew.order(control, LINE_S);
  return ((crew.state.eastM - eastM) * Math.sin(course) + (crew.state.northM - northM) * Math.cos(course)) / LINE_S;
}

/** Mean rate of spins of some fifteen seconds begun at rest, from six seconds on [deg/s]. */
function meanSpin(boat: TrialsBoat, options: TrialsOptions, random: Random): number {
  const crew = dayCrew(boat, options, random);
  const astern = commandForThrustPct(boat, -settledThrustN(boat, MANOEUVRES.spinPct));
  const spin = TrialsCrew.fixed(MANOEUVRES.spinPct, astern);
  const seconds = 10;
  let turned = 0;
  for (let i = 0; i < SPINS; i++) {
    crew.order(TrialsCrew.fixed(0, 0), 12);
    crew.order(spin, 6);
    const begin = crew.state.headingRad;
    crew.order(spin, seconds);
    turned += crew.state.headingRad - begin;
  }
  return (turned * 180) / Math.PI / (SPINS * seconds);
}

export function trueFigures(boat: TrialsBoat, options: TrialsOptions, random: Random): TrueFigures {
  const topSpeed = settledSpeedMps(boat, 100);
  const full = (): readonly [number, number] => [100, 100];
  const toShare = (share: number): { timeS: number; wayM: number } => {
    const state = stateAtRest(0);
    const timeS = runStill(boat, state, full, (now) => now.surgeMps >= share * topSpeed);
    return { timeS, wayM: state.northM };
  };
  const coast = settledAhead(boat, 100);
  runStill(boat, coast, () => [0, 0], (now) => now.surgeMps <= 0.1 * topSpeed);
  const stop = settledAhead(boat, 100);
  const stopAsternTime = runStill(boat, stop, () => [-100, -100], (now) => now.surgeMps <= 0);
  const zigZag = trueZigZag(boat);
  const to90 = toShare(0.9);
  return {
    topSpeed: steeredSpeed(boat, options, 100, random.fork('line')),
    timeTo63: toShare(0.63).timeS,
    timeTo90: to90.timeS,
    timeTo95: toShare(0.95).timeS,
    distanceTo90: to90.wayM,
    coastLength: boat.surgeMassKg / boat.surgeDrag,
    coastTo10: coast.northM,
    stopAstern: stop.northM,
    stopAsternTime,
    spinRate: meanSpin(boat, options, random.fork('spin')),
    nomotoK: zigZag.k,
    nomotoT: zigZag.tS,
    overshootFirst: zigZag.overshootDeg,
    hotelPower: boat.hotelW,
    powerCoefficient: 2 * boat.powerPerThrust * (boat.surgeDrag / 2) ** (boat.powerExponent / 2),
    powerExponent: boat.powerExponent,
  };
}

/** Turning circles of the script in still water, to starboard: the boat turns alike to either side. */
export function trueTurns(boat: TrialsBoat): TrueTurn[] {
  return MANOEUVRES.circles.map(({ commandPct, helmPct }) => {
    const state = settledAhead(boat, commandPct);
    const approachMps = state.surgeMps;
    const at: Record<number, { timeS: number; east: number; north: number }> = {};
    let before = 0;
    runStill(
      boat,
      state,
      () => [commandPct + helmPct, commandPct - helmPct],
      (now, timeS) => {
        const turned = (now.headingRad * 180) / Math.PI;
        for (const angle of [90, 180, 360]) if (before < angle && turned >= angle) at[angle] = { timeS, east: now.eastM, north: now.northM };
        before = turned;
        return turned > 1080;
      },
    );
    const speed = Math.hypot(state.surgeMps, state.swayMps);
    return {
      commandPct,
      helmPct,
      approachMps,
      advanceM: at[90]!.north,
      transferM: at[90]!.east,
      tacticalDiameterM: at[180]!.east,
      steadyDiameterM: (2 * speed) / state.yawRadPerS,
      timeTo90S: at[90]!.timeS,
      timeTo180S: at[180]!.timeS,
      timeTo360S: at[360]!.timeS,
      speedKept: speed / approachMps,
    };
  });
}

/** The zig-zag in still water: its first overshoot, and K and T that follow its heading best, T by golden section, K by least squares. */
function trueZigZag(boat: TrialsBoat): { k: number; tS: number; overshootDeg: number } {
  const { commandPct, helmPct, angleRad, reversals } = MANOEUVRES.zigZag;
  const state = settledAhead(boat, commandPct);
  const headings: number[] = [];
  const helms: number[] = [];
  let side = 1;
  let turned = 0;
  let peak = 0;
  runStill(
    boat,
    state,
    (now) => {
      headings.push(now.headingRad);
      helms.push((side * 2 * helmPct) / 200);
      return [commandPct + side * helmPct, commandPct - side * helmPct];
    },
    (now) => {
      if (turned === 1) peak = Math.max(peak, now.headingRad);
      if (now.headingRad * side <= angleRad) return false;
      if (turned === reversals) return true;
      turned++;
      side = -side;
      return false;
    },
  );
  const response = (tS: number): { k: number; rest: number } => {
    const left = Math.exp(-STEP_S / tS);
    let rate = 0;
    let angle = 0;
    let model = 0;
    let cross = 0;
    let total = 0;
    for (let i = 0; i < headings.length; i++) {
      model += angle * angle;
      cross += angle * headings[i]!;
      total += headings[i]! ** 2;
      angle += helms[i]! * STEP_S + (rate - helms[i]!) * tS * (1 - left);
      rate = helms[i]! + (rate - helms[i]!) * left;
    }
    const k = cross / model;
    return { k, rest: total - k * cross };
  };
  const ratio = (Math.sqrt(5) - 1) / 2;
  let low = 0.05;
  let high = 3;
  for (let i = 0; i < 60; i++) {
    const a = high - ratio * (high - low);
    const b = low + ratio * (high - low);
    if (response(a).rest < response(b).rest) high = b;
    else low = a;
  }
  const tS = (low + high) / 2;
  return { k: response(tS).k, tS, overshootDeg: ((peak - angleRad) * 180) / Math.PI };
}
