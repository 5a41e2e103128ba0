import type { JobVerb } from '../../server/api.js';
import type { SurveySummary } from '../../survey/summary.js';
import { boatLine } from './boat.js';
import { findsLine } from './finds-stage.js';
import { imageryLine } from './imagery-stage.js';
import { rehearseLine } from './rehearse.js';
import { count, duration, fixed, lengthText, plural } from './figures.js';

export const STAGES = ['boat', 'lines', 'rehearse', 'watch', 'depths', 'imagery', 'finds', 'report'] as const;
export type Stage = (typeof STAGES)[number];

export const STAGE_TITLE: Readonly<Record<Stage, string>> = {
  boat: 'Boat',
  lines: 'Lines',
  rehearse: 'Rehearse',
  watch: 'Watch',
  depths: 'Depths',
  imagery: 'Imagery',
  finds: 'Finds',
  report: 'Report',
};

/** How a stage stands, in one short line. `done` has a bar under it; `press` is said in the accent. */
export interface StageLine {
  readonly text: string;
  readonly done: boolean;
  readonly press: boolean;
}

/** One line of state for every stage, from what the folder holds and the work that is running on it. */
export function stageLines(summary: SurveySummary | null, running: JobVerb | null = null): Readonly<Record<Stage, StageLine>> {
  const unbuilt: StageLine = { text: 'not built yet', done: false, press: false };
  const lines: Record<Stage, StageLine> = {
    boat: { text: '–', done: false, press: false },
    lines: { text: 'no area', done: false, press: false },
    rehearse: { text: '–', done: false, press: false },
    watch: unbuilt,
    depths: { text: 'no logs', done: false, press: false },
    imagery: { text: 'no records', done: false, press: false },
    finds: { text: '–', done: false, press: false },
    report: { text: '–', done: false, press: false },
  };
  if (summary === null) return lines;
  lines.boat = { ...boatLine(summary.boat), press: false };
  if (summary.lines !== null) {
    lines.lines = { text: summary.lines.cross > 0 ? `${summary.lines.main} + ${summary.lines.cross} cross` : plural(summary.lines.main, 'line'), done: true, press: false };
  } else if (summary.area !== null) {
    lines.lines = { text: 'area, no lines', done: false, press: true };
  }
  const rehearsed = summary.steps.find((step) => step.step === 'rehearsal');
  lines.rehearse = rehearseLine(summary.sorties ?? null, summary.rehearsal ?? null, { hasLines: summary.lines !== null, hasLaunch: summary.settings.sortie.launch !== null, hasStart: summary.settings.sortie.startUtc !== null, stale: rehearsed !== undefined && rehearsed.state !== 'fresh' });
  const stale = staleSteps(summary);
  if (summary.logs.length > 0 && staleChart(summary)) {
    lines.depths = { text: summary.soundings === null ? 'to build' : 'to rebuild', done: summary.soundings !== null, press: true };
  } else if (summary.gaps !== null && summary.gaps.count > 0) {
    lines.depths = { text: `${plural(summary.gaps.count, 'gap')} left`, done: true, press: true };
  } else if (summary.soundings !== null) {
    lines.depths = summary.gaps === null ? { text: `${count(summary.soundings.good)} good`, done: true, press: false } : { text: 'no gaps', done: true, press: false };
  }
  lines.imagery = imageryLine(summary);
  lines.finds = findsLine(summary);
  if (running === 'build' || running === 'take-in') lines.depths = { text: running === 'build' ? 'building' : 'taking in', done: lines.depths.done, press: false };
  if (running === 'lines') lines.lines = { text: 'planning', done: lines.lines.done, press: false };
  if (summary.products.length > 0 && summary.logs.length > 0) {
    lines.report = stale.length > 0 ? { text: 'out of date', done: true, press: false } : { text: plural(summary.products.length, 'file'), done: true, press: false };
  }
  return lines;
}

/** Steps of the half before the boat is wet. */
const BEFORE_STEPS: readonly string[] = ['lines', 'boat', 'sorties', 'rehearsal'];

/** The steps from logs to report that a build would run; boat card, lines, sorties and rehearsal are made on their own. */
export function staleSteps(summary: SurveySummary): readonly string[] {
  return summary.steps.filter((step) => step.state !== 'fresh' && !BEFORE_STEPS.includes(step.step)).map((step) => step.step);
}

/** Whether the chart itself is out of date, and not only what is handed over. */
function staleChart(summary: SurveySummary): boolean {
  return staleSteps(summary).some((step) => step !== 'products' && step !== 'report');
}

export type NextAction = 'save-fill-in' | 'save-lines' | 'take-in' | 'draw-area' | 'make-lines' | 'build' | 'fill-in' | 'report';

export interface NextThing {
  readonly action: NextAction;
  readonly title: string;
  readonly detail: string;
}

/** The one thing to do next at the Depths stage. */
export function nextThing(summary: SurveySummary | null): NextThing {
  if (summary === null || summary.logs.length === 0) {
    return { action: 'take-in', title: 'Take in a log', detail: 'NMEA 0183 or CSV, as the boat wrote it' };
  }
  const stale = staleSteps(summary);
  if (stale.length > 0) {
    return { action: 'build', title: 'Build', detail: summary.soundings === null ? `${plural(summary.logs.length, 'log')} taken in, not yet reduced` : `${plural(stale.length, 'step')} out of date` };
  }
  if (summary.soundings === null) return { action: 'take-in', title: 'Take in a log', detail: 'the logs so far hold no sounding with a position' };
  if (summary.area === null) return { action: 'draw-area', title: 'Draw the area', detail: 'so that gaps can be told from what was never asked for' };
  if (summary.gaps !== null && summary.gaps.count > 0 && summary.gaps.fillLines > 0) {
    const many = summary.gaps.fillLines;
    const seconds = summary.gaps.fillTimeS;
    return {
      action: 'fill-in',
      title: many === 1 ? 'Plan the fill-in line' : 'Plan the fill-in lines',
      detail: `${plural(many, 'line')}, ${lengthText(summary.gaps.fillLengthM)}, ${duration(seconds)} at ${fixed(summary.settings.lines.speedMps, 1)} m/s`,
    };
  }
  return { action: 'report', title: 'Hand over', detail: summary.products.length > 0 ? plural(summary.products.length, 'product') : 'the report and the products' };
}

/** The one thing to do next at the Lines stage. */
export function nextLinesThing(summary: SurveySummary | null, draft: { readonly hasArea: boolean; readonly changed: boolean; readonly mainLines: number }): NextThing {
  if (!draft.hasArea) return { action: 'draw-area', title: 'Draw the area', detail: 'click its corners on the chart, or drop a file of it here' };
  if (draft.changed || summary?.lines === null) {
    return { action: 'make-lines', title: 'Save the plan', detail: `area and ${plural(draft.mainLines, 'main line')} to the survey folder` };
  }
  if (summary !== null && summary.logs.length > 0 && staleChart(summary)) {
    return { action: 'build', title: 'Build', detail: summary.soundings === null ? `${plural(summary.logs.length, 'log')} taken in, no chart made yet` : 'the chart and its gaps are older than the plan' };
  }
  const { gaps, logs, lines } = summary ?? { gaps: null, logs: [], lines: null };
  if (gaps !== null && gaps.fillLines > 0) {
    return { action: 'save-fill-in', title: `Save the fill-in ${gaps.fillLines === 1 ? 'line' : 'lines'}`, detail: `${plural(gaps.fillLines, 'line')}, ${lengthText(gaps.fillLengthM)}, as GPX for the boat` };
  }
  if (logs.length === 0 && lines !== null) return { action: 'save-lines', title: 'Save the lines', detail: `${plural(lines.main + lines.cross, 'line')} as GPX for the boat` };
  return { action: 'take-in', title: 'Take in a log', detail: 'when the boat is back' };
}
