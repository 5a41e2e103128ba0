import { readFile, rm, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { mkdtemp } from 'node:fs/promises';
import os from 'node:os';
import type { SurveySummary } from '../../src/survey/summary.js';
import { proveSurvey } from '../../src/proving/index.js';
import { tallow } from './run-tallow.js';

const AREA_KML = (corners: readonly (readonly [number, number])[]): string =>
  `<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2"><Placemark><Polygon><outerBoundaryIs><LinearRing><coordinates>${[...corners, corners[0]!].map(([lon, lat]) => `${lon},${lat}`).join(' ')}</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></kml>`;

describe('the main job from the command line', () => {
  let top: string;
  let folder: string;
  const survey = proveSurvey(11, 'short');
  beforeAll(async () => {
    top = await mkdtemp(path.join(os.tmpdir(), 'tallow-main-'));
    folder = path.join(top, 'inlet');
  });
  afterAll(() => rm(top, { recursive: true, force: true }));

  it('new and lines: an area as KML becomes lines, a route and a table', async () => {
    const area = JSON.parse(survey.files['plan/area.geojson']!) as { features: { geometry: { coordinates: [number, number][][] } }[] };
    await writeFile(path.join(top, 'area.kml'), AREA_KML(area.features[0]!.geometry.coordinates[0]!.slice(0, -1)));
    expect((await tallow(['new', folder, '--name', 'Inlet', '--area', path.join(top, 'area.kml')])).code).toBe(0);
    const lines = await tallow(['lines', folder, '--spacing', '8', '--heading', '90', '--json']);
    expect(lines.code, lines.err).toBe(0);
    const { lines: figures, files } = lines.json<{ lines: SurveySummary['lines']; files: string[] }>();
    expect(figures?.spacingM).toBe(8);
    expect(figures?.headingDeg).toBeCloseTo(90, 6);
    expect(figures!.crossLengthM).toBeGreaterThanOrEqual(0.05 * figures!.mainLengthM);
    expect(files).toEqual(['plan/lines.geojson', 'plan/routes/lines.gpx', 'plan/routes/lines.csv']);
    const collection = JSON.parse(await readFile(path.join(folder, 'plan/lines.geojson'), 'utf8')) as { features: unknown[] };
    expect(collection.features).toHaveLength(figures!.main + figures!.cross);
    expect(await readFile(path.join(folder, 'plan/routes/lines.gpx'), 'utf8')).toContain('<gpx version="1.1"');
  });

  it('take-in, depths, gaps and report: logs become products that agree with the figures printed', async () => {
    const parts: Uint8Array[] = [];
    survey.writeLogs(null, (_name, bytes) => void parts.push(bytes));
    await writeFile(path.join(top, 'trip.nmea'), Buffer.concat(parts));
    for (const place of ['water/level.csv', 'water/sound-speed.csv']) await writeFile(path.join(folder, place), survey.files[place]!);
    const { sounder } = survey.settings as { sounder: { draftM: number; latencyS: number } };
    const taken = await tallow(['take-in', folder, path.join(top, 'trip.nmea')]);
    expect(taken.code, taken.err).toBe(0);
    expect(taken.out).toMatch(/Rejected +\d+ +\(checksum does not match/);
    const depths = await tallow(['depths', folder, '--set', `sounder.draftM=${sounder.draftM}`, '--set', `sounder.latencyS=${sounder.latencyS}`, '--set', 'water.level={"kind":"series","file":"water/level.csv"}', '--set', 'water.soundSpeed={"kind":"profile","file":"water/sound-speed.csv"}', '--set', 'datum=Hollin chart datum', '--json']);
    expect(depths.code, depths.err).toBe(0);
    const gaps = await tallow(['gaps', folder, '--json']);
    expect([0, 1]).toContain(gaps.code);
    const { gaps: found } = gaps.json<{ gaps: NonNullable<SurveySummary['gaps']> }>();
    expect(gaps.code).toBe(found.count > 0 ? 1 : 0);
    const report = await tallow(['report', folder, '--json']);
    expect(report.code, report.err).toBe(0);
    const { products } = report.json<{ products: SurveySummary['products'] }>();
    for (const name of ['soundings.csv', 'surface.tif', 'contours.geojson', 'gaps.geojson', 'lines.gpx', 'lines.geojson', 'report.html', 'report.pdf']) expect(products.map((product) => product.path)).toContain(`products/${name}`);

    const { soundings } = depths.json<{ soundings: NonNullable<SurveySummary['soundings']> }>();
    const rows = (await readFile(path.join(folder, 'products/soundings.csv'), 'utf8')).trimEnd().split('\r\n');
    expect(rows[0]).toBe('timeUtc,latDeg,lonDeg,depthM,tvuM,thuM,flag,reason,line,log,record');
    expect(rows).toHaveLength(soundings.total + 1);
    const flags = rows.slice(1).map((row) => row.split(',')[6]);
    expect(flags.filter((flag) => flag === 'good')).toHaveLength(soundings.good);
    const depthsM = rows.slice(1).filter((row) => row.split(',')[6] === 'good').map((row) => Number(row.split(',')[3]));
    expect(Math.min(...depthsM)).toBeCloseTo(soundings.depthMinM, 2);
    expect(Math.max(...depthsM)).toBeCloseTo(soundings.depthMaxM, 2);
    // The rehearsal is no part of the report: build makes it, and then there is nothing left to do.
    expect((await tallow(['build', folder])).out).toContain('Built sorties, rehearsal in');
    const text = await tallow(['build', folder]);
    expect(text.out).toContain('Not for navigation.');
    expect(text.out).toContain('Nothing to do: everything is fresh.');
    const html = await readFile(path.join(folder, 'products/report.html'), 'utf8');
    expect(html).toContain('Inlet');
    expect(html).not.toMatch(/src="http|href="http/);
    expect((await readFile(path.join(folder, 'products/report.pdf'))).subarray(0, 5).toString()).toBe('%PDF-');
  });

  it('check: a derived file changed by hand is found, and a damaged raw log', async () => {
    expect((await tallow(['check', folder])).code).toBe(0);
    await writeFile(path.join(folder, 'derived/contours.geojson'), '{}');
    const { logs } = JSON.parse(await readFile(path.join(folder, 'logs/manifest.json'), 'utf8')) as { logs: { file: string }[] };
    const raw = path.join(folder, 'logs', logs[0]!.file);
    const bytes = await readFile(raw);
    bytes[100]! ^= 1;
    await writeFile(raw, bytes);
    const checked = await tallow(['check', folder]);
    expect(checked.code).toBe(1);
    expect(checked.out).toMatch(/derived\/contours\.geojson: changed since contours made it/);
    expect(checked.out).toMatch(/logs\/trip\.nmea: its bytes are not those taken in/);
  });

  it('journal: a setting changed is undone and redone from the command line', async () => {
    await tallow(['depths', folder, '--set', 'sounder.draftM=0.5']).catch(() => undefined);
    const undone = await tallow(['journal', folder, '--undo']);
    expect(undone.out).toMatch(/Undone: sounder\.draftM: [\d.]+ to 0\.5/);
    const settings = async (): Promise<number> => (JSON.parse(await readFile(path.join(folder, 'survey.json'), 'utf8')) as { sounder: { draftM: number } }).sounder.draftM;
    expect(await settings()).not.toBe(0.5);
    await tallow(['journal', folder, '--redo']);
    expect(await settings()).toBe(0.5);
  });
});
