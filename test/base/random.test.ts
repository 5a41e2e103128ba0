import { describe, expect, it } from 'vitest';
import { createRandom, randomFromState } from '../../src/base/random.js';

const N = 200_000;

describe('random', () => {
  it('uint32: gives the published first ten outputs for the state 1, 2, 3, 4', () => {
    // Source: reference vector of the authors' C code, as the rand_xoshiro crate's tests carry it.
    const random = randomFromState(1, 2, 3, 4);
    const drawn = Array.from({ length: 10 }, () => random.uint32());
    expect(drawn).toEqual([11520, 0, 5927040, 70819200, 2031721883, 1637235492, 1287239034, 3734860849, 3729100597, 4258142804]);
  });

  it('createRandom: repeats for a seed, differs for another, also above 2^32', () => {
    const take = (seed: number): number[] => {
      const random = createRandom(seed);
      return Array.from({ length: 8 }, () => random.uint32());
    };
    expect(take(7)).toEqual(take(7));
    const firsts = [0, 1, 2, 7, 2 ** 32, 2 ** 32 + 7, 2 ** 40, 2 ** 53 - 1].map((seed) => take(seed).join());
    expect(new Set(firsts).size).toBe(firsts.length);
  });

  it('createRandom: refuses seeds that are not whole and the zero state', () => {
    for (const seed of [-1, 1.5, NaN, 2 ** 53]) expect(() => createRandom(seed)).toThrow(RangeError);
    expect(() => randomFromState(0, 0, 0, 0)).toThrow(/not all zero/);
  });

  it('uniform: has the mean, variance and flat deciles of [0, 1)', () => {
    const random = createRandom(1);
    const deciles = new Array<number>(10).fill(0);
    let sum = 0;
    let sum2 = 0;
    for (let i = 0; i < N; i++) {
      const u = random.uniform();
      if (!(u >= 0 && u < 1)) expect(u).toBe("in [0, 1)");
      deciles[Math.floor(u * 10)]! += 1;
      sum += u;
      sum2 += u * u;
    }
    const mean = sum / N;
    // Five standard errors: 1/sqrt(12 N) for the mean, 1/sqrt(180 N) for the variance.
    expect(Math.abs(mean - 0.5)).toBeLessThan(5 / Math.sqrt(12 * N));
    expect(Math.abs(sum2 / N - mean * mean - 1 / 12)).toBeLessThan(5 / Math.sqrt(180 * N));
    const chi2 = deciles.reduce((total, count) => total + (count - N / 10) ** 2 / (N / 10), 0);
    expect(chi2).toBeLessThan(27.88); // chi-square, 9 degrees of freedom, 0.1 %
  });

  it('normal: has the moments of the normal distribution and 95 % within 1.96', () => {
    const random = createRandom(2);
    const moments = [0, 0, 0, 0];
    let inside = 0;
    let lag = 0;
    let previous = 0;
    for (let i = 0; i < N; i++) {
      const z = random.normal();
      for (let k = 0; k < 4; k++) moments[k]! += z ** (k + 1) / N;
      if (Math.abs(z) < 1.959964) inside++;
      lag += (z * previous) / N;
      previous = z;
    }
    // Five standard errors of each moment: variances 1, 2, 15, 96 over N.
    expect(Math.abs(moments[0]!)).toBeLessThan(5 * Math.sqrt(1 / N));
    expect(Math.abs(moments[1]! - 1)).toBeLessThan(5 * Math.sqrt(2 / N));
    expect(Math.abs(moments[2]!)).toBeLessThan(5 * Math.sqrt(15 / N));
    expect(Math.abs(moments[3]! - 3)).toBeLessThan(5 * Math.sqrt(96 / N));
    expect(Math.abs(inside / N - 0.95)).toBeLessThan(5 * Math.sqrt((0.95 * 0.05) / N));
    expect(Math.abs(lag)).toBeLessThan(5 / Math.sqrt(N));
  });

  it('integer: favours no value of a count that does not divide 2^32', () => {
    const random = createRandom(3);
    const counts = new Array<number>(7).fill(0);
    for (let i = 0; i < 70_000; i++) counts[random.integer(7)]! += 1;
    const chi2 = counts.reduce((total, count) => total + (count - 10_000) ** 2 / 10_000, 0);
    expect(chi2).toBeLessThan(22.46); // 6 degrees of freedom, 0.1 %
    expect(() => random.integer(0)).toThrow(RangeError);
  });

  it('fork: depends on the seed and the name, not on what was drawn before', () => {
    const one = createRandom(9);
    const first = one.fork('depth').uint32();
    one.uniform();
    expect(one.fork('depth').uint32()).toBe(first);
    expect(one.fork('fix').uint32()).not.toBe(first);
    expect(createRandom(10).fork('depth').uint32()).not.toBe(first);
  });
});
