import { interpolateAt } from '../base/interpolate.js';
import type { FixLog } from './merge-tracks.js';
import { timeOrder } from './track.js';

/** Which heights of the receiver are believed. */
export interface HeightGate {
  /** GGA quality numbers whose heights are used, e.g. 4 for RTK fixed. */
  readonly qualities: readonly number[];
  /** Added to logged times to get the time the position was true [s]. */
  readonly addS: number;
  /** Heights further apart are not joined [s]. */
  readonly maxGapS: number;
}

/**
 * Height of the antenna above the ellipsoid at wanted times, from the receivers' own heights of good enough quality.
 *
 * GGA gives the height above its geoid and the geoid's height above the ellipsoid: their sum is used, whatever geoid the
 * receiver carries.
 *
 * @returns metres; NaN where there is no good height on both sides, near enough in time. Shape [n]
 */
export function antennaHeightsAt(logs: readonly FixLog[], wantedS: Float64Array, gate: HeightGate): Float64Array {
  const times: number[] = [];
  const heights: number[] = [];
  for (const { fixes } of logs) {
    for (let i = 0; i < fixes.n; i++) {
      const heightM = fixes.heightM[i]! + fixes.geoidM[i]!;
      if (!gate.qualities.includes(fixes.quality[i]!) || !Number.isFinite(heightM) || !Number.isFinite(fixes.timeS[i]!)) continue;
      times.push(fixes.timeS[i]! + gate.addS);
      heights.push(heightM);
    }
  }
  const timeS = Float64Array.from(times);
  const order = timeOrder(timeS, timeS.length);
  return interpolateAt(Float64Array.from(order, (row) => timeS[row]!), Float64Array.from(order, (row) => heights[row]!), wantedS, gate.maxGapS);
}
