import { existsSync } from 'node:fs';
import { readFile, rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { bytesSource, memorySink } from '../../src/base/byte-source.js';
import { readParquet } from '../../src/formats/parquet-columns.js';
import { writeSegySonar } from '../../src/formats/segy-write.js';
import { writeSonarNetcdf } from '../../src/formats/sonar-netcdf-write.js';
import { openHdf5Scratch } from '../../src/survey/hdf5-file.js';
import { createFolder } from '../../src/survey/folder.js';
import { openDesk } from '../../src/survey/open-desk.js';
import { readManifest } from '../../src/survey/manifest.js';
import { openSonarLog } from '../../src/survey/sonar-source.js';
import { PINGS_PLACE } from '../../src/survey/step-pings.js';
import { madeContent, madeStretch } from '../formats/sonar-content.js';
import { temporaryFolder } from './temporary-folder.js';

async function survey(): Promise<{ folder: string; files: string[] }> {
  const top = await temporaryFolder();
  const folder = join(top, 'survey');
  await createFolder(folder, { name: 'Pings' });
  const files: string[] = [];
  for (const [i, n] of [40, 25].entries()) {
    const sink = memorySink();
    await writeSegySonar(sink, madeContent(n, 32));
    const file = join(top, `scan-${i}.segy`);
    await writeFile(file, sink.bytes());
    files.push(file);
  }
  return { folder, files };
}

describe('side-scan logs in a survey folder', () => {
  it('taken in: kept byte for byte, entered with their pings, and read into pings.parquet', async () => {
    const { folder, files } = await survey();
    const desk = await openDesk(folder);
    const results = await desk.takeIn(files);
    expect(results.map(({ outcome, log }) => [outcome, log?.kind, log?.pings, log?.fixes])).toEqual([['taken-in', 'segy', 40, 40], ['taken-in', 'segy', 25, 25]]);
    expect(await readFile(join(folder, 'logs/scan-0.segy'))).toEqual(await readFile(files[0]!));
    await desk.build({}, 'pings');
    const bytes = await readFile(join(folder, PINGS_PLACE));
    const columns = await readParquet(bytesSource('pings', new Uint8Array(bytes)));
    const content = madeContent(40, 32);
    expect(Object.keys(columns)).toEqual(['timeS', 'log', 'record', 'portSamples', 'starboardSamples', 'intervalS', 'delayS', 'latDeg', 'lonDeg', 'headingDeg', 'heightM', 'depthM', 'frequencyHz']);
    expect([...(columns['timeS'] as Float64Array)].slice(0, 40)).toEqual([...content.heads.timeS]);
    expect([...(columns['log'] as Uint16Array)]).toEqual([...Array<number>(40).fill(0), ...Array<number>(25).fill(1)]);
    expect((columns['record'] as Uint32Array)[40]).toBe(0);
    await rm(join(folder, 'derived'), { recursive: true });
    await (await openDesk(folder)).build({}, 'pings');
    expect(await readFile(join(folder, PINGS_PLACE))).toEqual(bytes);
  });

  it('openSonarLog: samples of the raw log, sides swapped where the settings say so', async () => {
    const { folder, files } = await survey();
    const desk = await openDesk(folder);
    await desk.takeIn(files);
    await desk.set('sonar.swapSides', true);
    const { settings } = await desk.summary();
    const { logs } = await readManifest(folder);
    const reader = await openSonarLog(folder, settings, logs[1]!);
    const { heads } = madeContent(25, 32);
    const want = madeStretch(heads, 5, 9);
    const got = await reader.read(5, 9);
    expect([...got.port]).toEqual([...want.starboard]);
    expect([...got.starboard]).toEqual([...want.port]);
    await reader.close();
  });

  it('SONAR-netCDF4: taken in, and read where it lies', async () => {
    const { folder } = await survey();
    const file = join(folder, '..', 'scan.nc');
    const sink = memorySink();
    await writeSonarNetcdf(sink, madeContent(30, 24));
    await writeFile(file, sink.bytes());
    const desk = await openDesk(folder);
    expect((await desk.takeIn([file]))[0]).toMatchObject({ outcome: 'taken-in', log: { kind: 'sonar-netcdf', pings: 30, fixes: 30 } });
    await desk.build({}, 'pings');
    const { logs } = await readManifest(folder);
    const reader = await openSonarLog(folder, (await desk.summary()).settings, logs[0]!);
    expect([...(await reader.read(3, 6)).starboard]).toEqual([...madeStretch(madeContent(30, 24).heads, 3, 6).starboard]);
    await reader.close();
  });

  it('SONAR-netCDF4 made on the disk: the same bytes as in memory, and nothing left behind', async () => {
    const top = await temporaryFolder();
    const [memory, disk] = [memorySink(), memorySink()];
    await writeSonarNetcdf(memory, madeContent(30, 24));
    const place = join(top, 'made.nc');
    await writeSonarNetcdf(disk, madeContent(30, 24), { scratch: () => openHdf5Scratch(place) });
    expect(Buffer.compare(disk.bytes(), memory.bytes())).toBe(0);
    expect(existsSync(place)).toBe(false);
    await expect(writeSonarNetcdf(disk, { ...madeContent(30, 24), read: () => Promise.reject(new Error('the disk is gone')) }, { scratch: () => openHdf5Scratch(place) })).rejects.toThrow('the disk is gone');
    expect(existsSync(place)).toBe(false);
  });

  it('an image without its CSV, a file of HDF5 that lacks its end, a layout that is none: what to do is said', async () => {
    const { folder } = await survey();
    const top = join(folder, '..');
    const reference = fileURLToPath(new URL('../reference/sonar/', import.meta.url));
    await writeFile(join(top, 'alone.png'), await readFile(join(reference, 'strip.png')));
    const sink = memorySink();
    await writeSonarNetcdf(sink, madeContent(300, 24));
    await writeFile(join(top, 'cut.nc'), sink.bytes().subarray(0, sink.bytes().length - 200));
    await writeFile(join(top, 'half.nc'), sink.bytes().subarray(0, sink.bytes().length >> 1));
    const [alone, cut, half] = await (await openDesk(folder)).takeIn(['alone.png', 'cut.nc', 'half.nc'].map((name) => join(top, name)));
    expect(alone).toMatchObject({ outcome: 'refused' });
    expect(alone!.because).toContain('put a CSV of that name there');
    expect(cut).toMatchObject({ outcome: 'taken-in', log: { pings: 300, rejects: [{ code: 'cut-short' }] } });
    expect(half!.because).toMatch(/the file ends after \d+ of \d+ bytes, .*copy it again from the sonar/);
    expect((await readManifest(folder)).logs.map(({ file }) => file)).toEqual(['cut.nc']);
    await writeFile(join(folder, 'recorder.json'), JSON.stringify({ name: 'recorder', files: ['.rec'], byteOrder: 'big', recordBytes: '2 * length', fields: [{ name: 'length', at: 0, type: 'uint16' }], samples: [{ side: 'left', at: 2, type: 'uint8', count: 4 }], time: { field: 'length', unit: 's', since: '1970-01-01T00:00:00Z' } }));
    const desk = await openDesk(folder);
    await desk.set('sonar.layouts', ['recorder.json']);
    await expect((await openDesk(folder)).takeIn([join(reference, 'one-side.rec')])).rejects.toThrow('recorder.json: recordBytes: expected a whole number of bytes, or {"field": "name", "times": 1, "add": 0}, found "2 * length"');
  });

  it('records of a layout in a file of the folder, and an image strip with its CSV', async () => {
    const { folder } = await survey();
    const reference = fileURLToPath(new URL('../reference/sonar/', import.meta.url));
    await writeFile(join(folder, 'recorder.json'), JSON.stringify({
      name: 'recorder', files: ['one-side.rec'], byteOrder: 'big', recordBytes: 92,
      fields: [{ name: 'ping', at: 0, type: 'uint32' }, { name: 'side', at: 4, type: 'uint16' }, { name: 'year', at: 6, type: 'uint16' }, { name: 'month', at: 8, type: 'uint16' }, { name: 'day', at: 10, type: 'uint16' }, { name: 'hour', at: 12, type: 'uint16' }, { name: 'minute', at: 14, type: 'uint16' }, { name: 'second', at: 16, type: 'uint16' }, { name: 'interval', at: 20, type: 'float64' }],
      samples: [{ side: { field: 'side', port: 0, starboard: 1 }, at: 28, type: 'float32', count: 16 }],
      time: { year: 'year', month: 'month', day: 'day', hour: 'hour', minute: 'minute', second: 'second' }, ping: 'ping', intervalS: { field: 'interval' },
    }));
    const desk = await openDesk(folder);
    await desk.set('sonar.layouts', ['recorder.json']);
    const results = await desk.takeIn([join(reference, 'one-side.rec'), join(reference, 'strip.png')]);
    expect(results.map(({ outcome, log }) => [outcome, log?.kind, log?.pings])).toEqual([['taken-in', 'sonar-layout', 6], ['taken-in', 'sonar-image', 9]]);
    const { logs } = await readManifest(folder);
    expect(logs.map(({ file, kind }) => [file, kind])).toEqual([['one-side.rec', 'sonar-layout'], ['strip.csv', 'csv'], ['strip.png', 'sonar-image']]);
    await desk.build({}, 'pings');
    const columns = await readParquet(bytesSource('pings', new Uint8Array(await readFile(join(folder, PINGS_PLACE)))));
    expect([...(columns['log'] as Uint16Array)]).toEqual([0, 0, 0, 0, 0, 0, 2, 2, 2, 2, 2, 2, 2, 2, 2]);
    await writeFile(join(folder, 'recorder.json'), '{"name": "recorder"}');
    await expect((await openDesk(folder)).build({}, 'pings')).rejects.toThrow(/recorder.json: files: /);
  });

  it('positions of the records make the track where no other log has any, and none where one has', async () => {
    const { folder, files } = await survey();
    const desk = await openDesk(folder);
    await desk.takeIn([files[0]!]);
    await desk.build({}, 'tracks');
    const track = async (): Promise<Float64Array> => (await readParquet(bytesSource('tracks', new Uint8Array(await readFile(join(folder, 'derived/tracks.parquet'))))))['latDeg'] as Float64Array;
    expect((await track()).length).toBe(40);
    const { heads } = madeContent(40, 32);
    const rows = ['time,lat,lon', ...[0, 1, 2, 3].map((s) => `${new Date((heads.timeS[0]! + s) * 1000).toISOString()},${(46.5 + s * 1e-6).toFixed(7)},-30.5`)];
    const other = join(folder, '..', 'boat.csv');
    await writeFile(other, `${rows.join('\n')}\n`);
    expect((await desk.takeIn([other]))[0]!.outcome).toBe('taken-in');
    await (await openDesk(folder)).build({}, 'tracks');
    const after = await track();
    expect(after.length).toBe(4);
    expect(after[0]).toBeCloseTo(46.5, 4);
  });

  it('no side-scan log: nothing is written', async () => {
    const top = await temporaryFolder();
    const folder = join(top, 'survey');
    await createFolder(folder, { name: 'None' });
    await (await openDesk(folder)).build({}, 'pings');
    expect(existsSync(join(folder, PINGS_PLACE))).toBe(false);
  });

  it('a text named .segy, zeros named .segy: refused in plain words, nothing left behind', async () => {
    const { folder } = await survey();
    const top = join(folder, '..');
    await writeFile(join(top, 'notes.segy'), 'a line of notes, and nothing else\n'.repeat(400));
    await writeFile(join(top, 'zeros.segy'), new Uint8Array(50_000));
    const results = await (await openDesk(folder)).takeIn([join(top, 'notes.segy'), join(top, 'zeros.segy')]);
    expect(results.map(({ outcome }) => outcome)).toEqual(['refused', 'refused']);
    for (const { because } of results) expect(because).toMatch(/expected the headers of a SEG-Y file/);
    expect((await readManifest(folder)).logs).toEqual([]);
  });
});
