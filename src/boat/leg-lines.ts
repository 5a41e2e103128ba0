import { turnDeg } from '../base/interpolate.js';
import type { IntendedLine } from './track-keeping.js';
import type { Trial, TrialLog } from './trial-log.js';

/** A leg further from a line than this on the mean was not meant to keep it [m]. */
const CORRIDOR_M = 5;
/** Nor one whose course is further from the line's than this [deg]. */
const COURSE_WITHIN_DEG = 10;
/** Nor one of which less than this lies beside the line, or beside which less than this of the line lies. */
const LEAST_SHARE = 0.7;

/**
 * Which planned line each straight leg was meant to keep, by id of the leg and in the direction it was run: the nearest line
 * beside which the leg lies. Legs beside no line are left out.
 */
export function legLines(log: TrialLog, trials: readonly Trial[], lines: readonly IntendedLine[]): Record<string, IntendedLine> {
  const found: Record<string, IntendedLine> = {};
  for (const trial of trials) {
    if (trial.kind !== 'straight-leg') continue;
    let best = CORRIDOR_M;
    for (const line of lines) {
      const off = offsetM(log, trial, line);
      if (off === null || Math.abs(off.meanM) >= best) continue;
      best = Math.abs(off.meanM);
      found[trial.id] = off.back ? { fromXM: line.toXM, fromYM: line.toYM, toXM: line.fromXM, toYM: line.fromYM } : line;
    }
  }
  return found;
}

/** Mean distance of a leg from a line, and whether it was run the other way; null where it does not lie beside it. */
function offsetM(log: TrialLog, trial: Trial, line: IntendedLine): { readonly meanM: number; readonly back: boolean } | null {
  const dx = line.toXM - line.fromXM;
  const dy = line.toYM - line.fromYM;
  const lengthM = Math.hypot(dx, dy);
  if (!(lengthM > 0)) return null;
  const bearing = (Math.atan2(dx, dy) * 180) / Math.PI + log.convergenceDeg;
  const turn = Math.abs(turnDeg(bearing, trial.courseDeg));
  const back = turn > 90;
  if (!((back ? 180 - turn : turn) <= COURSE_WITHIN_DEG)) return null;
  let sum = 0;
  let beside = 0;
  let count = 0;
  let first = Infinity;
  let last = -Infinity;
  for (let i = trial.rowStart; i < trial.rowEnd; i++) {
    const x = log.xM[i]! - line.fromXM;
    const y = log.yM[i]! - line.fromYM;
    if (Number.isNaN(x) || Number.isNaN(y)) continue;
    count++;
    const along = (x * dx + y * dy) / lengthM;
    if (along < 0 || along > lengthM) continue;
    beside++;
    first = Math.min(first, along);
    last = Math.max(last, along);
    sum += (x * dy - y * dx) / lengthM;
  }
  return beside > 0 && beside >= LEAST_SHARE * count && last - first >= LEAST_SHARE * lengthM ? { meanM: sum / beside, back } : null;
}
