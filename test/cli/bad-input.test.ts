import { execFileSync } from 'node:child_process';
import { chmod, cp, mkdir, mkdtemp, readFile, readdir, rm, stat, truncate, writeFile } from 'node:fs/promises';
import { createHash } from 'node:crypto';
import os from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { limitNow } from '../busy-machine.js';
import { temporaryFolder } from '../survey/temporary-folder.js';
import { PROJECT, complaint, tallow, type Run } from './run-tallow.js';

const AREA = JSON.stringify({ type: 'Polygon', coordinates: [[[-29.966, 46.034], [-29.964, 46.034], [-29.964, 46.036], [-29.966, 46.036], [-29.966, 46.034]]] });
const stamp = (s: number): string => new Date(Date.UTC(2026, 5, 17, 8, 30, s)).toISOString();
const csv = (header: string, row: (i: number) => string): string => `${header}\n${Array.from({ length: 60 }, (_, i) => row(i)).join('\n')}\n`;
const good = csv('time,latitude,longitude,depth (m)', (i) => `${stamp(i)},46.035,${(-29.965 + i * 1e-5).toFixed(6)},${(10 + i * 0.01).toFixed(2)}`);

/** Every file of a folder with its hash, but for the lock. */
async function contents(folder: string): Promise<Record<string, string>> {
  const found: Record<string, string> = {};
  for (const name of await readdir(folder, { recursive: true })) {
    const file = path.join(folder, name);
    if ((await stat(file)).isFile()) found[name] = createHash('sha256').update(await readFile(file)).digest('hex');
  }
  return found;
}

/** One clear line, exit code 2, no stack trace. */
function expectRefused(run: Run, text: RegExp): void {
  expect(complaint(run)).toMatch(text);
  expect(run.code).toBe(2);
  expect(run.err).not.toMatch(/\n\s+at .+:\d+:\d+/);
}

describe('bad input', () => {
  let work: string;
  let survey: string;
  let made: string;
  beforeAll(async () => {
    made = await mkdtemp(path.join(os.tmpdir(), 'tallow-made-'));
    await writeFile(path.join(made, 'area.geojson'), AREA);
    await writeFile(path.join(made, 'good.csv'), good);
    expect((await tallow(['new', path.join(made, 'survey'), '--area', path.join(made, 'area.geojson')])).code).toBe(0);
    expect((await tallow(['take-in', path.join(made, 'survey'), path.join(made, 'good.csv')])).code).toBe(0);
  });
  afterAll(() => rm(made, { recursive: true, force: true }));
  beforeEach(async () => {
    work = await temporaryFolder();
    survey = path.join(work, 'survey');
    await cp(made, work, { recursive: true });
  });

  /** Takes a file in that must be refused, and sees that nothing in the folder has changed. */
  async function refuses(name: string, content: string | Uint8Array | null, text: RegExp): Promise<void> {
    const file = path.join(work, name);
    if (content !== null) await writeFile(file, content);
    const before = await contents(survey);
    expectRefused(await tallow(['take-in', survey, file]), text);
    expect(await contents(survey)).toEqual(before);
  }

  it('take-in: an empty file is refused', () => refuses('empty.log', '', /empty\.log: the file is empty/));

  it('take-in: a photo is refused', async () => {
    const random = createRandom(1);
    const noise = Uint8Array.from({ length: 200_000 }, () => random.integer(256));
    noise.set([0xff, 0xd8, 0xff, 0xe0, 0, 16, 0x4a, 0x46, 0x49, 0x46, 0]);
    await refuses('photo.jpg', noise, /photo\.jpg: this is a JPEG photo; expected a log/);
  });

  it('take-in: 2 GB of zeros are refused within seconds', async () => {
    const file = path.join(work, 'zeros.log');
    await writeFile(file, '');
    await truncate(file, 2 * 2 ** 30);
    const began = Date.now();
    await refuses('zeros.log', null, /zeros\.log: nothing but zero bytes/);
    expect(Date.now() - began).toBeLessThan(limitNow(20_000));
  });

  it('take-in: UTF-16 text is refused with what to do', async () => {
    const text = Buffer.concat([Buffer.from([0xff, 0xfe]), Buffer.from('$GPGGA,120000.00,4600.000,N,03000.000,W,1,08,1.0,0.0,M,0.0,M,,*55\r\n', 'utf16le')]);
    await refuses('utf16.log', text, /utf16\.log: the file is UTF-16 text: .*save it as plain text or UTF-8/);
  });

  it('take-in: a CSV whose units contradict each other is refused', () =>
    refuses('units.csv', csv('time,latitude,longitude,depth_m,depth_ft', (i) => `${stamp(i)},46.035,-29.965,${10 + i},${10 + i}`), /units\.csv: "depth_ft" over "depth_m" should be 3\.28 by their units, found 1\.00/));

  it('take-in: swapped latitude and longitude are refused when out of range', () =>
    refuses('swapped.csv', csv('time,latitude,longitude,depth (m)', (i) => `${stamp(i)},${-129.965 + i * 1e-5},46.035,10`), /swapped\.csv: .*latitude and longitude are swapped/));

  it('take-in: swapped latitude and longitude are refused when the area shows it', () =>
    refuses('swapped.csv', csv('time,latitude,longitude,depth (m)', (i) => `${stamp(i)},${(-29.965 + i * 1e-5).toFixed(6)},46.035,10`), /swapped\.csv: latitude and longitude are swapped/));

  it('take-in: positions at 0/0 are refused', () =>
    refuses('zero.csv', csv('time,latitude,longitude,depth (m)', (i) => `${stamp(i)},0,0,${10 + i}`), /zero\.csv: 60 of 60 positions are exactly 0 N 0 E/));

  it('take-in: times that go backwards all along are refused', () =>
    refuses('back.csv', csv('time,latitude,longitude,depth (m)', (i) => `${stamp(60 - i)},46.035,-29.965,${10 + i}`), /back\.csv: time goes backwards in 59 of 60 records/));

  it('take-in: a file that does not exist is named', () => refuses('nothing.log', null, /nothing\.log: there is no such file or folder/));

  it('depths: depths and positions that never overlap are named with both spans', async () => {
    const other = path.join(work, 'other');
    await tallow(['new', other]);
    await writeFile(path.join(work, 'depths.csv'), csv('time,depth (m)', (i) => `${stamp(i)},${10 + i * 0.01}`));
    await writeFile(path.join(work, 'positions.csv'), csv('time,latitude,longitude', (i) => `${stamp(i + 7200)},46.035,${-29.965 + i * 1e-5}`));
    expect((await tallow(['take-in', other, path.join(work, 'depths.csv'), path.join(work, 'positions.csv')])).code).toBe(0);
    expectRefused(await tallow(['depths', other]), /depths and positions do not overlap in time: depths run 2026-06-17T08:30:00Z .* positions 2026-06-17T10:30:00Z/);
  });

  it('lines: an area of zero size is refused', async () => {
    const before = await contents(survey);
    await writeFile(path.join(work, 'thin.geojson'), JSON.stringify({ type: 'Polygon', coordinates: [[[-29.966, 46.034], [-29.964, 46.034], [-29.966, 46.034], [-29.966, 46.034]]] }));
    expectRefused(await tallow(['lines', survey, '--area', path.join(work, 'thin.geojson')]), /area: .*(no size|size|area|corner)/i);
    expect(await contents(survey)).toEqual(before);
  });

  it('lines: an area that crosses itself is refused with the place', async () => {
    const before = await contents(survey);
    await writeFile(path.join(work, 'bow.geojson'), JSON.stringify({ type: 'Polygon', coordinates: [[[-29.966, 46.034], [-29.964, 46.036], [-29.964, 46.034], [-29.966, 46.036], [-29.966, 46.034]]] }));
    expectRefused(await tallow(['lines', survey, '--area', path.join(work, 'bow.geojson')]), /area: .*crosses itself.*46\.03\d+ N 029\.96\d+ W/);
    expect(await contents(survey)).toEqual(before);
  });

  it('build: a survey folder from a newer version is refused and left alone', async () => {
    const file = path.join(survey, 'survey.json');
    await writeFile(file, (await readFile(file, 'utf8')).replace('"version": 2', '"version": 7'));
    const before = await contents(survey);
    for (const verb of ['build', 'depths', 'lines', 'check', 'open']) {
      expectRefused(await tallow([verb, survey]), /made by a newer Tallow \(settings version 7; this one reads up to 2\)/);
    }
    expect(await contents(survey)).toEqual(before);
  });

  it('build: a setting that is wrong is named with what was expected', async () => {
    const file = path.join(survey, 'survey.json');
    await writeFile(file, (await readFile(file, 'utf8')).replace('"draftM": 0,', '"draftM": "deep",'));
    expectRefused(await tallow(['build', survey]), /sounder\.draftM: expected a number, found "deep"/);
  });

  it('build: a folder that is no survey is named', async () => {
    expectRefused(await tallow(['build', work]), /there is no survey\.json here, so this is not a survey folder/);
  });

  it('command line: unknown verbs, options and values are named', async () => {
    expectRefused(await tallow(['chart', survey]), /unknown verb chart; verbs are: new, demo/);
    expectRefused(await tallow(['depths', survey, '--draft', '3']), /Unknown option '--draft'; see: tallow depths --help/);
    expectRefused(await tallow(['lines', survey, '--spacing', 'wide']), /--spacing: expected a number, found "wide"/);
    expectRefused(await tallow(['depths', survey, '--set', 'surface.cellM=-1']), /surface\.cellM: expected more than 0/);
  });

  const root = process.getuid?.() === 0;
  it.skipIf(process.platform === 'win32')('take-in: a read-only folder is named and left alone', async (context) => {
    // Root may write anywhere: the run is made as nobody, who must be able to read the program.
    const nobody = root ? { uid: 65534, gid: 65534 } : {};
    if (root && !readableByAll(PROJECT)) context.skip('the project folder is not readable by others');
    await writeFile(path.join(work, 'more.csv'), good.replace('46.035', '46.0351'));
    await chmod(work, 0o755);
    await lock(survey);
    const before = await contents(survey);
    expectRefused(await tallow(['take-in', survey, path.join(work, 'more.csv')], nobody), /not allowed by the file system \(EACCES\)/);
    expectRefused(await tallow(['build', survey], nobody), /not allowed by the file system \(EACCES\)/);
    expect(await contents(survey)).toEqual(before);
  });

  it('take-in: a full disk is named, and what was there stands', async (context) => {
    const disk = path.join(work, 'disk');
    await mkdir(disk);
    try {
      execFileSync('mount', ['-t', 'tmpfs', '-o', 'size=256k', 'tmpfs', disk], { stdio: 'ignore' });
    } catch {
      context.skip('a small disk cannot be mounted here');
    }
    try {
      const full = path.join(disk, 'survey');
      expect((await tallow(['new', full, '--area', path.join(work, 'area.geojson')])).code).toBe(0);
      expect((await tallow(['take-in', full, path.join(work, 'good.csv')])).code).toBe(0);
      const before = await contents(full);
      const large = path.join(work, 'large.csv');
      const random = createRandom(2);
      await writeFile(large, `time,latitude,longitude,depth (m)\n${Array.from({ length: 20_000 }, (_, i) => `${stamp(i)},46.035,${(-29.965 + 1e-4 * random.uniform()).toFixed(8)},${(10 + random.uniform()).toFixed(3)}`).join('\n')}\n`);
      expectRefused(await tallow(['take-in', full, large]), /the disk is full \(ENOSPC\); free some space/);
      expect(await contents(full)).toEqual(before);
      expect((await tallow(['check', full])).code).toBe(0);
    } finally {
      execFileSync('umount', [disk]);
    }
  });
});

function readableByAll(folder: string): boolean {
  try {
    execFileSync(process.execPath, ['-e', `require('fs').readdirSync(${JSON.stringify(folder)})`], { uid: 65534, gid: 65534, stdio: 'ignore' });
    return true;
  } catch {
    return false;
  }
}

async function lock(folder: string): Promise<void> {
  for (const name of await readdir(folder, { recursive: true })) {
    const file = path.join(folder, name);
    await chmod(file, (await stat(file)).isDirectory() ? 0o555 : 0o444);
  }
  await chmod(folder, 0o555);
}
