import { readFile, readdir } from 'node:fs/promises';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { tvuLimitM } from '../../src/depths/orders.js';
import { geodesicLengthM } from '../../src/geo/geodesic.js';
import type { SortiePlan } from '../../src/lines/sortie.js';
import { builtDemo, copyOfSurvey, removeCopy } from '../once-a-run.js';
import { complaint, tallow } from './run-tallow.js';

interface Trip {
  gaps: { count: number; weakCount: number; weakM2: number; fillLines: number };
  fillIn: { sorties: { lines: number[]; lengthM: number; timeS: number; verdict: { go: boolean; reason: string } | null }[]; files: string[] };
}

describe('gaps --plan', () => {
  let folder: string;
  beforeAll(async () => {
    folder = await copyOfSurvey((await builtDemo()).folder);
  });
  afterAll(() => removeCopy(folder));

  it('fill-in lines become a sortie from the launch point and back, rehearsed at the start, with its routes', async () => {
    const before = await readFile(path.join(folder, 'plan/lines.geojson'), 'utf8');
    const run = await tallow(['gaps', folder, '--plan', '--start', '2026-06-17T13:00Z', '--json']);
    expect(run.code, run.err).toBe(1);
    const { gaps, fillIn } = run.json<Trip>();
    expect(fillIn.sorties.flatMap(({ lines }) => lines).sort((a, b) => a - b)).toEqual(Array.from({ length: gaps.fillLines }, (_, i) => i + 1));
    expect(fillIn.sorties[0]!.verdict?.go).toBe(true);
    expect(await readFile(path.join(folder, 'plan/lines.geojson'), 'utf8')).toBe(before);
    const plan = JSON.parse(await readFile(path.join(folder, 'plan/fill-in-sorties.json'), 'utf8')) as SortiePlan;
    const legs = plan.sorties[0]!.legs;
    const [first, last] = [legs[0]!.path, legs[legs.length - 1]!.path];
    expect(Math.hypot(first[0]! - last[last.length - 2]!, first[1]! - last[last.length - 1]!)).toBeLessThan(0.01);
    const routes = (await readdir(path.join(folder, 'plan/routes'))).filter((name) => name.startsWith('fill-in-sortie-1.')).sort();
    expect(routes.map((name) => name.replace(/.*\./, ''))).toEqual(['csv', 'geojson', 'gpx', 'kml', 'nmea', 'rtz']);
    // The route as a reader of GPX has it is as long as the sortie says, by the geodesic.
    const gpx = await readFile(path.join(folder, 'plan/routes/fill-in-sortie-1.gpx'), 'utf8');
    const points = [...gpx.matchAll(/lat="(-?[\d.]+)" lon="(-?[\d.]+)"/g)].map((match) => [Number(match[1]), Number(match[2])] as const);
    const lengthM = points.slice(1).reduce((sum, [lat, lon], i) => sum + geodesicLengthM(points[i]![0], points[i]![1], lat, lon), 0);
    expect(Math.abs(lengthM / fillIn.sorties[0]!.lengthM - 1)).toBeLessThan(0.002);
  });

  it('a start the tide series does not reach is no-go with its span, not an error', async () => {
    const run = await tallow(['gaps', folder, '--plan', '--start', '2026-06-18T09:00Z']);
    expect(run.code, run.err).toBe(1);
    expect(run.out).toMatch(/Sortie 1 +NO-GO: the water level is not known at the start.*level\.csv runs from/);
    expect(complaint(await tallow(['gaps', folder, '--plan', '--start', 'tomorrow']))).toContain('--start');
  });

  it('places that are sounded but not to the order are gaps too, and only where the order is missed', async () => {
    // Cells of 2 m: the surface is made anew for every order.
    const run = await tallow(['gaps', folder, '--set', 'surface.cellM=2', '--set', 'order=exclusive', '--json']);
    const { gaps } = run.json<Trip>();
    expect(gaps.weakCount).toBeGreaterThan(0);
    const features = (JSON.parse(await readFile(path.join(folder, 'derived/gaps.geojson'), 'utf8')) as { features: { properties: { kind: string } }[] }).features;
    expect(features.filter(({ properties }) => properties.kind === 'order')).toHaveLength(gaps.weakCount);
    // IHO S-44 ed. 6.1.0, table 1: Exclusive Order at 10 m allows sqrt(0.15^2 + 0.075^2) = 0.168 m.
    expect(tvuLimitM('exclusive', 10)).toBeCloseTo(0.1677, 4);
    const without = (await tallow(['gaps', folder, '--set', 'gaps.order=false', '--json'])).json<Trip>();
    expect(without.gaps.weakCount).toBe(0);
    expect(without.gaps.count).toBeLessThan(gaps.count);
    const loose = (await tallow(['gaps', folder, '--set', 'gaps.order=true', '--set', 'order=1a', '--json'])).json<Trip>();
    // 0.52 m at 10 m: missed only where the steps of the outcrop lie between two lines. Order 2 allows 1.03 m there.
    expect(loose.gaps.weakM2).toBeLessThan(gaps.weakM2 / 5);
    const loosest = (await tallow(['gaps', folder, '--set', 'order="2"', '--json'])).json<Trip>();
    expect(loosest.gaps.weakCount).toBe(0);
  });
});
