import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { existsSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { rootMeanSquare } from '../../src/base/statistics.js';
import { bytesSource } from '../../src/base/byte-source.js';
import { readGeoTiff } from '../../src/formats/geotiff-read.js';
import { writeSegySonar } from '../../src/formats/segy-write.js';
import { createSideScanGround, type SideScanGround } from '../../src/proving/index.js';
import { BOTTOM_SOURCE } from '../../src/imagery/bottom-track.js';
import { readBottom } from '../../src/survey/imagery-files.js';
import { openDesk } from '../../src/survey/open-desk.js';
import type { ImagerySummary } from '../../src/survey/summary.js';
import { complaint, tallow } from './run-tallow.js';

interface Reply {
  readonly imagery: ImagerySummary | null;
  readonly notes: readonly string[];
  readonly ran: readonly { readonly step: string }[];
}

/** The sonar's clock is behind by this much [s]. */
const LATE_S = 2.4;
let base = '';
let survey = '';
let ground: SideScanGround;
let first: Reply;

const derived = (name: string): string => path.join(survey, 'derived', 'imagery', name);

/** The mosaic by place: level in dB against the usual return, NaN where there is none. */
async function readMosaic() {
  const tiff = await readGeoTiff(bytesSource('mosaic.tif', new Uint8Array(await readFile(derived('mosaic.tif')))));
  if (tiff.kind !== 'utm') throw new Error('expected the survey frame');
  return { grid: tiff.grid, values: tiff.bands[0]!.values };
}

beforeAll(async () => {
  base = await mkdtemp(path.join(tmpdir(), 'tallow-imagery-'));
  survey = path.join(base, 'scan');
  ground = createSideScanGround(7, { ground: 'plain', lines: 3, lengthM: 120, spacingM: 30, depthM: 7.5, objects: 8, sonar: { rays: 1 }, errors: { clockOffsetS: -LATE_S } });
  const { reader } = ground.logs[0]!;
  const parts: Uint8Array[] = [];
  await writeSegySonar({ write: async (bytes) => void parts.push(bytes.slice()) }, { heads: reader.heads, read: (start, end) => reader.read(start, end) });
  await writeFile(path.join(base, 'scan.sgy'), Buffer.concat(parts));
  await writeFile(path.join(base, ground.nmea.file), ground.nmea.bytes);
  expect((await tallow(['new', survey, '--name', 'Side-scan ground'])).code).toBe(0);
  const settings = JSON.parse(await readFile(path.join(survey, 'survey.json'), 'utf8')) as Record<string, Record<string, unknown>>;
  for (const [key, value] of Object.entries(ground.settings)) settings[key] = typeof value === 'object' && value !== null && !Array.isArray(value) ? { ...settings[key], ...(value as object) } : (value as never);
  Object.assign(settings['sonar']!, { mount: ground.sonar.mount, draftM: ground.sonar.draftM });
  Object.assign(settings['imagery']!, { beamDeg: ground.sonar.beamDeg });
  await writeFile(path.join(survey, 'survey.json'), JSON.stringify(settings));
  const taken = await tallow(['take-in', survey, path.join(base, ground.nmea.file), path.join(base, 'scan.sgy')]);
  expect(taken.code, taken.err).toBe(0);
  const made = await tallow(['imagery', survey, '--cell', '0.1', '--per-line', '--json']);
  expect(made.code, made.err).toBe(0);
  first = made.json<Reply>();
});

afterAll(() => rm(base, { recursive: true, force: true }));

describe('tallow imagery', () => {
  it('imagery: the floor is tracked under nearly every ping, within 0.25 m of the truth', async () => {
    const { bottom } = first.imagery!;
    const truth = ground.truth.pings[0]!;
    expect(bottom!.pings).toBe(ground.logs[0]!.reader.heads.n);
    expect(bottom!.none).toBe(0);
    expect(bottom!.tracked).toBeGreaterThan(0.95 * bottom!.pings);
    expect(bottom!.heightMedianM!).toBeCloseTo(truth.heightM.slice().sort()[truth.heightM.length >> 1]!, 0);
  });
  it('imagery: a sonar clock that is behind is found, within its 95 % and 0.2 s, and said', () => {
    const { clock } = first.imagery!;
    expect(clock!.known).toBe(true);
    expect(Math.abs(clock!.offsetS - LATE_S)).toBeLessThan(0.2);
    expect(Math.abs(clock!.offsetS - LATE_S)).toBeLessThan(2 * clock!.uncertainty95S!);
    expect(first.notes.join('\n')).toContain('it was slow');
  });
  it('imagery: planted objects lie within 1 m RMS of where they were planted', async () => {
    const { grid, values } = await readMosaic();
    const off: number[] = [];
    for (const { xM, yM, lengthM, widthM, heightM, strengthDb } of ground.objects) {
      // What stands up and answers loudly; its near face is bright, so a half of its size is allowed for in what is searched.
      if (heightM < 0.3 || strengthDb < 0) continue;
      const reach = Math.max(lengthM, widthM) / 2 + 1.5;
      let [sum, sx, sy] = [0, 0, 0];
      const col0 = Math.round((xM - reach - grid.westM) / grid.cellM);
      const row0 = Math.round((grid.northM - yM - reach) / grid.cellM);
      const side = Math.round((2 * reach) / grid.cellM);
      for (let row = Math.max(0, row0); row < Math.min(grid.rows, row0 + side); row++) {
        for (let col = Math.max(0, col0); col < Math.min(grid.cols, col0 + side); col++) {
          const levelDb = (values[row * grid.cols + col]! - 128) / 4;
          if (!(levelDb > 10)) continue;
          const weight = 10 ** (levelDb / 20);
          sum += weight;
          sx += weight * (grid.westM + (col + 0.5) * grid.cellM);
          sy += weight * (grid.northM - (row + 0.5) * grid.cellM);
        }
      }
      if (sum > 0) off.push(Math.hypot(sx / sum - xM, sy / sum - yM));
    }
    expect(off.length).toBeGreaterThanOrEqual(4);
    expect(rootMeanSquare(off), off.map((each) => each.toFixed(2)).join(' ')).toBeLessThan(1);
  });
  it('imagery: the floor beside the objects is even: the median of every strip of the mosaic is within 1 dB', async () => {
    const { grid, values } = await readMosaic();
    for (let row = 0; row < grid.rows; row += 100) {
      const levels: number[] = [];
      for (let r = row; r < Math.min(grid.rows, row + 100); r++) for (let col = 0; col < grid.cols; col += 3) if (values[r * grid.cols + col]! > 0) levels.push(values[r * grid.cols + col]!);
      if (levels.length < 2000) continue;
      levels.sort((a, b) => a - b);
      // A single echo is speckle: its median is 0.5 dB below its mean.
      expect(Math.abs((levels[levels.length >> 1]! - 128) / 4), `rows from ${row}`).toBeLessThan(1);
    }
  });
  it('imagery: a second run has nothing to do, a picture a line is there, and a rebuild gives the same bytes', async () => {
    expect((await tallow(['imagery', survey, '--json'])).json<Reply>().ran).toEqual([]);
    const lines = first.imagery!.mosaic!.lines;
    expect(lines.length).toBeGreaterThanOrEqual(3);
    for (const line of lines) expect(existsSync(derived(`lines/line-${String(line).padStart(3, '0')}.tif`))).toBe(true);
    const names = ['bottom.parquet', 'sonar-track.parquet', 'gain.parquet', 'mosaic.tif'];
    const before = await Promise.all(names.map((name) => readFile(derived(name))));
    await rm(path.join(survey, 'derived'), { recursive: true });
    expect((await tallow(['imagery', survey])).code).toBe(0);
    for (const [i, name] of names.entries()) expect((await readFile(derived(name))).equals(before[i]!), name).toBe(true);
  }, 120_000);
  it('imagery: one thread gives the bytes that several give', async () => {
    const names = ['bottom.parquet', 'mosaic.tif'];
    const before = await Promise.all(names.map((name) => readFile(derived(name))));
    await rm(path.join(survey, 'derived', 'imagery'), { recursive: true });
    // Sources run as they are have no compiled thread to start.
    await (await openDesk(survey)).build({}, 'mosaic');
    for (const [i, name] of names.entries()) expect((await readFile(derived(name))).equals(before[i]!), name).toBe(true);
  }, 120_000);
  it('imagery: a floor drawn by hand stands between its points, and an undo takes it back', async () => {
    const desk = await openDesk(survey);
    const { logs } = await desk.summary();
    const log = logs.find(({ kind }) => kind === 'segy')!.sha256.slice(0, 16);
    const before = await readFile(derived('bottom.parquet'));
    await desk.decide({ kind: 'bottom', log, points: [{ record: 400, slantM: 6 }, { record: 420, slantM: 8 }] });
    await desk.build({}, 'bottom');
    const bottom = (await readBottom(survey))!;
    expect(bottom.source[410]).toBe(BOTTOM_SOURCE.byHand);
    expect(bottom.heightM[410]).toBeCloseTo(7, 5);
    expect(bottom.source[421]).not.toBe(BOTTOM_SOURCE.byHand);
    await desk.undo();
    await desk.build({}, 'bottom');
    expect((await readFile(derived('bottom.parquet'))).equals(before)).toBe(true);
  }, 120_000);
  it('imagery: where no floor is heard the depth surface and the water level give it', async () => {
    const desk = await openDesk(survey);
    await desk.set('imagery.bottom.mostM', 2);
    await desk.set('sonar.clockOffsetS', LATE_S);
    await desk.build({}, 'bottom');
    const bottom = (await readBottom(survey))!;
    const truth = ground.truth.pings[0]!;
    const off = Array.from(bottom.heightM, (height, row) => height - truth.heightM[row]!).filter((_, row) => bottom.source[row] === BOTTOM_SOURCE.depthSurface);
    expect(off.length).toBeGreaterThan(0.6 * bottom.n);
    expect(rootMeanSquare(off)).toBeLessThan(0.3);
    await desk.set('imagery.bottom.mostM', null);
    await desk.set('sonar.clockOffsetS', null);
  }, 120_000);
  it('imagery: what it says has figures with units, and a bad blend is refused with what there is', async () => {
    const { out } = await tallow(['imagery', survey]);
    expect(out).toMatch(/Floor below +\d\.\d\d m to \d\.\d\d m/);
    expect(out).toMatch(/Sonar's clock +\+2\.\d\d s ± 0\.\d\d s/);
    expect(out).toMatch(/Mosaic +[\d ]+ x [\d ]+ cells of 0\.1 m {2}\(0\.1 m, as set\)/);
    const bad = await tallow(['imagery', survey, '--blend', 'loud']);
    expect(bad.code).toBe(2);
    expect(complaint(bad)).toContain('--blend: expected best, mean, brightest, latest, found "loud"');
  });
  it('imagery: nothing is written and it is said where there is no side-scan log', async () => {
    const plain = path.join(base, 'plain');
    await tallow(['new', plain, '--name', 'No side-scan']);
    await tallow(['take-in', plain, path.join(base, ground.nmea.file)]);
    const run = await tallow(['imagery', plain]);
    expect(run.code).toBe(0);
    expect(run.out).toContain('Side-scan pings none yet');
    expect(existsSync(path.join(plain, 'derived', 'imagery'))).toBe(false);
  });
});
