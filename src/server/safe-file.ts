import { constants } from 'node:fs';
import { open, realpath, stat } from 'node:fs/promises';
import type { FileHandle } from 'node:fs/promises';
import path from 'node:path';
import { RequestError } from './request-error.js';

/** A file that may be sent, open for reading. Whoever asked for it closes it. */
export interface OpenedFile {
  readonly handle: FileHandle;
  readonly bytes: number;
  readonly modifiedMs: number;
  /** Strong: changes whenever the length or the time of the last change does. */
  readonly etag: string;
}

/**
 * Opens a file under a folder by the path of an address, or refuses.
 *
 * The path is decoded once. Each part must be a plain name: not empty, not beginning with a dot, without control
 * characters, backslash or colon, so that neither `..` nor a drive or stream of Windows can be named. Links are
 * followed, but what they lead to must lie under the same top part of the folder.
 *
 * @param encoded the rest of the address after the prefix, still percent-encoded, without query
 * @param tops names that may come first; any when left out
 * @throws RequestError 400 for a path that is not well formed, 404 for anything that is not a file to be had
 */
export async function openSafeFile(folder: string, encoded: string, tops?: readonly string[]): Promise<OpenedFile> {
  const parts = decodeParts(encoded);
  const top = parts[0]!;
  if (tops && !tops.includes(top)) throw notThere(encoded);
  try {
    const root = await realpath(folder);
    const found = await realpath(path.join(root, ...parts));
    // A top that is one file (survey.json) must be itself; below a folder a link may lead anywhere in that folder.
    const bound = tops ? path.join(root, top) : root;
    if (found !== bound && !found.startsWith(bound + path.sep)) throw notThere(encoded);
    const before = await stat(found);
    if (!before.isFile()) throw notThere(encoded);
    const handle = await open(found, constants.O_RDONLY | (constants.O_NOFOLLOW ?? 0) | (constants.O_NONBLOCK ?? 0));
    const facts = await handle.stat({ bigint: true }).catch(async (error: unknown) => {
      await handle.close();
      throw error;
    });
    if (!facts.isFile()) {
      await handle.close();
      throw notThere(encoded);
    }
    return { handle, bytes: Number(facts.size), modifiedMs: Number(facts.mtimeMs), etag: `"${facts.size.toString(16)}-${facts.mtimeNs.toString(16)}"` };
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    if (code !== undefined && ['ENOENT', 'ENOTDIR', 'ELOOP', 'ENAMETOOLONG', 'EACCES', 'EPERM', 'EISDIR', 'EINVAL'].includes(code)) throw notThere(encoded);
    throw error;
  }
}

function decodeParts(encoded: string): string[] {
  let decoded: string;
  try {
    decoded = decodeURIComponent(encoded);
  } catch {
    throw new RequestError(400, 'the address is not well formed', { found: encoded.slice(0, 200) });
  }
  const parts = decoded.split('/');
  if (parts.some((part) => part === '' || part.startsWith('.') || /[\u0000-\u001f\u007f\\:]/.test(part))) throw notThere(encoded);
  return parts;
}

function notThere(encoded: string): RequestError {
  return new RequestError(404, 'there is no such file', { found: encoded.slice(0, 200) });
}
