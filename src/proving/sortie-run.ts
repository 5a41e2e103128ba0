import type { Random } from '../base/random.js';
import { createGaussMarkov } from './random-process.js';
import { SORTIE_STEERING, SortieAutopilot, type SortieSteering, type SortieWaypoint } from './sortie-autopilot.js';
import { electricalPowerW, stateAtRest, stepBoat, type Push, type TrialsBoat } from './trials-boat.js';
import { STEP_S } from './trials-crew.js';

/** The water on the day of a sortie: current with leeway towards true east and north, by place and seconds from the start [m/s]. */
export type SortieDrift = (eastM: number, northM: number, elapsedS: number, out: { eastMps: number; northMps: number }) => void;

/** A sortie as the proving ground runs it. */
export interface ProvingSortie {
  readonly boat: TrialsBoat;
  /** The first is where it starts, at rest, heading for the second. */
  readonly waypoints: readonly SortieWaypoint[];
  readonly drift: SortieDrift;
  readonly steering?: SortieSteering;
  /** Chop: push ahead as a share of full thrust, moment [N m], one sigma. */
  readonly chopShare: number;
  readonly chopNm: number;
  /** It is given up after this [s]. */
  readonly mostS?: number;
}

/** What became of it. */
export interface ProvingSortieRun {
  readonly arrived: boolean;
  readonly timeS: number;
  readonly energyWh: number;
  /** When each waypoint was reached [s], the first at 0, and energy drawn until then [Wh]; NaN where it was not. Shape: [waypoints]. */
  readonly reachedS: Float64Array;
  readonly drawnWh: Float64Array;
  /** Track every second. Shape: [n]. */
  readonly eastM: Float64Array;
  readonly northM: Float64Array;
}

const CHOP_TAU_S = 0.8;
const MOST_S = 12 * 3600;

/** Runs a sortie with the boat's own motion and autopilot, in steps of 0.02 s. Same random: same run. */
export function runProvingSortie(sortie: ProvingSortie, random: Random): ProvingSortieRun {
  const { boat, waypoints, drift, steering = SORTIE_STEERING, chopShare, chopNm, mostS = MOST_S } = sortie;
  if (waypoints.length < 2) throw new RangeError(`waypoints: ${waypoints.length}: expected 2 or more`);
  const state = stateAtRest(Math.atan2(waypoints[1]!.eastM - waypoints[0]!.eastM, waypoints[1]!.northM - waypoints[0]!.northM));
  state.eastM = waypoints[0]!.eastM;
  state.northM = waypoints[0]!.northM;
  const autopilot = new SortieAutopilot(waypoints, steering, random.fork('autopilot'));
  const surge = createGaussMarkov(random.fork('surge'), chopShare * 2 * boat.fullThrustN, CHOP_TAU_S);
  const yaw = createGaussMarkov(random.fork('yaw'), chopNm, CHOP_TAU_S);
  const push: Push = { eastMps: 0, northMps: 0, surgeN: 0, yawNm: 0 };
  const reachedS = new Float64Array(waypoints.length).fill(NaN);
  const drawnWh = new Float64Array(waypoints.length).fill(NaN);
  reachedS[0] = 0;
  drawnWh[0] = 0;
  const eastM: number[] = [];
  const northM: number[] = [];
  const everySteps = Math.round(1 / STEP_S);
  const most = Math.round(mostS / STEP_S);
  let drawn = 0;
  let reached = 1;
  let step = 0;
  for (; step < most; step++) {
    const elapsedS = step * STEP_S;
    if (step % everySteps === 0) {
      eastM.push(state.eastM);
      northM.push(state.northM);
    }
    const [port, starboard] = autopilot.order(state);
    for (; reached < autopilot.next; reached++) {
      reachedS[reached] = elapsedS;
      drawnWh[reached] = drawn;
    }
    if (autopilot.next >= waypoints.length) break;
    drift(state.eastM, state.northM, elapsedS, push);
    push.surgeN = surge.at(elapsedS);
    push.yawNm = yaw.at(elapsedS);
    drawn += (electricalPowerW(boat, state.portN, state.starboardN) * STEP_S) / 3600;
    stepBoat(boat, state, port, starboard, push, STEP_S);
  }
  return { arrived: autopilot.next >= waypoints.length, timeS: step * STEP_S, energyWh: drawn, reachedS, drawnWh, eastM: Float64Array.from(eastM), northM: Float64Array.from(northM) };
}
