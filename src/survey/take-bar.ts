import { readFile } from 'node:fs/promises';
import path from 'node:path';
import { UseError } from '../base/errors.js';
import { barChecksOf, withBarChecks } from '../depths/bar-readings.js';
import { readBarCsv } from '../formats/bar-csv.js';
import type { Desk } from './desk.js';
import { plainSystemError } from './system-errors.js';

/**
 * Takes the readings of a bar check into the settings, journalled: one check, or one for every hour apart. A check given
 * again, by its time, takes the place of the earlier one.
 * @returns what was done, in words
 * @throws FormatError naming the line, UseError
 */
export async function takeBarFile(desk: Pick<Desk, 'setTogether' | 'summary'>, file: string, from: string, sigmaM: number): Promise<string> {
  if (from !== 'transducer' && from !== 'surface') throw new UseError(`--from: expected transducer or surface, found ${JSON.stringify(from)}`, { path: '--from' });
  const text = await readFile(file, 'utf8').catch((error: unknown) => {
    throw plainSystemError(error, file);
  });
  const rows = readBarCsv(path.basename(file), text);
  const checks = barChecksOf(rows, from, sigmaM);
  await desk.setTogether([{ path: 'instruments.bar', value: withBarChecks((await desk.summary()).settings.instruments.bar, checks) }], `bar check: ${rows.length} readings taken in`);
  return `Bar check: ${rows.length} readings taken in${checks.length > 1 ? `, ${checks.length} checks` : ''}.`;
}
