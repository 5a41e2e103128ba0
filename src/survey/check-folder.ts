import { readdir } from 'node:fs/promises';
import { throwIfCancelled, type WorkContext } from '../base/progress.js';
import { TEMPORARY_PREFIX } from './atomic-file.js';
import { hashFile } from './file-source.js';
import { PLACES, isThere, placeIn, readSettings, sweepTemporary } from './folder.js';
import { readJournal } from './journal.js';
import { readManifest } from './manifest.js';
import { checkMade } from './step-graph.js';
import { STEPS } from './steps.js';

/** What a check found: faults need the user, notes do not. */
export interface FolderCheck {
  readonly checked: number;
  readonly faults: readonly string[];
  readonly notes: readonly string[];
}

/**
 * Reads a survey folder whole: settings against the schema, journal line by line, every raw log and derived file
 * against the hash it was entered with.
 * @throws UseError where it is not a survey folder at all, or its settings cannot be read
 */
export async function checkFolder(folder: string, sweep: boolean, context: WorkContext = {}): Promise<FolderCheck> {
  const faults: string[] = [];
  const notes: string[] = [];
  await readSettings(folder);
  const { tornBytes } = await readJournal(placeIn(folder, PLACES.journal));
  if (tornBytes > 0) notes.push(`journal.jsonl: the last ${tornBytes} bytes are a line that a crash cut short; it was never acknowledged and is passed over`);
  const { logs } = await readManifest(folder);
  let checked = 2;
  for (const [index, log] of logs.entries()) {
    throwIfCancelled(context.signal);
    context.progress?.('check', index / Math.max(1, logs.length), log.file);
    const file = placeIn(folder, `logs/${log.file}`);
    checked++;
    if (!(await isThere(file))) faults.push(`logs/${log.file}: missing; take the file in again from a copy`);
    else if ((await hashFile(file, context.signal)) !== log.sha256) faults.push(`logs/${log.file}: its bytes are not those taken in (sha-256 differs); restore it from a copy`);
  }
  const known = new Set(logs.map((log) => log.file));
  for (const name of await readdir(placeIn(folder, 'logs')).catch(() => [])) {
    if (name === 'manifest.json' || known.has(name) || name.startsWith(TEMPORARY_PREFIX)) continue;
    notes.push(`logs/${name}: not in the manifest, so it takes no part; take it in with: tallow take-in ${folder} ${placeIn(folder, `logs/${name}`)}`);
  }
  const made = await checkMade(STEPS, folder);
  checked += made.checked;
  faults.push(...made.faults);
  if (sweep) {
    const swept = await sweepTemporary(folder);
    if (swept.length > 0) notes.push(`removed ${swept.length} temporary ${swept.length === 1 ? 'file' : 'files'} that a crash left behind`);
  }
  return { checked, faults, notes };
}
