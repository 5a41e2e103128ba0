import { readFile } from 'node:fs/promises';
import path from 'node:path';
import { UseError } from '../base/errors.js';
import { readBarCsv } from '../formats/bar-csv.js';
import type { Desk } from './desk.js';
import { whenOf } from './instrument-checks.js';
import type { Settings } from './settings.js';
import { plainSystemError } from './system-errors.js';

/** Readings further apart in time than this are of another check [s]. */
const ANOTHER_CHECK_S = 3600;

/**
 * Takes the readings of a bar check into the settings, journalled: one check, or one for every hour apart. A check given
 * again, by its time, takes the place of the earlier one.
 * @returns what was done, in words
 * @throws FormatError naming the line, UseError
 */
export async function takeBarFile(desk: Pick<Desk, 'set' | 'summary'>, file: string, from: string, sigmaM: number): Promise<string> {
  if (from !== 'transducer' && from !== 'surface') throw new UseError(`--from: expected transducer or surface, found ${JSON.stringify(from)}`, { path: '--from' });
  const text = await readFile(file, 'utf8').catch((error: unknown) => {
    throw plainSystemError(error, file);
  });
  const rows = readBarCsv(path.basename(file), text);
  const checks: { whenUtc: string | null; from: 'transducer' | 'surface'; sigmaM: number; readings: { barM: number; readM: number }[] }[] = [];
  let lastS = NaN;
  for (const { barM, readM, timeS } of rows) {
    if (checks.length === 0 || timeS - lastS > ANOTHER_CHECK_S) checks.push({ whenUtc: whenOf(timeS), from, sigmaM, readings: [] });
    checks[checks.length - 1]!.readings.push({ barM, readM });
    lastS = timeS;
  }
  const held: Settings['instruments']['bar'] = (await desk.summary()).settings.instruments.bar;
  const kept = held.filter((one) => !checks.some(({ whenUtc }) => whenUtc === one.whenUtc));
  await desk.set('instruments.bar', [...kept, ...checks].sort((a, b) => (a.whenUtc ?? '').localeCompare(b.whenUtc ?? '')));
  return `Bar check: ${rows.length} readings taken in${checks.length > 1 ? `, ${checks.length} checks` : ''}.`;
}
