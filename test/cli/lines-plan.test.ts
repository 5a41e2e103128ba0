import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { temporaryFolder } from '../survey/temporary-folder.js';
import type { SurveySummary } from '../../src/survey/summary.js';
import { limitNow } from '../busy-machine.js';
import { complaint, tallow, type Run } from './run-tallow.js';

/** A place in open ocean, invented. */
const LAT = 46.04;
const LON = -29.96;
const NORTH = 1 / 111_150;
const EAST = 1 / (111_320 * Math.cos((LAT * Math.PI) / 180));
type Corner = readonly [number, number];

function polygons(...features: readonly { readonly corners: readonly Corner[]; readonly properties?: Record<string, unknown> }[]): string {
  return JSON.stringify({
    type: 'FeatureCollection',
    features: features.map(({ corners, properties = {} }) => ({ type: 'Feature', properties, geometry: { type: 'Polygon', coordinates: [[...corners, corners[0]!].map(([east, north]) => [LON + east * EAST, LAT + north * NORTH])] } })),
  });
}
const box = (x: number, y: number, w: number, h: number): Corner[] => [[x, y], [x + w, y], [x + w, y + h], [x, y + h]];
const at = (east: number, north: number): string => `${(LAT + north * NORTH).toFixed(7)},${(LON + east * EAST).toFixed(7)}`;

describe('tallow lines: what is planned, and what cannot be', () => {
  let top: string;
  let survey: string;
  beforeAll(async () => {
    top = await mkdtemp(path.join(os.tmpdir(), 'tallow-lines-'));
  });
  afterAll(() => rm(top, { recursive: true, force: true }));
  beforeEach(async () => {
    survey = path.join(await temporaryFolder(), 'survey');
    await tallow(['new', survey, '--name', 'Inlet']);
    await writeFile(path.join(top, 'area.geojson'), polygons({ corners: box(0, 0, 300, 200) }));
    await writeFile(path.join(top, 'rocks.geojson'), polygons({ corners: box(140, 90, 25, 25) }, { corners: box(60, 40, 15, 20) }));
  });
  const lines = (...more: string[]): Promise<Run> => tallow(['lines', survey, '--area', path.join(top, 'area.geojson'), '--spacing', '20', ...more]);
  const write = async (name: string, text: string): Promise<string> => {
    const file = path.join(top, name);
    await writeFile(file, text);
    return file;
  };
  function refused(run: Run, text: RegExp): void {
    expect(complaint(run)).toMatch(text);
    expect(run.code).toBe(2);
    expect(run.err).not.toMatch(/\n\s+at .+:\d+:\d+/);
  }

  it('a plan by default, keep-outs in it, passes its own rehearsal', async () => {
    const planned = await lines('--keepouts', path.join(top, 'rocks.geojson'), '--launch', at(150, 240));
    expect(planned.code, planned.err).toBe(0);
    expect(planned.out).toMatch(/Time .*all lines in one go.*turns as the boat card has them, in still water/);
    expect(planned.out).not.toMatch(/no current/);
    const rehearsed = await tallow(['rehearse', survey, '--start', '2026-06-17T09:00Z', '--lost-link', 'safe-lane']);
    expect(rehearsed.out).toMatch(/^GO/m);
    expect(rehearsed.out).not.toMatch(/NO-GO/);
    expect(rehearsed.code).toBe(0);
  });

  it('--keepouts by tide and with a clearance: kept with their properties, closed always without a level, said so', async () => {
    const file = await write('tidal.geojson', polygons({ corners: box(100, 60, 60, 60), properties: { dryingHeightM: 0.5, name: 'bank' } }, { corners: box(220, 90, 10, 10) }));
    const planned = await lines('--keepouts', file, '--clearance', '8');
    expect(planned.code, planned.err).toBe(0);
    expect(planned.out).toMatch(/one keep-out by tide is taken as closed always: no water level is known/);
    const kept = JSON.parse(await readFile(path.join(survey, 'plan/keepouts.geojson'), 'utf8')) as { features: { properties: unknown }[] };
    expect(kept.features.map(({ properties }) => properties)).toEqual([{ number: 1, name: 'bank', clearanceM: 8, dryingHeightM: 0.5 }, { number: 2, clearanceM: 8 }]);
    const open = await tallow(['lines', survey, '--launch', at(150, 240), '--set', 'water.level={"kind":"constant","levelM":3}', '--set', 'sortie.startUtc="2026-06-17T09:00Z"']);
    expect(open.out).toMatch(/lines lead over a keep-out by tide that stays open from the start/);
    expect(open.code, open.err).toBe(0);
    const go = await tallow(['rehearse', survey, '--lost-link', 'safe-lane']);
    expect(go.out).not.toMatch(/NO-GO/);
    const shut = await tallow(['rehearse', survey, '--set', 'water.level={"kind":"constant","levelM":1}']);
    expect(shut.code).toBe(1);
    refused(await lines('--keepouts', await write('bad.geojson', polygons({ corners: box(100, 60, 60, 60), properties: { dryingHeightM: 'high' } }))), /bad\.geojson: dryingHeightM: expected metres, found "high"/);
    refused(await lines('--clearance', '5'), /--clearance: says how far to keep off the keep-outs of --keepouts FILE/);
  });

  it('--launch on land, inside a keep-out, in coordinates with a minus or in another order: one sentence and what to draw', async () => {
    const shore = await write('shore.geojson', polygons({ corners: box(-50, 220, 400, 200) }));
    const land = await lines('--shore', shore, '--launch', at(150, 300), '--json');
    refused(land, /launch point 46\.\d+ N 029\.\d+ W: lies on land, behind the shore as drawn: expected open water; move it to the water's edge, or mend the shore/);
    const { error } = land.json<{ error: { where: Record<string, number>[] } }>();
    expect(error.where.length).toBe(2);
    refused(await lines('--keepouts', path.join(top, 'rocks.geojson'), '--launch', at(150, 100)), /launch point .*: lies (in a keep-out|on land)/);
    refused(await lines('--launch', '-29.96,46.04'), /launch point 29\.96000 S 046\.04000 E: \d+ km from the area: expected at most 100 km; see whether latitude and longitude are swapped: latitude comes first/);
    refused(await lines('--launch', '-129.96,46.04'), /--launch: latitude -129\.96: expected -90 to 90; latitude comes first/);
  });

  it('a current stronger than the boat: NO-GO with both speeds and exit code 1, nothing lost', async () => {
    const race = await lines('--launch', at(150, 240), '--set', 'sortie.startUtc="2026-06-17T09:00Z"', '--set', 'water.current={"kind":"constant","speedMps":2.2,"setDeg":90}', '--json');
    expect(race.code).toBe(1);
    const { sorties } = race.json<{ sorties: NonNullable<SurveySummary['sorties']> }>();
    expect(sorties.go).toBe(false);
    expect(sorties.reason).toMatch(/are left out: the current, up to 2\.20 m\/s, is stronger than the boat at 1\.50 m\/s .* and it does not change/);
    expect(sorties.leftOut![0]).toMatchObject({ kind: 'current', boatMps: 1.5 });
    expect(sorties.leftOut![0]!.currentMps).toBeCloseTo(2.2, 6);
    const rehearsed = await tallow(['rehearse', survey]);
    expect(rehearsed.code).toBe(1);
    expect(rehearsed.out).toMatch(/^NO-GO: lines /m);
  });

  it('a battery too small for a line: cut into pieces; too small for the way: left out, exit code 1', async () => {
    // The card's battery less the reserve, by its share: some Wh only.
    const cut = await lines('--launch', at(0, -20), '--heading', '90', '--set', 'sortie.batteryShare=0.012', '--json');
    const { sorties } = cut.json<{ sorties: NonNullable<SurveySummary['sorties']> }>();
    expect(sorties.fault).toBeNull();
    expect(sorties.notes.join()).toMatch(/longer than one charge runs: cut into|takes more than one charge/);
    expect(cut.code).toBe(sorties.go === false ? 1 : 0);
    const none = await lines('--launch', at(0, -2000), '--set', 'sortie.batteryShare=0.001');
    expect(none.code).toBe(1);
    expect(none.out).toMatch(/NO-GO: lines .* left out: .*the way there and back takes more than one charge/);
  });

  it('--for: what was set before a purpose is given back with --for own; imagery needs no range; Order 1a with one beam says what is missing', async () => {
    await lines('--speed', '1.2', '--run-in', '7');
    const derived = await tallow(['lines', survey, '--for', 'depths-order:1a', '--depth', '12']);
    expect(derived.code, derived.err).toBe(0);
    expect(derived.out).toMatch(/Spacing +36 m: Order 1a: at most the larger of 3 x depth/);
    expect(derived.out).toMatch(/all of it is to be searched for features of 2 m, which one beam does not: run a side-scan or a fan/);
    expect((await tallow(['lines', survey, '--for', 'imagery', '--depth', '5'])).code).toBe(0);
    const own = await tallow(['lines', survey, '--for', 'own']);
    expect(own.code, own.err).toBe(0);
    const { lines: set } = JSON.parse(await readFile(path.join(survey, 'survey.json'), 'utf8')) as { lines: Record<string, unknown> };
    expect(set).toMatchObject({ spacingM: 20, speedMps: 1.2, runInM: 7, own: null });
    await tallow(['lines', survey, '--for', 'depths-order:special', '--depth', '2']);
    expect((await tallow(['lines', survey, '--for', 'own', '--spacing', '33'])).code).toBe(0);
    const after = JSON.parse(await readFile(path.join(survey, 'survey.json'), 'utf8')) as { lines: Record<string, unknown> };
    expect(after.lines).toMatchObject({ spacingM: 33, speedMps: 1.2 });
  });

  it('an area that crosses itself, a keep-out over all of it, latitude and longitude swapped: refused, the area as it was', async () => {
    await lines();
    const before = await readFile(path.join(survey, 'plan/area.geojson'), 'utf8');
    refused(await tallow(['lines', survey, '--area', await write('bow.geojson', polygons({ corners: [[0, 0], [100, 100], [100, 0], [0, 100]] }))]), /its edge crosses itself at 46\.\d+ N 029\.\d+ W: expected an outline that does not; move or delete a corner near there/);
    const swapped = JSON.stringify({ type: 'Polygon', coordinates: [[[46, -129], [46.01, -129], [46.01, -128.99], [46, -129]]] });
    refused(await tallow(['lines', survey, '--area', await write('swapped.geojson', swapped)]), /not on the world: expected longitude -180 to 180 and latitude -90 to 90, found .*see whether the two are swapped/);
    expect(await readFile(path.join(survey, 'plan/area.geojson'), 'utf8')).toBe(before);
    refused(await tallow(['lines', survey, '--keepouts', await write('all.geojson', polygons({ corners: box(-100, -100, 600, 500) }))]), /keep-out 1: covers the whole area: expected water to survey outside it/);
  });

  it('an area of 100 000 corners: planned within half a minute', async () => {
    const corners = Array.from({ length: 100_000 }, (_, k): Corner => {
      const angle = (2 * Math.PI * k) / 100_000;
      const reach = 200 + 3 * Math.sin(40 * angle);
      return [reach * Math.cos(angle), reach * Math.sin(angle)];
    });
    const began = Date.now();
    const run = await tallow(['lines', survey, '--area', await write('many.geojson', polygons({ corners })), '--spacing', '20', '--heading', '90']);
    expect(run.code, run.err).toBe(0);
    expect(Date.now() - began).toBeLessThan(limitNow(30_000));
  });
}, 120_000);
