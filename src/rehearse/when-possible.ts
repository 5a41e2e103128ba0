import type { Leg } from '../lines/sortie.js';
import type { WaterLevel } from '../water/level.js';
import { BEATEN_MPS } from './boat-run.js';
import type { RehearsalOptions, RehearsalRequest } from './rehearsal.js';
import { waterMotion } from './water-motion.js';

/** Looked for at steps of this, so long [s]. */
const STEP_S = 300;
const CURRENT_SPAN_S = 24 * 3600;
const LEVEL_SPAN_S = 25 * 3600;

/** First time from `fromS` that the boat makes way everywhere on a leg, to 5 min; null where it does not within 24 h, or the current is not known. */
export function whenPossible(request: RehearsalRequest, options: RehearsalOptions, leg: Leg, fromS: number): number | null {
  const water = waterMotion(request, options);
  const seen = new Float64Array(5);
  const ordered = Math.min(leg.speedMps, request.boat.topSpeedMps);
  const { path } = leg;
  for (let timeS = fromS; timeS <= fromS + CURRENT_SPAN_S; timeS += STEP_S) {
    let can = true;
    for (let i = 2; can && i + 1 < path.length; i += 2) {
      const dx = path[i]! - path[i - 2]!;
      const dy = path[i + 1]! - path[i - 1]!;
      const length = Math.hypot(dx, dy);
      if (length === 0) continue;
      for (let share = 0; can && share <= 1; share += 0.25) {
        water(path[i - 2]! + share * dx, path[i - 1]! + share * dy, timeS, seen);
        if (Number.isNaN(seen[3]!)) return null;
        const along = (seen[3]! * dx + seen[4]! * dy) / length;
        const side = (seen[3]! * dy - seen[4]! * dx) / length;
        can = Math.abs(side) < ordered && Math.sqrt(ordered * ordered - side * side) + along >= BEATEN_MPS;
      }
    }
    if (can) return timeS;
  }
  return null;
}

/** First time from `fromS` that depth below datum, draft taken off, and level leave enough water, to 5 min; null where never within 25 h. */
export function whenWaterEnough(level: WaterLevel, depthLessDraftM: number, leastM: number, fromS: number): number | null {
  const times = Float64Array.from({ length: LEVEL_SPAN_S / STEP_S + 1 }, (_, i) => fromS + i * STEP_S);
  const levels = level.levelsAt(times);
  const found = levels.findIndex((value) => value + depthLessDraftM >= leastM);
  return found < 0 ? null : times[found]!;
}
