import { randomBytes } from 'node:crypto';
import { link, open, readFile, rm, stat, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { UseError } from '../base/errors.js';
import { TEMPORARY_PREFIX } from './atomic-file.js';
import { plainSystemError } from './system-errors.js';

const LOCK = '.tallow-lock';
/** A lock without a process in it is that of one killed in the very moment it took it [ms]. */
const EMPTY_STALE_MS = 3000;

function alive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}

/** Takes the lock, its content in it from the first moment; false where another has it. */
async function takeLock(folder: string, file: string): Promise<boolean> {
  const own = path.join(folder, `${TEMPORARY_PREFIX}lock-${process.pid}-${randomBytes(4).toString('hex')}`);
  try {
    await writeFile(own, String(process.pid), { flag: 'wx' });
    await link(own, file);
    return true;
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    if (code === 'EEXIST') return false;
    if (code !== 'EPERM' && code !== 'ENOTSUP' && code !== 'ENOSYS' && code !== 'EOPNOTSUPP') throw plainSystemError(error, folder);
  } finally {
    await rm(own, { force: true }).catch(() => undefined);
  }
  // A disk without hard links (a memory card): the name first, its content a moment later.
  try {
    const handle = await open(file, 'wx');
    await handle.writeFile(String(process.pid));
    await handle.close();
    return true;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EEXIST') return false;
    throw plainSystemError(error, folder);
  }
}

async function isOlderThan(file: string, ageMs: number): Promise<boolean> {
  const there = await stat(file).catch(() => null);
  return there !== null && Date.now() - there.mtimeMs > ageMs;
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
    if (await takeLock(folder, file)) break;
    const text = await readFile(file, 'utf8').catch(() => '');
    const pid = Number(text);
    if (text === '' ? await isOlderThan(file, EMPTY_STALE_MS) : !Number.isInteger(pid) || !alive(pid)) {
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
