import path from 'node:path';
import { hashFile } from './file-source.js';
import { isThere, placeIn } from './folder.js';

/** A name that is free in a folder of the survey: the file's own, or with a number before its ending. */
export async function freeName(folder: string, sub: 'logs' | 'water', wanted: string, sha256: string): Promise<string> {
  const safe = path.basename(wanted).replace(/[\u0000-\u001f<>:"|?*\\/]/g, '_').replace(/^\.+/, '_').slice(-120) || 'log';
  const ending = path.extname(safe);
  const stem = safe.slice(0, safe.length - ending.length);
  for (let number = 1; ; number++) {
    const name = number === 1 ? safe : `${stem}-${number}${ending}`;
    if (name === 'manifest.json') continue;
    const target = placeIn(folder, `${sub}/${name}`);
    // A file that a crash left there without a manifest entry is the same only if it is the same bytes.
    if (!(await isThere(target)) || (await hashFile(target)) === sha256) return name;
  }
}
