import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { makeCard } from '../../src/boat/make-card.js';
import { trialWindow } from '../../src/boat/find-window.js';
import { bandLanes } from '../../src/page/strip/band-lanes.js';
import { CurvePyramid } from '../../src/page/strip/curve-pyramid.js';
import { SvgPen } from '../../src/page/strip/pen.js';
import { drawPlot, plotCsv } from '../../src/page/plots/draw-plot.js';
import { cardChanges, figuresOfTrial } from '../../src/page/words/boat.js';
import { clockTenths, timeFromClock, trialName, withNames } from '../../src/page/words/trials.js';
import { windowsAsTrials } from '../../src/page/work/measure-windows.js';
import { groundSpeeds, trialsFromJson } from '../../src/page/work/read-trials.js';
import { trialPlots } from '../../src/page/work/trial-plots.js';
import { makeTrialsFixture } from './trials-fixture.js';

const BOAT = { name: '', lengthM: 1.2, massKg: 18, hand: {}, defaults: true };

describe('words of trials', () => {
  test('timeFromClock: a time as it is printed is the time it was, also over midnight', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 4e10 }), fc.integer({ min: -40_000, max: 40_000 }), (tenths, off) => {
        const timeS = tenths / 10;
        expect(timeFromClock(clockTenths(timeS), timeS + off)).toBeCloseTo(timeS, 3);
      }),
      { seed: 11, numRuns: 300 },
    );
    for (const wrong of ['', '9', '09:14', '25:00:00', '09:61:00', '09:14:60', '09:14:05x']) expect(timeFromClock(wrong, 1e9)).toBeNaN();
    expect(timeFromClock(' 9:14:05,5 ', 0)).toBe(9 * 3600 + 14 * 60 + 5.5);
  });

  test('names: trials are counted by kind in order of time, and ids in a text are told by name', () => {
    const trials = [{ id: 'spin@5', kind: 'spin' }, { id: 'zig-zag@7', kind: 'zig-zag' }, { id: 'spin@9', kind: 'spin' }] as const;
    expect(trials.map((trial) => trialName(trial, trials))).toEqual(['Spin on the spot 1', 'Zig-zag 1', 'Spin on the spot 2']);
    expect(withNames('advance, zig-zag@7 and spin@99', trials as never)).toBe('advance, zig-zag 1 and spin@99');
  });
});

describe('strip of trials', () => {
  test('CurvePyramid: at any zoom no spike is lost, and points stay within four a pixel', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 9000 }), fc.integer({ min: 0, max: 1e6 }), fc.integer({ min: 20, max: 400 }), (n, seed, pixels) => {
        const timeS = Float64Array.from({ length: n }, (_, i) => i * 0.1);
        const value = Float32Array.from({ length: n }, (_, i) => Math.sin(i * 0.37 + seed) + ((i * 7919 + seed) % 997 === 0 ? 40 : 0));
        let [low, high, points] = [Infinity, -Infinity, 0];
        new CurvePyramid(timeS, value, 5).trace(0, n * 0.1, pixels, (t) => (t / (n * 0.1)) * pixels, {
          point: (_, v) => {
            low = Math.min(low, v);
            high = Math.max(high, v);
            points++;
          },
          gap: () => undefined,
        });
        expect(low).toBe(value.reduce((a, b) => Math.min(a, b)));
        expect(high).toBe(value.reduce((a, b) => Math.max(a, b)));
        expect(points).toBeLessThanOrEqual(4 * (pixels + 2));
      }),
      { seed: 5, numRuns: 200 },
    );
  });

  test('CurvePyramid: silence breaks the curve, and what is not a number is passed over', () => {
    const timeS = Float64Array.of(0, 1, 2, 30, 31, 32);
    const told: string[] = [];
    new CurvePyramid(timeS, Float64Array.of(1, NaN, 3, 4, 5, NaN), 5).trace(0, 32, 100, (t) => t * 3, { point: (_, v) => told.push(String(v)), gap: () => told.push('gap') });
    expect(told).toEqual(['1', '3', 'gap', '4', '5']);
    expect(new CurvePyramid(timeS, new Float64Array(6).fill(NaN), 5).empty).toBe(true);
  });

  test('bandLanes: runs, legs and the others each in their own lane; an empty lane is left out', () => {
    const trial = (kind: string) => ({ kind }) as never;
    expect(bandLanes([trial('straight-leg'), trial('steady-run'), trial('spin')])).toEqual({ lane: Int32Array.of(1, 0, 2), titles: ['runs', 'legs', 'others'] });
    expect(bandLanes([trial('spin'), trial('zig-zag')])).toEqual({ lane: Int32Array.of(0, 0), titles: ['others'] });
  });

  test('groundSpeeds: a straight track at an even speed gives that speed, whatever the rate; a gap gives none', () => {
    for (const rateHz of [0.5, 1, 5, 10]) {
      const timeS = Float64Array.from({ length: 40 }, (_, i) => i / rateHz);
      const speeds = groundSpeeds({ n: 40, timeS, xM: timeS.map((t) => 1.2 * t), yM: timeS.map((t) => -1.6 * t) });
      for (const speed of speeds) expect(speed).toBeCloseTo(2, 5);
    }
    expect(groundSpeeds({ n: 2, timeS: Float64Array.of(0, 60), xM: Float64Array.of(0, 1), yM: Float64Array.of(0, 1) }).every(Number.isNaN)).toBe(true);
  });
});

describe('windows, card and plots', () => {
  const { log, found } = makeTrialsFixture(5, { script: 'short' });
  const card = makeCard(log, found, BOAT);

  test('trialsFromJson: what is not a number is null in the file; another format is refused', () => {
    const text = JSON.stringify({ format: 'tallow-trials', version: 1, logs: [], convergenceDeg: 0.1, trials: found, dropped: [], faults: [], lines: {}, notes: [] });
    expect(trialsFromJson(text).trials).toEqual(found);
    expect(() => trialsFromJson(text.replace('"version":1', '"version":2'))).toThrow(/expected tallow-trials of version 1, found tallow-trials 2/);
  });

  test('windowsAsTrials: moved, added and dropped, in order of start; a moved one keeps its name and series', () => {
    const run = found.find(({ kind }) => kind === 'steady-run') as (typeof found)[number];
    const spin = found.find(({ kind }) => kind === 'spin') as (typeof found)[number];
    const edits = [
      { change: 'move', trial: run.id, trialKind: 'steady-run', startS: run.startS + 5, endS: run.endS },
      { change: 'drop', trial: spin.id, trialKind: 'spin', startS: spin.startS, endS: spin.endS },
      { change: 'add', trial: 'spin@7', trialKind: 'spin', startS: spin.startS + 1, endS: spin.endS },
    ] as const;
    const done = windowsAsTrials(log, found, edits);
    expect(done.find(({ id }) => id === run.id)).toEqual({ ...trialWindow(log, 'steady-run', run.startS + 5, run.endS, 'hand'), id: run.id, series: run.series });
    expect(done.some(({ id }) => id === spin.id)).toBe(false);
    expect(done.some(({ id }) => id === 'spin@7')).toBe(true);
    expect(done.map(({ startS }) => startS)).toEqual(done.map(({ startS }) => startS).sort((a, b) => a - b));
  });

  test('cardChanges: nothing between a card and itself; a dropped start changes what rests on it, the surest mover first', () => {
    expect(cardChanges(card, card)).toEqual([]);
    const without = makeCard(log, found.filter(({ kind }) => kind !== 'standing-start'), BOAT);
    const changes = cardChanges(card, without);
    expect(changes.map(({ key }) => key)).toEqual(expect.arrayContaining(['timeTo63', 'timeTo90', 'timeTo95', 'distanceTo90']));
    expect(changes.find(({ key }) => key === 'timeTo90')?.after).toContain('(default)');
    expect(changes.map(({ weight }) => weight)).toEqual(changes.map(({ weight }) => weight).sort((a, b) => b - a));
  });

  test('figuresOfTrial: every figure that names the trial, those of turning circles too', () => {
    const circle = found.find(({ kind, id }) => kind === 'turning-circle' && card.turning.some(({ advanceM }) => advanceM.trials.includes(id)));
    expect(circle).toBeDefined();
    expect(figuresOfTrial(card, circle?.id ?? '').map(({ label }) => label.replace(/, to .*/, ''))).toEqual(['advance', 'transfer', 'tactical diameter', 'steady diameter', 'time to 90°', 'time to 180°', 'time to 360°', 'speed kept']);
  });

  test('trialPlots: every kind has its plot, drawn within its borders and told as CSV; figures on it are those of the card', () => {
    const plots = trialPlots(log, found, card, [...found.map(({ id }) => ({ kind: 'trial' as const, trial: id })), { kind: 'velocity' }, { kind: 'command' }, { kind: 'power' }], {});
    // A steady run has two: its speed, and the velocities it is one of.
    expect(plots.length).toBe(found.length + found.filter(({ kind }) => kind === 'steady-run').length + 3);
    for (const plot of plots) {
      const pen = new SvgPen();
      drawPlot(pen, plot, 360, plot.equal ? 330 : 210, { ink: '#000', quiet: '#555', hairline: '#ddd', accent: '#909', paper: '#fff' });
      const svg = pen.document(360, plot.equal ? 330 : 210, '#fff');
      expect(svg).not.toMatch(/NaN|Infinity/);
      for (const [, x, y] of svg.matchAll(/[ML](-?[\d.]+) (-?[\d.]+)/g)) {
        expect(Number(x)).toBeGreaterThan(-2);
        expect(Number(x)).toBeLessThan(362);
        expect(Number(y)).toBeGreaterThan(-12);
        expect(Number(y)).toBeLessThan(342);
      }
      const rows = plotCsv(plot).trim().split('\n');
      expect(rows[1]).toBe(`series,${plot.x.column},${plot.y.column},${plot.y.column}_95`);
      expect(rows.length).toBe(2 + plot.series.reduce((sum, { x }) => sum + x.length, 0) + plot.marks.filter(({ text }) => text !== '').length);
    }
    const one = card.turning.find(({ advanceM }) => advanceM.trials.length === 1);
    const circle = plots.find(({ title }) => title === trialName(found.find(({ id }) => id === one?.advanceM.trials[0]) as never, found));
    expect(circle?.marks.map(({ text }) => text)).toEqual(expect.arrayContaining([`advance ${one?.advanceM.value.toFixed(1)} m`, `tactical ⌀ ${one?.tacticalDiameterM.value.toFixed(1)} m`]));
    // The track crosses 180 degrees where the tactical diameter ends: the mark lies on the curve.
    const span = circle?.marks.find(({ text }) => text.startsWith('tactical')) as NonNullable<typeof circle>['marks'][number];
    const still = circle?.series.find(({ name }) => name === 'drift taken out');
    const off = Math.min(...Array.from(still?.x ?? [], (x, i) => Math.hypot(x - span.to[0], (still?.y[i] as number) - span.to[1])));
    expect(off).toBeLessThan(0.25);
  });
});
