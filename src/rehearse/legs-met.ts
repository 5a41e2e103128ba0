import type { LegRun, RehearsalColumns, RehearsalOptions, RehearsalRequest, RehearsalStop } from './rehearsal.js';
import { whenPossible } from './when-possible.js';

/** What a boat meets on a leg. */
export type LegMet = Pick<LegRun, 'leastWaterM' | 'currentMps' | 'currentSetDeg' | 'isBeaten' | 'possibleS'>;

/**
 * Water and current leg by leg; where the current stopped the boat, each leg from there on that it could not make at that time
 * either, with when it becomes possible. A quick rehearsal looks at the leg it was stopped on alone.
 */
export function legsMet(columns: RehearsalColumns, request: RehearsalRequest, options: RehearsalOptions, stopped: RehearsalStop | null): LegMet[] {
  const met = request.sortie.legs.map((): { -readonly [name in keyof LegMet]: LegMet[name] } => ({ leastWaterM: NaN, currentMps: NaN, currentSetDeg: NaN, isBeaten: false, possibleS: NaN }));
  for (let i = 0; i < columns.n; i++) {
    const leg = met[columns.legIndex[i]!];
    if (leg === undefined) continue;
    const under = columns.waterUnderM[i]!;
    if (!Number.isNaN(under) && !(leg.leastWaterM <= under)) leg.leastWaterM = under;
    const current = columns.currentMps[i]!;
    if (!Number.isNaN(current) && !(leg.currentMps >= current)) [leg.currentMps, leg.currentSetDeg] = [current, columns.currentSetDeg[i]!];
  }
  if (stopped?.why !== 'current') return met;
  const last = request.effort === 'quick' ? stopped.legIndex : met.length - 1;
  for (let k = stopped.legIndex; k <= last; k++) {
    const possibleS = whenPossible(request, options, request.sortie.legs[k]!, stopped.timeS);
    if (k !== stopped.legIndex && possibleS === stopped.timeS) continue;
    met[k]!.isBeaten = true;
    met[k]!.possibleS = possibleS ?? NaN;
  }
  return met;
}
