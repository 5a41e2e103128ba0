import type { SurveySummary } from '../../survey/summary.js';
import type { FindShown } from '../work/finds-messages.js';
import { count, plural } from './figures.js';
import { isSonarLog } from './sonar-logs.js';

function staleFinds(summary: SurveySummary): boolean {
  const steps = summary.steps.filter(({ step }) => step === 'sightings' || step === 'finds' || step === 'search');
  return steps.length > 0 && steps.some(({ state }) => state !== 'fresh');
}

/** How the Finds stage stands, in one short line. */
export function findsLine(summary: SurveySummary): { readonly text: string; readonly done: boolean; readonly press: boolean } {
  if (!summary.logs.some(isSonarLog)) return { text: '–', done: false, press: false };
  const figures = summary.finds ?? null;
  if (figures === null) return { text: 'to build', done: false, press: staleFinds(summary) };
  if (staleFinds(summary)) return { text: 'to rebuild', done: true, press: true };
  if (figures.proposed > 0) return { text: `${count(figures.proposed)} to look at`, done: true, press: true };
  return { text: figures.confirmed === 0 ? 'nothing found' : `${count(figures.confirmed)} confirmed`, done: true, press: false };
}

export type FindsAction = 'build' | 'next' | 'measure' | 'search';

/** The one thing to do next at the Finds stage. */
export function nextFindsThing(summary: SurveySummary, all: readonly FindShown[]): { readonly action: FindsAction; readonly title: string; readonly detail: string } {
  const proposed = all.filter(({ state }) => state === 'proposed').length;
  if (staleFinds(summary) && all.length === 0) return { action: 'build', title: 'Build', detail: 'candidates are looked for in every ping' };
  if (proposed > 0) return { action: 'next', title: 'Look at the next one', detail: `${plural(proposed, 'find')} proposed, the surest first: confirm or reject` };
  if (all.length === 0) return { action: 'measure', title: 'Measure something', detail: 'nothing is proposed: drag along what you see in the waterfall' };
  return { action: 'search', title: 'See what was searched', detail: 'where something may still lie, and the lines that would help most' };
}
