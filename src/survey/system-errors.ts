import { UseError, isExpectedError } from '../base/errors.js';

const PLAIN: Readonly<Record<string, readonly [string, string]>> = {
  ENOENT: ['there is no such file or folder', 'check the path'],
  EACCES: ['not allowed by the file system', 'check who owns the folder and whether it may be written'],
  EPERM: ['not allowed by the file system', 'check who owns the folder and whether it may be written'],
  EROFS: ['the disk is read-only', 'copy the survey folder to a disk that can be written'],
  ENOSPC: ['the disk is full', 'free some space and run the same command again; nothing already in the folder was changed'],
  EDQUOT: ['the disk quota is used up', 'free some space and run the same command again; nothing already in the folder was changed'],
  EISDIR: ['it is a folder, not a file', 'name a file'],
  ENOTDIR: ['it is a file, not a folder', 'name a folder'],
  EMFILE: ['too many files are open', 'close other programs and run the same command again'],
  EFBIG: ['the file is larger than this disk allows', 'use a disk with another file system'],
  EIO: ['the disk gave a read or write error', 'check the disk; copy the folder elsewhere before anything else'],
  ENAMETOOLONG: ['the name is too long', 'choose a shorter name'],
};

/**
 * An error of the file system said in plain words, naming the file; anything else is passed through unchanged.
 */
export function plainSystemError(error: unknown, path: string): unknown {
  if (isExpectedError(error)) return error;
  const code = (error as NodeJS.ErrnoException | null)?.code;
  const plain = typeof code === 'string' ? PLAIN[code] : undefined;
  if (plain === undefined) return error;
  const where = (error as NodeJS.ErrnoException).path ?? path;
  return new UseError(`${where}: ${plain[0]} (${code}); ${plain[1]}`, { path: where, found: code as string, fix: plain[1] });
}

/** Runs work on a file and says its file-system errors in plain words. */
export async function withPlainErrors<T>(path: string, work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } catch (error) {
    throw plainSystemError(error, path);
  }
}
