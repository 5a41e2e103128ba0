import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { interpolateAt } from '../../src/base/interpolate.js';
import { parseUtc } from '../../src/base/time.js';
import { constantLevel, seriesLevel, type WaterLevel } from '../../src/water/level.js';
import { predictTide } from '../../src/water/tide.js';
import { closedByTide, neededLevelM, timesAtOrAbove, waterWindows } from '../../src/water/tide-window.js';
import { tideTurns } from '../../src/water/tide-window-turns.js';
import { HAVE_SHARED, sharedRows, SHARED_NOTE } from './recorded.js';

const PERIOD_S = 12.42 * 3600;
const wave = (amplitudeM: number, periodS = PERIOD_S): WaterLevel => ({ levelsAt: (timeS) => Float64Array.from(timeS, (t) => amplitudeM * Math.cos((2 * Math.PI * t) / periodS)) });

describe('tide windows', () => {
  it('timesAtOrAbove: opens and closes where a cosine crosses the level', () => {
    const windows = timesAtOrAbove(wave(2), 1, -PERIOD_S / 2, 1.5 * PERIOD_S);
    // cos = 0.5 at 60 degrees: a sixth of the period to either side of high water.
    expect(windows.length).toBe(2);
    windows.forEach((window, i) => {
      expect(Math.abs(window.startS - (i - 1 / 6) * PERIOD_S)).toBeLessThan(1);
      expect(Math.abs(window.endS - (i + 1 / 6) * PERIOD_S)).toBeLessThan(1);
      expect(window.startsWithTide && window.endsWithTide).toBe(true);
      expect(Math.abs(window.highestM - 2)).toBeLessThan(0.002);
    });
  });

  it('timesAtOrAbove: finds a rise, and a dip, that comes and goes between two samples', () => {
    // The top of a 2 m tide stands above 1.99999 m for 94 s each side: less than the five minutes between samples.
    const halfS = (Math.acos(1.99999 / 2) * PERIOD_S) / (2 * Math.PI);
    expect(2 * halfS).toBeLessThan(300);
    for (const shiftS of [0, 40, 150, 222, 299]) {
      const rise = timesAtOrAbove(wave(2), 1.99999, -20_000 + shiftS, 20_000);
      expect(rise.length).toBe(1);
      expect(Math.abs(rise[0]!.startS + halfS)).toBeLessThan(1.5);
      expect(Math.abs(rise[0]!.endS - halfS)).toBeLessThan(1.5);
      const dip = timesAtOrAbove(wave(-2), -1.99999, -20_000 + shiftS, 20_000);
      expect(dip.length).toBe(2);
      expect(Math.abs(dip[0]!.endS + halfS)).toBeLessThan(1.5);
      expect(Math.abs(dip[1]!.startS - halfS)).toBeLessThan(1.5);
    }
  });

  it('timesAtOrAbove: ends with the span, and with what is known of the level', () => {
    expect(timesAtOrAbove(constantLevel(1), 1, 100, 5000)).toEqual([{ startS: 100, endS: 5000, startsWithTide: false, endsWithTide: false, highestM: 1 }]);
    expect(timesAtOrAbove(constantLevel(0.9), 1, 100, 5000)).toEqual([]);
    const known = seriesLevel([1000, 2000, 3000, 9000, 10_000], [2, 2, 2, 2, 2], 1500);
    const windows = timesAtOrAbove(known, 1, 0, 20_000);
    expect(windows.map(({ startsWithTide, endsWithTide }) => startsWithTide || endsWithTide)).toEqual([false, false]);
    expect(windows.map(({ startS }) => Math.round(startS))).toEqual([1000, 9000]);
    expect(windows.map(({ endS }) => Math.round(endS))).toEqual([3000, 10_000]);
  });

  it('waterWindows, closedByTide: part the span between them', () => {
    const need = { bottomDepthM: 0.2, draftM: 0.3, clearanceM: 0.5, inHandM: 0.1 };
    expect(neededLevelM(need)).toBeCloseTo(0.7, 12);
    fc.assert(
      fc.property(fc.double({ min: 0.1, max: 3, noNaN: true }), fc.integer({ min: 0, max: 100_000 }), fc.integer({ min: 1000, max: 200_000 }), (amplitudeM, startS, lengthS) => {
        const level = wave(amplitudeM);
        const spans = [...waterWindows(level, need, startS, startS + lengthS), ...closedByTide(level, need, startS, startS + lengthS)].sort((a, b) => a.startS - b.startS);
        expect(spans[0]!.startS).toBe(startS);
        expect(spans[spans.length - 1]!.endS).toBe(startS + lengthS);
        spans.slice(1).forEach((span, i) => expect(span.startS).toBe(spans[i]!.endS));
        for (const window of waterWindows(level, need, startS, startS + lengthS)) expect(level.levelsAt(Float64Array.of((window.startS + window.endS) / 2))[0]!).toBeGreaterThanOrEqual(0.7 - 1e-9);
        for (const span of closedByTide(level, need, startS, startS + lengthS)) expect(level.levelsAt(Float64Array.of((span.startS + span.endS) / 2))[0]!).toBeLessThan(0.7 + 1e-9);
      }),
      { seed: 45, numRuns: 100 },
    );
  });

  it('neededLevelM, timesAtOrAbove: refuse what is no need and no span, by name', () => {
    expect(() => neededLevelM({ bottomDepthM: 1, draftM: -0.1, clearanceM: 0 })).toThrow('draftM -0.1: expected 0 or more');
    expect(() => timesAtOrAbove(constantLevel(0), NaN, 0, 1)).toThrow('neededM NaN: expected a number');
    expect(() => timesAtOrAbove(constantLevel(0), 0, 1, 1)).toThrow('span 1 to 1: expected a start before the end');
  });

  it('tideTurns: the tops and troughs of a cosine, and no ripples', () => {
    const turns = tideTurns(wave(1.5), -PERIOD_S * 0.25, PERIOD_S * 1.25);
    expect(turns.map((turn) => turn.kind)).toEqual(['high', 'low', 'high']);
    turns.forEach((turn, i) => {
      expect(Math.abs(turn.timeS - (i * PERIOD_S) / 2)).toBeLessThan(2);
      expect(turn.levelM).toBeCloseTo(i === 1 ? -1.5 : 1.5, 6);
    });
    const rippled: WaterLevel = { levelsAt: (timeS) => Float64Array.from(timeS, (t) => 1.5 * Math.cos((2 * Math.PI * t) / PERIOD_S) + 0.004 * Math.cos((2 * Math.PI * t) / 1800)) };
    expect(tideTurns(rippled, -PERIOD_S * 0.25, PERIOD_S * 1.25).map((turn) => turn.kind)).toEqual(['high', 'low', 'high']);
    // Two tops with a dip of 5 mm between them: the higher stands, in either order.
    for (const tops of [[1.502, 1.497, 1.5], [1.5, 1.497, 1.502]]) {
      const straight: WaterLevel = { levelsAt: (timeS) => interpolateAt(Float64Array.of(0, 3600, 7200, 10_800, 18_000), [0, ...tops, 0], timeS, 1e9) };
      const [only, ...more] = tideTurns(straight, 0, 18_000);
      expect(more).toEqual([]);
      expect(only!.levelM).toBeCloseTo(1.502, 4);
    }
    // Of the tops of one ripple the highest stands, whether it comes first or last.
    for (const shiftS of [-700, 0, 700]) {
      const lopsided: WaterLevel = { levelsAt: (timeS) => Float64Array.from(timeS, (t) => 1.5 * Math.cos((2 * Math.PI * t) / PERIOD_S) + 0.004 * Math.cos((2 * Math.PI * (t - shiftS)) / 3600)) };
      const every = lopsided.levelsAt(Float64Array.from({ length: 20_000 }, (_, i) => -10_000 + i));
      const highs = tideTurns(lopsided, -PERIOD_S * 0.3, PERIOD_S * 0.7).filter((turn) => turn.kind === 'high');
      expect(highs.length).toBe(1);
      expect(highs[0]!.levelM).toBeCloseTo(every.reduce((a, b) => Math.max(a, b)), 6);
    }
  });
});

describe.skipIf(!HAVE_SHARED)(`published tide${SHARED_NOTE}`, () => {
  // Source: NOAA CO-OPS station 1612340, constants and 6-minute predictions of 2023-08-29 and 30, public domain.
  const constituents = HAVE_SHARED ? sharedRows('tide/honolulu_1612340_harmonics.tsv', '\t').map(([, name, amplitude, phase]) => ({ name: name!, amplitudeM: Number(amplitude), phaseDeg: Number(phase) })) : [];
  const official = HAVE_SHARED ? sharedRows('tide/honolulu_1612340_predictions.csv', ',').map(([time, level]) => ({ timeS: parseUtc(time!), levelM: Number(level) })) : [];
  const startS = official[0]?.timeS ?? 0;
  const endS = official[official.length - 1]?.timeS ?? 1;

  it('timesAtOrAbove: crosses a level when the official predictions do', () => {
    for (const neededM of [0.2, 0.35, 0.5]) {
      const crossings: { timeS: number; rateMps: number }[] = [];
      for (let i = 1; i < official.length; i++) {
        const [a, b] = [official[i - 1]!, official[i]!];
        if (a.levelM < neededM === b.levelM < neededM) continue;
        crossings.push({ timeS: a.timeS + ((neededM - a.levelM) / (b.levelM - a.levelM)) * (b.timeS - a.timeS), rateMps: Math.abs(b.levelM - a.levelM) / (b.timeS - a.timeS) });
      }
      const ours = timesAtOrAbove(predictTide(constituents, 0.251), neededM, startS, endS).flatMap((one) => [...(one.startsWithTide ? [one.startS] : []), ...(one.endsWithTide ? [one.endS] : [])]);
      expect(crossings.length).toBeGreaterThan(3);
      expect(ours.length).toBe(crossings.length);
      // The prediction is within 5 mm of the official one: so much divided by the rate of rise.
      ours.forEach((timeS, i) => expect(Math.abs(timeS - crossings[i]!.timeS)).toBeLessThan(0.006 / crossings[i]!.rateMps + 1));
    }
  });

  it('tideTurns: meets the official high and low waters of the two days', () => {
    const wanted: { kind: string; timeS: number; levelM: number }[] = [];
    for (let i = 3; i + 3 < official.length; i++) {
      const around = official.slice(i - 3, i + 4).map((one) => one.levelM);
      const here = official[i]!.levelM;
      const isHigh = here === Math.max(...around);
      if (!isHigh && here !== Math.min(...around)) continue;
      const kind = isHigh ? 'high' : 'low';
      if (wanted[wanted.length - 1]?.kind !== kind) wanted.push({ kind, timeS: official[i]!.timeS, levelM: here });
    }
    const ours = tideTurns(predictTide(constituents, 0.251), startS, endS);
    expect(ours.length).toBe(wanted.length);
    expect(ours.length).toBeGreaterThanOrEqual(7);
    ours.forEach((turn, i) => {
      expect(turn.kind).toBe(wanted[i]!.kind);
      expect(Math.abs(turn.levelM - wanted[i]!.levelM)).toBeLessThan(0.005);
      // A 6-minute table shows a flat top to the millimetre: within two of its rows.
      expect(Math.abs(turn.timeS - wanted[i]!.timeS)).toBeLessThan(720);
    });
  });
});
