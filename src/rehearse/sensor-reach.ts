import { footprintM } from '../lines/objective-formulas.js';
import type { Sensor } from '../lines/objective.js';

/** What a sensor sees of flat ground to either side of the boat: from `nearM` (0: right under it) to `farM` [m]. */
export interface Reach {
  readonly nearM: number;
  readonly farM: number;
}

/** Usual height of a side-scan over the bottom, as a share of its range (common practice). */
const HEIGHT_SHARE = 0.1;
const NADIR_SHARE = 0.5;

/**
 * Reach of a sensor over a depth.
 *
 * A fan: half its width on flat ground. A side-scan: from the edge of the gap under it to the ground range sqrt(R^2 - h^2). A
 * single beam covers no ground; it stands for what lies within `beamReachM` of its track.
 *
 * @param depthM water under the surface [m]; NaN gives NaN for sensors that hang on it
 * @param rangeM slant range a side-scan is set to [m]; null: ten times its height over the bottom, at most what it reaches
 * Source: IHO C-13 ch. 4 (ground range); the height of a tenth of the range and the gap are common practice.
 */
export function sensorReach(sensor: Sensor, depthM: number, rangeM: number | null, beamReachM: number): Reach {
  if (sensor.kind === 'single-beam') return { nearM: 0, farM: beamReachM };
  const belowM = Math.max(0, depthM - sensor.draftM);
  if (sensor.kind === 'swath') return { nearM: 0, farM: footprintM(belowM, sensor.swathDeg) / 2 };
  const heightM = sensor.heightM ?? belowM;
  const setM = Math.min(sensor.mostRangeM, rangeM ?? heightM / HEIGHT_SHARE);
  return { nearM: (sensor.nadirShare ?? NADIR_SHARE) * heightM, farM: setM > heightM ? Math.sqrt(setM * setM - heightM * heightM) : 0 };
}

/** What is painted, in words. */
export function sensorWords(sensor: Sensor, beamReachM: number): string {
  if (sensor.kind === 'single-beam') return `a single beam: ground within ${Number(beamReachM.toFixed(1))} m of its track counts as covered`;
  return sensor.kind === 'swath' ? `a swath of ${sensor.swathDeg} degrees` : 'a side-scan with the gap under it';
}
