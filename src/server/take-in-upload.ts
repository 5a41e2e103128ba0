import { randomBytes } from 'node:crypto';
import { mkdir, open, readdir, rm, rmdir, stat } from 'node:fs/promises';
import path from 'node:path';
import type { Readable } from 'node:stream';
import { RequestError } from './request-error.js';

/** Under the survey folder, so that a log need not cross from one disk to another; hidden, so that nobody takes it for part of the survey. */
const INCOMING = '.incoming';
/** Left over from a server that was stopped hard. */
const STALE_MS = 24 * 3600 * 1000;

/** A file that has arrived and waits to be taken in. */
export interface ArrivedFile {
  readonly path: string;
  readonly bytes: number;
  /** Deletes it, with the folder made for it. */
  discard(): Promise<void>;
}

/**
 * Checks the name a log is sent under: one plain file name that any system can keep.
 * @throws RequestError 400
 */
export function checkLogName(name: unknown): string {
  const fix = 'send it as ?name=<file name>';
  if (typeof name !== 'string' || name === '') throw new RequestError(400, 'the file has no name', { fix });
  if (name.startsWith('.') || /[\u0000-\u001f\u007f/\\:*?"<>|]/.test(name) || Buffer.byteLength(name) > 200 || name.trim() !== name) {
    throw new RequestError(400, 'not a name for a log', { expected: 'a plain file name of at most 200 bytes, without folders', found: name.slice(0, 100), fix });
  }
  return name;
}

/**
 * Writes a request's body to a file of its own as it comes.
 * Where the sender goes away, sends too much, or the disk is full, nothing is left.
 *
 * @throws RequestError 413 past the limit, 400 for an empty or interrupted body
 */
export async function receiveFile(folder: string, name: string, body: Readable, announcedBytes: number | undefined, limitBytes: number): Promise<ArrivedFile> {
  const tooLarge = (): RequestError => new RequestError(413, `${name} is too large`, { expected: `at most ${limitBytes} bytes`, fix: 'take it in with the command line: tallow take-in' });
  if (announcedBytes !== undefined && announcedBytes > limitBytes) throw tooLarge();
  const own = path.join(folder, INCOMING, randomBytes(9).toString('hex'));
  const target = path.join(own, name);
  const discard = async (): Promise<void> => {
    await rm(own, { recursive: true, force: true });
    // The shared folder goes when it is empty; another upload may still be using it.
    await rmdir(path.join(folder, INCOMING)).catch(() => undefined);
  };
  let bytes = 0;
  try {
    await mkdir(own, { recursive: true });
    const file = await open(target, 'wx');
    try {
      // The stream is left alive on an error, so that the answer still reaches the sender.
      for await (const chunk of body.iterator({ destroyOnReturn: false }) as AsyncIterable<Buffer>) {
        bytes += chunk.byteLength;
        if (bytes > limitBytes) throw tooLarge();
        await file.writeFile(chunk);
      }
    } finally {
      await file.close();
    }
    if (bytes === 0) throw new RequestError(400, `${name} is empty`);
    return { path: target, bytes, discard };
  } catch (error) {
    await discard();
    if (body.destroyed || (error as NodeJS.ErrnoException).code === 'ECONNRESET') {
      throw new RequestError(400, `${name}: the sender went away after ${bytes} bytes; send it again`);
    }
    body.resume();
    throw error;
  }
}

/** Takes away what an earlier server left behind more than a day ago. */
export async function sweepIncoming(folder: string, nowMs: number): Promise<void> {
  const incoming = path.join(folder, INCOMING);
  const names = await readdir(incoming).catch(() => []);
  for (const name of names) {
    const facts = await stat(path.join(incoming, name)).catch(() => null);
    if (facts && nowMs - facts.mtimeMs > STALE_MS) await rm(path.join(incoming, name), { recursive: true, force: true });
  }
  if (names.length > 0) await rmdir(incoming).catch(() => undefined);
}
