import { UseError } from '../base/errors.js';
import type { BottomDecision } from './summary.js';

/** More points than a hand draws in one stroke. */
export const BOTTOM_POINTS_MAX = 5000;

/** @throws UseError naming the field */
export function checkBottomDecision(decision: BottomDecision): void {
  const { log, points } = decision;
  if (typeof log !== 'string' || !/^[0-9a-f]{16}$/.test(log)) throw new UseError(`log: expected the first 16 hex digits of a log's sha-256, found ${JSON.stringify(log)}`, { path: 'log' });
  if (!Array.isArray(points) || points.length === 0 || points.length > BOTTOM_POINTS_MAX) throw new UseError(`points: expected 1 to ${BOTTOM_POINTS_MAX} points of the bottom`, { path: 'points' });
  let before = -1;
  for (const { record, slantM } of decision.points) {
    if (!Number.isInteger(record) || record <= before || record > 0xffffffff) throw new UseError(`points: expected records that rise, found ${JSON.stringify(record)} after ${before}`, { path: 'points' });
    if (!(Number.isFinite(slantM) && slantM > 0)) throw new UseError(`points: expected a slant range above 0 m, found ${JSON.stringify(slantM)} at record ${record}`, { path: 'points' });
    before = record;
  }
}
