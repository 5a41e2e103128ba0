import { UseError } from '../base/errors.js';
import type { WorkContext } from '../base/progress.js';
import { planTrials, type TrialPlan } from '../boat/trial-plan.js';
import { trialPlanFeatures } from '../boat/trial-plan-features.js';
import type { Frame } from '../geo/frame.js';
import type { Polygon } from '../geo/shapes.js';
import { writeGeoJson } from '../formats/geojson-write.js';
import { writeAtomic } from './atomic-file.js';
import { TRIAL_PLAN_PLACE } from './boat-places.js';
import { placeIn } from './folder.js';
import { readNoGo, readPlanPolygons } from './plan-files.js';
import type { Settings } from './settings.js';
import { readCard } from './step-boat.js';
import { needFrame } from './survey-frame.js';

/** A trial plan with the water it lies in. */
export interface PlannedTrials {
  readonly plan: TrialPlan;
  readonly frame: Frame;
  readonly water: readonly Polygon[];
  readonly noGo: readonly Polygon[];
}

/**
 * Lays out the trials that give what the card lacks, in the survey's area, and writes boat/trial-plan.geojson.
 * @throws UseError where there is no area, or nothing fits
 */
export async function planTrialsInto(folder: string, settings: Settings, everything: boolean, context: WorkContext): Promise<PlannedTrials> {
  context.progress?.('trial plan', NaN);
  const frame = await needFrame(folder, settings);
  const water = await readPlanPolygons(folder, settings, 'area');
  if (water === null || water.length === 0) {
    throw new UseError(`${folder}: there is no area to lay trials in; put one in with: tallow lines ${folder} --area FILE, or draw it on the page`, { fix: `tallow lines ${folder} --area FILE` });
  }
  const noGo = await readNoGo(folder, settings);
  const { launch, base } = settings.sortie;
  const place = (at: { readonly latDeg: number; readonly lonDeg: number } | null): { xM: number; yM: number } | null => {
    if (at === null) return null;
    const [xM, yM] = frame.toFrame(at.latDeg, at.lonDeg);
    return { xM, yM };
  };
  const stands = place(base ?? launch);
  const { current } = settings.water;
  const plan = planTrials({
    card: await readCard(folder),
    water,
    keepouts: noGo,
    frame,
    launch: place(launch),
    base: stands === null ? null : { ...stands, rangeM: settings.link.ratedRangeM },
    current: current.kind === 'constant' ? { speedMps: current.speedMps, setDeg: current.setDeg } : null,
    positionSigmaM: settings.gnss.sigmaM,
    surveySpeedMps: settings.lines.speedMps,
    everything,
  });
  await writeAtomic(placeIn(folder, TRIAL_PLAN_PLACE), writeGeoJson(trialPlanFeatures(plan, frame)));
  return { plan, frame, water, noGo };
}
