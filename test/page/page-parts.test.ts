import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { CARD_FIGURES } from '../../src/boat/boat-card.js';
import { makeCard } from '../../src/boat/make-card.js';
import { createFrame } from '../../src/geo/frame.js';
import { cardFromJson } from '../../src/page/words/card-json.js';
import { drawPanels, panelScale, valueAt } from '../../src/page/strip/curve-panels.js';
import { SvgPen } from '../../src/page/strip/pen.js';
import { boatLine, cardCsv, trialsWanted, worthText } from '../../src/page/words/boat.js';
import { linesGeoJson, linesGpx } from '../../src/page/sheets/lines-files.js';
import { recordRanges } from '../../src/page/select/record-ranges.js';
import { nearestRow, rowAt, thinByMinMax } from '../../src/page/strip/decimate.js';
import { TimeScale } from '../../src/page/strip/time-scale.js';
import { niceSteps, timeSteps } from '../../src/page/strip/strip-svg.js';
import { areaText, bytes, clock, count, duration, fixed, percent, signed } from '../../src/page/words/figures.js';
import { placeBeside, surveyTitle } from '../../src/page/words/names.js';
import { nextLinesThing, nextThing, staleSteps, stageLines } from '../../src/page/words/stages.js';
import { WorkCaller } from '../../src/page/work/call.js';
import type { FromWorker, ToWorker } from '../../src/page/work/messages.js';
import { emptySummary } from './fixture.js';
import { seededRandom } from './seeded-random.js';

const SEED = 20261125;

describe('recordRanges', () => {
  test('recordRanges: covers what was selected and nothing else, whatever the order of the logs', () => {
    const random = seededRandom(SEED);
    const cell = fc.record({ n: fc.integer({ min: 1, max: 60 }), share: fc.double({ min: 0, max: 1, noNaN: true }), shuffle: fc.boolean() });
    fc.assert(
      fc.property(cell, ({ n, share, shuffle }) => {
        const log = Uint16Array.from({ length: n }, () => Math.floor(random() * 3));
        const next = [0, 0, 0];
        const record = Uint32Array.from(log, (l) => (next[l] = (next[l] as number) + 1 + Math.floor(random() * 5)));
        if (shuffle && n > 2) [record[0], record[n - 1], log[0], log[n - 1]] = [record[n - 1] as number, record[0] as number, log[n - 1] as number, log[0] as number];
        const selected = [...log.keys()].filter(() => random() < share);
        const ranges = recordRanges({ n, log, record }, selected, ['a', 'b', 'c']);
        const inside = (i: number) => ranges.some((range) => range.log === 'abc'[log[i] as number] && (record[i] as number) >= range.recordStart && (record[i] as number) < range.recordEnd);
        for (let i = 0; i < n; i++) expect(inside(i)).toBe(selected.includes(i));
      }),
      { seed: SEED },
    );
  });

  test('recordRanges: neighbours in a log make one range', () => {
    expect(recordRanges({ n: 4, log: [0, 0, 0, 0], record: [2, 5, 8, 11] }, [1, 2], ['x'])).toEqual([{ log: 'x', recordStart: 5, recordEnd: 9 }]);
  });

  test('recordRanges: a log that is not in the manifest is named', () => {
    expect(() => recordRanges({ n: 1, log: [4], record: [0] }, [0], ['x'])).toThrow('log 4: the manifest lists 1 logs');
  });
});

describe('TimeScale', () => {
  test('TimeScale: there and back is the same time, and time never runs backwards, whatever the pauses', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 1, max: 4000 }), { minLength: 2, maxLength: 40 }), fc.double({ min: 0, max: 1, noNaN: true }), (steps, share) => {
        const times = steps.reduce<number[]>((all, step) => [...all, (all.at(-1) as number) + step], [1_780_000_000]);
        const scale = new TimeScale(times);
        const t = (times[0] as number) + share * ((times.at(-1) as number) - (times[0] as number));
        expect(scale.toTime(scale.toStrip(t))).toBeCloseTo(t, 4);
        for (let i = 1; i < times.length; i++) expect(scale.toStrip(times[i] as number)).toBeGreaterThan(scale.toStrip(times[i - 1] as number));
      }),
      { seed: SEED },
    );
  });

  test('TimeScale: half an hour between two hours of work is short and marked, half a minute is neither', () => {
    const hour = (from: number) => Array.from({ length: 361 }, (_, i) => from + 10 * i);
    const scale = new TimeScale([...hour(0), ...hour(5400), 9030]);
    expect(scale.pauses).toEqual([{ startS: 3600, endS: 5400 }]);
    // 3.5 % of 7230 s of work and the second that keeps it from nothing.
    expect(scale.toStrip(5400) - scale.toStrip(3600)).toBeCloseTo(0.035 * 7230 + 1, 6);
    expect(scale.toStrip(9000) - scale.toStrip(5400)).toBe(3600);
    expect([scale.inPause(4000), scale.inPause(3000)]).toEqual([true, false]);
  });
});

describe('thinByMinMax', () => {
  test('thinByMinMax: keeps the least and greatest of every pixel', () => {
    const random = seededRandom(SEED);
    const n = 20_000;
    const timeS = Float64Array.from({ length: n }, (_, i) => 1000 + i * 0.1);
    const value = Float32Array.from({ length: n }, () => random() * 20);
    const pixels = 300;
    const thin = thinByMinMax(timeS, value, () => true, { startS: 1000, endS: 3000, pixels, maxGapS: 5 });
    expect(thin.timeS.length).toBeLessThanOrEqual(2 * (pixels + 2));
    const low = new Float64Array(pixels).fill(Infinity);
    const high = new Float64Array(pixels).fill(-Infinity);
    for (let i = 0; i < n; i++) {
      const b = Math.floor(((timeS[i] as number) - 1000) * (pixels / 2000));
      if (b < 0 || b >= pixels) continue;
      low[b] = Math.min(low[b] as number, value[i] as number);
      high[b] = Math.max(high[b] as number, value[i] as number);
    }
    const seen = new Set(thin.value);
    for (let b = 0; b < pixels; b++) {
      expect(seen.has(low[b] as number)).toBe(true);
      expect(seen.has(high[b] as number)).toBe(true);
    }
    for (let i = 1; i < thin.timeS.length; i++) expect(thin.timeS[i] as number).toBeGreaterThanOrEqual(thin.timeS[i - 1] as number);
  });

  test('thinByMinMax: a silence breaks the curve with NaN, rows not used leave no trace', () => {
    const thin = thinByMinMax([0, 1, 2, 60, 61], [5, 6, 7, 8, 9], (row) => row !== 1, { startS: 0, endS: 61, pixels: 1000, maxGapS: 20 });
    expect([...thin.index]).toEqual([0, 2, -1, 3, 4]);
    expect([...thin.value].map((v) => (Number.isNaN(v) ? null : v))).toEqual([5, 7, null, 8, 9]);
  });

  test('thinByMinMax: nothing in, nothing out', () => {
    expect(thinByMinMax([], [], () => true, { startS: 0, endS: 1, pixels: 10, maxGapS: 1 }).timeS.length).toBe(0);
    expect(thinByMinMax([1], [NaN], () => true, { startS: 0, endS: 2, pixels: 10, maxGapS: 1 }).timeS.length).toBe(0);
  });

  test('rowAt, nearestRow: the ends, between, and an empty strip', () => {
    expect([rowAt([1, 2, 3], 0), rowAt([1, 2, 3], 2), rowAt([1, 2, 3], 9)]).toEqual([0, 1, 3]);
    expect([nearestRow([1, 2, 4], 2.9), nearestRow([1, 2, 4], 3.1), nearestRow([], 1), nearestRow([1, 2], 99)]).toEqual([1, 2, -1, 1]);
  });
});

test('niceSteps, timeSteps: round values inside the range', () => {
  expect(niceSteps(-0.8, 15.2, 5)).toEqual([0, 5, 10, 15]);
  expect(timeSteps(33_250, 40_450, 8).map((t) => t % 900)).toEqual([0, 0, 0, 0, 0, 0, 0, 0]);
});

test('figures: grouped, signed, and never 100 % of what is less', () => {
  expect(count(68_412)).toBe('68\u2009412');
  expect(fixed(-0.004, 2)).toBe('0.00');
  expect(fixed(-1.5, 1)).toBe('\u22121.5');
  expect(signed(0.021, 2)).toBe('+0.02');
  expect(percent(0.9999)).toBe('99.9 %');
  expect(percent(1)).toBe('100 %');
  expect(percent(0.0001)).toBe('under 0.1 %');
  expect(areaText(310)).toBe('310 m²');
  expect(areaText(181_000)).toBe('18.1 ha');
  expect(duration(6720)).toBe('1 h 52');
  expect(bytes(8_431_220)).toBe('8.4 MB');
  expect(clock(Date.UTC(2026, 4, 13, 10, 27, 41) / 1000)).toBe('10:27:41');
  expect([count(NaN), fixed(NaN, 1), percent(NaN), clock(NaN), duration(Infinity)]).toEqual(['–', '–', '–', '–', '–']);
});

test('names: the place is not said twice', () => {
  expect(surveyTitle('Hollin Sound', 'Hollin Sound (invented)')).toBe('Hollin Sound (invented)');
  expect(surveyTitle('Hollin Sound', 'ferry approach')).toBe('Hollin Sound, ferry approach');
  expect(placeBeside('Hollin Sound', 'Hollin Sound (invented)')).toBe('invented');
  expect(surveyTitle('Hollin Sound', '')).toBe('Hollin Sound');
});

describe('stages', () => {
  const empty = emptySummary('/nowhere');
  const fresh = empty.steps.map((step) => ({ ...step, state: 'fresh' as const }));
  const log = { file: 'a' } as never;
  const soundings = { good: 10, total: 12 } as never;

  test('nextThing: take in, build, draw, fill in, hand over, in the order of the job', () => {
    expect(nextThing(empty).action).toBe('take-in');
    expect(nextThing({ ...empty, logs: [log] }).action).toBe('build');
    expect(nextThing({ ...empty, logs: [log], steps: fresh, soundings }).action).toBe('draw-area');
    const area = { areaM2: 1, polygons: 1 };
    const gaps = { count: 2, areaM2: 300, coveredShare: 0.98, largestM2: 200, reachM: 8, fillLines: 1, fillLengthM: 90, fillTimeS: 60 };
    expect(nextThing({ ...empty, logs: [log], steps: fresh, soundings, area, gaps })).toMatchObject({ action: 'fill-in', title: 'Plan the fill-in line', detail: '1 line, 90 m, 60 s at 1.5 m/s' });
    expect(nextThing({ ...empty, logs: [log], steps: fresh, soundings, area, gaps: { ...gaps, count: 0 } }).action).toBe('report');
  });

  test('nextLinesThing: draw, save, build what the plan changed, hand the lines to the boat', () => {
    expect(nextLinesThing(empty, { hasArea: false, changed: false, mainLines: 0 }).action).toBe('draw-area');
    expect(nextLinesThing(empty, { hasArea: true, changed: true, mainLines: 9 })).toMatchObject({ action: 'make-lines', detail: 'area and 9 main lines to the survey folder' });
    const lines = { main: 9, cross: 1 } as never;
    expect(nextLinesThing({ ...empty, lines }, { hasArea: true, changed: false, mainLines: 9 }).action).toBe('save-lines');
    expect(nextLinesThing({ ...empty, lines, logs: [log] }, { hasArea: true, changed: false, mainLines: 9 }).action).toBe('build');
    const gaps = { count: 1, fillLines: 2, fillLengthM: 120 } as never;
    expect(nextLinesThing({ ...empty, lines, logs: [log], steps: fresh, gaps }, { hasArea: true, changed: false, mainLines: 9 }).title).toBe('Save the fill-in lines');
  });

  test('stageLines: what is not built says so; gaps and staleness are pressed', () => {
    const lines = stageLines(empty);
    expect(lines.boat.text).toBe('no card');
    expect(lines.watch.text).toBe('not built yet');
    expect(lines.rehearse).toEqual({ text: '–', done: false, press: false });
    expect(lines.depths).toEqual({ text: 'no logs', done: false, press: false });
    expect(stageLines({ ...empty, logs: [log] }).depths).toMatchObject({ text: 'to build', press: true });
    expect(stageLines({ ...empty, logs: [log] }, 'build').depths).toMatchObject({ text: 'building', press: false });
  });
});

describe('WorkCaller', () => {
  const pair = () => {
    const sent: ToWorker[] = [];
    const port = { sent, terminated: false, postMessage: (message: ToWorker) => void sent.push(message), terminate: () => void (port.terminated = true), onmessage: null as ((event: MessageEvent<FromWorker>) => void) | null, onerror: null as ((event: ErrorEvent) => void) | null };
    const answer = (data: FromWorker) => port.onmessage?.({ data } as MessageEvent<FromWorker>);
    return { port, caller: new WorkCaller(port), answer };
  };

  test('WorkCaller: answers settle by id, whatever their order, with progress on the way', async () => {
    const { port, caller, answer } = pair();
    const seen: number[] = [];
    const a = caller.call('loadSurface', { url: 'a' }, { onProgress: (done) => seen.push(done) });
    const b = caller.call('loadSurface', { url: 'b' });
    expect(port.sent.map((message) => message.id)).toEqual([1, 2]);
    answer({ id: 1, progress: 0.5, detail: '' });
    answer({ id: 2, done: null });
    answer({ id: 1, failed: 'no such file', cancelled: false });
    await expect(b).resolves.toBeNull();
    await expect(a).rejects.toThrow('no such file');
    expect(seen).toEqual([0.5]);
  });

  test('WorkCaller: an abort settles at once and tells the worker; a late answer is dropped', async () => {
    const { port, caller, answer } = pair();
    const stop = new AbortController();
    const a = caller.call('loadSurface', { url: 'a' }, { signal: stop.signal });
    stop.abort();
    await expect(a).rejects.toMatchObject({ name: 'AbortError' });
    expect(port.sent.at(-1)).toEqual({ id: 1, kind: 'abort' });
    answer({ id: 1, done: null });
    await expect(caller.call('loadSurface', { url: 'a' }, { signal: AbortSignal.abort() })).rejects.toMatchObject({ name: 'AbortError' });
  });

  test('WorkCaller: the death of a worker settles what waits and what comes after', async () => {
    const { port, caller } = pair();
    const a = caller.call('loadSurface', { url: 'a' });
    port.onerror?.({ message: 'boom' } as ErrorEvent);
    await expect(a).rejects.toThrow("the page's worker stopped: boom; reload the page");
    await expect(caller.call('loadSurface', { url: 'b' })).rejects.toThrow('reload the page');
  });
});

test('linesGpx, linesGeoJson: run order, WGS 84, names escaped', () => {
  const frame = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
  const [x, y] = frame.toFrame(46.03, -29.96);
  const lines = [
    { vertices: Float64Array.of(x, y, x + 10, y), name: 'main 2 <b>', order: 2, properties: {} },
    { vertices: Float64Array.of(x, y, x, y + 10), name: 'main 1', order: 1, properties: { number: 1 } },
  ];
  const gpx = linesGpx(lines, frame, 'A & B');
  expect(gpx.indexOf('main 1')).toBeLessThan(gpx.indexOf('main 2 &lt;b&gt;'));
  expect(gpx).toContain('<name>A &amp; B</name>');
  expect(gpx).toContain('<rtept lat="46.03000000" lon="-29.96000000">');
  expect(linesGeoJson(lines, frame).features.map((feature) => feature.properties?.['name'])).toEqual(['main 1', 'main 2 <b>']);
});

describe('boat card in words', () => {
  test('worthText: no more places than the uncertainty is worth', () => {
    // Two figures of an uncertainty that begins with 1 or 2, one of any other: common practice; JCGM 100:2008 7.2.6 has two at most suffice (from memory).
    const cases: [number, number, string, string][] = [
      [2.8, 1.12, 'm/s', '2.8 ± 1.1 m/s'],
      [2.8123, 0.034, 'm/s', '2.81 ± 0.03 m/s'],
      [221.4, 116.2, 'km', '220 ± 120 km'],
      [3480, 560, 'Wh', '3500 ± 600 Wh'],
      [3, NaN, '1', '3.00'],
      [47.31, 0, '1', '47.3'],
      [12.34, 0.96, 'deg/s', '12.3 ± 1.0°/s'],
    ];
    for (const [value, half, unit, text] of cases) expect(worthText(value, half, unit).replaceAll('\u00a0', ' ')).toBe(text);
  });

  test('cardFromJson: what is not a number comes back as NaN, another version is refused', () => {
    const card = makeCard({ name: 'trial boat', lengthM: 1.2, massKg: 18, hand: { topSpeed: { value: 2.4, uncertainty95: null } }, defaults: true });
    const back = cardFromJson(JSON.stringify(card));
    expect(back).toEqual(card);
    expect(back.figures.topSpeed?.uncertainty95).toBeNaN();
    expect(back.figures.nomotoK).toBeNull();
    expect(() => cardFromJson(JSON.stringify({ ...card, version: 2 }))).toThrow('expected a tallow-boat-card of version 1, found tallow-boat-card 2');
  });

  test('cardCsv: one row a figure, fields with commas quoted, missing said', () => {
    const card = makeCard({ name: '', lengthM: 1.2, massKg: 18, hand: {}, defaults: true });
    const rows = cardCsv(card).trim().split('\n');
    expect(rows.length).toBe(1 + Object.keys(CARD_FIGURES).length);
    expect(rows.find((row) => row.startsWith('nomotoK,'))).toMatch(/,missing,,,$/);
    expect(rows.find((row) => row.startsWith('timeTo63,'))).toContain('"thrust against quadratic drag, from');
    expect(cardCsv(card, '\t').split('\n')[1]?.split('\t').length).toBe(9);
  });

  test('boatLine: trials before hand before defaults', () => {
    const boat = (trials: number, hand: number, defaults: number) => ({ name: '', figures: { trials, hand, default: defaults }, missing: 0, refused: 0, topSpeed: null, trials: null });
    expect([null, boat(0, 0, 13), boat(0, 2, 11), boat(9, 2, 0), boat(0, 0, 0)].map((one) => boatLine(one).text)).toEqual(['no card', 'defaults', '2 by hand', '9 from trials', 'empty card']);
  });

  test('trialsWanted: every missing figure once, under the trial that gives it', () => {
    const card = makeCard({ name: '', lengthM: 1.2, massKg: 18, hand: {}, defaults: false });
    const wanted = trialsWanted(card);
    expect(wanted.flatMap(({ figures }) => figures).sort()).toEqual(Object.keys(CARD_FIGURES).sort());
    expect(new Set(wanted.map(({ trial }) => trial)).size).toBe(wanted.length);
  });

  test('staleSteps: a boat card out of date leaves the depths as they are', () => {
    const summary = { ...emptySummary('x'), steps: [{ step: 'boat', state: 'stale' as const, because: 'setting boat changed' }, { step: 'soundings', state: 'fresh' as const, because: '' }] };
    expect(staleSteps(summary)).toEqual([]);
  });
});

describe('curve panels', () => {
  test('valueAt: straight between points, NaN outside and beside a break', () => {
    const speed = Float64Array.of(1, 2, 3);
    expect(valueAt(speed, Float64Array.of(10, 20, NaN), 1.25)).toBe(12.5);
    expect(valueAt(speed, Float64Array.of(10, 20, NaN), 2.5)).toBeNaN();
    expect(valueAt(speed, Float64Array.of(10, 20, 30), 0.5)).toBeNaN();
  });

  test('drawPanels: a curve with a hole is two lines, and what has no number is not drawn', () => {
    const pen = new SvgPen();
    const speedMps = Float64Array.of(0.5, 1, 1.5, 2, 2.5);
    drawPanels(pen, { widthPx: 300, heightPx: 120, speedMps, panels: [{ title: 'Power <W>', unit: 'W', value: Float64Array.of(5, 6, NaN, 8, 9), half95: Float64Array.of(1, 1, NaN, NaN, NaN) }], askedMps: 1, bestMps: NaN, dashed: true, colours: { ink: '#111111', quiet: '#222222', hairline: '#333333', magenta: '#444444', band: '#555555' } });
    const svg = pen.document(300, 120, '#ffffff');
    expect(svg).not.toContain('NaN');
    expect(svg.match(/stroke="#111111"[^>]*stroke-dasharray/g)?.length).toBe(2);
    expect(svg.match(/fill="#555555"/g)?.length).toBe(1);
    expect(svg).toContain('Power &lt;W&gt;, W');
  });

  test('panelScale: a place on a panel and its speed are the same place, in every panel', () => {
    const picture = { widthPx: 900, speedMps: Float64Array.of(1, 2.8), panels: [1, 2, 3].map(() => ({ title: '', unit: '', value: new Float64Array(2), half95: new Float64Array(2) })) };
    for (const k of [0, 1, 2]) {
      const { x, speedAt, left, right } = panelScale(picture, k);
      expect(speedAt(x(1.3))).toBeCloseTo(1.3, 9);
      expect([x(0), x(2.8)]).toEqual([left, right]);
    }
  });
});
