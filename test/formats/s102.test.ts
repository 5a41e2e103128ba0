import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { s102DatumCode } from '../../src/formats/s102-datum.js';
import { writeS102, type S102Surface } from '../../src/formats/s102-write.js';
import { createFrame } from '../../src/geo/frame.js';

const PYTHON = '/usr/bin/python3';
const H5PY = spawnSync(PYTHON, ['-c', 'import h5py']).status === 0;
const SAMPLE = fileURLToPath(new URL('../../../shared/data/formats/s102-3.0.0-valid-sample.h5', import.meta.url));
const DESCRIBE = fileURLToPath(new URL('../reference/s102/describe.py', import.meta.url));
const FORMATS = existsSync('/usr/bin/gdalinfo') ? execFileSync('/usr/bin/gdalinfo', ['--formats'], { encoding: 'utf8' }) : '';

interface Attribute { readonly kind: unknown; readonly shape: readonly number[]; readonly value: unknown }
interface Entry { readonly attrs: Record<string, Attribute>; readonly kind?: unknown; readonly rank?: number; readonly shape?: number[]; readonly compression?: string; readonly fill?: unknown; readonly values?: unknown }
type Description = Record<string, Entry>;

const describeFile = (file: string, ...flags: string[]): Description => JSON.parse(execFileSync(PYTHON, [DESCRIBE, file, ...flags], { encoding: 'utf8', maxBuffer: 1 << 28 })) as Description;

const FRAME = { kind: 'utm', zone: 26, hemisphere: 'north' } as const;
const [COLS, ROWS] = [150, 131];

/** Deeper to the south, a hole without data, a cell that dries, a stretch filled between. */
function surface(change: Partial<S102Surface> = {}): S102Surface {
  const cells = COLS * ROWS;
  const depthM = Float32Array.from({ length: cells }, (_, i) => 4 + Math.floor(i / COLS) / 10 + (i % COLS) / 1000);
  depthM[0] = -0.5;
  depthM.fill(NaN, 3 * COLS + 5, 3 * COLS + 9);
  const uncertaintyM = depthM.map((depth) => 0.2 + depth / 100);
  uncertaintyM[COLS] = NaN;
  const count = Float32Array.from({ length: cells }, (_, i) => (i % COLS < 75 ? 3 : 0));
  return {
    frame: FRAME, grid: { westM: 500_120, northM: 5_094_320, cellM: 0.5, cols: COLS, rows: ROWS }, depthM, uncertaintyM, count, datumCode: 23,
    issueDate: '20260514', firstDay: '20260513', lastDay: '20260514', positionUncertaintyM: 2.5, surveyName: 'Hollin Sound, demo', authority: 'Crew of an invented boat', ...change,
  };
}

let folder = '';
let file = '';
let ours: Description = {};
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 's102-'));
  file = join(folder, 'ours.h5');
  writeFileSync(file, await writeS102(surface()));
  if (H5PY) ours = describeFile(file, '--cells');
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const BATHY = 'BathymetryCoverage/BathymetryCoverage.01';
const QUALITY = 'QualityOfBathymetryCoverage/QualityOfBathymetryCoverage.01';

describe.skipIf(!H5PY)('S-102 held by h5py against the published tables', () => {
  /* S-102 edition 3.0.0 clause 10: every mandatory attribute, its type, and its value where the table gives one. */
  const TABLES: Record<string, Record<string, [kind: string, value?: unknown]>> = {
    '/': {
      productSpecification: ['text', 'INT.IHO.S-102.3.0.0'], issueDate: ['text 8', '20260514'], horizontalCRS: ['<i4', 32626],
      westBoundLongitude: ['<f4'], eastBoundLongitude: ['<f4'], southBoundLatitude: ['<f4'], northBoundLatitude: ['<f4'],
      verticalCS: ['<i4', 6498], verticalCoordinateBase: ['enum', 2], verticalDatumReference: ['enum', 1], verticalDatum: ['<u2', 23],
    },
    ...Object.fromEntries([['BathymetryCoverage', 2], ['QualityOfBathymetryCoverage', 9]].map(([name, coding]) => [name, {
      dataCodingFormat: ['enum', coding], dimension: ['|u1', 2], commonPointRule: ['enum', 2], horizontalPositionUncertainty: ['<f4', -1], verticalUncertainty: ['<f4', -1],
      numInstances: ['|u1', 1], 'sequencingRule.type': ['enum', 1], 'sequencingRule.scanDirection': ['text', 'Easting,Northing'], interpolationType: ['enum', 1], dataOffsetCode: ['enum', 5],
    }])) as Record<string, Record<string, [string, unknown]>>,
    ...Object.fromEntries([BATHY, QUALITY].map((name) => [name, {
      westBoundLongitude: ['<f4', 500_120], eastBoundLongitude: ['<f4', 500_195], southBoundLatitude: ['<f4', 5_094_254.5], northBoundLatitude: ['<f4', 5_094_320],
      numGRP: ['|u1', 1], gridOriginLongitude: ['<f8', 500_120.25], gridOriginLatitude: ['<f8', 5_094_254.75], gridSpacingLongitudinal: ['<f8', 0.5], gridSpacingLatitudinal: ['<f8', 0.5],
      numPointsLongitudinal: ['<u4', COLS], numPointsLatitudinal: ['<u4', ROWS], startSequence: ['text', '0,0'],
    }])) as Record<string, Record<string, [string, unknown]>>,
    [`${BATHY}/Group_001`]: { minimumDepth: ['<f4', -0.5], maximumDepth: ['<f4'], minimumUncertainty: ['<f4'], maximumUncertainty: ['<f4'], timePoint: ['text 16', '00010101T000000Z'] },
  };

  for (const [place, attributes] of Object.entries(TABLES)) {
    it(`attributes of ${place}: type and value as the table has them`, () => {
      for (const [name, [kind, value]] of Object.entries(attributes)) {
        const found = ours[place]?.attrs[name];
        expect(found, name).toBeDefined();
        expect(typeof found!.kind === 'object' ? Object.keys(found!.kind as object)[0] : found!.kind, name).toBe(kind);
        expect(found!.shape, name).toEqual([]);
        if (typeof value === 'number') expect(found!.value as number, name).toBeCloseTo(value, 0);
        else if (value !== undefined) expect(found!.value, name).toBe(value);
      }
      expect(Object.keys(ours[place]!.attrs).sort()).toEqual(Object.keys(attributes).sort());
    });
  }

  it('Group_F: feature codes and the rows of both tables', () => {
    expect(ours['Group_F/featureCode']!.values).toEqual(['BathymetryCoverage', 'QualityOfBathymetryCoverage']);
    const rows = ours['Group_F/BathymetryCoverage']!.values as Record<string, string>[];
    expect(rows.map((row) => Object.values(row))).toEqual([
      ['depth', 'depth', 'metres', '1000000', 'H5T_FLOAT', '-14', '11050', 'closedInterval'],
      ['uncertainty', 'uncertainty', 'metres', '1000000', 'H5T_FLOAT', '0', '', 'geSemiInterval'],
    ]);
  });

  it('values: from the south-west, row by row, the fill value where there is nothing', () => {
    const { depthM, uncertaintyM, count } = surface();
    const { depth, uncertainty } = ours[`${BATHY}/Group_001/values`]!.values as { depth: number[][]; uncertainty: number[][] };
    const ids = (ours[`${QUALITY}/Group_001/values`]!.values as { iD: number[][] }).iD;
    for (let row = 0; row < ROWS; row++) {
      for (let col = 0; col < COLS; col++) {
        const cell = (ROWS - 1 - row) * COLS + col;
        const expected = Number.isNaN(depthM[cell]!) ? 1_000_000 : depthM[cell]!;
        if (depth[row]![col] !== expected) expect(depth[row]![col], `row ${row} col ${col}`).toBe(expected);
        const sigma = Number.isNaN(depthM[cell]!) || Number.isNaN(uncertaintyM[cell]!) ? 1_000_000 : uncertaintyM[cell]!;
        if (uncertainty[row]![col] !== sigma) expect(uncertainty[row]![col], `row ${row} col ${col}`).toBe(sigma);
        const id = Number.isNaN(depthM[cell]!) ? 0 : count[cell]! > 0 ? 1 : 2;
        if (ids[row]![col] !== id) expect(ids[row]![col], `row ${row} col ${col}`).toBe(id);
      }
    }
    expect(ours[`${BATHY}/Group_001`]!.attrs['maximumDepth']!.value).toBe(depthM.reduce((most, depth) => (depth > most ? depth : most), -1e9));
    expect(ours[`${BATHY}/Group_001/values`]!.fill).toEqual({ depth: 1_000_000, uncertainty: 1_000_000 });
  });

  it('records of quality: ids, days and names; no claim of full coverage', () => {
    const rows = ours['QualityOfBathymetryCoverage/featureAttributeTable']!.values as Record<string, unknown>[];
    expect(rows.map((row) => row['id'])).toEqual([1, 2]);
    expect(rows[0]).toMatchObject({ dataAssessment: 1, fullSeafloorCoverageAchieved: 0, bathyCoverage: 0, 'surveyDateRange.dateStart': '20260513', 'surveyDateRange.dateEnd': '20260514', sourceSurveyID: 'Hollin Sound, demo', surveyAuthority: 'Crew of an invented boat' });
    expect(rows[0]!['zoneOfConfidence.horizontalPositionUncertainty.uncertaintyFixed']).toBe(2.5);
  });

  it('bounds of the file: degrees round every corner, within a float32 step', () => {
    const frame = createFrame(FRAME);
    const corners = [[500_120, 5_094_254.5], [500_120, 5_094_320], [500_195, 5_094_254.5], [500_195, 5_094_320]].map(([x, y]) => frame.toGeographic(x!, y!));
    const at = (name: string): number => ours['/']!.attrs[name]!.value as number;
    expect(Math.abs(at('southBoundLatitude') - Math.min(...corners.map(([lat]) => lat)))).toBeLessThan(4e-6);
    expect(Math.abs(at('northBoundLatitude') - Math.max(...corners.map(([lat]) => lat)))).toBeLessThan(4e-6);
    expect(Math.abs(at('westBoundLongitude') - Math.min(...corners.map(([, lon]) => lon)))).toBeLessThan(4e-6);
    expect(Math.abs(at('eastBoundLongitude') - Math.max(...corners.map(([, lon]) => lon)))).toBeLessThan(4e-6);
  });
});

describe.skipIf(!H5PY || !existsSync(SAMPLE))("S-102 held against the IHO's valid sample", () => {
  it('every object, attribute, type and enumeration of the sample is in ours alike', () => {
    const sample = describeFile(SAMPLE);
    for (const [place, entry] of Object.entries(sample)) {
      expect(ours[place], place).toBeDefined();
      for (const [name, attribute] of Object.entries(entry.attrs)) {
        if (name === 'issueTime') continue; // optional; a survey knows its day alone
        expect(ours[place]!.attrs[name]?.kind, `${place} @${name}`).toEqual(attribute.kind);
        expect(ours[place]!.attrs[name]?.shape, `${place} @${name}`).toEqual(attribute.shape);
      }
      expect(ours[place]!.rank, place).toBe(entry.rank);
      if (place.endsWith('BathymetryCoverage.01/Group_001/values') && !place.startsWith('Quality')) expect(ours[place]!.kind).toEqual([['depth', '<f4'], ['uncertainty', '<f4']]);
      else if (place.endsWith('featureAttributeTable')) expect(ours[place]!.kind).toEqual(expect.arrayContaining(entry.kind as unknown[]));
      else expect(ours[place]!.kind, place).toEqual(entry.kind);
      if (place.startsWith('Group_F/') && place !== 'Group_F/BathymetryCoverage') expect(ours[place]!.values, place).toEqual(entry.values);
    }
    expect((ours['Group_F/BathymetryCoverage']!.values as unknown[])[0]).toEqual((sample['Group_F/BathymetryCoverage']!.values as unknown[])[0]);
  });
});

describe('writeS102', () => {
  it('equal input gives equal bytes, whenever it is written', async () => {
    const first = await writeS102(surface());
    await new Promise((resolve) => setTimeout(resolve, 1100));
    expect(Buffer.from(await writeS102(surface())).equals(Buffer.from(first))).toBe(true);
  });

  it('refuses a datum code S-102 does not know, a day that is none, and arrays of another size', async () => {
    await expect(writeS102(surface({ datumCode: 42 }))).rejects.toThrow('datumCode 42: S-102 allows 1 to 41 and 43 to 46');
    await expect(writeS102(surface({ issueDate: '2026-05-14' }))).rejects.toThrow('issueDate 2026-05-14: expected year, month and day in eight figures');
    await expect(writeS102(surface({ count: new Float32Array(3) }))).rejects.toThrow('count: expected 19650 cells, found 3');
  });

  it.skipIf(!FORMATS.includes('S102'))('is read by the S102 driver of GDAL', () => {
    const info = execFileSync('/usr/bin/gdalinfo', [`S102:${file}`], { encoding: 'utf8' });
    expect(info).toContain('Size is 150, 131');
  });

  it.skipIf(!FORMATS.includes('HDF5Image'))('its depths are read by the HDF5 driver of GDAL', () => {
    const run = spawnSync('/usr/bin/gdalinfo', [file], { encoding: 'utf8' });
    expect(run.status).toBe(0);
    expect(run.stderr).toBe('');
    expect(run.stdout).toContain('verticalDatum=23');
  });

  it('a surface of 2 million cells: written whole, in one piece of memory', async () => {
    const [cols, rows] = [2000, 1000];
    const depthM = Float32Array.from({ length: cols * rows }, (_, i) => 10 + Math.sin(i / 1000));
    const bytes = await writeS102(surface({ grid: { westM: 0, northM: 5e6, cellM: 1, cols, rows }, depthM, uncertaintyM: new Float32Array(cols * rows).fill(0.3), count: new Float32Array(cols * rows) }));
    const large = join(folder, 'large.h5');
    writeFileSync(large, bytes);
    if (H5PY) {
      const found = execFileSync(PYTHON, ['-c', `import h5py; v=h5py.File('${large}')['${BATHY}/Group_001/values']; print(v.shape, v['depth'][999,0])`], { encoding: 'utf8' });
      expect(found.trim()).toBe('(1000, 2000) 10.0');
    }
  }, 60_000);
});

describe('s102DatumCode: a datum in words', () => {
  it.each([
    ['Lowest Astronomical Tide', 23], ['LAT', 23], ['lowest astronomical tide (LAT)', 23], ['Mean sea level', 3], ['MLLW', 12],
    ['lowest low water, Hollin gauge 2026', null], ['water surface', null], ['', null], ['flat', null],
  ])('%s', (words, code) => expect(s102DatumCode(words)).toBe(code));
});
