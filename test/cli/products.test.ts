import { execFileSync, spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync } from 'node:fs';
import { readFile, readdir, rm } from 'node:fs/promises';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openDesk } from '../../src/survey/open-desk.js';
import { builtDemo, copyOfSurvey, removeCopy } from '../once-a-run.js';
import { complaint, tallow } from './run-tallow.js';

const OGR = existsSync('/usr/bin/ogrinfo');
const PYTHON = '/usr/bin/python3';
const H5PY = spawnSync(PYTHON, ['-c', 'import h5py']).status === 0;
const VALIDATOR = spawnSync(PYTHON, ['-c', 'import osgeo_utils.samples.validate_cloud_optimized_geotiff']).status === 0;
const ALL = [
  'README.txt', 'chart.pdf', 'contours.dxf', 'contours.geojson', 'fill-in.geojson', 'fill-in.gpx', 'gaps.geojson', 'lines.geojson', 'lines.gpx', 'report.html', 'report.pdf', 'soundings.csv', 'soundings.parquet', 'soundings.xyz',
  'surface-s102.h5', 'surface-shaded.pgw', 'surface-shaded.png', 'surface-shaded.png.aux.xml', 'surface-shaded.prj', 'surface.tif', 'surface.xyz', 'survey.gpkg', 'xyz-readme.txt',
];

let folder: string;
const at = (name: string): string => path.join(folder, 'products', name);
const made = async (): Promise<string[]> => (await readdir(path.join(folder, 'products'))).sort();
const hashes = async (): Promise<Record<string, string>> => Object.fromEntries(await Promise.all((await made()).map(async (name) => [name, createHash('sha256').update(await readFile(at(name))).digest('hex')])));
const say = (program: string, ...args: string[]): string => {
  const run = spawnSync(`/usr/bin/${program}`, args, { encoding: 'utf8', maxBuffer: 1 << 28 });
  expect(run.stderr).toBe('');
  return run.stdout;
};

let good = 0;
let total = 0;
beforeAll(async () => {
  const made = await builtDemo();
  ({ good, total } = (JSON.parse(made.reply) as { summary: { soundings: { good: number; total: number } } }).summary.soundings);
  folder = await copyOfSurvey(made.folder);
});
afterAll(() => removeCopy(folder));

describe('products of the demo', () => {
  it('everything is written unless something else is asked for', async () => {
    expect(await made()).toEqual(expect.arrayContaining(ALL));
    const readme = await readFile(at('README.txt'), 'utf8');
    expect(readme).toContain('NOT FOR NAVIGATION');
    expect(readme).toContain('Vertical datum of surface-s102.h5: 24, local datum');
    expect(readme).toMatch(/logs\/hollin-trip-1\.nmea sha-256 [0-9a-f]{64}/);
  });

  it.skipIf(!OGR)('counts agree: GeoPackage against CSV and GeoJSON, DXF against contours, XYZ against good soundings', async () => {
    const text = say('ogrinfo', '-al', '-so', at('survey.gpkg'));
    const counts = Object.fromEntries([...text.matchAll(/Layer name: (\w+)[\s\S]*?Feature Count: (\d+)/g)].map((found) => [found[1], Number(found[2])]));
    const features = async (name: string): Promise<number> => (JSON.parse(await readFile(at(name), 'utf8')) as { features: unknown[] }).features.length;
    const rows = (await readFile(at('soundings.csv'), 'utf8')).trimEnd().split('\r\n').slice(1);
    expect(rows).toHaveLength(total);
    expect(counts['soundings']).toBe(rows.filter((row) => row.split(',')[1] !== '').length);
    expect(counts['contours']).toBe(await features('contours.geojson'));
    expect(counts['gaps']).toBe(await features('gaps.geojson'));
    expect(counts['planned_lines']).toBe(await features('lines.geojson'));
    expect(counts['finds']).toBe(await features('finds.geojson'));
    expect(say('ogrinfo', '-al', '-so', at('contours.dxf'))).toContain(`Feature Count: ${counts['contours']}`);
    expect((await readFile(at('soundings.xyz'), 'utf8')).trimEnd().split('\r\n')).toHaveLength(good);
  });

  it.skipIf(!H5PY)('S-102 and GeoTIFF hold the same depths, the other way up', () => {
    const script = [
      'import h5py, numpy as np', 'from osgeo import gdal',
      `v = h5py.File(${JSON.stringify(at('surface-s102.h5'))})['BathymetryCoverage/BathymetryCoverage.01/Group_001/values'][()][::-1]`,
      `t = gdal.Open(${JSON.stringify(at('surface.tif'))})`,
      'd, u = (t.GetRasterBand(i).ReadAsArray() for i in (1, 2))',
      'print(np.array_equal(np.where(np.isnan(d), 1e6, d).astype("f4"), v["depth"]), np.array_equal(np.where(np.isnan(d) | np.isnan(u), 1e6, u).astype("f4"), v["uncertainty"]), int((~np.isnan(d)).sum()) > 1000)',
    ].join('\n');
    expect(execFileSync(PYTHON, ['-W', 'ignore', '-c', script], { encoding: 'utf8' }).trim()).toBe('True True True');
  });

  it.skipIf(!VALIDATOR)('the GeoTIFF is cloud-optimised, without a warning', () => {
    const run = spawnSync(PYTHON, ['-m', 'osgeo_utils.samples.validate_cloud_optimized_geotiff', '--full-check=yes', at('surface.tif')], { encoding: 'utf8' });
    expect(run.stdout).toContain('is a valid cloud optimized GeoTIFF');
    expect(run.stdout + run.stderr).not.toMatch(/warning/i);
  });

  it('deleted and written again in one thread, where the command line used two: the same bytes', async () => {
    const before = await hashes();
    await rm(path.join(folder, 'products'), { recursive: true });
    await (await openDesk(folder)).build();
    const after = await hashes();
    for (const name of ALL) expect(after[name], name).toBe(before[name]);
  }, 300_000);

  it('--products picks: what is not asked for is removed, the report stays', async () => {
    const run = await tallow(['report', folder, '--products', 'dxf,S102', '--json']);
    expect(run.code).toBe(0);
    const names = (await made()).filter((name) => ALL.includes(name));
    expect(names).toEqual(['README.txt', 'contours.dxf', 'report.html', 'report.pdf', 'surface-s102.h5']);
    expect(await readFile(at('README.txt'), 'utf8')).not.toContain('survey.gpkg');
    const listed = run.json<{ products: { path: string; bytes: number }[] }>().products;
    expect(listed.find(({ path: place }) => place === 'products/surface-s102.h5')!.bytes).toBeGreaterThan(10_000);
    expect((await tallow(['check', folder])).code).toBe(0);
  });

  it.skipIf(!H5PY)('a datum code by hand goes into S-102, and README says so', async () => {
    expect((await tallow(['report', folder, '--products', 's102', '--set', 'products.verticalDatumCode=12', '--set', 'products.authority=Crew of the demo'])).code).toBe(0);
    expect(execFileSync(PYTHON, ['-c', `import h5py; f=h5py.File('${at('surface-s102.h5')}'); print(f.attrs['verticalDatum'], f['QualityOfBathymetryCoverage/featureAttributeTable'][0]['surveyAuthority'].decode())`], { encoding: 'utf8' }).trim()).toBe('12 Crew of the demo');
    expect(await readFile(at('README.txt'), 'utf8')).toContain('12, mean lower low water, as set');
  });

  it('the chart alone, at a scale and on paper asked for; too large a scale is refused with one that would do', async () => {
    const run = await tallow(['report', folder, '--products', 'chart', '--scale', '1000', '--paper', 'A2']);
    expect(run.code).toBe(0);
    expect(await made()).toContain('chart.pdf');
    if (existsSync('/usr/bin/pdfinfo')) {
      const info = execFileSync('/usr/bin/pdfinfo', [at('chart.pdf')], { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] });
      expect(info).toMatch(/Page size:\s+1683\.\d+ x 1190\.\d+ pts/);
      expect(info).toContain('not for navigation');
    }
    const settled = async () => Promise.all(['survey.json', 'journal.jsonl', 'products/chart.pdf'].map((place) => readFile(path.join(folder, place), 'latin1')));
    const before = await settled();
    const refused = await tallow(['report', folder, '--scale', '20', '--paper', 'A4']);
    expect(refused.code).toBe(2);
    expect(complaint(refused)).toMatch(/products\.chart: at 1:20 on A4 the chart would take more than 40 sheets; scales that fit: 1:\d+ and smaller on A4(, 1:\d+ and smaller on A[32])*; nothing is changed/);
    expect(await settled()).toEqual(before);
    // One of those it names is taken.
    const scale = /1:(\d+) and smaller on A4/.exec(complaint(refused))![1]!;
    expect((await tallow(['report', folder, '--scale', scale, '--paper', 'A4'])).code).toBe(0);
    expect(JSON.parse(await readFile(path.join(folder, 'derived/chart.json'), 'utf8'))).toMatchObject({ paper: 'A4', scale: Number(scale), refused: '' });
  });

  it('a product there is not: said with those there are, nothing changed', async () => {
    const before = await hashes();
    const run = await tallow(['report', folder, '--products', 's102,tiff']);
    expect(run.code).toBe(2);
    expect(complaint(run)).toContain('--products: expected names parted by commas out of csv, geoparquet, geotiff, s102, geopackage, geojson, dxf, xyz, png, chart, mosaic, finds, or all, or none; found "tiff"');
    expect(await hashes()).toEqual(before);
  });
});
