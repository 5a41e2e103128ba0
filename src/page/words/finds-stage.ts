import type { SurveySummary } from '../../survey/summary.js';

/** How the Finds stage stands, in one short line. */
export function findsLine(summary: SurveySummary): { readonly text: string; readonly done: boolean; readonly press: boolean } {
  void summary;
  return { text: '–', done: false, press: false };
}
