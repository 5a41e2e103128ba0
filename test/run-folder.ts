import { mkdtempSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';

/** One folder for a run of the tests, in which things are that many of them share. */
export default function makeRunFolder(): (() => Promise<void>) | undefined {
  // Several projects of one run share it.
  if (process.env['TALLOW_TEST_RUN'] !== undefined) return undefined;
  const folder = mkdtempSync(path.join(os.tmpdir(), 'tallow-run-'));
  process.env['TALLOW_TEST_RUN'] = folder;
  return () => rm(folder, { recursive: true, force: true });
}
