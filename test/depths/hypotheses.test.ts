import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import type { Random } from '../../src/base/random.js';
import { chooseHypotheses } from '../../src/depths/hypotheses-choose.js';
import { trackNode } from '../../src/depths/hypotheses-node.js';
import type { NodeSounding } from '../../src/depths/hypotheses-node.js';
import { trackHypotheses } from '../../src/depths/hypotheses-track.js';
import type { HypothesisPoints } from '../../src/depths/hypotheses-track.js';
import type { RasterGrid } from '../../src/geo/raster.js';
import { wavyFloor } from './surface-floor.js';

const sounding = (depthM: number, variance = 0.01): NodeSounding => ({ depthM, variance, tvu2: variance * 1.96 ** 2, placeX: 0, placeY: 0 });
const largest = <T extends { count: number }>(found: readonly T[]): T => found.reduce((a, b) => (b.count > a.count ? b : a));

describe('trackNode', () => {
  test('trackNode: converges to the inverse variance mean, its variance 1 / sum of 1 / V, when a flat floor has noise as claimed', () => {
    let squares = 0;
    for (let seed = 1; seed <= 200; seed++) {
      const random = createRandom(seed);
      const soundings = Array.from({ length: 60 }, () => {
        const variance = random.between(0.005, 0.02);
        // Noise no larger than two sigmas of the claim, so that one hypothesis holds all.
        return sounding(12 + Math.sqrt(variance) * Math.max(-1.8, Math.min(1.8, random.normal())), variance);
      });
      const found = trackNode(soundings);
      const one = largest(found);
      if (found.length > 1) continue;
      const weights = soundings.reduce((sum, { variance }) => sum + 1 / variance, 0);
      expect(one.depthM).toBeCloseTo(soundings.reduce((sum, { depthM, variance }) => sum + depthM / variance, 0) / weights, 9);
      expect(one.variance).toBeCloseTo(1 / weights, 12);
      squares += (one.depthM - 12) ** 2 * weights;
    }
    expect(squares / 200).toBeGreaterThan(0.6); // noise cut at 1.8 sigma has 0.81 of its variance, less those passed over
    expect(squares / 200).toBeLessThan(1);
  });

  test('trackNode: few second hypotheses arise and none is large when noise is all that there is', () => {
    let second = 0;
    let soundings = 0;
    for (let seed = 1; seed <= 100; seed++) {
      const random = createRandom(seed);
      const found = trackNode(Array.from({ length: 100 }, () => sounding(20 + 0.1 * random.normal())));
      const main = largest(found);
      expect(Math.abs(main.depthM - 20)).toBeLessThan(0.05); // 5 sigmas of the mean of 100
      expect(main.count).toBeGreaterThan(90);
      second += 100 - main.count;
      soundings += 100;
    }
    // The monitor gives up at 2.5 sigmas: 1.2 % of a normal sample lies beyond.
    expect(second / soundings).toBeLessThan(0.03);
  });

  test('trackNode: a fifth of spikes stands apart and does not move the floor when spikes agree and when they do not', () => {
    for (let seed = 1; seed <= 50; seed++) {
      const random = createRandom(seed);
      const agree = seed % 2 === 0;
      const clean: NodeSounding[] = [];
      const all = Array.from({ length: 100 }, (_, k) => {
        const spike = k % 5 === 2;
        const one = sounding(spike ? (agree ? 8 + 0.1 * random.normal() : random.between(2, 18)) : 20 + 0.1 * random.normal());
        if (!spike) clean.push(one);
        return one;
      });
      const found = trackNode(all);
      const main = largest(found);
      expect(Math.abs(main.depthM - largest(trackNode(clean)).depthM)).toBeLessThan(0.034); // three sigmas of the mean of 80, over fifty draws
      if (agree) expect(found.filter(({ depthM, count }) => Math.abs(depthM - 8) < 0.15 && count >= 15).length).toBe(1);
      expect(found.reduce((sum, { count }) => sum + count, 0)).toBe(100);
    }
  });

  test('trackNode: two depths in one cell are both kept, with the soundings of each, when there is a step', () => {
    const random = createRandom(44);
    const found = trackNode(Array.from({ length: 80 }, (_, k) => sounding((k % 80 < 45 ? 10 : 11.5) + 0.1 * random.normal())));
    const large = found.filter(({ count }) => count > 20).sort((a, b) => a.depthM - b.depthM);
    expect(large.length).toBe(2);
    expect(large[0]!.depthM).toBeCloseTo(10, 1);
    expect(large[1]!.depthM).toBeCloseTo(11.5, 1);
  });

  test('trackNode: a drift that no single sounding shows is caught by the run of them', () => {
    // 2.1 sigmas off each: the factor of one is 0.67, of the run under 0.135 after a few.
    const found = trackNode([...Array.from({ length: 40 }, () => sounding(10)), ...Array.from({ length: 12 }, () => sounding(10.22))], { queue: 1 });
    expect(found.length).toBeGreaterThan(1);
    expect(found[0]!.depthM).toBeLessThan(10.05);
  });

  test('trackNode: the order of soundings moves the floor by less than its 95 % when they come in any', () => {
    const random = createRandom(9);
    const soundings = Array.from({ length: 60 }, (_, k) => sounding(k % 6 === 0 ? 15 + 0.1 * random.normal() : 20 + 0.1 * random.normal()));
    const first = largest(trackNode(soundings));
    fc.assert(
      fc.property(fc.shuffledSubarray(soundings, { minLength: 60 }), (turned) => {
        const main = largest(trackNode(turned));
        expect(Math.abs(main.depthM - first.depthM)).toBeLessThan(1.96 * Math.sqrt(first.variance));
        expect(Math.abs(main.count - first.count)).toBeLessThanOrEqual(5);
      }),
      { seed: 3, numRuns: 200 },
    );
  });

  test('trackNode: none of nothing, one of one, and refuses rules that are none', () => {
    expect(trackNode([])).toEqual([]);
    expect(trackNode([sounding(4)])).toMatchObject([{ depthM: 4, variance: 0.01, count: 1 }]);
    const grid: RasterGrid = { westM: 0, northM: 1, cellM: 1, cols: 1, rows: 1 };
    const points = { xM: Float64Array.of(0.5), yM: Float64Array.of(0.5), depthM: Float64Array.of(4), tvuM: Float64Array.of(0.2) };
    expect(() => trackHypotheses(points, grid, { queue: 4 })).toThrow(/queue 4: expected an odd/);
    expect(() => trackHypotheses(points, grid, { discount: 0 })).toThrow(/discount 0/);
    expect(() => trackHypotheses({ ...points, tvuM: undefined } as never, grid)).toThrow(/needs points.tvuM/);
  });
});

const GRID: RasterGrid = { westM: 500_000, northM: 5_094_060, cellM: 1, cols: 60, rows: 60 };

/** Dense soundings over the grid, errors of known size; a share of them spikes. */
function dense(random: Random, perCell: number, floor: (x: number, y: number) => number, sigmaM: number, spikes = 0): HypothesisPoints & { spike: Uint8Array } {
  const n = perCell * 3600;
  const xM = Float64Array.from({ length: n }, () => GRID.westM + random.between(0, 60));
  const yM = Float64Array.from({ length: n }, () => GRID.northM - random.between(0, 60));
  const spike = Uint8Array.from({ length: n }, () => (random.uniform() < spikes ? 1 : 0));
  const depthM = Float64Array.from(xM, (x, i) => floor(x - GRID.westM, GRID.northM - yM[i]!) + (spike[i] ? -random.between(1, 6) : sigmaM * random.normal()));
  return { xM, yM, depthM, tvuM: new Float32Array(n).fill(1.96 * sigmaM), spike };
}

function chosenErrors(points: HypothesisPoints, floor: (x: number, y: number) => number, systematicShare = 0) {
  const tracked = trackHypotheses(points, GRID, { systematicShare });
  const { chosen, hypotheses } = chooseHypotheses(tracked);
  const errors: number[] = [];
  let [held, several] = [0, 0];
  chosen.forEach((k, cell) => {
    if (k < 0) return;
    const error = tracked.depthM[k]! - floor((cell % 60) + 0.5, Math.floor(cell / 60) + 0.5);
    errors.push(error);
    if (hypotheses[cell]! > 1) several++;
    if (Math.abs(error) <= tracked.uncertaintyM[k]!) held++;
  });
  return { tracked, errors, held: held / errors.length, several: several / errors.length, rms: Math.sqrt(errors.reduce((sum, one) => sum + one * one, 0) / errors.length) };
}

describe('trackHypotheses', () => {
  test('trackHypotheses: 95 % holds 93 to 99.5 % of the errors when a flat, a sloping and a wavy floor are sounded densely', () => {
    for (const [name, floor] of [['flat', () => 10], ['slope', (x: number, y: number) => 10 + 0.3 * x + 0.2 * y], ['waves', wavyFloor(createRandom(5), 20)]] as const) {
      const { held, rms, several } = chosenErrors(dense(createRandom(21), 12, floor, 0.1), floor);
      expect(held, name).toBeGreaterThan(0.93);
      expect(held, name).toBeLessThan(0.995);
      // 12 soundings in the cell and some of its neighbours': 0.1 / sqrt(12) = 0.029, more for their distance.
      expect(rms, name).toBeLessThan(0.04);
      expect(several, name).toBeLessThan(0.35);
    }
  });

  test('trackHypotheses: a fifth of spikes leaves the surface as good as without them when floors are known', () => {
    const floor = wavyFloor(createRandom(5), 20);
    const spiked = dense(createRandom(22), 20, floor, 0.1, 0.2);
    const clean = chosenErrors({ ...spiked, reason: spiked.spike }, floor);
    const all = chosenErrors(spiked, floor);
    expect(all.rms).toBeLessThan(1.15 * clean.rms);
    expect(all.held).toBeGreaterThan(0.93);
    expect(all.several).toBeGreaterThan(0.9);
    // Every sounding given is in a hypothesis: those of a node add up to what it heard.
    const heard = all.tracked.soundings.reduce((sum, one) => sum + one, 0);
    expect(heard).toBeGreaterThanOrEqual(all.tracked.used);
  });

  test('trackHypotheses: a step within a row of cells stands as two hypotheses there and one on either side', () => {
    const floor = (x: number) => (x < 30.5 ? 10 : 13);
    const { tracked } = chosenErrors(dense(createRandom(23), 20, floor, 0.1), floor);
    const rowsWithBoth = Array.from({ length: 60 }, (_, row) => {
      const cell = row * 60 + 30;
      const large = [...Array(tracked.start[cell + 1]! - tracked.start[cell]!).keys()].map((k) => tracked.start[cell]! + k).filter((k) => tracked.soundings[k]! >= 5);
      return large.some((k) => Math.abs(tracked.depthM[k]! - 10) < 0.15) && large.some((k) => Math.abs(tracked.depthM[k]! - 13) < 0.15);
    }).filter(Boolean).length;
    expect(rowsWithBoth).toBeGreaterThanOrEqual(57);
  });

  test('trackHypotheses: cells without soundings have none, and the systematic share does not average out', () => {
    const points = { xM: new Float64Array(50).fill(GRID.westM + 5.5), yM: new Float64Array(50).fill(GRID.northM - 5.5), depthM: new Float64Array(50).fill(7), tvuM: new Float64Array(50).fill(0.2) };
    const tracked = trackHypotheses(points, GRID, { systematicShare: 0.6 });
    expect(tracked.depthM.length).toBe(1);
    expect(tracked.start[5 * 60 + 5]).toBe(0);
    expect(tracked.start[5 * 60 + 6]).toBe(1);
    expect(tracked.uncertaintyM[0]).toBeCloseTo(Math.sqrt(0.04 * (0.6 + 0.4 / 50)), 9);
  });
});

describe('chooseHypotheses', () => {
  /** A flat floor at 10 m but for one cell, where more soundings say 7 m than 10 m. */
  const points = (() => {
    const x: number[] = [];
    const y: number[] = [];
    const z: number[] = [];
    for (let cell = 0; cell < 3600; cell++) {
      const odd = cell === 30 * 60 + 30;
      for (let k = 0; k < 8; k++) {
        x.push(GRID.westM + (cell % 60) + 0.5);
        y.push(GRID.northM - Math.floor(cell / 60) - 0.5);
        z.push(odd && k < 5 ? 7 : 10);
      }
    }
    return { xM: Float64Array.from(x), yM: Float64Array.from(y), depthM: Float64Array.from(z), tvuM: new Float64Array(x.length).fill(0.2) };
  })();
  const tracked = trackHypotheses(points, GRID);
  const cell = 30 * 60 + 30;
  const depthBy = (...rest: Parameters<typeof chooseHypotheses> extends [unknown, ...infer R] ? R : never) => tracked.depthM[chooseHypotheses(tracked, ...rest).chosen[cell]!];

  test('chooseHypotheses: most soundings, the neighbours or both decide, as asked, when a node has two', () => {
    expect(depthBy('soundings')).toBe(7);
    expect(depthBy('neighbours')).toBe(10);
    expect(depthBy('both')).toBe(10);
    const by = chooseHypotheses(tracked, 'soundings');
    expect(by.hypotheses[cell]).toBe(2);
    expect(by.strength[cell]).toBeCloseTo(1 - 3 / 5, 6);
    expect(by.strength[cell + 1]).toBe(1);
    expect(chooseHypotheses(tracked, 'both').strength[cell]).toBe(0);
  });

  test('chooseHypotheses: a decision by hand stands before the rule, the later before the earlier, and is told where lost', () => {
    const [xM, yM] = [GRID.westM + 30.2, GRID.northM - 30.9];
    expect(depthBy('both', [{ xM, yM, depthM: 7.05 }])).toBe(7);
    expect(depthBy('both', [{ xM, yM, depthM: 7.05 }, { xM, yM, depthM: 9.98 }])).toBe(10);
    const result = chooseHypotheses(tracked, 'both', [{ xM, yM, depthM: 8.5 }, { xM: 0, yM: 0, depthM: 7 }, { xM, yM, depthM: 7 }]);
    expect(result.lost).toEqual([0, 1]);
    expect(result.byHand[cell]).toBe(1);
    expect(result.byHand.reduce((sum, one) => sum + one, 0)).toBe(1);
  });

  test('chooseHypotheses: by soundings where there is no guide', () => {
    const few = trackHypotheses({ xM: new Float64Array(8).fill(GRID.westM + 0.5), yM: new Float64Array(8).fill(GRID.northM - 0.5), depthM: Float64Array.of(7, 7, 7, 7, 7, 10, 10, 10), tvuM: new Float64Array(8).fill(0.2) }, GRID);
    const { chosen, strength } = chooseHypotheses(few, 'neighbours');
    expect(few.depthM[chosen[0]!]).toBe(7);
    expect(chosen[1]).toBe(-1);
    expect(strength[1]).toBeNaN();
  });
});
