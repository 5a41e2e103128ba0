import type { WorkContext } from '../base/progress.js';
import type { TrialPlan } from '../boat/trial-plan.js';
import { writeAtomic } from './atomic-file.js';
import { TRIAL_PLAN_PLACE } from './boat-places.js';
import { placeIn } from './folder.js';
import { launchAndBase } from './launch-and-base.js';
import { readPlanPolygons } from './plan-files.js';
import { planTrialsInto } from './plan-trials.js';
import type { Settings } from './settings.js';
import { readCard } from './step-boat.js';

/** The trial plan's sheet. */
export const TRIAL_SHEET = 'products/trial-plan.pdf';

/** Plans the trials the card lacks and sets them on paper. @throws UseError where there is no area, or nothing fits */
export async function makeTrialPlan(folder: string, settings: Settings, everything: boolean, context: WorkContext): Promise<{ readonly plan: TrialPlan; readonly files: readonly string[] }> {
  const { plan, frame, water, noGo } = await planTrialsInto(folder, settings, everything, context);
  context.progress?.('trial plan', 0.5, 'setting it in type');
  const { trialSheetPdf } = await import('../report/trial-sheet.js');
  const { launch, base } = launchAndBase(frame, settings);
  const pdf = await trialSheetPdf({
    plan,
    card: await readCard(folder),
    frame,
    name: settings.name,
    place: settings.place,
    invented: settings.invented,
    water,
    keepouts: noGo,
    shore: (await readPlanPolygons(folder, settings, 'shore')) ?? [],
    launch,
    base: base === null ? null : { ...base, rangeM: settings.link.ratedRangeM },
    variation: null,
    date: null,
  });
  await writeAtomic(placeIn(folder, TRIAL_SHEET), pdf);
  return { plan, files: [TRIAL_PLAN_PLACE, TRIAL_SHEET] };
}
