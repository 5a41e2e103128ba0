import { UseError } from '../../base/errors.js';
import type { LinePlan } from '../../lines/line-plan.js';
import { planSorties } from '../../lines/plan-sorties.js';
import { parseUtc } from '../../base/time.js';
import { constantCurrent } from '../../water/current-field.js';
import { groundWith } from './rehearse-ground.js';
import type { DraftSorties, GroundSettings } from './rehearse-messages.js';

/** Sorties of lines that are being planned, as the survey's own step cuts them: in the current of the start, in still water while no start is decided. */
export function sortiesOfDraft(plan: LinePlan, settings: GroundSettings, effort: 'drag' | 'full'): DraftSorties {
  const began = performance.now();
  const told = (part: Partial<DraftSorties>): DraftSorties => ({ plan: null, fault: null, where: [], ...part, tookMs: performance.now() - began });
  try {
    const { sortie, lines, rehearse } = settings;
    const startS = sortie.startUtc === null ? null : parseUtc(sortie.startUtc);
    const ground = groundWith(settings, startS ?? 0);
    return told({
      plan: planSorties({
        plan,
        keepouts: [...ground.keepouts, ...ground.land],
        tide: startS === null ? null : { level: ground.level, needM: rehearse.draftM + rehearse.leastWaterM },
        clearanceM: sortie.clearanceM,
        frame: ground.frame,
        model: ground.boat,
        current: startS === null ? constantCurrent(0, 0, 0, 'no current is reckoned with') : ground.current,
        startS: startS ?? 0,
        launch: ground.launch,
        speedMps: lines.speedMps,
        ...(sortie.transitMps === null ? {} : { transitMps: sortie.transitMps }),
        reserveShare: sortie.reserveShare,
        effort,
        battery: { chargeShare: sortie.batteryShare, swapS: sortie.swapS, chance: sortie.chance },
      }),
    });
  } catch (error) {
    return told({ fault: error instanceof Error ? error.message : String(error), where: error instanceof UseError ? (error.what.where ?? []) : [] });
  }
}
