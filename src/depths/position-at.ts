import { indexAtOrBefore } from '../base/interpolate.js';
import type { Track } from './track.js';

/** Antenna positions at wanted times. Shape of every column: [n]. */
export interface Positions {
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** One sigma, one dimension: the larger of the two fixes' [m]. */
  readonly sigmaM: Float32Array;
  /** Speed over ground between the two fixes [m/s]. */
  readonly speedMps: Float32Array;
  /** 0: found. 1: no fix near enough in time. 2: the fixes near enough jumped. */
  readonly fault: Uint8Array;
}

/**
 * Where the antenna was at given times: on the straight line between the last good fix before and the first good fix after.
 *
 * Fixes that jumped are passed over. Nothing is given before the first good fix or after the last, nor across more than
 * `maxGapS`; x, y, sigma and speed are NaN there and `fault` says why.
 *
 * @param wantedS UTC, in any order; rising is fastest [s]
 * @param maxGapS longest time between two fixes that are joined [s]
 * @throws RangeError unless maxGapS is positive
 */
export function positionsAt(track: Track, wantedS: Float64Array, maxGapS: number): Positions {
  if (!(maxGapS > 0)) throw new RangeError(`maxGapS ${maxGapS}: expected more than 0`);
  const n = wantedS.length;
  const xM = new Float64Array(n).fill(NaN);
  const yM = new Float64Array(n).fill(NaN);
  const sigmaM = new Float32Array(n).fill(NaN);
  const speedMps = new Float32Array(n).fill(NaN);
  const fault = new Uint8Array(n);

  const good = new Uint32Array(track.n);
  let goodCount = 0;
  for (let i = 0; i < track.n; i++) if (track.jump[i] === 0) good[goodCount++] = i;
  const goodS = new Float64Array(goodCount);
  for (let i = 0; i < goodCount; i++) goodS[i] = track.timeS[good[i]!]!;

  let hint = 0;
  let anyHint = 0;
  for (let i = 0; i < n; i++) {
    const time = wantedS[i]!;
    const found = indexAtOrBefore(goodS, time, hint);
    if (found >= 0) hint = found;
    const before = found < 0 ? -1 : good[found]!;
    let after = found + 1 < goodCount ? good[found + 1]! : -1;
    if (before >= 0 && track.timeS[before] === time) after = after < 0 || track.timeS[after]! - time > maxGapS ? before : after;
    const gapS = before < 0 || after < 0 ? Infinity : track.timeS[after]! - track.timeS[before]!;
    if (gapS > maxGapS) {
      const near = indexAtOrBefore(track.timeS, time, anyHint);
      if (near >= 0) anyHint = near;
      fault[i] = isJumped(track, near, time, maxGapS) ? 2 : 1;
      continue;
    }
    const share = gapS === 0 ? 0 : (time - track.timeS[before]!) / gapS;
    const runX = track.xM[after]! - track.xM[before]!;
    const runY = track.yM[after]! - track.yM[before]!;
    xM[i] = track.xM[before]! + share * runX;
    yM[i] = track.yM[before]! + share * runY;
    sigmaM[i] = Math.max(track.sigmaM[before]!, track.sigmaM[after]!);
    speedMps[i] = gapS === 0 ? track.speedMps[before]! : Math.hypot(runX, runY) / gapS;
  }
  return { xM, yM, sigmaM, speedMps, fault };
}

/** Whether the fixes on both sides are near enough and at least one of them jumped. */
function isJumped(track: Track, near: number, time: number, maxGapS: number): boolean {
  if (near < 0) return track.n > 0 && track.jump[0] === 1 && track.timeS[0]! - time <= maxGapS;
  const next = near + 1 < track.n ? near + 1 : near;
  const gapS = track.timeS[next]! - track.timeS[near]!;
  if (gapS > maxGapS || time - track.timeS[near]! > maxGapS) return false;
  return track.jump[near] === 1 || track.jump[next] === 1;
}
