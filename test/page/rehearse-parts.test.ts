import { readFile } from 'node:fs/promises';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { holeMarks, stretchOf } from '../../src/page/chart/rehearse-marks.js';
import { panelValue, rehearsalCsv, rehearsePanels } from '../../src/page/strip/rehearse-panels.js';
import { timeOfText, timeText } from '../../src/page/sheets/time-field.js';
import { groundSettings } from '../../src/page/state/ground.js';
import { planArea } from '../../src/page/work/plan-area.js';
import { keepGround } from '../../src/page/work/rehearse-ground.js';
import { readRehearsal, readSorties } from '../../src/page/work/read-rehearsal.js';
import { mapLink } from '../../src/page/work/rehearse-link.js';
import { rehearseLive } from '../../src/page/work/rehearse-live.js';
import { findStart } from '../../src/page/work/rehearse-start.js';
import type { GroundRequest } from '../../src/page/work/rehearse-messages.js';
import { atTime, batteryOf, outcomeText, rehearseLine, settingWords } from '../../src/page/words/rehearse.js';
import { createFrame } from '../../src/geo/frame.js';
import { segmentPolygonDistanceM } from '../../src/geo/segment.js';
import { derivePurpose } from '../../src/page/work/derive-purpose.js';
import { openDesk } from '../../src/survey/open-desk.js';
import { readPlanPolygons } from '../../src/survey/plan-files.js';
import { startOf } from '../../src/survey/sortie-ground.js';
import type { SurveySummary } from '../../src/survey/summary.js';
import { builtDemo, copyOfSurvey, removeCopy } from '../once-a-run.js';

/** No keep-out by tide, no spacing by depth. */
const NO_TIDE = { tide: { startS: null, needM: 0 }, byDepth: false } as const;

describe('rehearsal on the page: the parts without a browser', () => {
  test('stretchOf: the part of a line between two ways along it, corners kept', () => {
    // By hand: 10 m east, then 10 m north.
    const line = [0, 0, 10, 0, 10, 10];
    expect([...stretchOf(line, 2, 5)]).toEqual([2, 0, 5, 0]);
    expect([...stretchOf(line, 8, 13)]).toEqual([8, 0, 10, 0, 10, 3]);
    expect([...stretchOf(line, 30, 40)]).toEqual([]);
  });

  test('timeOfText: what timeText wrote; NaN for dates that are not in the calendar', () => {
    const timeS = Date.UTC(2026, 5, 17, 8, 20) / 1000;
    expect(timeText(timeS)).toBe('2026-06-17 08:20');
    expect(timeOfText('2026-06-17 08:20')).toBe(timeS);
    expect(timeOfText('2026-06-17T8:20Z')).toBe(timeS);
    for (const bad of ['2026-02-30 08:00', '2026-06-17 24:10', '2026-06-17', 'noon', '']) expect(timeOfText(bad)).toBeNaN();
  });

  test('settingWords: places and times in words, other settings left alone', () => {
    expect(settingWords('sortie.launch', { latDeg: 46, lonDeg: -30 }, { latDeg: 46.1, lonDeg: -30 })).toBe('launch point moved');
    expect(settingWords('sortie.startUtc', '2026-06-17T08:20:00Z', '2026-06-17T09:00:00Z')).toBe('start from 2026-06-17 08:20 to 2026-06-17 09:00');
    expect(settingWords('sortie.reserveShare', 0.2, 0.3)).toBe('reserve from 20 % to 30 %');
    expect(settingWords('corrections.draft', true, false)).toBe('draft at rest left out');
    expect(settingWords('surface.fill', 'triangulation', 'spline')).toBe('filling between soundings from triangulation to spline');
    expect(settingWords('lines.spacingM', 10, 20)).toBeNull();
  });

  test('holeMarks: polygons alone, each with its area', () => {
    const ring = Float64Array.of(0, 0, 10, 0, 10, 10);
    expect(holeMarks([{ kind: 'polygon', parts: [ring], properties: { areaM2: 50 } }, { kind: 'line', parts: [ring], properties: {} }])).toEqual([{ parts: [ring], areaM2: 50 }]);
  });

  test('rehearseLine: what is missing first, then the verdict', () => {
    const all = { hasLines: true, hasLaunch: true, hasStart: true, stale: false };
    const sorties = { count: 1, lengthM: 1, timeS: 1, time95S: 0, energyWh: 1, energy95Wh: 0, why: [], notes: [], fault: null };
    const rehearsed = { go: true, word: 'GO' as const, reason: '', startS: 0, endS: 6720, sorties: [], worst: null };
    expect(rehearseLine(null, null, { ...all, hasLines: false }).text).toBe('–');
    expect(rehearseLine(null, null, { ...all, hasLaunch: false })).toMatchObject({ text: 'no launch point', press: true });
    expect(rehearseLine({ ...sorties, fault: { message: 'x', where: [] } }, null, all).text).toBe('no sorties');
    expect(rehearseLine(sorties, null, { ...all, hasStart: false }).text).toBe('no start');
    expect(rehearseLine(sorties, rehearsed, all)).toEqual({ text: 'go, 1 h 52', done: true, press: false });
    expect(rehearseLine(sorties, { ...rehearsed, word: 'GO WITH CONDITIONS' }, all)).toEqual({ text: 'go, on conditions', done: true, press: true });
    // Every sortie a go, but lines are left out: the plan is none.
    expect(rehearseLine({ ...sorties, go: false }, rehearsed, all)).toEqual({ text: 'no-go', done: true, press: true });
    expect(rehearseLine(sorties, { ...rehearsed, go: false }, all)).toEqual({ text: 'no-go', done: true, press: true });
    expect(rehearseLine(sorties, rehearsed, { ...all, stale: true }).text).toBe('to rehearse again');
  });
});

describe('rehearsal on the page: the same as the folder has it', () => {
  let folder: string;
  let summary: SurveySummary;
  let request: GroundRequest;
  const never = new AbortController().signal;
  const urls = { rehearsalUrl: '/files/derived/rehearsal.json', columnsUrl: '/files/derived/rehearsal.parquet', momentsUrl: '/files/derived/moments.parquet' };

  beforeAll(async () => {
    folder = await copyOfSurvey((await builtDemo()).folder);
    const desk = await openDesk(folder);
    // The demo's lines are older than its boat card: planned again, as the page does with the card.
    await desk.planLines({});
    await desk.build({}, 'rehearsal');
    summary = await desk.summary();
    vi.stubGlobal('fetch', async (url: string) => {
      try {
        return new Response(new Uint8Array(await readFile(path.join(folder, decodeURIComponent(url.replace('/files/', ''))))));
      } catch {
        return new Response(null, { status: 404 });
      }
    });
    const { settings } = summary;
    request = {
      frame: { kind: 'utm', zone: summary.frame?.zone ?? 0, hemisphere: summary.frame?.hemisphere ?? 'north' },
      keepouts: (await readPlanPolygons(folder, settings, 'keepouts')) ?? [],
      land: (await readPlanPolygons(folder, settings, 'shore')) ?? [],
      settings: groundSettings(settings),
      depths: true,
    };
    expect((await keepGround(request, never)).fault).toBeNull();
  });

  afterAll(async () => {
    vi.unstubAllGlobals();
    if (folder !== undefined) await removeCopy(folder);
  });

  test('rehearseLive: full effort gives the verdicts, times, energies and mishaps of derived/rehearsal.json', async () => {
    const saved = await readRehearsal(urls, never);
    const sorties = await readSorties('/files/plan/sorties.json', never);
    const startS = startOf(summary.settings) as number;
    const live = rehearseLive({ settings: request.settings, sorties: sorties?.sorties ?? [], startS, effort: 'full', moments: true });
    if (saved === null || 'fault' in live) throw new Error('nothing was rehearsed');
    expect(live.shown.sorties.length).toBe(saved.sorties.length);
    live.shown.sorties.forEach((one, k) => {
      const kept = saved.sorties[k]!;
      expect(one.verdict.go).toBe(kept.verdict.go);
      expect(one.verdict.reason).toBe(kept.verdict.reason);
      expect(one.columns.n).toBe(kept.columns.n);
      // Paths in plan/sorties.json are written to the millimetre.
      expect(one.totals.timeS).toBeCloseTo(kept.totals.timeS, 0);
      expect(one.totals.energyWh).toBeCloseTo(kept.totals.energyWh, 1);
      expect(one.totals.leastLinkDb).toBeCloseTo(kept.totals.leastLinkDb, 1);
      expect(one.totals.leastWaterM).toBeCloseTo(kept.totals.leastWaterM, 2);
      expect(one.totals.leastSunDeg).toBeCloseTo(kept.totals.leastSunDeg, 2);
      expect(one.moments?.ranking.map(({ behaviour }) => behaviour)).toEqual(kept.moments?.ranking.map(({ behaviour }) => behaviour));
      expect(one.moments?.worst?.mishap).toBe(kept.moments?.worst?.mishap);
    });
  });

  test('readRehearsal: the figures of the summary, and columns that end where the totals say', async () => {
    const saved = await readRehearsal(urls, never);
    const told = summary.rehearsal;
    expect(saved?.sorties.map(({ verdict }) => verdict.go)).toEqual(told?.sorties.map(({ go }) => go));
    for (const one of saved?.sorties ?? []) {
      const { columns, totals, moments } = one;
      expect(columns.timeS[columns.n - 1]).toBeCloseTo(totals.endS, 6);
      expect(columns.energyWh[columns.n - 1]).toBeCloseTo(totals.energyWh, 6);
      expect(batteryOf(one).holdsWh).toBeCloseTo(totals.energyLeftWh + totals.energyWh, 9);
      const at = atTime(saved?.sorties ?? [], columns.timeS[100] as number);
      expect(at?.row).toBe(100);
      expect(moments?.n).toBeGreaterThan(totals.timeS / 11);
      expect(outcomeText(moments!, 'hold', 0)).toMatch(/^(still holds|adrift|aground|in a keep-out)/);
    }
  });

  test('rehearsePanels: what is read at a moment is what the columns have then; the CSV has a row for each', async () => {
    const saved = (await readRehearsal(urls, never))!;
    const panels = rehearsePanels(saved, request.settings);
    const one = saved.sorties[0]!;
    const timeS = one.columns.timeS[500] as number;
    const link = panels.find(({ key }) => key === 'link_margin_db')!;
    expect(panelValue(link, timeS).value).toBeCloseTo(one.columns.linkMarginDb[500] as number, 4);
    const energy = panels.find(({ key }) => key === 'energy_left_wh')!;
    expect(panelValue(energy, timeS).value).toBeCloseTo(batteryOf(one).holdsWh - (one.columns.energyWh[500] as number), 4);
    expect(energy.limits[0]?.value).toBeCloseTo(batteryOf(one).holdsWh * request.settings.sortie.reserveShare, 6);
    expect(panelValue(link, timeS - 1e6).text).toBe('');
    const rows = rehearsalCsv(saved).trim().split('\n');
    expect(rows.length).toBe(1 + saved.sorties.reduce((sum, { columns }) => sum + columns.n, 0));
    expect(rows.every((row) => row.split(',').length === rows[0]!.split(',').length)).toBe(true);
  });

  test('planArea: the sorties of the lines in the folder are those of plan/sorties.json', async () => {
    const { settings } = summary;
    const area = (await readPlanPolygons(folder, settings, 'area')) ?? [];
    const planned = planArea({ frame: request.frame, area, keepouts: [...request.keepouts, ...request.land], options: { ...settings.lines, keepoutM: settings.lines.keepoutM ?? 2 }, settings: request.settings, ...NO_TIDE });
    const kept = await readSorties('/files/plan/sorties.json', never);
    if ('fault' in planned || planned.sorties === null) throw new Error('no sorties were planned');
    expect(planned.sorties.fault).toBeNull();
    expect(planned.sorties.plan?.sorties.map(({ lines }) => lines)).toEqual(kept?.sorties.map(({ lines }) => lines));
    planned.sorties.plan?.sorties.forEach((one, k) => {
      // The folder's are cut from lines kept to a millimetre, run-ins to a centimetre.
      expect(one.timeS).toBeCloseTo(kept?.sorties[k]?.timeS as number, 1);
      expect(one.energyWh).toBeCloseTo(kept?.sorties[k]?.energyWh as number, 2);
    });
  });

  test('planArea: a launch point in a keep-out is told with its place, and the lines are there all the same', async () => {
    const { settings } = summary;
    const area = (await readPlanPolygons(folder, settings, 'area')) ?? [];
    const frame = createFrame(request.frame);
    const rock = request.keepouts[0]!.outer;
    const [x, y] = [0, 1].map((k) => rock.reduce((sum, value, i) => (i % 2 === k ? sum + value : sum), 0) / (rock.length / 2)) as [number, number];
    const [latDeg, lonDeg] = frame.toGeographic(x, y);
    const planned = planArea({ frame: request.frame, area, keepouts: [...request.keepouts, ...request.land], options: { ...settings.lines, keepoutM: settings.lines.keepoutM ?? 2 }, settings: { ...request.settings, sortie: { ...settings.sortie, launch: { latDeg, lonDeg } } }, ...NO_TIDE });
    if ('fault' in planned) throw new Error(planned.fault);
    expect(planned.plan.main.length).toBeGreaterThan(10);
    expect(planned.sorties?.plan).toBeNull();
    expect(planned.sorties?.fault).toMatch(/launch point .*lies in a keep-out: expected open water/);
    expect(planned.sorties?.where[0]?.[0]).toBeCloseTo(x, 2);
    expect(planned.sorties?.where[0]?.[1]).toBeCloseTo(y, 2);
  });

  test('planArea: lines lead over a keep-out by tide while it is open, and stop at it while it is not, dragged as well', async () => {
    const { settings } = summary;
    const area = (await readPlanPolygons(folder, settings, 'area')) ?? [];
    const rock = request.keepouts[0]!;
    const startS = startOf(settings) as number;
    const over = (depthM: number, start: number | null, effort: 'drag' | 'full'): number => {
      const planned = planArea({ frame: request.frame, area, keepouts: [{ ...rock, said: { depthM } }, ...request.keepouts.slice(1)], options: { ...settings.lines, keepoutM: settings.lines.keepoutM ?? 2, effort }, settings: null, tide: { startS: start, needM: settings.rehearse.draftM + settings.rehearse.leastWaterM }, byDepth: false });
      if ('fault' in planned) throw new Error(planned.fault);
      return [...planned.plan.main, ...planned.plan.cross].filter((line) => segmentPolygonDistanceM(rock, line.startXM, line.startYM, line.endXM, line.endYM) === 0).length;
    };
    for (const effort of ['drag', 'full'] as const) {
      expect(over(20, startS, effort), effort).toBeGreaterThan(1);
      // It dries 20 m; or no start is decided, so that no state of the tide is known.
      expect(over(-20, startS, effort), effort).toBe(0);
      expect(over(20, null, effort), effort).toBe(0);
    }
  });

  test('planArea: the spacing follows the depth as the purpose has it, dragged as well, with about as many lines', async () => {
    const { settings } = summary;
    const area = (await readPlanPolygons(folder, settings, 'area')) ?? [];
    const set = settings.lines;
    const purpose = { kind: 'depths-order', order: 'special' } as const;
    const sensor = { kind: 'swath', swathDeg: 120, beamDeg: 1.5, pingHz: 20, draftM: 0.2 } as const;
    const { spacingM, headingDeg, crossShare, runInM, runOutM, speedMps } = set;
    const derived = await derivePurpose({ purpose, sensor, sounder: settings.sounder, depthM: null, bottom: { kind: 'raster', file: 'derived/surface/surface.tif' }, lines: { spacingM, headingDeg, crossShare, runInM, runOutM, speedMps }, locked: [], at: null, frame: request.frame }, never);
    if ('fault' in derived) throw new Error(derived.fault);
    expect(derived.byDepth).toBe(true);
    const narrowest = derived.values.spacingM.value;
    const lines = (effort: 'drag' | 'full', byDepth: boolean, by = narrowest): number => {
      const planned = planArea({ frame: request.frame, area, keepouts: request.keepouts, options: { ...set, headingDeg: 90, keepoutM: 2, spacingM: by, effort }, settings: null, tide: NO_TIDE.tide, byDepth });
      if ('fault' in planned) throw new Error(planned.fault);
      return planned.plan.main.length;
    };
    const [even, settled, dragged] = [lines('full', false), lines('full', true), lines('drag', true)];
    expect(settled).toBeLessThan(even);
    expect(dragged).toBeGreaterThanOrEqual(settled);
    expect(dragged).toBeLessThan(1.1 * settled + 2);
    // A spacing by hand is kept to, even.
    expect(lines('full', true, 2 * narrowest)).toBe(lines('full', false, 2 * narrowest));
  });

  test('planArea: an area that crosses itself is told with the place of the crossing', () => {
    const [x, y] = [270_600, 5_102_200];
    // A bow tie: its two long sides cross in the middle.
    const outer = Float64Array.of(x, y, x + 100, y + 100, x + 100, y, x, y + 100);
    const planned = planArea({ frame: request.frame, area: [{ outer, holes: [] }], keepouts: [], options: { ...summary.settings.lines, keepoutM: summary.settings.lines.keepoutM ?? 2 }, settings: null, ...NO_TIDE });
    if (!('fault' in planned)) throw new Error('lines were laid over an area that crosses itself');
    expect(planned.fault).toMatch(/edge crosses itself at .*move or delete a corner near there/);
    expect([...planned.where[0]!].map((value) => Math.round(value))).toEqual([x + 50, y + 50]);
  });

  test('mapLink: at its line the margin is nothing: as far from the base as the rated range', () => {
    const { sortie, link } = request.settings;
    const [xM, yM] = createFrame(request.frame).toFrame(sortie.base!.latDeg, sortie.base!.lonDeg);
    const reach = 1.5 * link.ratedRangeM;
    const map = mapLink({ settings: request.settings, westM: xM - reach, eastM: xM + reach, southM: yM - reach, northM: yM + reach });
    expect(map.none.length).toBe(1);
    // Without obstacles the margin depends on the distance alone; the map's cells are 1.5 % of it.
    for (const line of map.none) for (let i = 0; i < line.length; i += 2) expect(Math.hypot((line[i] as number) - xM, (line[i + 1] as number) - yM) / link.ratedRangeM).toBeCloseTo(1, 1);
  });

  test('findStart: windows tell go from no-go with reasons, night is none, and a stop is heeded', async () => {
    const sorties = (await readSorties('/files/plan/sorties.json', never))!.sorties;
    const day = Math.floor((startOf(summary.settings) as number) / 86_400) * 86_400;
    const told: number[] = [];
    // The demo's gauge ran through the morning only: without it the whole day can be looked at.
    const settings = { ...request.settings, water: { ...request.settings.water, level: { kind: 'none' as const }, current: { kind: 'none' as const } } };
    expect((await keepGround({ ...request, settings }, never)).fault).toBeNull();
    const found = await findStart({ settings, sorties, fromS: day, toS: day + 86_400, stepS: 3600 }, { signal: never, progress: (done) => told.push(done) });
    expect(told.length).toBeGreaterThanOrEqual(25);
    // 46 N 30 W: local midnight is 02 UTC.
    const night = found.windows.find(({ fromS, toS }) => fromS <= day + 2 * 3600 && toS >= day + 2 * 3600);
    expect(night).toMatchObject({ go: false, kind: 'daylight' });
    if (found.startS !== null) expect(found.windows.some(({ go, fromS, toS }) => go && found.startS! >= fromS - 3600 && found.startS! <= toS + 3600)).toBe(true);
    else expect(found.why).toMatch(/rehearsed in full|is a go/);
    const stop = new AbortController();
    const stopped = findStart({ settings, sorties, fromS: day, toS: day + 86_400, stepS: 300 }, { signal: stop.signal, progress: (done) => done > 0.05 && stop.abort() });
    await expect(stopped).rejects.toThrow(/stopped/);
  });
});
