import type { PlannedTrial } from '../boat/trial-plan-shape.js';
import type { Fact, Figure } from './document.js';
import { formatDirection, formatDuration, formatNumber, formatScale, formatShare, formatUtcDate } from './figures.js';
import { placeText } from './place-text.js';
import { drawTrialChart, numberSpans } from './trial-sheet-chart.js';
import type { TrialSheetInput } from './trial-sheet-input.js';

/** What a trial sheet says, apart from how it is set: HTML and PDF are set from the same. Texts are plain. */
export interface TrialSheetContent {
  readonly title: string;
  readonly subtitle: string;
  readonly facts: readonly Fact[];
  readonly figure: Figure | null;
  readonly caption: string;
  /** Names of what the crew writes in. */
  readonly blanks: readonly string[];
  readonly cautions: readonly string[];
  readonly rows: readonly TrialSheetRow[];
  /** How the kinds are run, with the numbers of their trials. */
  readonly how: readonly { readonly numbers: string; readonly text: string }[];
  readonly shortfalls: readonly string[];
  readonly notes: readonly string[];
  readonly date: readonly [number, number, number] | null;
}

export interface TrialSheetRow {
  readonly number: string;
  readonly title: string;
  /** What it gives. */
  readonly gives: string;
  readonly command: string;
  /** `033° / 213°`. */
  readonly heading: string;
  readonly way: string;
  /** Expected 95 % accuracy. */
  readonly accuracy: string;
  readonly passes: string;
  /** Boxes to tick: one a pass, up to so many as fit. */
  readonly ticks: number;
  readonly time: string;
}

/** The chart in print [mm]. */
const CHART = { widthMm: 180, heightMm: 151 } as const;
/** More passes than this are counted otherwise. */
const MOST_TICKS = 8;

/** The content of a sheet. */
export function trialSheetContent(input: TrialSheetInput): TrialSheetContent {
  const { plan, card } = input;
  const drawn = plan.trials.some(({ kind }) => kind !== 'rest') ? drawTrialChart(input, CHART.widthMm, CHART.heightMm) : null;
  return {
    title: input.name,
    subtitle: placeText(input.place, input.invented),
    facts: [
      card.name === ''
        ? { label: 'Boat', value: `${formatNumber(card.lengthM, 2)} m, ${formatNumber(card.massKg, 1)} kg`, note: 'no name on its card' }
        : { label: 'Boat', value: card.name, note: `${formatNumber(card.lengthM, 2)} m, ${formatNumber(card.massKg, 1)} kg` },
      { label: 'Trials', value: `${plan.trials.length}, about ${roughTime(plan.timeS)}`, note: plan.dischargeS > 0 ? `and the discharge, ${roughTime(plan.dischargeS)}` : 'with the ways between them' },
      { label: 'Energy', value: `about ${formatNumber(plan.energyWh)} Wh`, note: Number.isFinite(plan.batteryShare) ? `${formatShare(plan.batteryShare, 0)} of the battery` : '' },
      { label: 'Clear water kept', value: `${formatNumber(plan.clearanceM)} m on every side`, note: plan.longestStraightM > 0 ? `longest free straight ${formatNumber(plan.longestStraightM)} m, ${formatDirection(plan.longestHeadingDeg, 0)}` : '' },
    ],
    figure: drawn === null ? null : { svg: drawn.svg, ...CHART, alt: `Chart of the trials, ${input.name}` },
    caption: drawn === null ? '' : `Chart, ${formatScale(drawn.scale)} printed ${CHART.widthMm} mm wide; frame north up. Headings are true. Not for navigation.`,
    blanks: ['Date', 'Crew', 'Boat and load', 'Wind, from', 'Sea', 'Current, towards', 'Battery at start, at end', 'Log file'],
    cautions: [
      'Keep the boat in sight and within the link, and the order to stop at hand. Other craft first: the collision regulations and the rules of the harbour hold for uncrewed craft as for any other.',
      'Cold water and slippery ramps kill: never swim after a boat to bring it back.',
      'Lithium packs: charge them attended, use none that is damaged, keep salt water away from them.',
      'Protected sites, wrecks and habitat need a permit. This sheet knows no depths and no traffic: look before each run.',
    ],
    rows: plan.trials.map((trial) => rowOf(trial, plan.trials.find(({ why }) => why === trial.why)!.number)),
    how: alike(plan.trials, ({ how }) => how),
    shortfalls: plan.shortfalls.map(({ what, why, remedy }) => `${what}: ${why}; ${remedy}.`),
    notes: [
      'Start the log before the first trial and let it run to the end: the trials are found in it. A pass that went wrong is run again.',
      ...(plan.trials.some(({ expected95 }) => Number.isFinite(expected95)) ? ['Good to: how near the figure will be to the truth, 95 % of the time, once all passes are done.'] : []),
      ...alike(plan.trials, ({ log }) => log).map(({ numbers, text }) => `In the log of ${numbers}: ${text}.`),
      ...plan.notes,
    ],
    date: input.date,
  };
}

/** Times to five minutes, or a quarter of an hour above three hours. */
function roughTime(timeS: number): string {
  const step = timeS > 3 * 3600 ? 900 : 300;
  return formatDuration(Math.max(step, Math.round(timeS / step) * step)).replace(/ 00 (s|min)$/, '');
}

/** @param firstNumber of the first trial that gives the same */
function rowOf(trial: PlannedTrial, firstNumber: number): TrialSheetRow {
  const metres = (value: number): string => formatNumber(value, 0);
  const heading = Number.isNaN(trial.headingDeg) ? '' : formatDirection(trial.headingDeg, 0);
  const way =
    trial.kind === 'double-run' || trial.kind === 'zig-zag' || trial.kind === 'stop-astern'
      ? `${metres(trial.runUpM)} + ${metres(trial.lengthM)} m`
      : trial.kind === 'turning-circle'
        ? `${metres(trial.runUpM + trial.lengthM)} m + circle`
        : trial.lengthM > 0
          ? `${metres(trial.lengthM)} m`
          : '';
  return {
    number: String(trial.number),
    title: trial.title,
    gives: firstNumber === trial.number ? trial.why : `as ${firstNumber}`,
    command: trial.command.replace(/-(\d)/g, '\u2212$1'),
    heading: trial.reciprocal && heading !== '' ? `${heading} / ${formatDirection(trial.headingDeg + 180, 0)}` : heading,
    way,
    accuracy: Number.isFinite(trial.expected95) ? `±${formatNumber(100 * trial.expected95, trial.expected95 < 0.0995 ? 1 : 0)} %` : '',
    passes: formatNumber(trial.passes),
    ticks: trial.passes <= MOST_TICKS ? trial.passes : 1,
    time: formatDuration(Math.round(trial.durationS / 60) * 60).replace(/ 00 (s|min)$/, ''),
  };
}

/** One entry for all trials of which the same is said. */
function alike(trials: readonly PlannedTrial[], say: (trial: PlannedTrial) => string): TrialSheetContent['how'] {
  const byText = new Map<string, number[]>();
  for (const trial of trials) byText.set(say(trial), [...(byText.get(say(trial)) ?? []), trial.number]);
  return [...byText].map(([text, numbers]) => ({ numbers: numberSpans(numbers), text }));
}

/** The day a sheet is for, in words; empty where it is to be written in. */
export function sheetDay(date: TrialSheetContent['date']): string {
  return date === null ? '' : formatUtcDate(Date.UTC(date[0], date[1] - 1, date[2]) / 1000);
}
