import { createFrame } from '../geo/frame.js';
import { ORIGIN_E_M, ORIGIN_N_M } from './floor.js';
import { trialsNmea } from './trials-nmea.js';
import { provingTrials } from './trials.js';

/** A run of trials that stays in open water about the demo's area. */
const SEED = 23;
const OFFSET_M = [-60, 0] as const;
/** The afternoon before the survey. */
const START_S = Date.UTC(2026, 5, 16, 13, 0, 0) / 1000;

/** The name of the demo's log of trials. */
export const DEMO_TRIALS_LOG = 'hollin-trials.nmea';

/** The demo's log of sea trials: three quarters of an hour in Hollin Sound, invented. The same bytes each time. */
export function demoTrials(antennaForwardM: number, latencyS: number): string {
  const frame = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
  const [latDeg, lonDeg] = frame.toGeographic(ORIGIN_E_M + OFFSET_M[0], ORIGIN_N_M + OFFSET_M[1]);
  return trialsNmea(provingTrials(SEED, { startS: START_S, fixHz: 5 }), { latDeg, lonDeg, antennaForwardM, latencyS });
}
