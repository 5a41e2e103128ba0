import { outward } from './sonar-track.js';

/** Steeper is not believed: a surface is drawn from lines, not from every metre [1]. */
const SLOPE_MOST = 0.5;
const PLACES = 6;

/**
 * Rise of the floor to one side of a ping, per metre: the straight line from under the sonar that fits depths of a surface best.
 *
 * @param depthAt depth below the datum at a place, positive down, NaN where none [m]
 * @param reachM ground range it has to hold for [m]
 * @returns 0 where fewer than half of the places have a depth; held to 0.5 either way
 */
export function slopeToSide(depthAt: (xM: number, yM: number) => number, xM: number, yM: number, gridHeadingDeg: number, side: 'port' | 'starboard', reachM: number): number {
  const under = depthAt(xM, yM);
  if (!(reachM > 0) || !Number.isFinite(under)) return 0;
  const [east, north] = outward(side, gridHeadingDeg);
  let rise = 0;
  let square = 0;
  let known = 0;
  for (let k = 1; k <= PLACES; k++) {
    const groundM = (reachM * k) / PLACES;
    const depth = depthAt(xM + east * groundM, yM + north * groundM);
    if (!Number.isFinite(depth)) continue;
    rise += groundM * (under - depth);
    square += groundM * groundM;
    known++;
  }
  if (known * 2 < PLACES || square === 0) return 0;
  return Math.min(SLOPE_MOST, Math.max(-SLOPE_MOST, rise / square));
}
