import { open, readFile, rm } from 'node:fs/promises';
import path from 'node:path';
import { UseError } from '../base/errors.js';
import { plainSystemError } from './system-errors.js';

const LOCK = '.tallow-lock';

function alive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}

/**
 * Runs work while no other process works on the same folder.
 * A lock left by a process that is gone is taken over. Waits up to `waitMs` for one that is not.
 * @throws UseError where another process keeps the folder, or the folder cannot be written
 */
export async function withFolderLock<T>(folder: string, work: () => Promise<T>, waitMs = 30_000): Promise<T> {
  const file = path.join(folder, LOCK);
  const until = Date.now() + waitMs;
  for (;;) {
    try {
      const handle = await open(file, 'wx');
      await handle.writeFile(String(process.pid));
      await handle.close();
      break;
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw plainSystemError(error, folder);
    }
    const text = await readFile(file, 'utf8').catch(() => '');
    const pid = Number(text);
    if (text !== '' && (!Number.isInteger(pid) || !alive(pid))) {
      await rm(file, { force: true });
      continue;
    }
    if (Date.now() > until) {
      throw new UseError(`${folder}: another Tallow (process ${text || 'unknown'}) is at work on this survey; wait for it to end, or remove ${LOCK} when there is none`, { path: folder });
    }
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
  try {
    return await work();
  } finally {
    await rm(file, { force: true });
  }
}

/** Takes away a lock of this very process, left by a thread of it that was stopped. */
export async function releaseOwnLock(folder: string): Promise<void> {
  const file = path.join(folder, LOCK);
  const text = await readFile(file, 'utf8').catch(() => '');
  if (Number(text) === process.pid) await rm(file, { force: true });
}
