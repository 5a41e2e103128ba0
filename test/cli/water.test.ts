import { readFile, readdir, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { describe, expect, it } from 'vitest';
import { temporaryFolder } from '../survey/temporary-folder.js';
import { complaint, tallow } from './run-tallow.js';

/** Twenty soundings of 5 m at noon over 200 m of open ocean. */
const LOG = ['timeUtc,latDeg,lonDeg,depthM', ...Array.from({ length: 20 }, (_, i) => `2026-06-17T12:00:${String(i * 2).padStart(2, '0')}Z,${(46 + i * 1e-4).toFixed(6)},-30.0,${(5 + (i % 3) / 100).toFixed(2)}`), ''].join('\n');
const GAUGE = ['timeUtc,levelM', ...Array.from({ length: 13 }, (_, i) => `2026-06-17T${String(6 + i).padStart(2, '0')}:00:00Z,1.50`), ''].join('\n');
const CAST = 'depthM,soundSpeedMps\n0,1470\n10,1470\n';

describe('water given to depths', () => {
  it('a gauge and a cast are kept byte for byte, used, and one undo each takes them back', { timeout: 60_000 }, async () => {
    const top = await temporaryFolder();
    const folder = path.join(top, 'survey');
    const put = async (name: string, text: string): Promise<string> => (await writeFile(path.join(top, name), text), path.join(top, name));
    await tallow(['new', folder, '--set', 'order=2']);
    await tallow(['take-in', folder, await put('day.csv', LOG)]);
    const settings = async () => JSON.parse(await readFile(path.join(folder, 'survey.json'), 'utf8')) as { order: string; datum: string; water: { level: unknown; soundSpeed: unknown } };
    expect((await settings()).order).toBe('2');
    const depths = async (...more: string[]) => {
      const run = await tallow(['depths', folder, '--json', ...more]);
      expect(run.code, run.err).toBe(0);
      return run.json<{ soundings: { depthMinM: number } }>().soundings.depthMinM;
    };
    expect(await depths()).toBeCloseTo(5, 2);
    expect(await depths('--water-level', await put('gauge.csv', GAUGE), '--datum', 'a datum')).toBeCloseTo(3.5, 2);
    expect(await readFile(path.join(folder, 'water/gauge.csv'), 'utf8')).toBe(GAUGE);
    expect(await settings()).toMatchObject({ datum: 'a datum', water: { level: { kind: 'series', file: 'water/gauge.csv' } } });
    // 5 m at 1500 m/s is 4.9 m at 1470.
    expect(await depths('--sound-speed', await put('cast.csv', CAST))).toBeCloseTo(3.4, 2);
    // Other readings under the same name do not take the place of the first; the same ones are not kept twice.
    expect(await depths('--water-level', await put('gauge.csv', GAUGE.replaceAll('1.50', '2.00')))).toBeCloseTo(2.9, 2);
    await depths('--water-level', path.join(top, 'gauge.csv'));
    expect((await readdir(path.join(folder, 'water'))).sort()).toEqual(['cast.csv', 'gauge-2.csv', 'gauge.csv']);
    expect((await tallow(['journal', folder, '--undo'])).code).toBe(0);
    expect(await depths()).toBeCloseTo(3.4, 2);
    expect(await depths('--water-level', '-0.25', '--sound-speed', 'as-set')).toBeCloseTo(5.25, 2);
    expect(await depths('--water-level', 'none')).toBeCloseTo(5, 2);
  });

  it('a file that is something else is refused with what was expected, and nothing is kept or changed', async () => {
    const top = await temporaryFolder();
    const folder = path.join(top, 'survey');
    await tallow(['new', folder]);
    const before = await readFile(path.join(folder, 'survey.json'), 'utf8');
    const cast = path.join(top, 'cast.csv');
    await writeFile(cast, CAST);
    const refused = async (text: RegExp, ...more: string[]) => {
      const run = await tallow(['depths', folder, ...more]);
      expect(complaint(run)).toMatch(text);
      expect(run.code).toBe(2);
    };
    await refused(/cast\.csv: .*waterLevel/, '--water-level', cast);
    await refused(/no-such\.csv: there is no such file/, '--water-level', path.join(top, 'no-such.csv'));
    const feet = path.join(top, 'feet.csv');
    await writeFile(feet, 'depthM,soundSpeedMps\n0,4823\n30,4823\n');
    await refused(/feet\.csv: .*feet a second/, '--sound-speed', feet);
    expect(await readdir(path.join(folder, 'water'))).toEqual([]);
    expect(await readFile(path.join(folder, 'survey.json'), 'utf8')).toBe(before);
  });
});
