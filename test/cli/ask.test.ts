import { readFile, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { cp, mkdtemp, rm } from 'node:fs/promises';
import os from 'node:os';
import { makeProof } from '../../src/survey/make-demo.js';
import { complaint, tallow } from './run-tallow.js';

describe('ask', () => {
  let top: string;
  let folder: string;
  let box: string;
  let middle: [number, number];
  beforeAll(async () => {
    top = await mkdtemp(path.join(os.tmpdir(), 'tallow-ask-'));
    folder = path.join(top, 'survey');
    const { desk } = await makeProof(folder, 5, 'short', {});
    await desk.build({}, 'surface');
    const area = JSON.parse(await readFile(path.join(folder, 'plan/area.geojson'), 'utf8')) as { features: { geometry: { coordinates: number[][][] } }[] };
    const ring = area.features[0]!.geometry.coordinates[0]!;
    const [lons, lats] = [ring.map((one) => one[0]!), ring.map((one) => one[1]!)];
    middle = [(Math.min(...lats) + Math.max(...lats)) / 2, (Math.min(...lons) + Math.max(...lons)) / 2];
    const [lat, lon] = middle;
    box = path.join(top, 'box.geojson');
    const d = 0.0002;
    await writeFile(box, JSON.stringify({ type: 'Polygon', coordinates: [[[lon - d, lat - d], [lon + d, lat - d], [lon + d, lat + d], [lon - d, lat + d], [lon - d, lat - d]]] }));
  });
  afterAll(() => rm(top, { recursive: true, force: true }));

  it('volume: water below the datum in a box is its area times its mean depth; a record says what it was made from', async () => {
    const run = await tallow(['ask', folder, 'volume', '--level', '0', '--interval', '2', '--within', box, '--json']);
    expect(run.code, run.err).toBe(0);
    const { reply, files } = run.json<{ reply: { belowM3: number; belowM2: number; aboveM3: number; unknownM2: number; belowHalf95M3: number }; files: string[] }>();
    // 0.0004 degrees of latitude are 44.5 m, of longitude at 46 N 30.9 m (WGS 84).
    expect(reply.belowM2 + reply.unknownM2).toBeGreaterThan(1360);
    expect(reply.belowM2 + reply.unknownM2).toBeLessThan(1390);
    expect(reply.aboveM3).toBe(0);
    expect(reply.belowM3 / reply.belowM2).toBeGreaterThan(1);
    expect(files).toEqual(['products/volume-by-level.csv']);
    const made = JSON.parse(await readFile(path.join(folder, 'derived/asked/volume-by-level.csv.made.json'), 'utf8')) as { inputs: Record<string, string> };
    expect(Object.keys(made.inputs)).toEqual(expect.arrayContaining(['derived/surface/surface.tif', 'box.geojson']));
    expect((await tallow(['check', folder])).code).toBe(0);
  });

  it('change: a survey against itself has changed nowhere; slope, rugosity, profile, soundings and least depth answer', async () => {
    const change = (await tallow(['ask', folder, 'change', '--since', folder, '--json'])).json<{ reply: Record<string, unknown> }>().reply;
    expect(change).toMatchObject({ deeperM3: 0, significantShare: 0, notes: [] });
    const say = async (...args: string[]): Promise<string> => {
      const run = await tallow(['ask', folder, ...args]);
      expect(run.code, run.err).toBe(0);
      return run.out;
    };
    expect(await say('slope')).toMatch(/Slope of [\d ]+ cells: median [\d.]+°.*\nWritten: products\/slope\.tif/);
    expect(await say('rugosity', '--within', box)).toMatch(/median 1\.\d{3}/);
    const [lat, lon] = middle;
    expect(await say('profile', `--line=${lat},${lon - 0.0003}/${lat},${lon + 0.0003}`)).toMatch(/Profile of 46 m: .* soundings beside it/);
    expect(await readFile(path.join(folder, 'products/profile.csv'), 'utf8')).toMatch(/^kind,distanceM,latDeg,lonDeg,depthM,uncertaintyM,offM\r\nsurface,0\.00,/);
    const selected = (await tallow(['ask', folder, 'soundings', '--scale', '1000', '--json'])).json<{ reply: { selected: number; of: number; radiusM: number } }>().reply;
    expect(selected.radiusM).toBe(8);
    const least = (await tallow(['ask', folder, 'least', '--json'])).json<{ reply: { depthM: number } }>().reply;
    const features = (JSON.parse(await readFile(path.join(folder, 'products/selected-soundings.geojson'), 'utf8')) as { features: { properties: { depthM: number } }[] }).features;
    expect(features).toHaveLength(selected.selected);
    expect(Math.min(...features.map(({ properties }) => properties.depthM))).toBeCloseTo(least.depthM, 2);
  });

  it('change: another datum, a survey without a water level and a surface out of date are said', async () => {
    const earlier = path.join(top, 'earlier');
    await cp(folder, earlier, { recursive: true });
    const settings = path.join(earlier, 'survey.json');
    const changed = { ...(JSON.parse(await readFile(settings, 'utf8')) as { water: object }), datum: 'mean low water' };
    await writeFile(settings, JSON.stringify({ ...changed, water: { ...changed.water, level: { kind: 'none' } } }));
    const { out } = await tallow(['ask', folder, 'change', '--since', earlier]);
    expect(out).toMatch(/! The datums have different names: mean low water then, .* now/);
    expect(out).toMatch(/! No water level is taken off then: /);
    expect(out).toMatch(/! The surface of earlier is older than its settings.*tallow depths/);
  });

  it('what cannot be answered says what is missing', async () => {
    const said = async (...args: string[]): Promise<string> => {
      const run = await tallow(['ask', folder, ...args]);
      expect(run.code).toBe(2);
      return complaint(run);
    };
    expect(await said('tide')).toContain('expected volume, change, slope');
    expect(await said('volume')).toContain('Give either --level METRES');
    expect(await said('change')).toContain('since when?');
    expect(await said('change', '--since', path.join(top, 'none'))).toContain('none');
    expect(await said('profile', '--line=46,-30')).toContain('two places or more');
    expect(await said('profile', '--line=46.5,-29.5/46.501,-29.5')).toContain('does not touch the surface');
    const afar = path.join(top, 'afar.geojson');
    await writeFile(afar, JSON.stringify({ type: 'Polygon', coordinates: [[[-29.5, 46.5], [-29.49, 46.5], [-29.49, 46.51], [-29.5, 46.5]]] }));
    expect(await said('least', '--within', afar)).toContain('no good sounding where it is asked for');
    expect(await said('volume', '--level', '3', '--within', afar)).toContain('no depth where it is asked for');
  });
});
