import type { Random } from '../base/random.js';
import { createGaussMarkov } from './random-process.js';
import type { Push, TrialsBoat } from './trials-boat.js';
import type { TrialsOptions } from './trials-options.js';

/** What the sea and the wind do during trials. */
export interface TrialsSea {
  /** Current with leeway, towards true east and north, at seconds from the start [m/s]. */
  readonly driftAt: (elapsedS: number) => { readonly eastMps: number; readonly northMps: number };
  /** Fills the push at seconds from the start; times must not go back. */
  readonly pushInto: (elapsedS: number, out: Push) => void;
}

/** Tidal hours: the slow part of the current swings with the main lunar tide, 12.42 h. */
const TIDE_S = 12.4206 * 3600;

/**
 * Current that turns with the tide and changes evenly besides, leeway of a steady wind, and chop.
 * The change in an hour of both parts together stays within the options' `currentChangeMps`.
 */
export function createSea(boat: TrialsBoat, options: TrialsOptions, random: Random): TrialsSea {
  const set = random.between(0, 2 * Math.PI);
  const drift = random.between(0.05, 1) * options.currentMps;
  const turn = random.between(0, 2 * Math.PI);
  const rate = (random.between(0, 0.5) * options.currentChangeMps) / 3600;
  const phase = random.between(0, 2 * Math.PI);
  const swing = (random.between(0, 0.5) * options.currentChangeMps) / ((3600 * 2 * Math.PI) / TIDE_S);
  const axis = random.between(0, Math.PI);
  const windTo = random.between(0, 2 * Math.PI);
  const leeway = random.uniform() * options.windMps * options.leewayShare;
  const surge = createGaussMarkov(random.fork('surge'), options.chopShare * 2 * boat.fullThrustN, 0.8);
  const yaw = createGaussMarkov(random.fork('yaw'), options.chopNm, 0.8);
  const driftAt = (elapsedS: number): { eastMps: number; northMps: number } => {
    const tide = swing * (Math.sin((2 * Math.PI * elapsedS) / TIDE_S + phase) - Math.sin(phase));
    return {
      eastMps: drift * Math.sin(set) + rate * elapsedS * Math.sin(turn) + tide * Math.sin(axis) + leeway * Math.sin(windTo),
      northMps: drift * Math.cos(set) + rate * elapsedS * Math.cos(turn) + tide * Math.cos(axis) + leeway * Math.cos(windTo),
    };
  };
  return {
    driftAt,
    pushInto(elapsedS, out) {
      const { eastMps, northMps } = driftAt(elapsedS);
      out.eastMps = eastMps;
      out.northMps = northMps;
      out.surgeN = surge.at(elapsedS);
      out.yawNm = yaw.at(elapsedS);
    },
  };
}
