import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bearingDeg, indexAtOrBefore, interpolateAt, interpolateBearingAt, turnDeg } from '../../src/base/interpolate.js';
import { median, robustSigma, theilSenLine, upperMedianInPlace } from '../../src/base/robust.js';
import { mean, quantile, rootMeanSquare, selectInPlace, standardDeviation, withoutNaN } from '../../src/base/statistics.js';
import { reference } from '../water/recorded.js';

// Source: numpy and scipy, test/reference/water/make.py.
const table = reference('water/reference.json') as {
  sample: number[];
  quantiles: [number, number][];
  sampleSd: number;
  sampleMad: number;
  theilSen: { x: number[]; y: number[]; slope: number; intercept: number };
};

describe('statistics', () => {
  it('quantile: gives numpy.quantile of the reference sample', () => {
    for (const [share, value] of table.quantiles) expect(quantile(table.sample, share)).toBeCloseTo(value, 12);
  });

  it('standardDeviation, robustSigma: give those of numpy and scipy', () => {
    expect(standardDeviation(table.sample)).toBeCloseTo(table.sampleSd, 12);
    expect(robustSigma(table.sample)).toBeCloseTo(table.sampleMad, 6);
  });

  it('theilSenLine: gives scipy.stats.theilslopes with three wild points of fifteen', () => {
    const { x, y, slope, intercept } = table.theilSen;
    const line = theilSenLine(x, y);
    expect(line.slope).toBeCloseTo(slope, 12);
    expect(line.intercept).toBeCloseTo(intercept, 12);
  });

  it('theilSenLine: level through the median where all x are equal; NaN of nothing', () => {
    expect(theilSenLine([1, 1, 1], [2, 9, 4])).toEqual({ slope: 0, intercept: 4 });
    expect(theilSenLine([], []).intercept).toBeNaN();
  });

  it('selectInPlace: puts the value of the sorted place there and parts the rest, for any values', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: -20, max: 20 }), { minLength: 1, maxLength: 60 }), fc.nat(), (list, pick) => {
        const index = pick % list.length;
        const values = Float64Array.from(list);
        const sorted = [...list].sort((a, b) => a - b);
        expect(selectInPlace(values, index, 0, values.length)).toBe(sorted[index]);
        expect(Math.max(...values.subarray(0, index + 1))).toBe(sorted[index]);
        expect(Math.min(...values.subarray(index))).toBe(sorted[index]);
        expect(upperMedianInPlace(values, values.length)).toBe(sorted[list.length >> 1]);
      }),
      { seed: 31 },
    );
  });

  it('of nothing: NaN; a share outside 0 to 1: refused', () => {
    for (const value of [mean([]), standardDeviation([1]), rootMeanSquare([]), quantile([], 0.5), median([]), robustSigma([])]) expect(value).toBeNaN();
    expect(() => quantile([1], 1.1)).toThrow(RangeError);
    expect([...withoutNaN([1, NaN, 2])]).toEqual([1, 2]);
    expect(rootMeanSquare([3, -4])).toBeCloseTo(Math.sqrt(12.5), 12);
  });
});

describe('interpolation', () => {
  it('indexAtOrBefore: agrees with a linear search whatever the hint', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 0, max: 30 }), { maxLength: 20 }), fc.integer({ min: -2, max: 32 }), fc.integer({ min: -3, max: 25 }), (list, value, hint) => {
        const values = [...list].sort((a, b) => a - b);
        let expected = -1;
        values.forEach((one, i) => {
          if (one <= value) expected = i;
        });
        expect(indexAtOrBefore(values, value, hint)).toBe(expected);
      }),
      { seed: 32 },
    );
    expect(indexAtOrBefore([1, 2], NaN)).toBe(-1);
  });

  it('interpolateAt: straight between samples, NaN outside and across a gap', () => {
    const found = interpolateAt(Float64Array.of(0, 10, 100), [1, 3, 9], Float64Array.of(-1, 0, 5, 10, 50, 100, 101, NaN), 20);
    expect([...found]).toEqual([NaN, 1, 2, 3, NaN, 9, NaN, NaN]);
  });

  it('interpolateBearingAt: goes the shorter way round through north', () => {
    const found = interpolateBearingAt(Float64Array.of(0, 10, 20), [350, 10, 300], Float64Array.of(5, 15), 20);
    expect(found[0]).toBeCloseTo(0, 9);
    expect(found[1]).toBeCloseTo(335, 9);
  });

  it('turnDeg, bearingDeg: stay in their ranges', () => {
    expect([turnDeg(350, 10), turnDeg(10, 350), turnDeg(0, 180), turnDeg(725, 5)]).toEqual([20, -20, -180, 0]);
    expect([bearingDeg(-10), bearingDeg(360), bearingDeg(725), bearingDeg(-1e-20)]).toEqual([350, 0, 5, 0]);
  });
});
