import type { BoatCard } from '../boat/boat-card.js';
import { boatModel, type BoatModel } from '../boat/boat-model.js';
import { checkLog, type LogFault } from '../boat/check-log.js';
import { findTrials } from '../boat/find-trials.js';
import { trialWindow } from '../boat/find-window.js';
import { legLines } from '../boat/leg-lines.js';
import { makeCard } from '../boat/make-card.js';
import type { IntendedLine } from '../boat/track-keeping.js';
import type { Trial, TrialKind, TrialLog } from '../boat/trial-log.js';
import { UseError, isExpectedError } from '../base/errors.js';
import { throwIfCancelled } from '../base/progress.js';
import { formatUtc } from '../base/time.js';
import type { Frame } from '../geo/frame.js';
import { writeParquet, type Column } from '../formats/parquet-columns.js';
import { makeAtomic, writeMade } from './atomic-file.js';
import { BOAT_FIGURES, CARD_PLACE, TRIAL_LOG_PLACE, TRIAL_PLAN_PLACE, TRIALS_PLACE } from './boat-places.js';
import { PLACES, placeIn, readTextIfThere } from './folder.js';
import { magneticVariationDeg } from './magnetic-variation.js';
import { readLineFeatures } from './plan-files.js';
import type { Settings } from './settings.js';
import type { Made, Step, StepWork } from './step-graph.js';
import { observationsOf } from './step-observations.js';
import type { BoatSummary, TrialDecision } from './summary.js';
import { needFrame } from './survey-frame.js';
import { decideTrials } from './trial-decisions.js';
import { trialLogFrom, trialLogs, type ReadLog } from './trials-log.js';

/** derived/trials.json. Rows of the trials index derived/trial-log.parquet. */
export interface TrialsFile {
  readonly format: 'tallow-trials';
  readonly version: 1;
  readonly logs: readonly string[];
  readonly convergenceDeg: number;
  readonly trials: readonly Trial[];
  readonly dropped: readonly Trial[];
  readonly faults: readonly LogFault[];
  /** Planned lines that straight legs were to keep, by id of the leg. */
  readonly lines: Readonly<Record<string, IntendedLine>>;
  readonly notes: readonly string[];
}

/** Columns of derived/trial-log.parquet, beside latDeg and lonDeg. */
const COLUMNS = ['timeS', 'xM', 'yM', 'sigmaM', 'headingDeg', 'speedThroughWaterMps', 'thrusterPortPct', 'thrusterStarboardPct', 'batteryVoltageV', 'batteryCurrentA'] as const;

/** A day of trials: log and file; null where no log holds trials. */
interface TrialDay {
  readonly log: TrialLog;
  readonly frame: Frame;
  readonly file: TrialsFile;
}

/** The logs that hold trials, as one log; null where there are none. */
async function readTrialLog(work: StepWork): Promise<{ readonly chosen: readonly ReadLog[]; readonly frame: Frame; readonly log: TrialLog } | null> {
  const { settings } = work;
  checkNames(settings, work);
  if (work.logs.length === 0) return null;
  const observations = await observationsOf(work);
  const all = work.logs.map((entry, i) => ({ entry, observations: observations[i]! }));
  const chosen = trialLogs(all, settings.boat.trialLogs);
  if (chosen.length === 0) return null;
  const frame = await needFrame(work.folder, settings, work.logs);
  return { chosen, frame, log: trialLogFrom(chosen, all, frame, settings, magneticVariationDeg) };
}

/**
 * A window that the log of trials cannot carry is refused before it is a decision.
 * @throws UseError saying why, and which times the log has
 */
export async function checkTrialWindow(work: StepWork, { change, trialKind, startS, endS }: TrialDecision): Promise<void> {
  if (change === 'drop') return;
  const day = await readTrialLog(work);
  if (day === null) throw new UseError('there is no log of trials yet: take one in first, with tallow trials FOLDER LOG');
  try {
    trialWindow(day.log, trialKind, startS, endS, 'hand');
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    const { n, timeS } = day.log;
    const span = n === 0 ? 'it has no positions' : `it runs from ${formatUtc(timeS[0]!)} to ${formatUtc(timeS[n - 1]!)}`;
    throw new UseError(`${change === 'add' ? 'a trial' : 'the trial moved'} to ${formatUtc(startS)}/${formatUtc(endS)}: ${error.message}; ${day.chosen.map(({ entry }) => entry.file).join(', ')}: ${span}; nothing was changed`);
  }
}

/** @throws UseError where boat.trialLogs names a log that is not there */
function checkNames(settings: Settings, work: StepWork): void {
  const { trialLogs: names } = settings.boat;
  if (names === 'auto') return;
  const missing = names.find((name) => !work.logs.some((log) => log.file === name));
  if (missing !== undefined) {
    throw new UseError(`survey.json: boat.trialLogs: there is no log ${JSON.stringify(missing)}; logs are: ${work.logs.map((log) => log.file).join(', ') || 'none yet'}`, { path: 'boat.trialLogs' });
  }
}

async function trialDay(work: StepWork): Promise<TrialDay | null> {
  const { settings } = work;
  const day = await readTrialLog(work);
  if (day === null) return null;
  const { chosen, frame, log } = day;
  const logs = chosen.map(({ entry }) => entry.file);
  work.context.progress?.('boat', 0.3, 'finding the trials');
  throwIfCancelled(work.context.signal);
  const { trials, dropped, notes } = decideTrials(log, findTrials(log), work.decisions);
  const lines = legLines(log, trials, await intendedLines(work.folder, frame));
  const own = [...notes];
  if (log.n === 0) own.push(`${logs.join(', ')}: no positions in it, nor in another log of the same time: without positions nothing can be said of the boat's motion`);
  else if (trials.length === 0) own.push(`${logs.join(', ')}: no trial was found in it: draw one on the time strip, or see which trials the card lacks`);
  const magnetic = chosen.some(({ observations: { series } }) => (series.headingMagneticDeg?.n ?? 0) > 0) && !chosen.some(({ observations: { series } }) => (series.headingTrueDeg?.n ?? 0) > 0);
  if (magnetic && log.n > 0) own.push(variationNote(settings, log, frame));
  return { log, frame, file: { format: 'tallow-trials', version: 1, logs, convergenceDeg: log.convergenceDeg, trials, dropped, faults: log.n === 0 ? [] : checkLog(log), lines, notes: own } };
}

function variationNote(settings: Settings, log: TrialLog, frame: Frame): string {
  const { variationDeg } = settings.heading;
  if (variationDeg !== null) return `the compass is magnetic: a variation of ${variationDeg.toFixed(1)} degrees (heading.variationDeg) is added`;
  const middle = log.n >> 1;
  const [latDeg, lonDeg] = frame.toGeographic(log.xM[middle]!, log.yM[middle]!);
  const model = magneticVariationDeg(latDeg, lonDeg, log.timeS[middle]!);
  return model === null
    ? 'the compass is magnetic and the variation is not known on that date: headings are not used; set heading.variationDeg'
    : `the compass is magnetic: a variation of ${model.toFixed(1)} degrees from the World Magnetic Model of the date is added; heading.variationDeg takes another`;
}

/** Lines that were planned, of the survey and of trials. */
async function intendedLines(folder: string, frame: Frame): Promise<IntendedLine[]> {
  const planned = ((await readLineFeatures(folder)) ?? []).map(({ lonLat }) => lonLat);
  const trials = await readTextIfThere(placeIn(folder, TRIAL_PLAN_PLACE));
  if (trials !== null) planned.push(...straightFeatures(trials));
  return planned.map((lonLat) => {
    const [fromXM, fromYM] = frame.toFrame(lonLat[1]!, lonLat[0]!);
    const [toXM, toYM] = frame.toFrame(lonLat[lonLat.length - 1]!, lonLat[lonLat.length - 2]!);
    return { fromXM, fromYM, toXM, toYM };
  });
}

function straightFeatures(text: string): number[][] {
  let value: { features?: readonly { geometry?: { type?: string; coordinates?: readonly (readonly number[])[] } }[] };
  try {
    value = JSON.parse(text);
  } catch (error) {
    throw new UseError(`${TRIAL_PLAN_PLACE}: not valid JSON: ${(error as Error).message}; remove it, or make it again with: tallow trials FOLDER --plan`, { path: TRIAL_PLAN_PLACE });
  }
  return (value.features ?? []).flatMap(({ geometry }) => (geometry?.type === 'LineString' && geometry.coordinates?.length === 2 ? [geometry.coordinates.flatMap(([lon, lat]) => [Number(lon), Number(lat)])] : []));
}

/** The boat card as settings and logs make it. @throws UseError where a figure entered by hand is unknown */
function cardFrom(settings: Settings, day: TrialDay | null): BoatCard {
  try {
    return day === null || day.log.n === 0 ? makeCard(settings.boat) : makeCard(day.log, day.file.trials, { ...settings.boat, lines: day.file.lines });
  } catch (error) {
    throw error instanceof RangeError ? new UseError(`survey.json: ${error.message}`, { path: 'boat.hand' }) : error;
  }
}

/** The boat card as it stands in the folder; NaN where a number is not known. */
export async function readCard(folder: string): Promise<BoatCard> {
  const text = await readTextIfThere(placeIn(folder, CARD_PLACE));
  if (text === null) throw new UseError(`${CARD_PLACE}: not made yet; run: tallow trials ${folder}`, { path: CARD_PLACE });
  return JSON.parse(text, (key, value: unknown) => (value === null && NUMBERS.has(key) ? NaN : value)) as BoatCard;
}

/** The boat of a survey; null where there is no card yet, or it says too little. */
export async function boatIfAny(folder: string): Promise<BoatModel | null> {
  try {
    return boatModel(await readCard(folder));
  } catch (error) {
    if (isExpectedError(error)) return null;
    throw error;
  }
}

/** Keys whose value is a number: NaN is written as null. */
const NUMBERS = new Set(['value', 'uncertainty95', 'atSpeedMps', 'commandPct', 'startS', 'endS']);

/** The trials as they stand in the folder; null where there are none. */
export async function readTrials(folder: string): Promise<TrialsFile | null> {
  const text = await readTextIfThere(placeIn(folder, TRIALS_PLACE));
  return text === null ? null : (JSON.parse(text, (key, value: unknown) => (value === null && (key === 'courseDeg' || key === 'commandPct' || key === 'speedMps') ? NaN : value)) as TrialsFile);
}

function figuresOf(card: BoatCard, day: TrialDay | null): BoatSummary {
  const count = { trials: 0, hand: 0, default: 0 };
  for (const figure of Object.values(card.figures)) if (figure !== null) count[figure.source]++;
  const { topSpeed } = card.figures;
  const kinds: Partial<Record<TrialKind, number>> = {};
  for (const { kind } of day?.file.trials ?? []) kinds[kind] = (kinds[kind] ?? 0) + 1;
  return {
    name: card.name,
    figures: count,
    missing: card.missing.length,
    refused: card.refused.length,
    topSpeed: topSpeed === null ? null : { value: topSpeed.value, uncertainty95: topSpeed.uncertainty95, source: topSpeed.source },
    trials:
      day === null
        ? null
        : {
            logs: day.file.logs,
            count: day.file.trials.length,
            byHand: day.file.trials.filter(({ by }) => by === 'hand').length,
            dropped: day.file.dropped.length,
            seconds: day.log.n > 0 ? Math.round(day.log.timeS[day.log.n - 1]! - day.log.timeS[0]!) : 0,
            kinds,
          },
  };
}

async function write(folder: string, place: string, value: unknown): Promise<{ sha256: string; bytes: number }> {
  const text = `${JSON.stringify(value, null, 2)}\n`;
  return writeMade(placeIn(folder, place), text);
}

async function writeLog(folder: string, { log, frame }: TrialDay): Promise<{ sha256: string; bytes: number }> {
  const latDeg = new Float64Array(log.n);
  const lonDeg = new Float64Array(log.n);
  for (let i = 0; i < log.n; i++) [latDeg[i], lonDeg[i]] = frame.toGeographic(log.xM[i]!, log.yM[i]!);
  const columns: Column[] = [...COLUMNS.map((name) => ({ name, data: log[name] })), { name: 'latDeg', data: latDeg }, { name: 'lonDeg', data: lonDeg }];
  return makeAtomic(placeIn(folder, TRIAL_LOG_PLACE), (sink) => writeParquet(sink, columns));
}

export const stepBoat: Step = {
  name: 'boat',
  version: 2,
  after: ['observations'],
  settings: ['boat', 'frame', 'time.loggerOffsetS', 'gnss', 'heading'],
  files: () => [PLACES.area, PLACES.lines, TRIAL_PLAN_PLACE],
  extra: (work) => JSON.stringify([work.logs.map(({ file, sha256 }) => [file, sha256]), work.decisions.filter(({ kind }) => kind === 'trial')]),
  async run(work): Promise<Made> {
    const day = await trialDay(work);
    const card = cardFrom(work.settings, day);
    work.memory.set('boat', card);
    const made: Record<string, { sha256: string; bytes: number }> = {
      [CARD_PLACE]: await write(work.folder, CARD_PLACE, card),
      [BOAT_FIGURES]: await write(work.folder, BOAT_FIGURES, figuresOf(card, day)),
    };
    if (day !== null) {
      made[TRIALS_PLACE] = await write(work.folder, TRIALS_PLACE, day.file);
      made[TRIAL_LOG_PLACE] = await writeLog(work.folder, day);
    }
    return made;
  },
};
