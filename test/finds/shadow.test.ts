import { describe, expect, test } from 'vitest';
import { createRandom, type Random } from '../../src/base/random.js';
import { mean, standardDeviation } from '../../src/base/statistics.js';
import { floorRelief } from '../../src/finds/floor-relief.js';
import { followEnd } from '../../src/finds/follow-end.js';
import { heightFromShadow } from '../../src/finds/measure.js';
import { findEnds, type Blocking } from '../../src/finds/shadow-model.js';
import { meanBetween, type PingCells } from '../../src/finds/slant-profile.js';

const CELL_M = 0.08;
const FIRST_M = 18;
const CELLS = 90;

interface Drawn {
  readonly endM: readonly number[];
  readonly shadowM: number;
  readonly hidden: number;
}

/** Pings of exponential powers: floor, 0.6 m of echo eight times as loud, a shadow that lets through what the beam sees past it, floor. Cells hold the mean over their own width. */
function drawPings({ endM, shadowM, hidden }: Drawn, random: Random): PingCells[] {
  const level = (range: number, end: number): number => (range < end - 0.6 ? 1 : range < end ? 1 - hidden + 8 * hidden : range < end + shadowM ? 1 - hidden : 1);
  return endM.map((end) => ({
    slantM: Float64Array.from({ length: CELLS }, (_, i) => FIRST_M + (i + 0.5) * CELL_M),
    power: Float64Array.from({ length: CELLS }, (_, i) => -Math.log(1 - random.uniform()) * mean(Array.from({ length: 8 }, (__, k) => level(FIRST_M + (i + (k + 0.5) / 8) * CELL_M, end)))),
    samples: new Uint16Array(CELLS).fill(1),
  }));
}

const flat = (pings: number, hidden: number): Blocking => ({ weights: Array.from({ length: pings }, () => Float64Array.of(hidden)), offM: Float64Array.of(0) });

describe('findEnds', () => {
  test.each([[1, 0.75], [2, 0.9], [0.6, 0.95]])('a shadow of %s m with %s of the beam hidden: unbiased to a third of a cell, and the spread stated is the spread', (shadowM, hidden) => {
    const random = createRandom(4);
    const trials = Array.from({ length: 60 }, () => {
      const end = 20 + CELL_M * random.uniform();
      const fit = findEnds(drawPings({ endM: [end, end, end, end, end], shadowM, hidden }, random), flat(5, hidden), { cellM: CELL_M, floor: 1, aboutM: 20 + CELL_M / 2, reachM: 0.35, temper: 1 });
      return { start: fit!.echoEndM - end, end: fit!.shadowEndM - end - shadowM, share: (fit!.share - (1 - end / (end + shadowM))) / fit!.shareSigma, open: fit!.open };
    });
    expect(Math.abs(mean(trials.map(({ start }) => start)))).toBeLessThan(CELL_M / 3);
    expect(Math.abs(mean(trials.map(({ end }) => end)))).toBeLessThan(CELL_M / 2);
    // Steps under speckle have long tails: the likelihood alone states a little too little, which reading off makes up for.
    expect(standardDeviation(trials.map(({ share }) => share))).toBeLessThan(1.8);
    expect(standardDeviation(trials.map(({ share }) => share))).toBeGreaterThan(0.5);
    expect(Math.max(...trials.map(({ open }) => open))).toBeLessThan(0.01);
  });

  test('a shadow that runs beyond the last sample: open', () => {
    const fit = findEnds(drawPings({ endM: [21, 21, 21, 21], shadowM: 9, hidden: 0.9 }, createRandom(2)), flat(4, 0.9), { cellM: CELL_M, floor: 1, aboutM: 21, reachM: 0.35, temper: 1 });
    expect(fit!.open).toBeGreaterThan(0.9);
  });

  test('powers twice as loud with a floor twice as loud: the same ends', () => {
    const pings = drawPings({ endM: [20.3, 20.3, 20.3], shadowM: 1.2, hidden: 0.8 }, createRandom(6));
    const search = { cellM: CELL_M, floor: 1, aboutM: 20.3, reachM: 0.35, temper: 1 };
    const louder = pings.map((one) => ({ ...one, power: one.power.map((power) => 2 * power) }));
    const [a, b] = [findEnds(pings, flat(3, 0.8), search)!, findEnds(louder, flat(3, 0.8), { ...search, floor: 2 })!];
    expect(b.echoEndM).toBeCloseTo(a.echoEndM, 9);
    expect(b.shareSigma).toBeCloseTo(a.shareSigma, 9);
  });
});

test('followEnd: the end of something that lies slantwise, to a cell or two', () => {
  const random = createRandom(8);
  const ends = Array.from({ length: 12 }, (_, p) => 20 + 0.06 * p);
  const found = followEnd(drawPings({ endM: ends, shadowM: 2, hidden: 0.95 }, random), ends.map(() => 0.05), 1, 20.3, 0.9, CELL_M);
  expect(Math.max(...found.map((end, p) => Math.abs(end - ends[p]!)))).toBeLessThan(2.5 * CELL_M);
});

describe('floorRelief', () => {
  const look = (random: Random, tilt: (range: number, group: number) => number, group: number, sine: number): PingCells => {
    const tangent = sine / Math.sqrt(1 - sine * sine);
    return { slantM: Float64Array.from({ length: CELLS }, (_, i) => FIRST_M + (i + 0.5) * CELL_M), power: Float64Array.from({ length: CELLS }, (_, i) => (1 + tilt(FIRST_M + (i + 0.5) * CELL_M, group) / tangent) ** 2 * -Math.log(1 - random.uniform())), samples: new Uint16Array(CELLS).fill(1) };
  };

  test('an even floor under speckle: next to none', () => {
    const random = createRandom(3);
    const groups = Array.from({ length: 40 }, (_, g) => Array.from({ length: 5 }, () => look(random, () => 0, g, 0.2)));
    const { reliefM, texture } = floorRelief(groups, 1, 0.2, 20, 22, CELL_M);
    expect(reliefM).toBeLessThan(0.02);
    expect(texture).toBeLessThan(0.1);
  });

  test('a floor that tilts by 0.03 one way or the other over the shadow: 0.06 m over 2 m', () => {
    const random = createRandom(3);
    const groups = Array.from({ length: 40 }, (_, g) => Array.from({ length: 5 }, () => look(random, (__, group) => (group % 2 === 0 ? 0.03 : -0.03), g, 0.2)));
    // Ground range is longer than slant range by 1 / cos: 2 percent here.
    expect(floorRelief(groups, 1, 0.2, 20, 22, CELL_M).reliefM).toBeGreaterThan(0.045);
    expect(floorRelief(groups, 1, 0.2, 20, 22, CELL_M).reliefM).toBeLessThan(0.075);
  });
});

test('heightFromShadow: on a floor that rises or falls, the ray over the top', () => {
  const none = { startM: 0, endM: 0, heightM: 0 };
  // Sonar 5 m above the foot at 20 m; floor rises by 0.02: at 24 m it is 0.08 m higher. The ray from the top of a thing 0.4 m high
  // reaches it where 5 - z(g) = (5 - 0.4) g / 20: 5 - 0.02 (g - 20) = 0.23 g, g = 21.6; by hand.
  const groundM = 21.6;
  const downM = 0.23 * groundM;
  const [top, end] = [Math.hypot(20, 4.6), Math.hypot(groundM, downM)];
  expect(heightFromShadow(top, end, 5, none, 5 - downM).value).toBeCloseTo(0.4, 9);
  // As if level it would be read too low by the rise.
  expect(heightFromShadow(top, end, 5, none).value).toBeCloseTo(5 * (1 - top / end), 9);
  expect(heightFromShadow(top, end, 5, { ...none, reliefM: 0.05 }).sigma).toBeCloseTo((0.05 * top) / end, 12);
});

test('meanBetween: by samples, NaN where nothing lies', () => {
  const cells: PingCells = { slantM: Float64Array.of(1, 2, 3), power: Float64Array.of(1, 4, 9), samples: Uint16Array.of(1, 3, 1) };
  expect(meanBetween([cells], 0, 2.5)).toEqual({ mean: 13 / 4, count: 4 });
  expect(meanBetween([cells], 5, 6).mean).toBeNaN();
});
