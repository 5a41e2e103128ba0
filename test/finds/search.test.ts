import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { chanceInPass, chanceLimits95, curveFromTally, sweepWidthM, type LateralRangeCurve } from '../../src/finds/lateral-range.js';
import { nextLines, parallelLines, type NextLinesRequest } from '../../src/finds/next-lines.js';
import { aspectOf, chanceOfLooks, posteriorOfOne, remaining } from '../../src/finds/search-chance.js';
import { addLook, chanceMap, createSearchMap, type SearchMap } from '../../src/finds/search-map.js';
import { erf } from '../../src/lines/objective-formulas.js';

const GRID = { westM: 0, northM: 200, cellM: 2, cols: 100, rows: 100 };

const curveOf = (of: (x: number) => number, end: number, steps = 400): LateralRangeCurve => ({
  objectM: 1,
  rangeByHeight: Array.from({ length: steps + 1 }, (_, i) => (i * end) / steps),
  chance: Array.from({ length: steps + 1 }, (_, i) => of((i * end) / steps)),
  source: 'closed form',
});

/** One straight track along x, both sides. */
function run(map: SearchMap, curve: LateralRangeCurve, line: { ax: number; ay: number; bx: number; by: number }, pass: number, farM: number): void {
  const lengthM = Math.hypot(line.bx - line.ax, line.by - line.ay);
  const course = (Math.atan2(line.bx - line.ax, line.by - line.ay) * 180) / Math.PI;
  [-90, 90].forEach((turn, side) => {
    for (let at = 0; at <= lengthM; at += 0.5) {
      addLook(map, { xM: line.ax + ((line.bx - line.ax) * at) / lengthM, yM: line.ay + ((line.by - line.ay) * at) / lengthM, bearingDeg: course + turn, heightM: 1, nearM: 0, farM, pass: 2 * pass + side }, curve);
    }
  });
}

const meanOf = (chance: Float32Array): number => {
  let sum = 0;
  for (let row = 40; row < 60; row++) for (let col = 40; col < 60; col++) sum += chance[row * 100 + col]!;
  return sum / 400;
};

describe('lateral range', () => {
  test('sweepWidthM: twice the range of a curve of 1, twice the area under any other', () => {
    const flat: LateralRangeCurve = { objectM: 1, rangeByHeight: [0, 10], chance: [1, 1], source: '' };
    expect(sweepWidthM(flat, 5)).toBeCloseTo(100, 9);
    expect(sweepWidthM(flat, 5, 20)).toBeCloseTo(40, 9);
    const wedge: LateralRangeCurve = { objectM: 1, rangeByHeight: [0, 10], chance: [1, 0], source: '' };
    expect(sweepWidthM(wedge, 5)).toBeCloseTo(50, 9);
    expect(chanceInPass(wedge, 25, 5)).toBeCloseTo(0.5, 12);
    expect(chanceInPass(wedge, 51, 5)).toBe(0);
    expect(chanceInPass(wedge, NaN, 5)).toBeNaN();
  });

  test('chanceLimits95: Wilson (1927) intervals', () => {
    // R 4.2 prop.test(x, n, correct = FALSE)$conf.int, the score interval
    const [low0, high0] = chanceLimits95(0, 10);
    expect(low0).toBe(0);
    expect(high0).toBeCloseTo(0.2775, 4);
    const [low, high] = chanceLimits95(9, 10);
    expect(low).toBeCloseTo(0.5958, 4);
    expect(high).toBeCloseTo(0.9821, 4);
  });

  test('curveFromTally: share found at the middle of a band, none where nothing was planted', () => {
    const curve = curveFromTally(0.6, [{ from: 0, to: 2, planted: 10, found: 5 }, { from: 2, to: 4, planted: 0, found: 0 }, { from: 4, to: 6, planted: 20, found: 19 }], 'test');
    expect(chanceInPass(curve, 1, 1)).toBeCloseTo(0.5, 12);
    expect(chanceInPass(curve, 5, 1)).toBeCloseTo(0.95, 12);
    expect(chanceInPass(curve, 3, 1)).toBeCloseTo(0.725, 12);
    expect(() => curveFromTally(0.6, [{ from: 0, to: 2, planted: 1, found: 2 }, { from: 2, to: 4, planted: 1, found: 1 }], 'test')).toThrow('2 found of 1');
  });
});

// Soza & Co. for USCG (1996) and Koopman (1946): coverage 0.5, 1, 2 gives 0.4691, 0.7899, 0.9878 for the inverse cube law with
// parallel lines, 0.3935, 0.6321, 0.8647 at random, and min(1, C) for a definite range.
describe('chance over a map against the closed forms of search theory', () => {
  test.each([[0.5, 0.4691], [1, 0.7899], [2, 0.9878]])('inverse cube law, parallel lines: coverage %s gives %s', (coverage, expected) => {
    // p(x) = 1 - exp(-k / x^2): its integral over both sides is 2 sqrt(pi k), its lines at a spacing S miss exp(-sum k / (x - nS)^2).
    const spacingM = 20;
    const k = (coverage * spacingM) ** 2 / (4 * Math.PI);
    const curve = curveOf((x) => (x === 0 ? 1 : -Math.expm1(-k / (x * x))), 800, 40_000);
    const fine = { westM: -50, northM: 10, cellM: 0.5, cols: 200, rows: 2 };
    const map = createSearchMap(fine);
    for (let line = -40; line <= 40; line++) {
      [-90, 90].forEach((bearingDeg, side) => {
        for (const yM of [9.25, 9.75]) addLook(map, { xM: line * spacingM + 0.01, yM, bearingDeg, heightM: 1, nearM: 0, farM: 800, pass: (line + 40) * 2 + side }, curve);
      });
    }
    const chance = chanceMap(map, 'independent');
    const mean = chance.reduce((sum, one) => sum + one, 0) / chance.length;
    expect(erf((Math.sqrt(Math.PI) * coverage) / 2)).toBeCloseTo(expected, 4);
    // Cells of 0.5 m in a spacing of 20 m, and lines out to 800 m.
    expect(Math.abs(mean - expected)).toBeLessThan(0.005);
  });

  test.each([[0.5, 0.3935], [1, 0.6321], [2, 0.8647]])('random search: coverage %s gives %s', (coverage, expected) => {
    const curve: LateralRangeCurve = { objectM: 1, rangeByHeight: [0, 2], chance: [1, 1], source: '' };
    // Tracks across the whole map at random places and headings: W = 4 m, L such that W L / A = C, 40 maps.
    const random = createRandom(7);
    let sum = 0;
    const maps = 60;
    for (let m = 0; m < maps; m++) {
      const map = createSearchMap(GRID);
      const tracks = Math.round((coverage * 100) / 4) * 2;
      for (let i = 0; i < tracks; i++) {
        const x = random.between(-50, 250);
        run(map, curve, { ax: x, ay: -2, bx: x, by: 202 }, i, 2);
      }
      // 300 m of places to lie in, so tracks x 4 m / 300 m is the coverage of any one place.
      sum += meanOf(chanceMap(map, 'independent')) / (-Math.expm1((-tracks * 4) / 300));
    }
    expect(-Math.expm1(-coverage)).toBeCloseTo(expected, 4);
    // The share against 1 - exp(-C) at the coverage those tracks have; 60 maps of some tens of tracks: 3 sigma about 0.06.
    expect(Math.abs(sum / maps - 1)).toBeLessThan(0.06);
  });

  test.each([0.5, 0.8, 1])('definite range: coverage %s gives the coverage', (coverage) => {
    const curve: LateralRangeCurve = { objectM: 1, rangeByHeight: [0, 10], chance: [1, 1], source: '' };
    const map = createSearchMap({ westM: 0, northM: 100, cellM: 0.5, cols: 200, rows: 4 });
    const spacingM = 20 / coverage;
    for (let line = -2; line <= 12; line++) [-90, 90].forEach((bearingDeg, side) => {
      for (let yM = 98.25; yM < 100; yM += 0.5) addLook(map, { xM: line * spacingM, yM, bearingDeg, heightM: 1, nearM: 0, farM: 10, pass: line * 2 + 10 + side }, curve);
    });
    const chance = chanceMap(map, 'independent');
    expect(Math.abs(chance.reduce((sum, one) => sum + one, 0) / chance.length - coverage)).toBeLessThan(0.03);
  });
});

describe('several looks', () => {
  test('chanceOfLooks: misses multiply, in any order, and a look never lowers the chance', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { maxLength: 8 }), (looks) => {
        const chance = chanceOfLooks(looks);
        expect(chance).toBeGreaterThanOrEqual(Math.max(0, ...looks) - 1e-12);
        expect(chanceOfLooks([...looks].reverse())).toBeCloseTo(chance, 12);
      }),
      { seed: 3, numRuns: 200 },
    );
    expect(chanceOfLooks([0.5, 0.5])).toBe(0.75);
  });

  test('chanceMap: the same line twice counts once by aspect, twice where looks are independent; a cross line counts in both', () => {
    const curve: LateralRangeCurve = { objectM: 1, rangeByHeight: [0, 20], chance: [0.5, 0.5], source: '' };
    const map = createSearchMap(GRID);
    run(map, curve, { ax: 90, ay: 0, bx: 90, by: 200 }, 0, 20);
    run(map, curve, { ax: 90, ay: 0, bx: 90, by: 200 }, 1, 20);
    const cell = 50 * 100 + 50;
    expect(map.looks[cell]).toBe(2);
    expect(chanceMap(map, 'by-aspect')[cell]).toBeCloseTo(0.5, 6);
    expect(chanceMap(map, 'independent')[cell]).toBeCloseTo(0.75, 6);
    run(map, curve, { ax: 0, ay: 105, bx: 200, by: 105 }, 2, 20);
    expect(chanceMap(map, 'by-aspect')[cell]).toBeCloseTo(0.75, 6);
    expect(chanceMap(map, 'independent')[cell]).toBeCloseTo(0.875, 6);
    expect(chanceMap(map, 'best')[cell]).toBeCloseTo(0.5, 6);
    expect(chanceMap(map, 'by-aspect')[0]).toBe(0);
  });

  test('aspectOf: eighths of the compass about the cardinal directions', () => {
    expect([0, 22, 23, 90, 180, 270, 337, 338, -1, 359].map(aspectOf)).toEqual([0, 0, 1, 2, 4, 6, 7, 0, 0, 0]);
  });
});

describe('what remains', () => {
  test('remaining: of a scatter at random, each found with a chance, so many are left as simulation leaves', () => {
    const random = createRandom(11);
    const trials = 20_000;
    let left = 0;
    let any = 0;
    for (let t = 0; t < trials; t++) {
      let n = 0;
      // A Poisson number by products of uniforms (Knuth).
      for (let product = random.uniform(); product > Math.exp(-1.5); product *= random.uniform()) if (random.uniform() > 0.7) n++;
      left += n;
      if (n > 0) any++;
    }
    const { expected, atLeastOne } = remaining(1.5, 0.7);
    expect(expected).toBeCloseTo(0.45, 12);
    expect(Math.abs(left / trials - expected)).toBeLessThan(4 * Math.sqrt(expected / trials));
    expect(Math.abs(any / trials - atLeastOne)).toBeLessThan(4 * Math.sqrt((atLeastOne * (1 - atLeastOne)) / trials));
  });

  test('posteriorOfOne: Bayes by hand', () => {
    // Two cells of 0.4, 0.2 outside; the first searched with 0.5: left 0.2, 0.4, 0.2 of 0.8.
    const { cells, inside } = posteriorOfOne([0.4, 0.4], [0.5, 0]);
    expect(cells[0]).toBeCloseTo(0.25, 12);
    expect(cells[1]).toBeCloseTo(0.5, 12);
    expect(inside).toBeCloseTo(0.75, 12);
    expect(() => posteriorOfOne([0.8, 0.4], [0, 0])).toThrow('sums to');
  });
});

describe('nextLines', () => {
  const curve: LateralRangeCurve = { objectM: 1, rangeByHeight: [0.5, 0.6, 9, 10], chance: [0, 0.9, 0.9, 0], source: '' };
  const request = (map: SearchMap, budgetWh: number, most = 50): NextLinesRequest => ({
    map, rule: 'by-aspect', curve, wanted: new Uint8Array(10_000).fill(1), perM2: 1e-4,
    candidates: [...parallelLines(GRID, 0, 20), ...parallelLines(GRID, 90, 20)].filter(({ ax, ay, bx, by }) => Math.min(ax, ay, bx, by) > -200 && Math.max(ax, ay, bx, by) < 400),
    heightAtM: () => 4, nearM: 2, farM: 40, launch: { xM: 0, yM: 0 }, whPerM: 0.02, sPerM: 1 / 1.5, turnWh: 0.1, turnS: 15, budgetWh, most,
  });

  test('the first line goes where nobody looked, and the budget with the way home is kept', () => {
    const map = createSearchMap(GRID);
    // The west half is searched already, from both directions.
    for (const x of [20, 60, 100]) run({ ...map }, { ...curve, rangeByHeight: curve.rangeByHeight.map((r) => r * 4) }, { ax: x, ay: 0, bx: x, by: 200 }, x, 40);
    const plan = nextLines(request(map, 40));
    expect(plan.lines.length).toBeGreaterThan(0);
    const middle = (plan.lines[0]!.ax + plan.lines[0]!.bx) / 2;
    expect(middle).toBeGreaterThan(100);
    expect(plan.totalWh).toBeLessThanOrEqual(40);
    const [last] = plan.lines.slice(-1);
    expect(plan.totalWh).toBeCloseTo(plan.lines.reduce((sum, { wh }) => sum + wh, 0) + Math.hypot(last!.bx, last!.by) * 0.02, 9);
  });

  test('what it says it gains is what the map gains when the lines are run', () => {
    const map = createSearchMap(GRID);
    const plan = nextLines(request(map, 60));
    const gained = plan.lines.reduce((sum, { gain }) => sum + gain, 0);
    expect(plan.before - plan.after).toBeCloseTo(gained, 6);
    expect(plan.before).toBeCloseTo(4, 9);
    const runMap = createSearchMap(GRID);
    plan.lines.forEach((line, i) => {
      const lengthM = Math.hypot(line.bx - line.ax, line.by - line.ay);
      const course = (Math.atan2(line.bx - line.ax, line.by - line.ay) * 180) / Math.PI;
      [-90, 90].forEach((turn, side) => {
        for (let k = 0.5; k < Math.round(lengthM); k++) addLook(runMap, { xM: line.ax + ((line.bx - line.ax) * k) / Math.round(lengthM), yM: line.ay + ((line.by - line.ay) * k) / Math.round(lengthM), bearingDeg: course + turn, heightM: 4, nearM: 2, farM: 40, pass: 2 * i + side }, curve);
      });
    });
    const chance = chanceMap(runMap, 'by-aspect');
    const mean = chance.reduce((sum, one) => sum + one, 0) / chance.length;
    expect(mean).toBeCloseTo(plan.chanceAfter, 4);
  });

  test('lazy greedy: the same lines as when every gain is reckoned anew each time', () => {
    const map = createSearchMap(GRID);
    const whole = nextLines({ ...request(map, 1e9, 4), launch: null, whPerM: 1e-12, turnWh: 1 });
    // With no cost but a turn each, the best next one by itself, found by brute force one at a time.
    let before = 0;
    for (let k = 1; k <= 4; k++) {
      const plan = nextLines({ ...request(map, 1e9, k), launch: null, whPerM: 1e-12, turnWh: 1 });
      const gain = plan.lines.reduce((sum, one) => sum + one.gain, 0);
      expect(gain).toBeGreaterThan(before);
      expect(plan.lines.map(({ ax, ay }) => [ax, ay])).toEqual(whole.lines.slice(0, k).map(({ ax, ay }) => [ax, ay]));
      before = gain;
    }
    const gains = whole.lines.map(({ gain }) => gain);
    expect([...gains].sort((a, b) => b - a)).toEqual(gains);
  });

  test('no line where all is found, none that the battery cannot carry home', () => {
    const map = createSearchMap(GRID);
    map.bestByAspect.fill(1);
    expect(nextLines(request(map, 1000)).lines).toEqual([]);
    expect(nextLines(request(createSearchMap(GRID), 1)).lines).toEqual([]);
  });
});
