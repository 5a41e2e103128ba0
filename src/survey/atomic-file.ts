import { randomBytes } from 'node:crypto';
import { createHash, type Hash } from 'node:crypto';
import { open, rename, rm, mkdir, type FileHandle } from 'node:fs/promises';
import path from 'node:path';
import type { ByteSink } from '../base/byte-source.js';
import { plainSystemError } from './system-errors.js';

/** Temporary names start with this; `check` and the next open sweep up what a crash left behind. */
export const TEMPORARY_PREFIX = '.making-';

/** A file that appears under its name whole, or not at all. */
export interface AtomicFile extends ByteSink {
  /** Bytes written so far. */
  readonly length: number;
  /** Fsyncs and renames into place; gives the sha-256 of what was written. */
  commit(): Promise<string>;
  /** Removes the temporary file; the old file, where there was one, stands as it was. */
  abandon(): Promise<void>;
}

/** Makes a rename durable: on Linux and macOS a folder can be fsynced; where it cannot, the rename stands as it is. */
async function syncFolder(folder: string): Promise<void> {
  let handle: FileHandle | null = null;
  try {
    handle = await open(folder, 'r');
    await handle.sync();
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    if (code !== 'EISDIR' && code !== 'EPERM' && code !== 'EINVAL' && code !== 'EACCES') throw error;
  } finally {
    await handle?.close();
  }
}

/**
 * Opens a file for writing under a temporary name in the folder where it will stand.
 * @throws UseError in plain words where the disk is full, read-only or not ours
 */
export async function openAtomic(target: string): Promise<AtomicFile> {
  const folder = path.dirname(target);
  const temporary = path.join(folder, `${TEMPORARY_PREFIX}${randomBytes(6).toString('hex')}-${path.basename(target).slice(0, 80)}`);
  const hash: Hash = createHash('sha256');
  let handle: FileHandle;
  try {
    await mkdir(folder, { recursive: true });
    handle = await open(temporary, 'wx');
  } catch (error) {
    throw plainSystemError(error, target);
  }
  let length = 0;
  let closed = false;
  const abandon = async (): Promise<void> => {
    if (!closed) {
      closed = true;
      await handle.close();
    }
    await rm(temporary, { force: true });
  };
  return {
    get length() {
      return length;
    },
    async write(bytes) {
      try {
        let at = 0;
        while (at < bytes.byteLength) {
          const { bytesWritten } = await handle.write(bytes, at, bytes.byteLength - at);
          at += bytesWritten;
        }
        hash.update(bytes);
        length += bytes.byteLength;
      } catch (error) {
        await abandon();
        throw plainSystemError(error, target);
      }
    },
    async commit() {
      try {
        await handle.sync();
        closed = true;
        await handle.close();
        await rename(temporary, target);
        await syncFolder(folder);
        return hash.digest('hex');
      } catch (error) {
        await abandon();
        throw plainSystemError(error, target);
      }
    },
    abandon,
  };
}

/** Writes a whole file atomically; gives its sha-256. */
export async function writeAtomic(target: string, content: Uint8Array | string): Promise<string> {
  const file = await openAtomic(target);
  await file.write(typeof content === 'string' ? new TextEncoder().encode(content) : content);
  return file.commit();
}

/** Writes a whole file atomically; gives what the record of a step says of it. */
export async function writeMade(target: string, content: Uint8Array | string): Promise<{ sha256: string; bytes: number }> {
  return { sha256: await writeAtomic(target, content), bytes: typeof content === 'string' ? Buffer.byteLength(content) : content.byteLength };
}

/** Writes through a sink; the file appears only when `make` has ended without an error. */
export async function makeAtomic(target: string, make: (sink: ByteSink) => Promise<void>): Promise<{ sha256: string; bytes: number }> {
  const file = await openAtomic(target);
  try {
    await make(file);
  } catch (error) {
    await file.abandon();
    throw error;
  }
  const sha256 = await file.commit();
  return { sha256, bytes: file.length };
}
