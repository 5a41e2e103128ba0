import { UseError } from '../base/errors.js';
import { writeAtomic } from './atomic-file.js';
import { PLACES, placeIn, readTextIfThere } from './folder.js';
import type { LogEntry } from './summary.js';

/** logs/manifest.json: every raw log taken in, in the order it was taken in. */
export interface Manifest {
  readonly format: 'tallow-logs';
  readonly version: 1;
  readonly logs: readonly LogEntry[];
}

const NUMBERS_THAT_MAY_BE_MISSING = ['timeStartS', 'timeEndS', 'depthMinM', 'depthMaxM'] as const;

/** Reads the manifest; an absent one is an empty one. @throws UseError where it is damaged or newer */
export async function readManifest(folder: string): Promise<Manifest> {
  const file = placeIn(folder, PLACES.manifest);
  const text = await readTextIfThere(file);
  if (text === null) return { format: 'tallow-logs', version: 1, logs: [] };
  let value: Manifest;
  try {
    value = JSON.parse(text) as Manifest;
  } catch (error) {
    throw new UseError(`${file}: not valid JSON: ${(error as Error).message}; restore it from a copy, or remove it and take the logs in again (they are kept)`, { path: file });
  }
  if (value.format !== 'tallow-logs' || !Array.isArray(value.logs)) {
    throw new UseError(`${file}: expected a list of logs; restore it from a copy, or remove it and take the logs in again (they are kept)`, { path: file });
  }
  if (value.version > 1) {
    throw new UseError(`${file}: made by a newer Tallow (version ${value.version}); use the newer Tallow; nothing was changed`, { path: file });
  }
  // JSON has no NaN: a missing number is null in the file and NaN in memory.
  const logs = value.logs.map((log) => {
    const copy: Record<string, unknown> = { ...log };
    for (const key of NUMBERS_THAT_MAY_BE_MISSING) copy[key] = copy[key] ?? NaN;
    return copy as unknown as LogEntry;
  });
  return { ...value, logs };
}

/** Writes the manifest atomically: when this returns, the logs in it survive a power cut. */
export async function writeManifest(folder: string, logs: readonly LogEntry[]): Promise<void> {
  const manifest: Manifest = { format: 'tallow-logs', version: 1, logs };
  await writeAtomic(placeIn(folder, PLACES.manifest), `${JSON.stringify(manifest, null, 2)}\n`);
}
