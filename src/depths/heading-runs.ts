import { turnDeg } from '../base/interpolate.js';
import { correlationTime } from '../boat/curve-fit.js';
import { HEADING_FROM, type Headings } from './heading-at.js';
import type { HeadingRun } from './heading-check.js';
import type { StraightRuns } from './line-of.js';

/** A shorter run's course is not good enough to hold a compass against [m]. */
const LEAST_RUN_M = 25;
const LEAST_HEADINGS = 10;

/**
 * Heading against course made good on each straight run of a track.
 *
 * @param track in time order [m]; headings at the same times, courses standing in for a compass left out
 * @param convergenceDeg what to add to a grid bearing to get a true one [deg]
 */
export function headingRuns(track: { readonly n: number; readonly xM: Float64Array; readonly yM: Float64Array }, headings: Headings, runs: StraightRuns, convergenceDeg: number): HeadingRun[] {
  const rows: number[][] = Array.from({ length: runs.count }, () => []);
  for (let i = 0; i < track.n; i++) if (runs.run[i]! >= 0) rows[runs.run[i]!]!.push(i);
  const found: HeadingRun[] = [];
  for (const all of rows) {
    const [first, last] = [all[0], all[all.length - 1]];
    if (first === undefined || last === undefined) continue;
    const dx = track.xM[last]! - track.xM[first]!;
    const dy = track.yM[last]! - track.yM[first]!;
    const lengthM = Math.hypot(dx, dy);
    if (lengthM < LEAST_RUN_M) continue;
    const courseDeg = (Math.atan2(dx, dy) * 180) / Math.PI + convergenceDeg;
    const off = all
      .filter((row) => (headings.from[row] === HEADING_FROM.true || headings.from[row] === HEADING_FROM.magnetic) && !Number.isNaN(headings.headingDeg[row]!))
      .map((row) => turnDeg(courseDeg, headings.headingDeg[row]!));
    if (off.length < LEAST_HEADINGS) continue;
    const mean = off.reduce((sum, one) => sum + one, 0) / off.length;
    const deviation = Math.sqrt(off.reduce((sum, one) => sum + (one - mean) ** 2, 0) / (off.length - 1));
    const worth = off.length / correlationTime(off.map((one) => one - mean));
    found.push({ courseDeg: ((courseDeg % 360) + 360) % 360, offDeg: mean, offSigmaDeg: deviation / Math.sqrt(Math.max(1, worth)), lengthM });
  }
  return found;
}
