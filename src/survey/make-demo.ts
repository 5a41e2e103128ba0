import { closeSync, mkdirSync, openSync, writeSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import path from 'node:path';
import { throwIfCancelled, type WorkContext } from '../base/progress.js';
import { runEnds } from '../lines/line-plan.js';
import { DEMO_TRIALS_LOG, demoSurvey, demoTrials, proveSurvey, type ProvingChanges } from '../proving/index.js';
import type { ProvingSize, ProvingSurvey, RunLine } from '../proving/proving-survey.js';
import type { Truth } from '../proving/truth.js';
import { TEMPORARY_PREFIX, writeAtomic } from './atomic-file.js';
import { createFolder, placeIn, readSettings } from './folder.js';
import { openDesk, type FullDesk } from './open-desk.js';
import { linesAsPlanned } from './planned-lines.js';
import type { SettingsInput } from './settings.js';
import { needFrame } from './survey-frame.js';
import { plainSystemError } from './system-errors.js';
import { writeSideScans } from './write-side-scans.js';

/** A survey made on the proving ground, its logs taken in, nothing built yet. */
export interface ProvedFolder {
  readonly desk: FullDesk;
  readonly survey: ProvingSurvey;
  readonly truth: Truth;
}

/** The lines of the folder, with run-in and run-out, in the order they are planned: the invented crew run what stands in the plan. */
async function plannedLines(folder: string): Promise<RunLine[]> {
  const settings = await readSettings(folder);
  const plan = await linesAsPlanned(folder, settings, await needFrame(folder, settings));
  const byNumber = new Map([...plan.main, ...plan.cross].map((line) => [line.number, line]));
  return plan.order.map((number) => {
    const { fromXM, fromYM, toXM, toYM } = runEnds(byNumber.get(number)!);
    return { path: [fromXM, fromYM, toXM, toYM], speedMps: settings.lines.speedMps };
  });
}

/**
 * Makes a survey folder on the proving ground: plan, water, lines by Tallow's own planner, logs of an invented boat that
 * ran them, taken in as any log.
 */
export async function makeProvingFolder(folder: string, survey: ProvingSurvey, context: WorkContext): Promise<ProvedFolder> {
  await createFolder(folder, survey.settings as unknown as SettingsInput);
  for (const [place, text] of Object.entries(survey.files)) await writeAtomic(placeIn(folder, place), text);
  const desk = await openDesk(folder);
  context.progress?.('lines', 0.02, 'planning');
  await desk.planLines({});
  throwIfCancelled(context.signal);
  context.progress?.('running the lines', 0.05, 'invented boat');
  const logFolder = path.join(folder, `${TEMPORARY_PREFIX}logs`);
  const handles = new Map<string, number>();
  let truth: Truth;
  try {
    mkdirSync(logFolder, { recursive: true });
    const lines = await plannedLines(folder);
    truth = survey.writeLogs(lines, (name, bytes) => {
      let handle = handles.get(name);
      if (handle === undefined) {
        handle = openSync(path.join(logFolder, path.basename(name)), 'w');
        handles.set(name, handle);
      }
      for (let at = 0; at < bytes.byteLength; ) at += writeSync(handle, bytes, at);
    });
    for (const handle of handles.values()) closeSync(handle);
    handles.clear();
    const scans = await writeSideScans(logFolder, survey.sideScans(lines), context);
    await desk.takeIn([...survey.logFiles.map((name) => path.join(logFolder, name)), ...scans], context);
  } catch (error) {
    for (const handle of handles.values()) closeSync(handle);
    throw plainSystemError(error, folder);
  } finally {
    await rm(logFolder, { recursive: true, force: true });
  }
  return { desk, survey, truth };
}

/** The demo: Hollin Sound, invented, with sea trials the day before. The same seed makes the same folder but for the times it was made at. */
export async function makeDemo(folder: string, seed: number | undefined, context: WorkContext): Promise<ProvedFolder> {
  const made = await makeProvingFolder(folder, seed === undefined ? demoSurvey() : demoSurvey(seed), context);
  const { gnss } = await readSettings(folder);
  const named = path.join(folder, `${TEMPORARY_PREFIX}trials`, DEMO_TRIALS_LOG);
  try {
    mkdirSync(path.dirname(named), { recursive: true });
    await writeAtomic(named, demoTrials(gnss.antenna.forwardM, gnss.latencyS));
    await made.desk.takeIn([named], context);
  } catch (error) {
    throw plainSystemError(error, folder);
  } finally {
    await rm(path.dirname(named), { recursive: true, force: true });
  }
  return made;
}

/** A survey for proving, of a seed and size, with other instruments, waters and errors where wanted. */
export function makeProof(folder: string, seed: number, size: ProvingSize, context: WorkContext, changes: ProvingChanges = {}): Promise<ProvedFolder> {
  return makeProvingFolder(folder, proveSurvey(seed, size, changes), context);
}
