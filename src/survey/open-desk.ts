import { readFile, rm } from 'node:fs/promises';
import { UseError } from '../base/errors.js';
import type { WorkContext } from '../base/progress.js';
import { formatUtc } from '../base/time.js';
import { writeAtomic } from './atomic-file.js';
import { checkBottomDecision } from './bottom-decisions.js';
import { checkFindDecision } from './find-decisions.js';
import { showColumns, withColumnCorrections, type ShownColumns } from './csv-columns.js';
import { refuseTooManySheets } from './chart-fit.js';
import type { BuildResult, Desk, SettingChange, TakeInResult } from './desk.js';
import { hashBytes } from './file-source.js';
import { PLACES, isThere, placeIn, readSettings, readTextIfThere } from './folder.js';
import { appendDecision, nextToRedo, nextToUndo, readJournal, standingDecisions } from './journal.js';
import { settingAt, settingsText, withSetting } from './load-settings.js';
import { withFolderLock } from './lock.js';
import { makeInstrumentSheet } from './make-instrument-sheet.js';
import { readManifest } from './manifest.js';
import { checkPlanText } from './plan-files.js';
import { planIntoFolder } from './plan-lines.js';
import type { Settings } from './settings.js';
import { runSteps, stepsUpTo, type StepWork } from './step-graph.js';
import { checkTrialWindow } from './step-boat.js';
import { STEPS } from './steps.js';
import { summarise } from './summarise.js';
import { checkHypothesisChoice } from './hypotheses-file.js';
import { keepWaterFile } from './take-water.js';
import { checkTrialDecision } from './trial-decisions.js';
import type { Decision, JournalEntry, SurveySummary } from './summary.js';
import { readColumnsAnew, takeInFile } from './take-in.js';

/** A desk with what only the command line asks for. */
export interface FullDesk extends Desk {
  /** As planLines, with the reasons for the plan and what to look at. */
  planLinesWithReasons(context?: WorkContext): Promise<{ summary: SurveySummary; why: readonly string[]; notes: readonly string[] }>;
  /** As takeIn, with corrections to how CSV columns are read, e.g. `Tiefe=depth ft`; they are remembered. */
  takeInWith(paths: readonly string[], corrections: readonly string[], context?: WorkContext): Promise<readonly TakeInResult[]>;
  /** How the columns of CSV files would be read. */
  showColumns(paths: readonly string[], corrections: readonly string[]): Promise<readonly ShownColumns[]>;
}

/** Where replaced plan files are kept, by hash, so that an undo can bring them back. */
function historyPlace(sha256: string): string {
  return `plan/history/${sha256.slice(0, 16)}.geojson`;
}

/** The survey as steps see it now. */
export async function stepWork(folder: string, context: WorkContext): Promise<StepWork> {
  const settings = await readSettings(folder);
  const { logs } = await readManifest(folder);
  const { entries } = await readJournal(placeIn(folder, PLACES.journal));
  return { folder, settings, logs, decisions: standingDecisions(entries), context, memory: new Map() };
}

/**
 * Opens a survey folder for work.
 * @throws UseError where it is not a survey folder, is damaged, or is from a newer version
 */
export async function openDesk(folder: string, now: () => number = Date.now): Promise<FullDesk> {
  await readSettings(folder);
  const journalFile = placeIn(folder, PLACES.journal);
  const stamp = (): string => formatUtc(Math.floor(now() / 1000));
  // One piece of work at a time in this process; the lock keeps other processes off.
  let queue: Promise<unknown> = Promise.resolve();
  const locked = <T>(work: () => Promise<T>): Promise<T> => {
    const mine = queue.then(() => withFolderLock(folder, work));
    queue = mine.catch(() => undefined);
    return mine;
  };

  const writeSettings = (settings: Settings): Promise<string> => writeAtomic(placeIn(folder, PLACES.settings), settingsText(settings));
  const summary = async (): Promise<SurveySummary> => summarise(await stepWork(folder, {}));

  /** Settings that no step could go by are refused before anything is stored. */
  const refuseUnmakeable = async (now: Settings, changed: Settings): Promise<void> => {
    if (JSON.stringify(now.products) !== JSON.stringify(changed.products)) await refuseTooManySheets(await stepWork(folder, {}), changed);
  };

  const setNow = async (path: string, value: unknown): Promise<void> => {
    const settings = await readSettings(folder);
    const from = settingAt(settings, path);
    const changed = withSetting(settings, path, value);
    const to = settingAt(changed, path);
    if (JSON.stringify(from) === JSON.stringify(to)) return;
    await refuseUnmakeable(settings, changed);
    await writeSettings(changed);
    await appendDecision(journalFile, { kind: 'settings', path, from: from ?? null, to: to ?? null }, stamp());
  };

  const setTogetherNow = async (changes: readonly SettingChange[], what: string): Promise<void> => {
    const settings = await readSettings(folder);
    const changed = changes.reduce((now, { path, value }) => withSetting(now, path, value), settings);
    const told = changes
      .map(({ path }) => ({ path, from: settingAt(settings, path) ?? null, to: settingAt(changed, path) ?? null }))
      .filter(({ from, to }) => JSON.stringify(from) !== JSON.stringify(to));
    if (told.length === 0) return;
    await refuseUnmakeable(settings, changed);
    await writeSettings(changed);
    await appendDecision(journalFile, { kind: 'settings-together', what, changes: told }, stamp());
  };

  const replaceFile = async (place: string, text: string | null): Promise<{ from: string | null; to: string | null }> => {
    const before = await readTextIfThere(placeIn(folder, place));
    if (before !== null) await writeAtomic(placeIn(folder, historyPlace(hashBytes(before))), before);
    if (text === null) await rm(placeIn(folder, place), { force: true });
    else await writeAtomic(placeIn(folder, place), text);
    return { from: before === null ? null : hashBytes(before), to: text === null ? null : hashBytes(text) };
  };

  /** Makes the folder as it was before a decision, or as it was after it. */
  const apply = async (entry: JournalEntry, direction: 'back' | 'again'): Promise<void> => {
    if (entry.kind === 'settings') {
      await writeSettings(withSetting(await readSettings(folder), entry.path, direction === 'back' ? entry.from : entry.to));
    } else if (entry.kind === 'settings-together') {
      const settings = await readSettings(folder);
      await writeSettings(entry.changes.reduce((now, { path, from, to }) => withSetting(now, path, direction === 'back' ? from : to), settings));
    } else if (entry.kind === 'file') {
      const sha256 = direction === 'back' ? entry.fromSha256 : entry.toSha256;
      if (sha256 === null) {
        await replaceFile(entry.path, null);
        return;
      }
      const kept = placeIn(folder, historyPlace(sha256));
      if (!(await isThere(kept))) throw new UseError(`${entry.path}: the earlier content is no longer under plan/history; put the file in again`, { path: entry.path });
      await replaceFile(entry.path, await readFile(kept, 'utf8'));
    }
  };

  const planNow = async (context: WorkContext) => {
    const settings = await readSettings(folder);
    return planIntoFolder(folder, settings, context);
  };

  const takeInWith: FullDesk['takeInWith'] = (paths, corrections, context = {}) =>
    locked(async () => {
      const results: TakeInResult[] = [];
      for (const [index, file] of paths.entries()) {
        const remembered = await withColumnCorrections(await readSettings(folder), file, corrections);
        const inner: WorkContext = { ...context, progress: (step, done, detail) => context.progress?.(step, (index + (Number.isFinite(done) ? done : 0)) / paths.length, detail) };
        const result = await takeInFile(folder, remembered.settings, file, now() / 1000, inner);
        if (result.outcome === 'already-there' && remembered.changed) {
          results.push(await readColumnsAnew(folder, remembered.settings, result, inner));
          if (results[results.length - 1]!.outcome !== 'refused') await setNow('columns', remembered.settings.columns);
          continue;
        }
        results.push(result);
        if (result.outcome === 'taken-in' && remembered.changed) await setNow('columns', remembered.settings.columns);
      }
      return results;
    });

  return {
    folder,
    summary,
    journal: async () => (await readJournal(journalFile)).entries,
    takeIn: (paths, context = {}) => takeInWith(paths, [], context),
    takeInWith,
    showColumns: async (paths, corrections) => {
      const settings = await readSettings(folder);
      return Promise.all(paths.map((file) => showColumns(settings, file, corrections)));
    },
    build: (context = {}, upTo) =>
      locked(async (): Promise<BuildResult> => {
        const work = await stepWork(folder, context);
        const { ran, fresh } = await runSteps(stepsUpTo(STEPS, upTo), work, now);
        return { ran, fresh, summary: await summary() };
      }),
    decide: (decision: Decision) =>
      locked(async () => {
        if (decision.kind === 'trial') {
          checkTrialDecision(decision);
          await checkTrialWindow(await stepWork(folder, {}), decision);
          return appendDecision(journalFile, decision, stamp());
        }
        if (decision.kind === 'hypothesis') {
          checkHypothesisChoice(decision);
          return appendDecision(journalFile, decision, stamp());
        }
        if (decision.kind === 'find') {
          checkFindDecision(decision);
          return appendDecision(journalFile, decision, stamp());
        }
        if (decision.kind === 'bottom') {
          checkBottomDecision(decision);
          return appendDecision(journalFile, decision, stamp());
        }
        if (decision.kind !== 'set-aside' && decision.kind !== 'restore') {
          throw new UseError(`kind: expected set-aside, restore, trial, hypothesis, bottom or find, found ${JSON.stringify(decision.kind)}; settings and files have calls of their own`, { path: 'kind' });
        }
        checkRefs(decision.soundings);
        return appendDecision(journalFile, decision, stamp());
      }),
    undo: () =>
      locked(async () => {
        const entry = nextToUndo((await readJournal(journalFile)).entries);
        if (entry === null) return null;
        await apply(entry, 'back');
        await appendDecision(journalFile, { kind: 'undo', entry: entry.number }, stamp());
        return entry;
      }),
    redo: () =>
      locked(async () => {
        const entry = nextToRedo((await readJournal(journalFile)).entries);
        if (entry === null) return null;
        await apply(entry, 'again');
        await appendDecision(journalFile, { kind: 'redo', entry: entry.number }, stamp());
        return entry;
      }),
    set: (path, value) => locked(() => setNow(path, value)),
    setTogether: (changes, what) => locked(() => setTogetherNow(changes, what)),
    takeWater: (use, name, bytes) =>
      locked(async () => {
        const { file, change, notes } = await keepWaterFile(folder, await readSettings(folder), use, name, bytes);
        const what = `${use === 'level' ? 'water level' : 'sound speed'} from ${file}`;
        await setTogetherNow([change], what);
        return [`${what}.`, ...notes].join(' ');
      }),
    writePlan: (file, geojson) =>
      locked(async () => {
        const text = checkPlanText(geojson, file);
        const { from, to } = await replaceFile(PLACES[file], text);
        if (to !== null) await writeAtomic(placeIn(folder, historyPlace(to)), text);
        if (from !== to) await appendDecision(journalFile, { kind: 'file', path: PLACES[file], fromSha256: from, toSha256: to }, stamp());
      }),
    instrumentSheet: (context = {}) => locked(async () => makeInstrumentSheet(folder, await readSettings(folder), context)),
    planLines: (context = {}) => locked(async () => (await planNow(context), summary())),
    planLinesWithReasons: (context = {}) =>
      locked(async () => {
        const { why, notes } = await planNow(context);
        return { summary: await summary(), why, notes };
      }),
  };
}

function checkRefs(refs: unknown): void {
  if (!Array.isArray(refs) || refs.length === 0) throw new UseError('soundings: expected at least one stretch of records', { path: 'soundings' });
  refs.forEach((ref: unknown, index) => {
    const { log, recordStart, recordEnd } = (ref ?? {}) as { log?: unknown; recordStart?: unknown; recordEnd?: unknown };
    const whole = (value: unknown): value is number => Number.isInteger(value) && (value as number) >= 0 && (value as number) <= 0xffffffff;
    if (typeof log !== 'string' || !/^[0-9a-f]{16}$/.test(log)) throw new UseError(`soundings[${index}].log: expected 16 hex digits of a log's sha-256, found ${JSON.stringify(log)}`, { path: 'soundings' });
    if (!whole(recordStart) || !whole(recordEnd) || recordEnd <= recordStart) {
      throw new UseError(`soundings[${index}]: expected recordStart < recordEnd, found ${JSON.stringify(recordStart)} and ${JSON.stringify(recordEnd)}`, { path: 'soundings' });
    }
  });
}
