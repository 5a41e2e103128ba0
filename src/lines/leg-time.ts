import type { Polyline } from '../geo/shapes.js';
import type { CurrentField } from '../water/current-field.js';

/** What a leg takes, and how that hangs on the current and the speed; to be added up over legs. */
export interface LegTally {
  /** Under way [s]. */
  runS: number;
  /** Until the current lets the boat make way along the leg [s]; 0 where it does at once, Infinity where it never does. */
  waitS: number;
  /** Change of runS with the current's two parts [s/(m/s)] and with the speed through the water [s/(m/s)]. */
  byCurrentX: number;
  byCurrentY: number;
  bySpeed: number;
  /** Largest sigma of the current met on it [m/s]. */
  currentSigmaMps: number;
}

/** Slower over the ground than this is no way made [m/s]. */
export const LEAST_GROUND_MPS = 0.05;
/** Steps along a leg in a current: at most so long, so that a current that turns within it is followed [m], [s]. */
const STEP_M = 150;
const STEP_S = 120;
/** How far ahead a passable time is looked for, and by what steps [s]: two tides, and one sample of a usual tidal stream table. */
const LOOK_AHEAD_S = 25 * 3600;
const LOOK_STEP_S = 300;

/**
 * Speed over the ground along a track, by steering into the current.
 * @param alongMps the current along the track, with it positive; acrossMps across it
 * @returns [m/s]; NaN where the current across is as fast as the boat
 * Source: the current triangle, ground speed sqrt(V^2 - cn^2) + ct.
 */
export function trackSpeedMps(speedMps: number, alongMps: number, acrossMps: number): number {
  const left = speedMps * speedMps - acrossMps * acrossMps;
  return left > 0 ? Math.sqrt(left) + alongMps : NaN;
}

/** Times of legs in a current, which is held at its first and last known moment beyond them. */
export interface LegClock {
  /** Adds nothing: gives one leg from a UTC second, at a speed through the water. */
  leg(path: Polyline, departS: number, speedMps: number): LegTally;
  /** The least any leg of a length can take at a speed [s]. */
  leastS(lengthM: number, speedMps: number): number;
}

export function createLegClock(current: CurrentField): LegClock {
  const sample = new Float64Array(3);
  const still = current.maxMps === 0;
  const look = (x: number, y: number, timeS: number): void => {
    current.at(x, y, Math.min(current.endS, Math.max(current.startS, timeS)), sample);
    if (Number.isNaN(sample[0]!) || Number.isNaN(sample[1]!)) {
      sample[0] = 0;
      sample[1] = 0;
    }
    if (Number.isNaN(sample[2]!)) sample[2] = 0;
  };
  const groundMps = (x: number, y: number, timeS: number, ux: number, uy: number, speedMps: number): number => {
    look(x, y, timeS);
    return trackSpeedMps(speedMps, sample[0]! * ux + sample[1]! * uy, sample[0]! * uy - sample[1]! * ux);
  };
  return {
    leastS: (lengthM, speedMps) => lengthM / (speedMps + current.maxMps),
    leg(path, departS, speedMps) {
      const tally: LegTally = { runS: 0, waitS: 0, byCurrentX: 0, byCurrentY: 0, bySpeed: 0, currentSigmaMps: 0 };
      let timeS = departS;
      for (let i = 0; i + 3 < path.length; i += 2) {
        const ax = path[i]!;
        const ay = path[i + 1]!;
        const dx = path[i + 2]! - ax;
        const dy = path[i + 3]! - ay;
        const lengthM = Math.hypot(dx, dy);
        if (!(lengthM > 0)) continue;
        const ux = dx / lengthM;
        const uy = dy / lengthM;
        const steps = still ? 1 : Math.max(1, Math.ceil(Math.max(lengthM / STEP_M, lengthM / speedMps / STEP_S)));
        const stepM = lengthM / steps;
        for (let k = 0; k < steps; k++) {
          const x = ax + ux * stepM * (k + 0.5);
          const y = ay + uy * stepM * (k + 0.5);
          let ground = groundMps(x, y, timeS, ux, uy, speedMps);
          if (!(ground >= LEAST_GROUND_MPS)) {
            // Not yet: hold until it goes.
            let wait = LOOK_STEP_S;
            while (wait <= LOOK_AHEAD_S && !(groundMps(x, y, timeS + wait, ux, uy, speedMps) >= LEAST_GROUND_MPS)) wait += LOOK_STEP_S;
            if (wait > LOOK_AHEAD_S) {
              tally.waitS = Infinity;
              tally.runS = Infinity;
              return tally;
            }
            tally.waitS += wait;
            timeS += wait;
            ground = groundMps(x, y, timeS, ux, uy, speedMps);
          }
          // The current at the middle of the step in time as in place.
          const middle = groundMps(x, y, timeS + stepM / ground / 2, ux, uy, speedMps);
          if (middle >= LEAST_GROUND_MPS) ground = middle;
          else look(x, y, timeS);
          const across = sample[0]! * uy - sample[1]! * ux;
          const root = Math.sqrt(Math.max(1e-6, speedMps * speedMps - across * across));
          const slope = -stepM / (ground * ground);
          const lean = -across / root;
          tally.byCurrentX += slope * (ux + lean * uy);
          tally.byCurrentY += slope * (uy - lean * ux);
          tally.bySpeed += (slope * speedMps) / root;
          tally.currentSigmaMps = Math.max(tally.currentSigmaMps, sample[2]!);
          tally.runS += stepM / ground;
          timeS += stepM / ground;
        }
      }
      return tally;
    },
  };
}
