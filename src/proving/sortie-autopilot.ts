import type { Random } from '../base/random.js';
import { turnRad } from './trials-crew.js';
import type { TrialsState } from './trials-boat.js';

/** How the proving ground's boat is steered from waypoint to waypoint. */
export interface SortieSteering {
  /** A waypoint counts as reached within this distance [m]. */
  readonly acceptanceM: number;
  /** It heads for the line this far ahead [m]. */
  readonly lookAheadM: number;
  /** Turned further than this from the line [rad] it slows to this command [%]. */
  readonly slowTurnRad: number;
  readonly slowTurnPct: number;
}

export const SORTIE_STEERING: SortieSteering = { acceptanceM: 3, lookAheadM: 7, slowTurnRad: 0.8, slowTurnPct: 30 };

/** A place to go to and the mean command on the way there. East and north from the start [m]. */
export interface SortieWaypoint {
  readonly eastM: number;
  readonly northM: number;
  readonly commandPct: number;
}

/** Most the autopilot puts between a thruster and the mean [%]. */
const MOST_HELM_PCT = 22;
/** How quickly it learns the crab angle [rad per m per order], and how far it can lean [rad]. */
const LEARN = 0.004;
const MOST_CRAB_RAD = 0.6;
/** Orders every so many steps of the motion. */
const ORDER_STEPS = 10;

/**
 * Keeps the line from the waypoint before to the next, and goes on to the next when it is within the acceptance radius of
 * it or past it. It knows nothing of the current: it learns the crab angle from how far it is off the line.
 */
export class SortieAutopilot {
  /** Waypoint it is on its way to; the count of them when it is done. */
  next = 1;
  private crab = 0;
  private helm = 0;
  private mean = 0;
  private count = 0;

  constructor(
    private readonly waypoints: readonly SortieWaypoint[],
    private readonly steering: SortieSteering,
    private readonly random: Random,
  ) {}

  /** Commands to the thrusters now, port and starboard [%]. */
  order(state: Readonly<TrialsState>): readonly [number, number] {
    if (this.count++ % ORDER_STEPS === 0) this.steer(state);
    return [clampPct(this.mean + this.helm), clampPct(this.mean - this.helm)];
  }

  private steer(state: Readonly<TrialsState>): void {
    const { waypoints, steering, random } = this;
    for (; this.next < waypoints.length; this.next++) {
      const from = waypoints[this.next - 1]!;
      const to = waypoints[this.next]!;
      const course = Math.atan2(to.eastM - from.eastM, to.northM - from.northM);
      const across = (state.eastM - from.eastM) * Math.cos(course) - (state.northM - from.northM) * Math.sin(course);
      const left = (to.eastM - state.eastM) * Math.sin(course) + (to.northM - state.northM) * Math.cos(course);
      if (left <= 0 || Math.hypot(left, across) <= steering.acceptanceM) {
        // On another course the current comes from another side: the angle learnt is worth nothing there.
        const then = waypoints[this.next + 1];
        if (then !== undefined && Math.abs(turnRad(course, Math.atan2(then.eastM - to.eastM, then.northM - to.northM))) > 0.3) this.crab = 0;
        continue;
      }
      const off = turnRad(state.headingRad, course);
      if (Math.abs(off) < 0.35 + Math.abs(this.crab) && Math.abs(across) < 3) this.crab = Math.max(-MOST_CRAB_RAD, Math.min(MOST_CRAB_RAD, this.crab - LEARN * across));
      const turn = turnRad(state.headingRad, course + this.crab - Math.atan(across / steering.lookAheadM));
      // The compass it steers by is a fifth of a degree off each time.
      const degrees = (turn * 180) / Math.PI + 0.2 * random.normal();
      this.helm = Math.max(-MOST_HELM_PCT, Math.min(MOST_HELM_PCT, 0.7 * degrees - 0.25 * ((state.yawRadPerS * 180) / Math.PI)));
      this.mean = Math.abs(turn) > steering.slowTurnRad ? Math.min(to.commandPct, steering.slowTurnPct) : to.commandPct;
      return;
    }
    this.helm = 0;
    this.mean = 0;
  }
}

function clampPct(command: number): number {
  return Math.max(-100, Math.min(100, command));
}
