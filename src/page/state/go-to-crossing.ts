import { nearestRow } from '../strip/decimate.js';
import { depths, lookAt } from './depths.js';
import { survey } from './stores.js';

/** Goes to a crossing: on the chart, among the points, and in the profile of the later run with the earlier beside it. */
export function goToCrossing(i: number): void {
  const { crossings, soundings } = survey.get();
  if (crossings === null || soundings === null || i < 0 || i >= crossings.n) return;
  depths.update((now) => ({ ...now, crossing: i }));
  const row = rowOfCrossing(i);
  if (row >= 0) lookAt(row, row + 1);
}

/** The good sounding of the later run nearest to a crossing, -1 for none. */
export function rowOfCrossing(i: number): number {
  const { crossings, soundings, index } = survey.get();
  if (crossings === null || soundings === null || i >= crossings.n) return -1;
  const timeS = crossings.timeBS[i] as number;
  if (Number.isFinite(timeS)) return nearestRow(soundings.timeS, timeS);
  // An older file does not say when: the nearest good sounding of the later line.
  const [x, y] = [crossings.xM[i] as number, crossings.yM[i] as number];
  let best = -1;
  let least = Infinity;
  for (const row of index?.within(x, y, 8) ?? []) {
    if (soundings.reason[row] !== 0) continue;
    const far = Math.hypot((soundings.xM[row] as number) - x, (soundings.yM[row] as number) - y) + (soundings.line[row] === crossings.lineB[i] ? 0 : 8);
    if (far < least) {
      least = far;
      best = row;
    }
  }
  return best;
}
