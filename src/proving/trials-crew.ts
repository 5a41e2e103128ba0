import type { Random } from '../base/random.js';
import { electricalPowerW, settledSpeedMps, stateAtRest, stepBoat, type Push, type TrialsBoat, type TrialsState } from './trials-boat.js';
import type { TrialsSea } from './trials-sea.js';

/** What a trials run did, by kind: the kinds that can be found in a log. */
export type TrueTrialKind = 'steady-run' | 'standing-start' | 'coast-down' | 'stop-astern' | 'turning-circle' | 'spin' | 'zig-zag' | 'straight-leg';

/** One trial as it was run. */
export interface TrueTrial {
  readonly kind: TrueTrialKind;
  /** From and to, seconds from the start of the run. */
  readonly startS: number;
  readonly endS: number;
  /** Mean command [%]; +1 to starboard, -1 to port, 0 straight. */
  readonly commandPct: number;
  readonly side: number;
  /** Runs out and home at one command share a number; -1 for none. */
  readonly series: number;
  /** Straight legs and runs: the line kept, from and to, true east and north from the start [m]. */
  readonly line: readonly [number, number, number, number] | null;
}

/** The boat's true motion at every epoch of the positions. Shape of every column: [n]. */
export interface TrialsTrack {
  readonly n: number;
  /** Seconds from the start of the run. */
  readonly elapsedS: Float64Array;
  /** Antenna, true east and north from the start [m]. */
  readonly eastM: Float64Array;
  readonly northM: Float64Array;
  readonly groundEastMps: Float64Array;
  readonly groundNorthMps: Float64Array;
  readonly headingDeg: Float64Array;
  readonly surgeMps: Float64Array;
  readonly portPct: Float64Array;
  readonly starboardPct: Float64Array;
  readonly powerW: Float64Array;
  /** Energy drawn since the start [Wh]. */
  readonly drawnWh: Float64Array;
}

/** Steps of the boat's motion [s]. */
export const STEP_S = 0.02;

/** What the thrusters are told, at a time; called every step. */
export type Control = (state: Readonly<TrialsState>, elapsedS: number) => readonly [number, number];

/** Most the autopilot puts between a thruster and the mean [%]. */
const MOST_HELM_PCT = 22;
/** The autopilot heads for the line this far ahead [m]. */
const LOOK_AHEAD_M = 7;
/** How quickly the autopilot learns the crab angle [rad per m per s]. */
const LEARN = 0.02;

/** Turned this far from the line the autopilot slows to this command [rad], [%]. */
export const SLOW_TURN_RAD = 0.8;
export const SLOW_TURN_PCT = 30;

export function turnRad(from: number, to: number): number {
  const turn = (to - from) % (2 * Math.PI);
  return turn > Math.PI ? turn - 2 * Math.PI : turn < -Math.PI ? turn + 2 * Math.PI : turn;
}

/** A crew that gives orders one after the other, and a recorder of what the boat did. */
export class TrialsCrew {
  readonly state: TrialsState;
  readonly trials: TrueTrial[] = [];
  private readonly push: Push = { eastMps: 0, northMps: 0, surgeN: 0, yawNm: 0 };
  private readonly columns: number[][] = Array.from({ length: 11 }, () => []);
  private step = 0;
  private drawnWh = 0;

  /** @param everySteps steps between epochs; @param firstStep the first epoch's */
  constructor(
    readonly boat: TrialsBoat,
    private readonly sea: TrialsSea,
    private readonly random: Random,
    private readonly everySteps: number,
    private readonly firstStep: number,
  ) {
    this.state = stateAtRest(random.between(0, 2 * Math.PI));
  }

  get elapsedS(): number {
    return this.step * STEP_S;
  }

  /** Gives one order until a number of seconds are over or a test of the state is met, at most 400 s. */
  order(control: Control, until: number | ((state: Readonly<TrialsState>, heldS: number) => boolean)): void {
    const begin = this.step;
    const steps = typeof until === 'number' ? Math.round(until / STEP_S) : 400 / STEP_S;
    for (let i = 0; i < steps; i++) {
      if (typeof until !== 'number' && until(this.state, (this.step - begin) * STEP_S)) return;
      const [port, starboard] = control(this.state, this.elapsedS);
      if (this.step >= this.firstStep && (this.step - this.firstStep) % this.everySteps === 0) this.record(port, starboard);
      this.sea.pushInto(this.elapsedS, this.push);
      this.drawnWh += (electricalPowerW(this.boat, this.state.portN, this.state.starboardN) * STEP_S) / 3600;
      stepBoat(this.boat, this.state, port, starboard, this.push, STEP_S);
      this.step++;
    }
  }

  /** Both thrusters at fixed commands. */
  static fixed(portPct: number, starboardPct: number): Control {
    return () => [portPct, starboardPct];
  }

  /** Autopilot that keeps a line from here on a true course; the line is told back. */
  keepLine(commandPct: number, courseRad: number): { readonly control: Control; readonly fromEastM: number; readonly fromNorthM: number } {
    const fromEastM = this.state.eastM;
    const fromNorthM = this.state.northM;
    // It begins with the crab angle that the current calls for, and learns the rest.
    const drift = this.sea.driftAt(this.elapsedS);
    const acrossMps = drift.eastMps * Math.cos(courseRad) - drift.northMps * Math.sin(courseRad);
    const speedMps = settledSpeedMps(this.boat, commandPct);
    let crab = -Math.asin(Math.max(-0.6, Math.min(0.6, acrossMps / speedMps)));
    let helm = 0;
    let count = 0;
    let mean: number = commandPct;
    const control: Control = (state) => {
      // Orders five times a second.
      if (count++ % 10 === 0) {
        const across = (state.eastM - fromEastM) * Math.cos(courseRad) - (state.northM - fromNorthM) * Math.sin(courseRad);
        const off = turnRad(state.headingRad, courseRad);
        if (Math.abs(off) < 0.35 && Math.abs(across) < 3) crab = Math.max(-0.6, Math.min(0.6, crab - LEARN * across * 0.2));
        const want = courseRad + crab - Math.atan(across / LOOK_AHEAD_M);
        helm = steer(turnRad(state.headingRad, want), state.yawRadPerS, this.random);
        // It slows to turn.
        mean = Math.abs(off) > SLOW_TURN_RAD ? Math.min(commandPct, SLOW_TURN_PCT) : commandPct;
      }
      return [clampPct(mean + helm), clampPct(mean - helm)];
    };
    return { control, fromEastM, fromNorthM };
  }

  /** Autopilot that keeps a heading. */
  keepHeading(commandPct: number, headingRad: number): Control {
    let helm = 0;
    let count = 0;
    return (state) => {
      if (count++ % 10 === 0) helm = steer(turnRad(state.headingRad, headingRad), state.yawRadPerS, this.random);
      return [clampPct(commandPct + helm), clampPct(commandPct - helm)];
    };
  }

  /** By hand towards a place, never straight and never at one speed for long. */
  byHand(eastM: number, northM: number): Control {
    const { random } = this;
    let weave = 0;
    let command = 55;
    let nextS = -1;
    let helm = 0;
    let count = 0;
    return (state, elapsedS) => {
      if (elapsedS >= nextS) {
        // Somewhere else than before, ever at another speed.
        weave = (weave > 0 ? -1 : 1) * random.between(0.15, 0.75);
        command = Math.round(random.between(38, 74));
        nextS = elapsedS + random.between(1.5, 4.5);
      }
      if (count++ % 25 === 0) {
        const bearing = Math.atan2(eastM - state.eastM, northM - state.northM);
        helm = Math.round(Math.max(-14, Math.min(14, 30 * turnRad(state.headingRad, bearing + weave) + 2 * random.normal())));
      }
      return [clampPct(command + helm), clampPct(command - helm)];
    };
  }

  mark(kind: TrueTrialKind, startS: number, endS: number, about: Partial<Pick<TrueTrial, 'commandPct' | 'side' | 'series' | 'line'>> = {}): void {
    this.trials.push({ kind, startS, endS, commandPct: NaN, side: 0, series: -1, line: null, ...about });
  }

  track(): TrialsTrack {
    const [elapsedS, eastM, northM, groundEastMps, groundNorthMps, headingDeg, surgeMps, portPct, starboardPct, powerW, drawnWh] = this.columns.map((column) => Float64Array.from(column)) as [Float64Array, Float64Array, Float64Array, Float64Array, Float64Array, Float64Array, Float64Array, Float64Array, Float64Array, Float64Array, Float64Array];
    return { n: elapsedS.length, elapsedS, eastM, northM, groundEastMps, groundNorthMps, headingDeg, surgeMps, portPct, starboardPct, powerW, drawnWh };
  }

  private record(port: number, starboard: number): void {
    const { state, boat } = this;
    const drift = this.sea.driftAt(this.elapsedS);
    const sin = Math.sin(state.headingRad);
    const cos = Math.cos(state.headingRad);
    const arm = boat.antennaAheadM;
    const side = state.swayMps + arm * state.yawRadPerS;
    const degrees = (state.headingRad * 180) / Math.PI;
    const values = [
      this.elapsedS,
      state.eastM + arm * sin,
      state.northM + arm * cos,
      state.surgeMps * sin + side * cos + drift.eastMps,
      state.surgeMps * cos - side * sin + drift.northMps,
      ((degrees % 360) + 360) % 360,
      state.surgeMps,
      port,
      starboard,
      electricalPowerW(boat, state.portN, state.starboardN),
      this.drawnWh,
    ];
    for (let i = 0; i < values.length; i++) this.columns[i]!.push(values[i]!);
  }
}

/** Helm for a turn wanted, to starboard positive [%]; the compass it steers by is a fifth of a degree off each time. */
function steer(turn: number, rate: number, random: Random): number {
  const degrees = (turn * 180) / Math.PI + 0.2 * random.normal();
  return Math.max(-MOST_HELM_PCT, Math.min(MOST_HELM_PCT, 0.7 * degrees - 0.25 * ((rate * 180) / Math.PI)));
}

function clampPct(command: number): number {
  return Math.max(-100, Math.min(100, command));
}
