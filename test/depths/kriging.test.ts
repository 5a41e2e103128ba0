import fc from 'fast-check';
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { nearIndex, nearSearch } from '../../src/depths/kriging-near.js';
import { crossValidate, krige, mergedPoints } from '../../src/depths/kriging.js';
import type { KrigingOptions } from '../../src/depths/kriging.js';
import type { VariogramModel } from '../../src/depths/variogram-model.js';

// Made by test/reference/kriging/make-meuse.R with gstat; versions and date are in the file.
const REFERENCE = JSON.parse(readFileSync(new URL('../reference/kriging/meuse.json', import.meta.url), 'utf8'));
const MEUSE = { xM: Float64Array.from(REFERENCE.x), yM: Float64Array.from(REFERENCE.y), value: Float64Array.from(REFERENCE.z) };
const PLACES = { xM: Float64Array.from(REFERENCE.targetX), yM: Float64Array.from(REFERENCE.targetY) };
const SPHERICAL: VariogramModel = { shape: 'spherical', nugget: 0.0507, partialSill: 0.5906, rangeM: 897 };

async function expectGstat(name: string, options: KrigingOptions, points: Parameters<typeof krige>[0] = MEUSE): Promise<void> {
  const ours = await krige(points, PLACES, { octants: false, ...options });
  const theirs = REFERENCE[name] as { value: number[]; variance: number[] };
  // 1e-9: the same equations in another order of sums; the table has 12 digits.
  theirs.value.forEach((value, i) => expect(Math.abs(ours.value[i]! - value)).toBeLessThan(1e-9));
  theirs.variance.forEach((variance, i) => expect(Math.abs(ours.variance[i]! - variance)).toBeLessThan(1e-9));
}

function scattered(seed: number, n: number, size = 100) {
  const random = createRandom(seed);
  const xM = Float64Array.from({ length: n }, () => 500_000 + random.between(0, size));
  const yM = Float64Array.from({ length: n }, () => 5_094_000 + random.between(0, size));
  return { xM, yM, value: Float64Array.from(xM, (x, i) => 8 + Math.sin((x - 500_000) / 15) + Math.cos((yM[i]! - 5_094_000) / 21)) };
}

describe('krige: against gstat on meuse', () => {
  test('krige: value and variance are those of gstat when all points take part', () => expectGstat('ordinary', { model: SPHERICAL, most: 155 }));
  test('krige: value and variance are those of gstat when the sixteen nearest take part', () => expectGstat('nearest16', { model: SPHERICAL, most: 16 }));
  test('krige: value and variance are those of gstat when the drift is a plane', () => expectGstat('plane', { model: SPHERICAL, most: 155, drift: 'plane' }));
  test('krige: value and variance are those of gstat when the shape is Matern of smoothness 1.5', () =>
    expectGstat('matern', { model: { shape: 'matern-1.5', nugget: 0.05, partialSill: 0.5, rangeM: 250 }, most: 155 }));
  test('krige: value and variance are those of gstat when the nugget is error of measurement', () =>
    expectGstat('measurementError', { model: { ...SPHERICAL, nugget: 0 }, most: 155 }, { ...MEUSE, sigma: new Float64Array(155).fill(Math.sqrt(0.0507)) }));
  test('crossValidate: mean and deviation of standardised errors are those of gstat when each point is left out', async () => {
    const { error, standardised } = await crossValidate(MEUSE, { model: SPHERICAL, most: 155, octants: false });
    const mean = standardised.reduce((sum, one) => sum + one, 0) / 155;
    const deviation = Math.sqrt(standardised.reduce((sum, one) => sum + (one - mean) ** 2, 0) / 154);
    // gstat's residual is observed less predicted: the other sign.
    expect(-mean).toBeCloseTo(REFERENCE.crossValidation.meanZ, 8);
    expect(deviation).toBeCloseTo(REFERENCE.crossValidation.sdZ, 8);
    expect(Math.sqrt(error.reduce((sum, one) => sum + one * one, 0) / 155)).toBeCloseTo(REFERENCE.crossValidation.rms, 8);
  });
});

describe('nearSearch', () => {
  test('nearSearch: finds those that sorting all by distance finds, whole or by octant, when places lie anywhere', () => {
    const place = fc.record({ x: fc.integer({ min: -30, max: 130 }), y: fc.integer({ min: -30, max: 130 }) });
    fc.assert(
      fc.property(fc.array(fc.tuple(fc.integer({ min: 0, max: 100 }), fc.integer({ min: 0, max: 100 })), { maxLength: 120 }), place, fc.integer({ min: 1, max: 20 }), fc.constantFrom(15, 60, Infinity), fc.boolean(), (points, { x, y }, most, radiusM, octants) => {
        const xM = Float64Array.from(points, ([px]) => px);
        const yM = Float64Array.from(points, ([, py]) => py);
        const search = nearSearch(nearIndex(xM, yM), most, radiusM, octants);
        const found = [...search.found.subarray(0, search.find(x, y))];
        const rows = points.map((_, i) => i).filter((i) => Math.hypot(xM[i]! - x, yM[i]! - y) <= radiusM);
        rows.sort((a, b) => (xM[a]! - x) ** 2 + (yM[a]! - y) ** 2 - (xM[b]! - x) ** 2 - (yM[b]! - y) ** 2 || a - b);
        const sector = (i: number) => (octants ? `${xM[i]! >= x} ${yM[i]! >= y} ${Math.abs(xM[i]! - x) >= Math.abs(yM[i]! - y)}` : '');
        const taken = new Map<string, number>();
        const expected = rows.filter((i) => {
          const n = taken.get(sector(i)) ?? 0;
          taken.set(sector(i), n + 1);
          return n < (octants ? Math.ceil(most / 8) : most);
        });
        expect(found).toEqual(expected.sort((a, b) => a - b));
      }),
      { seed: 7, numRuns: 500 },
    );
  });
});

describe('krige: properties', () => {
  const model: VariogramModel = { shape: 'matern-2.5', nugget: 0.001, partialSill: 1, rangeM: 12 };

  test('krige: meets each point with no variance when points have no error, and not when they have', async () => {
    const points = scattered(3, 300);
    const exact = await krige(points, points, { model });
    points.value.forEach((value, i) => {
      expect(exact.value[i]).toBeCloseTo(value, 8);
      expect(exact.variance[i]).toBeLessThan(1e-8);
    });
    const smoothed = await krige({ ...points, sigma: new Float64Array(300).fill(0.3) }, points, { model });
    expect(points.value.some((value, i) => Math.abs(smoothed.value[i]! - value) > 0.01)).toBe(true);
    smoothed.variance.forEach((variance) => expect(variance > 0 && variance < 0.09).toBe(true));
  });

  test('krige: a level is told as it is, and a plane with a plane as drift, when places lie between and beyond points', async () => {
    const points = scattered(4, 200);
    const places = { xM: Float64Array.of(500_050, 500_020.5, 500_140), yM: Float64Array.of(5_094_050, 5_094_071.25, 5_094_150) };
    const level = await krige({ ...points, value: new Float64Array(200).fill(7.25) }, places, { model });
    level.value.forEach((value) => expect(value).toBeCloseTo(7.25, 10));
    const plane = (x: number, y: number) => 9 + 0.03 * (x - 500_000) - 0.02 * (y - 5_094_000);
    const tilted = await krige({ ...points, value: points.xM.map((x, i) => plane(x, points.yM[i]!)) }, places, { model, drift: 'plane' });
    tilted.value.forEach((value, i) => expect(value).toBeCloseTo(plane(places.xM[i]!, places.yM[i]!), 7));
  });

  test('krige: neither the order of points nor where the frame begins changes a value', async () => {
    const points = scattered(6, 150);
    const places = { xM: Float64Array.from({ length: 40 }, (_, i) => 500_003 + 2.3 * i), yM: Float64Array.from({ length: 40 }, (_, i) => 5_094_090.7 - 2.1 * i) };
    const first = await krige(points, places, { model });
    const order = [...points.xM.keys()].sort((a, b) => ((a * 7919) % 150) - ((b * 7919) % 150));
    const turned = { xM: Float64Array.from(order, (i) => points.xM[i]! - 500_000), yM: Float64Array.from(order, (i) => points.yM[i]! - 5_094_000), value: Float64Array.from(order, (i) => points.value[i]!) };
    const second = await krige(turned, { xM: places.xM.map((x) => x - 500_000), yM: places.yM.map((y) => y - 5_094_000) }, { model });
    first.value.forEach((value, i) => expect(second.value[i]).toBeCloseTo(value, 7));
    first.variance.forEach((variance, i) => expect(second.variance[i]).toBeCloseTo(variance, 7));
  });

  test('krige: values stay within reason when points repeat, nearly repeat, or lie in one line', async () => {
    const xM = Float64Array.of(0, 0, 1e-7, 10, 20, 30, 40);
    const yM = new Float64Array(7);
    const value = Float64Array.of(5, 7, 6, 6, 6.5, 6, 6.2);
    const places = { xM: Float64Array.of(0, 15, 25), yM: Float64Array.of(0, 3, -8) };
    for (const drift of ['constant', 'plane'] as const) {
      for (const nugget of [0, 0.01]) {
        for (const shape of ['spherical', 'gaussian', 'matern-2.5'] as const) {
          const { value: found, variance } = await krige({ xM, yM, value }, places, { model: { shape, nugget, partialSill: 1, rangeM: 20 }, drift });
          expect(found[0]).toBeCloseTo(6, 6);
          found.forEach((one) => expect(one > 5 && one < 7.5).toBe(true));
          variance.forEach((one) => expect(one >= 0 && one < 3).toBe(true));
        }
      }
    }
  });

  test('mergedPoints: points at one place become their mean, weighted where each has an error', () => {
    const merged = mergedPoints({ xM: Float64Array.of(1, 1, 2), yM: Float64Array.of(1, 1, 2), value: Float64Array.of(4, 6, 9), sigma: Float64Array.of(1, 0.5, 0.2) });
    expect([...merged.value]).toEqual([5.6, 9]);
    expect(merged.sigma![0]).toBeCloseTo(Math.sqrt(0.2), 12);
    expect(merged.sigma![1]).toBeCloseTo(0.2, 12);
  });

  test('krige: no value where no point is near enough or there is none, and says what is wrong', async () => {
    const points = scattered(8, 20);
    const far = await krige(points, { xM: Float64Array.of(501_000, NaN), yM: Float64Array.of(5_094_000, 5) }, { model, radiusM: 50 });
    expect([...far.value, ...far.variance]).toEqual([NaN, NaN, NaN, NaN]);
    const none = new Float64Array();
    expect([...(await krige({ xM: none, yM: none, value: none }, { xM: Float64Array.of(1), yM: Float64Array.of(1) }, { model })).value]).toEqual([NaN]);
    await expect(krige({ ...points, value: points.value.map((one, i) => (i === 3 ? NaN : one)) }, points, { model })).rejects.toThrow(/row 3 at .* of value NaN: expected finite/);
    await expect(krige(points, points, { model, most: 0 })).rejects.toThrow(/most 0: expected a whole number/);
    await expect(krige(points, points, { model: { ...model, rangeM: -1 } })).rejects.toThrow(/rangeM -1/);
  });

  test('crossValidate: standardised errors have a mean near 0 and a deviation near 1 when the floor is drawn from the model', async () => {
    const shape: VariogramModel = { shape: 'exponential', nugget: 0, partialSill: 1, rangeM: 15 };
    const random = createRandom(17);
    const n = 600;
    const xM = Float64Array.from({ length: n }, () => random.between(0, 200));
    const yM = Float64Array.from({ length: n }, () => random.between(0, 200));
    const value = new Float64Array(n);
    const cov = (i: number, j: number) => Math.exp(-Math.hypot(xM[i]! - xM[j]!, yM[i]! - yM[j]!) / 15);
    // Full Cholesky of the covariances times normal deviates: apart from the code under test.
    const l = new Float64Array(n * n);
    const deviates = Float64Array.from({ length: n }, () => random.normal());
    for (let i = 0; i < n; i++) {
      for (let j = 0; j <= i; j++) {
        let sum = cov(i, j);
        for (let k = 0; k < j; k++) sum -= l[i * n + k]! * l[j * n + k]!;
        l[i * n + j] = i === j ? Math.sqrt(sum) : sum / l[j * n + j]!;
      }
      value[i] = 0;
      for (let k = 0; k <= i; k++) value[i]! += l[i * n + k]! * deviates[k]!;
    }
    const sigma = new Float64Array(n).fill(0.2);
    const noisy = value.map((one) => one + 0.2 * random.normal());
    const { standardised } = await crossValidate({ xM, yM, value: noisy, sigma }, { model: shape });
    const mean = standardised.reduce((sum, one) => sum + one, 0) / n;
    const deviation = Math.sqrt(standardised.reduce((sum, one) => sum + (one - mean) ** 2, 0) / (n - 1));
    expect(Math.abs(mean)).toBeLessThan(0.1); // 600 errors: one sigma of the mean 0.04
    expect(Math.abs(deviation - 1)).toBeLessThan(0.1); // one sigma of the deviation 0.03
  });
});
