import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { fitBestVariogram, fitVariogram } from '../../src/depths/variogram-fit.js';
import { checkVariogram, semivarianceAt } from '../../src/depths/variogram-model.js';
import type { VariogramModel, VariogramShape } from '../../src/depths/variogram-model.js';
import { sampleVariogram } from '../../src/depths/variogram-sample.js';
import type { SampleVariogram } from '../../src/depths/variogram-sample.js';

// Made by test/reference/kriging/make-meuse.R with gstat; versions and date are in the file.
const REFERENCE = JSON.parse(readFileSync(new URL('../reference/kriging/meuse.json', import.meta.url), 'utf8'));
const MEUSE = { xM: Float64Array.from(REFERENCE.x), yM: Float64Array.from(REFERENCE.y), value: Float64Array.from(REFERENCE.z) };
// The defaults of gstat: a third of the diagonal of the points' box, in fifteen classes.
const spanOf = (column: Float64Array) => Math.max(...column) - Math.min(...column);
const MAX_LAG = Math.hypot(spanOf(MEUSE.xM), spanOf(MEUSE.yM)) / 3;
const OPTIONS = { maxLagM: MAX_LAG, classWidthM: MAX_LAG / 15 };

function expectSame(ours: SampleVariogram, reference: { pairs: number[]; lagM: number[]; gamma: number[] }): void {
  expect([...ours.pairs]).toEqual(reference.pairs);
  ours.lagM.forEach((lag, k) => expect(lag / reference.lagM[k]!).toBeCloseTo(1, 9)); // the table has 12 digits
  ours.gamma.forEach((gamma, k) => expect(gamma / reference.gamma[k]!).toBeCloseTo(1, 9));
}

describe('sampleVariogram', () => {
  test('sampleVariogram: pairs, lags and semivariances are those of gstat on meuse when classic, robust or along an azimuth', () => {
    expectSame(sampleVariogram(MEUSE, OPTIONS), REFERENCE.classic);
    expectSame(sampleVariogram(MEUSE, { ...OPTIONS, estimator: 'robust' }), REFERENCE.robust);
    expectSame(sampleVariogram(MEUSE, { ...OPTIONS, azimuthDeg: 45, toleranceDeg: 22.5 }), REFERENCE.azimuth45);
  });

  test('sampleVariogram: thinned pairs tell the semivariance of all pairs when points are many', () => {
    const random = createRandom(31);
    const n = 6000;
    const xM = Float64Array.from({ length: n }, () => random.between(0, 500));
    const yM = Float64Array.from({ length: n }, () => random.between(0, 500));
    const value = Float64Array.from(xM, (x, i) => Math.sin(x / 40) + Math.cos(yM[i]! / 55) + 0.1 * random.normal());
    const all = sampleVariogram({ xM, yM, value }, { maxLagM: 100, classWidthM: 5, mostPairs: 1e9 });
    const some = sampleVariogram({ xM, yM, value }, { maxLagM: 100, classWidthM: 5, mostPairs: 3e5 });
    expect(some.lagM.length).toBe(20);
    // 5 %: a class holds several thousand pairs about a few hundred centres, which are not independent.
    some.gamma.forEach((gamma, k) => expect(Math.abs(gamma / all.gamma[k]! - 1)).toBeLessThan(0.1));
    expect(some.pairs.reduce((sum, one) => sum + one, 0)).toBeLessThan(6e5);
    const again = sampleVariogram({ xM, yM, value }, { maxLagM: 100, classWidthM: 5, mostPairs: 3e5 });
    expect([...again.gamma]).toEqual([...some.gamma]);
  });

  test('sampleVariogram: a spike moves the robust estimate less than the classic one', () => {
    const random = createRandom(5);
    const n = 400;
    const xM = Float64Array.from({ length: n }, () => random.between(0, 100));
    const yM = Float64Array.from({ length: n }, () => random.between(0, 100));
    const value = Float64Array.from(xM, () => random.normal());
    for (let i = 0; i < n; i += 40) value[i]! += 20;
    const gammaOf = (estimator: 'classic' | 'robust') => sampleVariogram({ xM, yM, value }, { maxLagM: 50, classWidthM: 10, estimator }).gamma[2]!;
    expect(gammaOf('classic')).toBeGreaterThan(5); // true semivariance 1
    expect(gammaOf('robust')).toBeLessThan(2);
  });

  test('sampleVariogram: empty when there are fewer than two points, and refuses lags that are none', () => {
    const one = { xM: Float64Array.of(1), yM: Float64Array.of(1), value: Float64Array.of(1) };
    expect(sampleVariogram(one, { maxLagM: 10, classWidthM: 1 }).lagM.length).toBe(0);
    expect(sampleVariogram({ xM: new Float64Array(), yM: new Float64Array(), value: new Float64Array() }, { maxLagM: 10, classWidthM: 1 }).lagM.length).toBe(0);
    expect(() => sampleVariogram(one, { maxLagM: 10, classWidthM: 0 })).toThrow(/classWidthM 0: expected 0 < classWidthM/);
    expect(() => sampleVariogram({ ...one, value: new Float64Array(2) }, { maxLagM: 10, classWidthM: 1 })).toThrow(/expected the same number/);
  });
});

describe('fitVariogram', () => {
  const sample = sampleVariogram(MEUSE, OPTIONS);

  test('fitVariogram: gives the published fit when meuse is fitted with a spherical model', () => {
    const fitted = fitVariogram(sample, 'spherical')!;
    expect(fitted.nugget).toBeCloseTo(0.0507, 4);
    expect(fitted.partialSill).toBeCloseTo(0.5906, 4);
    expect(fitted.rangeM).toBeCloseTo(897, 0);
  });

  test.each([
    ['spherical', 'spherical'],
    ['exponential', 'exponential'],
    ['gaussian', 'gaussian'],
    ['matern-1.5', 'matern'],
  ] as [VariogramShape, string][])('fitVariogram: equals gstat on meuse when the shape is %s', (shape, name) => {
    const ours = fitVariogram(sample, shape)!;
    const theirs = REFERENCE.fits[name];
    // Gaussian: R's optim on the same sum of squares, since gstat's iteration stops short of its least (see the script).
    // gstat stops when a step changes the squares by less than 1e-5 of them; ours may only be better.
    expect(ours.sse).toBeLessThanOrEqual(theirs.sse * (1 + 1e-9));
    expect(ours.sse / theirs.sse).toBeGreaterThan(0.999);
    expect(Math.abs(ours.rangeM / theirs.rangeM - 1)).toBeLessThan(0.002);
    expect(Math.abs(ours.nugget - theirs.nugget)).toBeLessThan(0.0005);
    expect(Math.abs(ours.partialSill - theirs.partialSill)).toBeLessThan(0.001);
  });

  test('fitVariogram: recovers the model exactly when the sample lies on it', () => {
    for (const shape of ['spherical', 'exponential', 'gaussian', 'matern-1.5', 'matern-2.5'] as const) {
      const model: VariogramModel = { shape, nugget: 0.02, partialSill: 0.7, rangeM: 23 };
      const lagM = Float64Array.from({ length: 20 }, (_, k) => 3 * (k + 0.5));
      const fitted = fitVariogram({ lagM, gamma: lagM.map((lag) => semivarianceAt(model, lag)), pairs: new Float64Array(20).fill(100) }, shape)!;
      expect(fitted.rangeM).toBeCloseTo(23, 4);
      expect(fitted.nugget).toBeCloseTo(0.02, 6);
      expect(fitted.partialSill).toBeCloseTo(0.7, 6);
      expect(fitBestVariogram({ lagM, gamma: lagM.map((lag) => semivarianceAt(model, lag)), pairs: new Float64Array(20).fill(100) })!.shape).toBe(shape);
    }
  });

  test('fitVariogram: nothing when there is nothing to fit', () => {
    const empty = new Float64Array();
    expect(fitVariogram({ lagM: empty, gamma: empty, pairs: empty }, 'spherical')).toBeNull();
    expect(fitVariogram({ lagM: Float64Array.of(1, 2, 3), gamma: new Float64Array(3), pairs: Float64Array.of(5, 5, 5) }, 'gaussian')).toBeNull();
    expect(() => checkVariogram({ shape: 'gaussian', nugget: 0, partialSill: 0, rangeM: 5 })).toThrow(/not both 0/);
    expect(() => checkVariogram({ shape: 'gaussian', nugget: 1, partialSill: 0, rangeM: 0 })).toThrow(/rangeM 0/);
  });
});
