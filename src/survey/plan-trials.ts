import { UseError } from '../base/errors.js';
import type { WorkContext } from '../base/progress.js';
import { formatUtc } from '../base/time.js';
import { quantile } from '../base/statistics.js';
import type { BoatCard } from '../boat/boat-card.js';
import { planTrials, type TrialPlan, type TrialPlanRequest } from '../boat/trial-plan.js';
import { trialPlanFeatures } from '../boat/trial-plan-features.js';
import type { Frame } from '../geo/frame.js';
import type { Polygon } from '../geo/shapes.js';
import { writeGeoJson } from '../formats/geojson-write.js';
import { writeAtomic } from './atomic-file.js';
import { TRIAL_PLAN_PLACE } from './boat-places.js';
import { placeIn } from './folder.js';
import { launchAndBase } from './launch-and-base.js';
import { readManifest } from './manifest.js';
import { readObservations } from './observation-store.js';
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

/** What the logs' own error estimates come to, their median [m]; null where none carries any. */
async function loggedSigma(folder: string): Promise<number | null> {
  const sigmas: number[] = [];
  for (const { sha256 } of (await readManifest(folder)).logs) {
    const { fixes } = await readObservations(folder, sha256);
    for (let i = 0; i < fixes.n; i++) if (fixes.sigmaM[i]! > 0) sigmas.push(fixes.sigmaM[i]!);
  }
  return sigmas.length === 0 ? null : Math.round(1000 * quantile(Float64Array.from(sigmas), 0.5)) / 1000;
}

/** The current to lay runs along: as set where it stays, else as the last trials found it; null where neither is known. */
function currentFor(settings: Settings, card: BoatCard): TrialPlanRequest['current'] {
  const { current } = settings.water;
  if (current.kind === 'constant') return { speedMps: current.speedMps, setDeg: current.setDeg, from: 'as set' };
  const last = card.currents[0];
  if (last === undefined || last.driftMps.source !== 'trials') return null;
  return { speedMps: last.driftMps.value, setDeg: last.setDeg.value, from: `as the trials of ${formatUtc(last.startS).slice(0, 10)} found it at ${formatUtc(last.startS).slice(11, 16)} UTC; at another state of the tide it is another: look before you lay the runs` };
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
  const { launch, base } = launchAndBase(frame, settings);
  const card = await readCard(folder);
  const logged = await loggedSigma(folder);
  const plan = planTrials({
    card,
    water,
    keepouts: noGo,
    frame,
    launch,
    base: base === null ? null : { ...base, rangeM: settings.link.ratedRangeM },
    current: currentFor(settings, card),
    positionSigmaM: logged ?? settings.gnss.sigmaM,
    positionFrom: logged === null ? 'as set, gnss.sigmaM: no log states its own error' : 'the middle of what the logs say of themselves (GST)',
    surveySpeedMps: settings.lines.speedMps,
    everything,
  });
  await writeAtomic(placeIn(folder, TRIAL_PLAN_PLACE), writeGeoJson(trialPlanFeatures(plan, frame)));
  return { plan, frame, water, noGo };
}
