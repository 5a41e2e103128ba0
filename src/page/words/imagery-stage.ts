import type { ImagerySummary, SurveySummary } from '../../survey/summary.js';
import { areaText, count, percent, plural } from './figures.js';
import { isSonarLog } from './sonar-logs.js';

/** Null where there are no side-scan pings, or none was read yet. */
export function imageryOf(summary: SurveySummary): ImagerySummary | null {
  return summary.imagery ?? null;
}

const IMAGERY_STEPS: readonly string[] = ['pings', 'bottom', 'sonar-track', 'mosaic'];

function staleImagery(summary: SurveySummary): readonly string[] {
  return summary.steps.filter(({ step, state }) => IMAGERY_STEPS.includes(step) && state !== 'fresh').map(({ step }) => step);
}

/** How the Imagery stage stands, in one short line. */
export function imageryLine(summary: SurveySummary): { readonly text: string; readonly done: boolean; readonly press: boolean } {
  const logs = summary.logs.filter(isSonarLog);
  const mosaic = imageryOf(summary)?.mosaic ?? null;
  if (logs.length === 0) return { text: 'no records', done: false, press: false };
  if (staleImagery(summary).length > 0 || mosaic === null) return { text: mosaic === null ? 'to build' : 'to rebuild', done: mosaic !== null, press: true };
  return { text: mosaic.areaShare === null ? areaText(mosaic.filledM2) : `${percent(mosaic.areaShare, 0)} seen`, done: true, press: false };
}

export type ImageryAction = 'take-in' | 'build' | 'draw-bottom' | 'finds';

/** A bottom that was not heard at more pings than this share is worth a look. */
const UNHEARD_SHARE = 0.05;

/** The one thing to do next at the Imagery stage. */
export function nextImageryThing(summary: SurveySummary): { readonly action: ImageryAction; readonly title: string; readonly detail: string } {
  const logs = summary.logs.filter(isSonarLog);
  if (logs.length === 0) return { action: 'take-in', title: 'Take in side-scan records', detail: 'with the boat’s positions of the same time' };
  const stale = staleImagery(summary);
  const parts = imageryOf(summary);
  if (stale.length > 0 || parts === null || parts.mosaic === null) return { action: 'build', title: 'Build', detail: parts?.mosaic == null ? `${plural(logs.length, 'side-scan log')} taken in, not yet made a mosaic` : `${plural(stale.length, 'step')} out of date` };
  const { bottom } = parts;
  const unheard = bottom === null ? 0 : bottom.bridged + bottom.none;
  if (bottom !== null && unheard > UNHEARD_SHARE * bottom.pings) return { action: 'draw-bottom', title: 'Look at the bottom under the sonar', detail: `not heard at ${count(unheard)} pings: draw it where it is dashed or wrong` };
  return { action: 'finds', title: 'Go through the finds', detail: 'what stands out on the floor, measured and ranked' };
}
