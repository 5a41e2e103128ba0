import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { RehearsalFile } from '../../src/survey/step-rehearsal.js';
import type { SurveySummary } from '../../src/survey/summary.js';
import { complaint, tallow } from './run-tallow.js';

/** A place in open ocean, invented: 300 by 200 m. */
const LAT = 46.04;
const LON = -29.96;
const NORTH = 1 / 111_150;
const EAST = 1 / (111_320 * Math.cos((LAT * Math.PI) / 180));

function polygon(corners: readonly (readonly [number, number])[]): string {
  const ring = [...corners, corners[0]!].map(([east, north]) => [LON + east * EAST, LAT + north * NORTH]);
  return JSON.stringify({ type: 'FeatureCollection', features: [{ type: 'Feature', properties: {}, geometry: { type: 'Polygon', coordinates: [ring] } }] });
}

const at = (east: number, north: number): string => `${(LAT + north * NORTH).toFixed(7)},${(LON + east * EAST).toFixed(7)}`;

describe('lines, sorties, rehearsal and field sheet from the command line', () => {
  let top: string;
  let folder: string;
  beforeAll(async () => {
    top = await mkdtemp(path.join(os.tmpdir(), 'tallow-sorties-'));
    folder = path.join(top, 'survey');
    await writeFile(path.join(top, 'area.geojson'), polygon([[0, 0], [300, 0], [300, 200], [0, 200]]));
    await writeFile(path.join(top, 'rock.geojson'), polygon([[140, 90], [165, 90], [165, 115], [140, 115]]));
    await tallow(['new', folder, '--name', 'Inlet']);
  });
  afterAll(() => rm(top, { recursive: true, force: true }));

  it('says what is missing, step by step', async () => {
    expect(complaint(await tallow(['rehearse', folder]))).toMatch(/no launch point: say where the boat goes in/);
    expect(complaint(await tallow(['lines', folder, '--launch', '46.04']))).toMatch(/--launch: expected LAT,LON in degrees, found "46\.04"/);
    const planned = await tallow(['lines', folder, '--area', path.join(top, 'area.geojson'), '--keepouts', path.join(top, 'rock.geojson'), '--spacing', '20', '--launch', at(150, 240), '--base', at(150, 260), '--set', 'lines.keepoutM=6', '--set', 'sortie.clearanceM=6', '--json']);
    expect(planned.code, planned.err).toBe(0);
    const { sorties } = planned.json<{ sorties: NonNullable<SurveySummary['sorties']> }>();
    expect(sorties.count).toBe(1);
    expect(sorties.energy95Wh).toBeGreaterThan(0);
    expect(complaint(await tallow(['rehearse', folder]))).toMatch(/when does the first sortie leave\? Add --start TIME/);
    expect(complaint(await tallow(['rehearse', folder, '--start', 'soon']))).toMatch(/--start: expected a time such as 2026-06-17T08:00Z, found "soon"/);
    await tallow(['rehearse', folder, '--start', '2026-06-17T09:00Z']);
  });

  it('rehearse: a time without its zone is refused, or taken as local where the survey says what that is', async () => {
    expect(complaint(await tallow(['rehearse', folder, '--start', '2026-06-17T09:00']))).toMatch(/--start: "2026-06-17T09:00" does not say which time it is: add Z for UTC \(2026-06-17T09:00Z\) or the zone/);
    expect(complaint(await tallow(['rehearse', folder, '--best', '2026-06-17T09:00Z/2026-06-17T12:00']))).toMatch(/--best: "2026-06-17T12:00" does not say which time it is/);
    const offset = await tallow(['rehearse', folder, '--start', '2026-06-17T10:00+01:00', '--json']);
    expect(offset.json<{ rehearsal: RehearsalFile }>().rehearsal.summary.startS).toBe(Date.UTC(2026, 5, 17, 9) / 1000);
    const local = await tallow(['rehearse', folder, '--start', '2026-06-17T10:00', '--set', 'brief.utcOffsetH=2']);
    expect(local.out).toContain('2026-06-17 10:00 is taken as local time, UTC+2 (brief.utcOffsetH): 2026-06-17 08:00 UTC');
    await tallow(['rehearse', folder, '--set', 'brief.utcOffsetH=0']);
  });

  it('rehearse: straight home over the rock where the link may be lost is a no-go that says what does better', async () => {
    const over = await tallow(['rehearse', folder, '--start', '2026-06-17T09:00Z', '--json']);
    expect(over.code, over.err).toBe(1);
    const { rehearsal } = over.json<{ rehearsal: RehearsalFile }>();
    expect(rehearsal.summary).toMatchObject({ go: false, word: 'NO-GO' });
    expect(rehearsal.summary.reason).toMatch(/^where the link may be lost, below 8 dB, the boat is set to come straight home, and ends in a keep-out from .*; set to come home clear of keep-outs it does so from none$/);
    expect(rehearsal.sorties[0]!.link).toMatchObject({ behaviour: 'straight-home', outcome: 'keep-out' });
  });

  it('rehearse: a go with its worst moment, a no-go with the reason and exit code 1', async () => {
    await tallow(['rehearse', folder, '--lost-link', 'safe-lane']);
    const go = await tallow(['rehearse', folder, '--start', '2026-06-17T09:00Z', '--json']);
    expect(go.code, go.out + go.err).toBe(0);
    const { rehearsal } = go.json<{ rehearsal: RehearsalFile }>();
    expect(rehearsal.summary.go).toBe(true);
    const [one] = rehearsal.sorties;
    expect(one!.totals.endS - one!.totals.startS).toBeCloseTo(one!.totals.timeS, 0);
    expect(one!.ranking).toHaveLength(5);
    // 20 m lines with the usual reach of 12 m cover all but what is kept off the rock's edge.
    expect(rehearsal.painted).toMatchObject({ sensor: 'a single beam: ground within 12 m of its track counts as covered' });
    expect((rehearsal.painted as { uncoveredShare: number }).uncoveredShare).toBeLessThan(0.05);
    expect(one!.legs.find(({ kind }) => kind === 'line')!.name).toMatch(/^line \d+$/);
    expect(rehearsal.standIns.join()).toMatch(/usual for the class/);
    const night = await tallow(['rehearse', folder, '--start', '2026-06-17T22:30Z']);
    expect(night.code).toBe(1);
    expect(night.out).toMatch(/^NO-GO: .*(sun|dark|daylight|dusk)/);
    const race = await tallow(['rehearse', folder, '--start', '2026-06-17T09:00Z', '--set', 'water.current={"kind":"constant","speedMps":1.6,"setDeg":90}']);
    expect([1, 2]).toContain(race.code);
    expect(race.out + race.err).toMatch(/current/);
    await tallow(['rehearse', folder, '--set', 'water.current={"kind":"none"}']);
  });

  it('rehearse: a fan too narrow for its lines leaves holes, told before they exist; without a depth it says what is wanted', async () => {
    const fan = '{"kind":"swath","swathDeg":90,"beamDeg":1,"pingHz":10,"draftM":0.2}';
    expect((await tallow(['rehearse', folder, '--set', `lines.sensor=${fan}`])).out).toContain('not told: how deep it is was not said: give rehearse.bottom or lines.depthM');
    const deep = await tallow(['rehearse', folder, '--set', 'lines.depthM=6.2', '--json', '--legs']);
    const { painted } = deep.json<{ rehearsal: { painted: { uncoveredShare: number; holeCount: number } } }>().rehearsal;
    // 6 m to each side of lines 20 m apart.
    expect(painted.uncoveredShare).toBeGreaterThan(0.35);
    expect(painted.uncoveredShare).toBeLessThan(0.55);
    const holes = JSON.parse(await readFile(path.join(folder, 'derived/rehearsed-holes.geojson'), 'utf8')) as { features: unknown[] };
    expect(holes.features).toHaveLength(painted.holeCount);
    await tallow(['rehearse', folder, '--set', 'lines.sensor=null', '--set', 'lines.depthM=null']);
  });

  it('rehearse --best: the best start in a span, kept; why the others are not', async () => {
    const found = await tallow(['rehearse', folder, '--best', '2026-06-16T22:30Z/2026-06-17T16:00Z', '--json']);
    expect(found.code, found.err).toBe(0);
    const { start } = found.json<{ start: { startS: number; windows: { go: boolean; reason: string; fromS: number; toS: number }[]; margin: { earlierS: number; laterS: number; before: string | null; after: string | null } } }>();
    // Sunrise to the end of the span: well inside, with what stands before it.
    expect(start.startS).toBeGreaterThan(Date.UTC(2026, 5, 17, 8) / 1000);
    expect(start.margin.before).toMatch(/^the sun is/);
    expect(start.margin.after).toBeNull();
    expect(Math.abs(start.margin.earlierS - start.margin.laterS)).toBeLessThanOrEqual(120);
    expect(start.windows.some(({ go }) => go)).toBe(true);
    expect(start.windows.find(({ go }) => !go)!.reason).not.toBe('');
    const { sortie } = JSON.parse(await readFile(path.join(folder, 'survey.json'), 'utf8')) as { sortie: { startUtc: string } };
    expect(Date.parse(sortie.startUtc) / 1000).toBe(Math.round(start.startS));
    expect(complaint(await tallow(['rehearse', folder, '--best', '2026-06-17']))).toMatch(/--best: expected FROM\/TO/);
    const night = await tallow(['rehearse', folder, '--best', '2026-06-16T22:30Z/2026-06-17T03:00Z']);
    expect(night.code).toBe(1);
    expect(night.out).toMatch(/^No start found: no start from 2026-06-16 22:30 UTC to 2026-06-17 03:00 UTC is a go\n {2}! daylight: at every start looked at: the sun is .*\n {2}After the span, the first start that looks like a go: 2026-06-17 06:/);
  });

  it('rehearse: a start outside the tide table is a no-go, not an error', async () => {
    await writeFile(path.join(folder, 'water/level.csv'), 'timeUtc,waterLevelM\n2026-06-17T00:00:00Z,1.0\n2026-06-17T01:00:00Z,1.2\n2026-06-17T02:00:00Z,1.4\n');
    const out = await tallow(['rehearse', folder, '--start', '2026-06-17T09:00Z', '--set', 'water.level={"kind":"series","file":"water/level.csv"}', '--set', 'rehearse.bottom={"kind":"constant","depthM":3}']);
    expect(out.code, out.err).toBe(1);
    expect(out.out).toMatch(/^NO-GO: the water level is not known at the start, 09:00 UTC: water\/level\.csv runs from 00:00 UTC to 02:00 UTC, the start is 7 h 00 min after that/);
    await tallow(['rehearse', folder, '--set', 'water.level={"kind":"none"}']);
  });

  it('a launch point inside a keep-out is refused with what to do, and nothing else of the survey stops', async () => {
    const bad = await tallow(['lines', folder, '--launch', at(150, 100)]);
    expect(bad.out + bad.err).toMatch(/lies in a keep-out: expected open water/);
    const rehearsed = await tallow(['rehearse', folder]);
    expect(rehearsed.code).toBe(2);
    expect(complaint(rehearsed)).toMatch(/launch point .*lies in a keep-out/);
    expect((await tallow(['build', folder])).code).toBe(0);
    await tallow(['lines', folder, '--launch', at(150, 240)]);
  });

  it('brief: a field sheet of two pages and every route, the same bytes each time', async () => {
    const brief = await tallow(['brief', folder, '--set', 'sortie.startUtc=2026-06-17T09:00:00Z', '--json']);
    expect(brief.code, brief.err).toBe(0);
    const { files } = brief.json<{ files: string[] }>();
    expect(files).toEqual(['products/field-sheet.pdf', ...['gpx', 'kml', 'geojson', 'rtz', 'csv', 'nmea'].map((kind) => `plan/routes/sortie-1.${kind}`)]);
    const pdf = await readFile(path.join(folder, 'products/field-sheet.pdf'));
    expect(pdf.subarray(0, 5).toString()).toBe('%PDF-');
    const again = await tallow(['brief', folder]);
    expect(again.code).toBe(0);
    expect((await readFile(path.join(folder, 'products/field-sheet.pdf'))).equals(pdf)).toBe(true);
    const nmea = await readFile(path.join(folder, 'plan/routes/sortie-1.nmea'), 'utf8');
    expect(nmea).toMatch(/^\$ECWPL,/);
  });

  it('brief: routes in a form of the user\'s own, and a template that is wrong named by its line', async () => {
    await writeFile(path.join(folder, 'plan/own.mis.txt'), 'ROUTE @(route)\n@(each line)\n@(number) @(lat deg 6) @(lon deg 6) @(speed kn 1)\n@(end)\n');
    const own = await tallow(['brief', folder, '--template', 'plan/own.mis.txt']);
    expect(own.code, own.err).toBe(0);
    const text = await readFile(path.join(folder, 'plan/routes/sortie-1-own.mis'), 'utf8');
    expect(text).toMatch(/^ROUTE Inlet sortie 1\n\d+ 46\.0\d+ -29\.9\d+ 2\.9\n/);
    await writeFile(path.join(folder, 'plan/own.mis.txt'), 'ROUTE\n@(nothing)\n');
    expect(complaint(await tallow(['brief', folder]))).toMatch(/plan\/own\.mis\.txt.*line 2.*nothing/);
    expect(complaint(await tallow(['brief', folder, '--template', '../own.txt']))).toMatch(/brief\.template/);
    await tallow(['brief', folder, '--set', 'brief.template=null']);
  });

  it('lines --for: spacing from the purpose with its reason; a locked value stays', async () => {
    const scale = await tallow(['lines', folder, '--for', 'depths-scale:2500', '--depth', '8', '--json']);
    expect(scale.code, scale.err).toBe(0);
    // 1 cm at 1 : 2500 (common practice).
    const derived = scale.json<{ derived: Record<string, { value: number; why: string }>; lines: { spacingM: number } }>();
    expect(derived.derived['spacingM']!.value).toBeCloseTo(25, 6);
    expect(derived.lines.spacingM).toBeCloseTo(25, 6);
    // IHO S-44 ed. 6.1.0 with C-13: below full coverage the larger of three times the depth and 25 m.
    const order = await tallow(['lines', folder, '--for', 'depths-order:1b', '--depth', '20', '--json']);
    expect(order.json<{ lines: { spacingM: number } }>().lines.spacingM).toBeCloseTo(60, 6);
    const locked = await tallow(['lines', folder, '--lock', 'spacing', '--spacing', '18', '--json']);
    expect(locked.json<{ lines: { spacingM: number } }>().lines.spacingM).toBeCloseTo(18, 6);
    await tallow(['lines', folder, '--for', 'own', '--lock', 'none', '--spacing', '20', '--run-in', '5', '--speed', '1.5']);
  });
});
