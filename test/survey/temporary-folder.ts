import { mkdtemp, rm } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import { onTestFinished } from 'vitest';

/** A new empty folder that is removed when the test that asked for it has ended. */
export async function temporaryFolder(): Promise<string> {
  const folder = await mkdtemp(path.join(os.tmpdir(), 'tallow-'));
  onTestFinished(() => rm(folder, { recursive: true, force: true }));
  return folder;
}
