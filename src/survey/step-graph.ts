import { readFile, rm, stat } from 'node:fs/promises';
import { throwIfCancelled, type WorkContext } from '../base/progress.js';
import { UseError } from '../base/errors.js';
import { writeAtomic } from './atomic-file.js';
import { hashBytes, hashFile } from './file-source.js';
import { placeIn, readTextIfThere } from './folder.js';
import { settingAt } from './load-settings.js';
import type { Settings } from './settings.js';
import type { JournalEntry, LogEntry, StepState } from './summary.js';

/** What a step is given: the survey as it stands, and what earlier steps of this run left in memory. */
export interface StepWork {
  readonly folder: string;
  readonly settings: Settings;
  readonly logs: readonly LogEntry[];
  readonly decisions: readonly JournalEntry[];
  readonly context: WorkContext;
  /** Results of earlier steps of this run, by step name: saves reading a file that was just written. */
  readonly memory: Map<string, unknown>;
}

/** What a step has made: places in the folder with their hashes. */
export type Made = Readonly<Record<string, { readonly sha256: string; readonly bytes: number }>>;

/** One step of the survey: a pure function of files, settings and decisions to files. */
export interface Step {
  readonly name: string;
  /** Raised whenever the same inputs would give other bytes. */
  readonly version: number;
  /** Steps that must be fresh first; what they made is an input. */
  readonly after: readonly string[];
  /** Dotted paths of the settings it reads. */
  readonly settings: readonly string[];
  /** Files it reads beside what earlier steps made; a missing one counts as such. */
  files(work: StepWork): readonly string[];
  /** Anything else it depends on, as text, e.g. the logs' hashes or the decisions. */
  extra?(work: StepWork): string;
  run(work: StepWork): Promise<Made>;
}

/** derived/<step>.made.json: what a step's files were made from. */
export interface MadeRecord {
  readonly step: string;
  readonly version: number;
  readonly inputs: Readonly<Record<string, string>>;
  readonly settings: Readonly<Record<string, unknown>>;
  readonly key: string;
  readonly outputs: Made;
}

/** Where a step's record stands. */
export function madePlace(step: string): string {
  return `derived/${step}.made.json`;
}

/** Where the time that steps took is noted; not part of what a rebuild must give again. */
export const TIMINGS_PLACE = 'derived/timings.json';

async function readMade(folder: string, step: string): Promise<MadeRecord | null> {
  const text = await readTextIfThere(placeIn(folder, madePlace(step)));
  if (text === null) return null;
  try {
    return JSON.parse(text) as MadeRecord;
  } catch {
    return null;
  }
}

async function hashIfThere(file: string): Promise<string> {
  const there = await stat(file).catch(() => null);
  return there === null || !there.isFile() ? 'none' : hashFile(file);
}

interface Wanted {
  readonly inputs: Record<string, string>;
  readonly settings: Record<string, unknown>;
  readonly key: string;
}

async function wantedFor(step: Step, work: StepWork, made: ReadonlyMap<string, MadeRecord>): Promise<Wanted> {
  const inputs: Record<string, string> = {};
  for (const place of step.files(work)) inputs[place] = await hashIfThere(placeIn(work.folder, place));
  for (const earlier of step.after) {
    for (const [place, output] of Object.entries(made.get(earlier)?.outputs ?? {})) inputs[place] = output.sha256;
  }
  if (step.extra !== undefined) inputs['(survey)'] = hashBytes(step.extra(work));
  const settings: Record<string, unknown> = {};
  for (const dotted of step.settings) settings[dotted] = settingAt(work.settings, dotted) ?? null;
  return { inputs, settings, key: hashBytes(JSON.stringify([step.name, step.version, inputs, settings])) };
}

async function outputsStand(folder: string, record: MadeRecord): Promise<boolean> {
  for (const [place, output] of Object.entries(record.outputs)) {
    const there = await stat(placeIn(folder, place)).catch(() => null);
    if (there === null || there.size !== output.bytes) return false;
  }
  return true;
}

function becauseOf(record: MadeRecord | null, wanted: Wanted, step: Step): string {
  if (record === null) return 'not made yet';
  if (record.version !== step.version) return `made by an earlier version of this step (${record.version}, now ${step.version})`;
  for (const [place, sha] of Object.entries(wanted.inputs)) {
    if (record.inputs[place] !== sha) return place === '(survey)' ? 'logs or decisions changed' : `${place} changed`;
  }
  for (const [dotted, value] of Object.entries(wanted.settings)) {
    if (JSON.stringify(record.settings[dotted]) !== JSON.stringify(value)) return `setting ${dotted} changed`;
  }
  return 'a file it made is missing or changed';
}

/** The steps up to and including one, each after all it needs. */
export function stepsUpTo(steps: readonly Step[], upTo: string | undefined): Step[] {
  if (upTo === undefined) return [...steps];
  const wanted = new Set<string>();
  const visit = (name: string): void => {
    const step = steps.find((one) => one.name === name);
    if (step === undefined) throw new UseError(`there is no step ${name}; steps are: ${steps.map((one) => one.name).join(', ')}`);
    if (wanted.has(name)) return;
    wanted.add(name);
    step.after.forEach(visit);
  };
  visit(upTo);
  return steps.filter((step) => wanted.has(step.name));
}

/** What each step's state is, without running anything. A step after a stale one is stale. */
export async function stepStates(steps: readonly Step[], work: StepWork): Promise<StepState[]> {
  const made = new Map<string, MadeRecord>();
  const states: StepState[] = [];
  for (const step of steps) {
    const record = await readMade(work.folder, step.name);
    const waiting = step.after.find((name) => states.find((state) => state.step === name)?.state !== 'fresh');
    const wanted = await wantedFor(step, work, made);
    const stands = record !== null && record.key === wanted.key && (await outputsStand(work.folder, record));
    if (record !== null) made.set(step.name, record);
    if (waiting === undefined && stands) states.push({ step: step.name, state: 'fresh', because: '' });
    else {
      const because = waiting === undefined ? becauseOf(record, wanted, step) : `${waiting} is to be made first`;
      states.push({ step: step.name, state: record === null ? 'missing' : 'stale', because });
    }
  }
  return states;
}

/**
 * Runs every step that is not fresh, in order. What a step made is recorded only when it has ended without an error.
 * @returns the steps that ran with the seconds they took, and those that were fresh
 */
export async function runSteps(steps: readonly Step[], work: StepWork, now: () => number): Promise<{ ran: { step: string; seconds: number }[]; fresh: string[] }> {
  const made = new Map<string, MadeRecord>();
  const ran: { step: string; seconds: number }[] = [];
  const fresh: string[] = [];
  for (const [index, step] of steps.entries()) {
    throwIfCancelled(work.context.signal);
    const record = await readMade(work.folder, step.name);
    const wanted = await wantedFor(step, work, made);
    if (record !== null && record.key === wanted.key && (await outputsStand(work.folder, record))) {
      made.set(step.name, record);
      fresh.push(step.name);
      continue;
    }
    const share = (done: number): number => (index + (Number.isFinite(done) ? done : 0)) / steps.length;
    work.context.progress?.(step.name, share(0));
    const began = now();
    const inner: StepWork = {
      ...work,
      context: {
        ...(work.context.signal === undefined ? {} : { signal: work.context.signal }),
        progress: (_name, done, detail) => work.context.progress?.(step.name, share(done), detail),
        pause: () =>
          new Promise((resolve) => {
            setImmediate(resolve);
          }),
      },
    };
    const outputs = await step.run(inner);
    for (const place of Object.keys(record?.outputs ?? {})) {
      if (!(place in outputs)) await rm(placeIn(work.folder, place), { force: true });
    }
    const fresher: MadeRecord = { step: step.name, version: step.version, inputs: wanted.inputs, settings: wanted.settings, key: wanted.key, outputs };
    await writeAtomic(placeIn(work.folder, madePlace(step.name)), `${JSON.stringify(fresher, null, 2)}\n`);
    made.set(step.name, fresher);
    ran.push({ step: step.name, seconds: (now() - began) / 1000 });
  }
  if (ran.length > 0) await noteTimings(work.folder, ran);
  return { ran, fresh };
}

async function noteTimings(folder: string, ran: readonly { step: string; seconds: number }[]): Promise<void> {
  const file = placeIn(folder, TIMINGS_PLACE);
  const before = await readFile(file, 'utf8').then(
    (text) => JSON.parse(text) as Record<string, number>,
    () => ({}),
  );
  const merged: Record<string, number> = { ...before };
  for (const { step, seconds } of ran) merged[step] = Math.round(seconds * 1000) / 1000;
  await writeAtomic(file, `${JSON.stringify(merged, null, 2)}\n`);
}

/** Checks that every file of every record still has the hash it was made with. */
export async function checkMade(steps: readonly Step[], folder: string): Promise<{ readonly checked: number; readonly faults: readonly string[] }> {
  const faults: string[] = [];
  let checked = 0;
  for (const step of steps) {
    const record = await readMade(folder, step.name);
    if (record === null) continue;
    for (const [place, output] of Object.entries(record.outputs)) {
      const sha = await hashIfThere(placeIn(folder, place));
      checked++;
      if (sha === 'none') faults.push(`${place}: missing, made by ${step.name}; run: tallow build ${folder}`);
      else if (sha !== output.sha256) faults.push(`${place}: changed since ${step.name} made it; remove it and run: tallow build ${folder}`);
    }
  }
  return { checked, faults };
}
