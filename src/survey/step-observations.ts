import { stat } from 'node:fs/promises';
import { UseError } from '../base/errors.js';
import { openFileSource } from './file-source.js';
import type { LogObservations, LogSummary } from '../base/observations.js';
import { readManifest, writeManifest } from './manifest.js';
import { isThere, placeIn } from './folder.js';
import { readObservations } from './observation-store.js';
import { freshRecord, parseLog, readRecordOutputs } from './parse-log.js';
import { withoutNeedlessFixes } from './sonar-fixes.js';
import { SONAR_SETTINGS } from './sonar-source.js';
import type { Made, Step, StepWork } from './step-graph.js';

async function outputsThere(work: StepWork, outputs: Made): Promise<boolean> {
  for (const [place, { bytes }] of Object.entries(outputs)) {
    const there = await stat(placeIn(work.folder, place)).catch(() => null);
    if (there === null || there.size !== bytes) return false;
  }
  return true;
}

/** The observations of every log, in the order of the manifest. */
export async function observationsOf(work: StepWork): Promise<readonly LogObservations[]> {
  const held = work.memory.get('observations') as LogObservations[] | undefined;
  if (held !== undefined) return held;
  const all: LogObservations[] = [];
  for (const log of work.logs) all.push(await readObservations(work.folder, log.sha256));
  const used = withoutNeedlessFixes(work.logs, all);
  work.memory.set('observations', used);
  return used;
}

/** Enters how logs were understood this time, where that differs: a date may have been given since they were taken in. */
async function enterAgain(work: StepWork, readAgain: ReadonlyMap<string, LogSummary>): Promise<void> {
  const { logs } = await readManifest(work.folder);
  const entered = logs.map((log) => ({ ...log, ...readAgain.get(log.sha256) }));
  if (JSON.stringify(entered) !== JSON.stringify(logs)) await writeManifest(work.folder, entered);
}

/** Raw logs to columns. Take-in does this as it reads a log; here it is done again where the columns are missing or stale. */
export const stepObservations: Step = {
  name: 'observations',
  version: 2,
  after: [],
  settings: ['time.noDate', 'columns', ...SONAR_SETTINGS],
  files: (work) => work.settings.sonar.layouts.filter((layout) => typeof layout === 'string'),
  extra: (work) => JSON.stringify(work.logs.map((log) => log.sha256)),
  async run(work): Promise<Made> {
    const made: Record<string, { sha256: string; bytes: number }> = {};
    const readAgain = new Map<string, LogSummary>();
    for (const [index, log] of work.logs.entries()) {
      const file = placeIn(work.folder, `logs/${log.file}`);
      if (!(await isThere(file))) throw new UseError(`logs/${log.file}: missing, though the manifest names it; put it back, or see: tallow check ${work.folder}`, { path: file });
      const source = await openFileSource(file);
      try {
        const record = await freshRecord(work.folder, work.settings, source, log.sha256);
        if (record === null || !(await outputsThere(work, record.outputs))) {
          const summary = await parseLog(work.folder, work.settings, source, log.sha256, {
            ...work.context,
            progress: (_step, done, detail) => work.context.progress?.('observations', (index + (Number.isFinite(done) ? done : 0)) / work.logs.length, detail),
          });
          readAgain.set(log.sha256, summary);
        }
        Object.assign(made, await readRecordOutputs(work.folder, log.sha256));
      } finally {
        await source.close();
      }
    }
    await enterAgain(work, readAgain);
    return made;
  },
};
