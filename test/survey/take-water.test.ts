import { readFile, readdir, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { describe, expect, it } from 'vitest';
import { createFolder } from '../../src/survey/folder.js';
import { openDesk } from '../../src/survey/open-desk.js';
import { complaint, tallow } from '../cli/run-tallow.js';
import { temporaryFolder } from './temporary-folder.js';

/** Twenty soundings of 5 m at noon over 200 m of open ocean. */
const LOG = ['timeUtc,latDeg,lonDeg,depthM', ...Array.from({ length: 20 }, (_, i) => `2026-06-17T12:00:${String(i * 2).padStart(2, '0')}Z,${(46 + i * 1e-4).toFixed(6)},-30.0,${(5 + (i % 3) / 100).toFixed(2)}`), ''].join('\n');
const GAUGE = ['timeUtc,levelM', ...Array.from({ length: 13 }, (_, i) => `2026-06-17T${String(6 + i).padStart(2, '0')}:00:00Z,1.50`), ''].join('\n');
const CAST = 'depthM,soundSpeedMps\n0,1470\n10,1470\n';
const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);

async function survey() {
  const top = await temporaryFolder();
  const folder = path.join(top, 'survey');
  await createFolder(folder, { name: 'water' });
  return { top, folder, desk: await openDesk(folder) };
}

describe('takeWater', () => {
  it('a gauge and a cast are kept byte for byte, used, and one undo each takes them back', async () => {
    const { top, folder, desk } = await survey();
    await writeFile(path.join(top, 'day.csv'), LOG);
    await desk.takeIn([path.join(top, 'day.csv')]);
    const shoalest = async () => (await desk.build({}, 'soundings')).summary.soundings!.depthMinM;
    expect(await shoalest()).toBeCloseTo(5, 2);
    expect(await desk.takeWater('level', 'gauge.csv', bytes(GAUGE))).toBe('water level from water/gauge.csv.');
    expect(await shoalest()).toBeCloseTo(3.5, 2);
    expect(await readFile(path.join(folder, 'water/gauge.csv'), 'utf8')).toBe(GAUGE);
    // 5 m at 1500 m/s is 4.9 m at 1470.
    await desk.takeWater('sound-speed', 'cast.csv', bytes(CAST));
    expect(await shoalest()).toBeCloseTo(3.4, 2);
    // Other readings under the same name do not take the place of the first; the same ones are not kept twice.
    for (let k = 0; k < 2; k++) await desk.takeWater('level', 'gauge.csv', bytes(GAUGE.replaceAll('1.50', '2.00')));
    expect(await shoalest()).toBeCloseTo(2.9, 2);
    expect((await readdir(path.join(folder, 'water'))).sort()).toEqual(['cast.csv', 'gauge-2.csv', 'gauge.csv']);
    expect((await desk.journal()).map((entry) => ('what' in entry ? entry.what : entry.kind))).toEqual(['water level from water/gauge.csv', 'sound speed from water/cast.csv', 'water level from water/gauge-2.csv']);
    for (let k = 0; k < 3; k++) await desk.undo();
    expect(await shoalest()).toBeCloseTo(5, 2);
  });

  it('a file that is something else is refused with what was expected; nothing is kept or changed', async () => {
    const { folder, desk } = await survey();
    const before = await readFile(path.join(folder, 'survey.json'), 'utf8');
    await expect(desk.takeWater('level', 'cast.csv', bytes(CAST))).rejects.toThrow(/cast\.csv: no column for time and waterLevel/);
    await expect(desk.takeWater('level', 'tide.json', bytes('{"constituents": []}'))).rejects.toThrow(/tide\.json: constituents: expected one or more/);
    await expect(desk.takeWater('level', 'none.csv', bytes(''))).rejects.toThrow(/none\.csv is empty/);
    await expect(desk.takeWater('sound-speed', 'feet.csv', bytes('depthM,soundSpeedMps\n0,4823\n30,4823\n'))).rejects.toThrow(/feet\.csv: .*feet a second/);
    await expect(desk.takeWater('sound-speed', 'two.csv', bytes('depthM,soundSpeedMps\n0,1490\n5,1491\n10,1492\n0,1500\n5,1501\n10,1502\n'))).rejects.toThrow(/several casts in one file, not all with a time/);
    expect(await readdir(path.join(folder, 'water'))).toEqual([]);
    expect(await readFile(path.join(folder, 'survey.json'), 'utf8')).toBe(before);
  });

  it('depths takes the file, or one figure, and the datum', async () => {
    const { top, folder } = await survey();
    const gauge = path.join(top, 'gauge.csv');
    await writeFile(gauge, GAUGE);
    await tallow(['depths', folder, '--water-level', gauge, '--sound-speed', '1488', '--datum', 'a datum', '--set', 'order=2']);
    expect(JSON.parse(await readFile(path.join(folder, 'survey.json'), 'utf8'))).toMatchObject({ order: '2', datum: 'a datum', water: { level: { kind: 'series', file: 'water/gauge.csv' }, soundSpeed: { kind: 'constant', soundSpeedMps: 1488 } } });
    expect(complaint(await tallow(['depths', folder, '--water-level', 'no-such.csv']))).toMatch(/no-such\.csv: there is no such file/);
  });
});
