import { createHash } from 'node:crypto';
import { open, type FileHandle } from 'node:fs/promises';
import path from 'node:path';
import type { ByteSource } from '../base/byte-source.js';
import { throwIfCancelled } from '../base/progress.js';
import { plainSystemError } from './system-errors.js';

/** A file on disk as a byte source; close it when done. */
export interface FileSource extends ByteSource {
  /** Where it is on the disk. */
  readonly path: string;
  close(): Promise<void>;
}

/** Opens a file for reading in parts; `name` is what messages call it, its base name when left out. @throws UseError in plain words where it cannot be opened */
export async function openFileSource(file: string, name = path.basename(file)): Promise<FileSource> {
  let handle: FileHandle;
  let byteLength: number;
  try {
    handle = await open(file, 'r');
    const status = await handle.stat();
    if (status.isDirectory()) {
      await handle.close();
      throw Object.assign(new Error(), { code: 'EISDIR', path: file });
    }
    byteLength = status.size;
  } catch (error) {
    throw plainSystemError(error, file);
  }
  return {
    name,
    path: file,
    byteLength,
    async read(start, end, signal) {
      throwIfCancelled(signal);
      const length = Math.max(0, Math.min(end, byteLength) - start);
      const bytes = new Uint8Array(length);
      let at = 0;
      try {
        while (at < length) {
          const { bytesRead } = await handle.read(bytes, at, length - at, start + at);
          if (bytesRead === 0) break;
          at += bytesRead;
        }
      } catch (error) {
        throw plainSystemError(error, file);
      }
      return at === length ? bytes : bytes.subarray(0, at);
    },
    close: () => handle.close(),
  };
}

/** The sha-256 of a file, read in parts. */
export async function hashFile(file: string, signal?: AbortSignal): Promise<string> {
  const source = await openFileSource(file);
  try {
    const hash = createHash('sha256');
    for (let at = 0; at < source.byteLength; ) {
      const bytes = await source.read(at, at + (1 << 20), signal);
      if (bytes.byteLength === 0) break;
      hash.update(bytes);
      at += bytes.byteLength;
    }
    return hash.digest('hex');
  } finally {
    await source.close();
  }
}

/** The sha-256 of bytes or text. */
export function hashBytes(content: Uint8Array | string): string {
  return createHash('sha256').update(content).digest('hex');
}
