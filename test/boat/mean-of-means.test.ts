import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { isRefused, type Refusal } from '../../src/boat/estimate.js';
import { meanOfMeans, pascalWeights } from '../../src/boat/mean-of-means.js';
import { fitVelocityCircles, fitVelocityVectors, type Velocities } from '../../src/boat/velocity-circle.js';

function good<T extends object>(result: T | Refusal): T {
  if (isRefused(result)) throw new Error(result.refused);
  return result;
}

describe('meanOfMeans', () => {
  it('has the published weights: 1 1, 1 2 1, 1 3 3 1 (ITTC 7.5-04-01-01.1; four runs from memory)', () => {
    expect(Array.from(pascalWeights(2), (w) => w * 2)).toEqual([1, 1]);
    expect(Array.from(pascalWeights(3), (w) => w * 4)).toEqual([1, 2, 1]);
    expect(Array.from(pascalWeights(4), (w) => w * 8)).toEqual([1, 3, 3, 1]);
    expect(() => pascalWeights(1)).toThrow('runs 1: expected 2 to 6');
    expect(() => pascalWeights(7)).toThrow(RangeError);
  });

  it('takes out exactly a current that is a polynomial of degree n - 2 in the number of the run, and not one more', () => {
    const number = fc.double({ min: -0.5, max: 0.5, noNaN: true });
    fc.assert(
      fc.property(fc.integer({ min: 2, max: 6 }), fc.double({ min: 0.3, max: 3, noNaN: true }), fc.array(number, { minLength: 5, maxLength: 5 }), (n, speed, coefficients) => {
        const current = (i: number, degree: number): number => coefficients.slice(0, degree + 1).reduce((sum, c, power) => sum + c * i ** power, 0);
        const along = (degree: number): number[] => Array.from({ length: n }, (_, i) => speed + (i % 2 === 0 ? 1 : -1) * current(i, degree));
        const sigmas = new Float64Array(n).fill(0.01);
        expect(meanOfMeans(along(n - 2), sigmas).speedMps).toBeCloseTo(speed, 9);
        if (n < 6 && Math.abs(coefficients[n - 1]!) > 0.01) expect(Math.abs(meanOfMeans(along(n - 1), sigmas).speedMps - speed)).toBeGreaterThan(1e-3);
      }),
      { seed: 3, numRuns: 300 },
    );
  });

  it('gives a current that changes evenly as it is in the middle of the series', () => {
    const current = (i: number): number => 0.3 - 0.05 * i;
    for (const n of [2, 3, 4, 5, 6]) {
      const along = Array.from({ length: n }, (_, i) => 1.5 + (i % 2 === 0 ? 1 : -1) * current(i));
      expect(meanOfMeans(along, new Float64Array(n).fill(0.01)).currentAlongMps).toBeCloseTo(current((n - 1) / 2), 9);
    }
  });

  it('carries the errors of the runs by the weights', () => {
    expect(meanOfMeans([1, 2, 1], [0.1, 0.2, 0.1]).sigmaMps).toBeCloseTo(Math.sqrt(0.025 ** 2 + 0.1 ** 2 + 0.025 ** 2), 12);
  });
});

/** Runs of one boat on headings in a current. */
function runs(headings: readonly number[], speed: number, current: readonly [number, number], sigma: number, seed: number): Velocities & { headingDeg: number[] } {
  const random = createRandom(seed);
  return {
    headingDeg: headings.slice(),
    eastMps: headings.map((h) => speed * Math.sin((h * Math.PI) / 180) + current[0] + sigma * random.normal()),
    northMps: headings.map((h) => speed * Math.cos((h * Math.PI) / 180) + current[1] + sigma * random.normal()),
    sigmaMps: headings.map(() => sigma),
    sigmaDof: 100,
    group: headings.map(() => 0),
    timeS: headings.map((_, i) => 60 * i),
  };
}

describe('fitVelocityCircles and fitVelocityVectors', () => {
  it('agree with the mean of means on the same reciprocal runs within their errors', () => {
    for (let seed = 0; seed < 40; seed++) {
      const data = runs([20, 200, 20, 200, 110, 290], 1.8, [0.3, -0.2], 0.01, seed);
      const along = [0, 1, 2, 3].map((i) => (i % 2 === 0 ? 1 : -1) * (data.eastMps[i]! * Math.sin((20 * Math.PI) / 180) + data.northMps[i]! * Math.cos((20 * Math.PI) / 180)));
      const means = meanOfMeans(along, [0.01, 0.01, 0.01, 0.01]);
      for (const fit of [good(fitVelocityCircles(data)), good(fitVelocityVectors(data, data.headingDeg))]) {
        expect(Math.abs(fit.speedMps[0]! - means.speedMps)).toBeLessThan(4 * Math.hypot(fit.sigmaSpeedMps[0]!, means.sigmaMps));
        expect(Math.abs(fit.driftMps - Math.hypot(0.3, 0.2))).toBeLessThan(4.5 * fit.sigmaDriftMps);
      }
    }
  });

  it('holds speed, set and drift in its intervals 92 to 98 % of the time (400 seeds)', () => {
    let speed = 0;
    let drift = 0;
    let set = 0;
    for (let seed = 0; seed < 400; seed++) {
      const fit = good(fitVelocityCircles(runs([0, 50, 120, 170, 230, 300, 340], 1.5, [0.25, 0.1], 0.02, 7000 + seed)));
      if (Math.abs(fit.speedMps[0]! - 1.5) < 1.96 * fit.sigmaSpeedMps[0]!) speed++;
      if (Math.abs(fit.driftMps - Math.hypot(0.25, 0.1)) < 1.96 * fit.sigmaDriftMps) drift++;
      if (Math.abs(fit.setDeg - (Math.atan2(0.25, 0.1) * 180) / Math.PI) < 1.96 * fit.sigmaSetDeg) set++;
    }
    for (const hits of [speed, drift, set]) {
      expect(hits / 400).toBeGreaterThanOrEqual(0.92);
      expect(hits / 400).toBeLessThanOrEqual(0.98);
    }
  });

  it('leaves out runs that are wrong', () => {
    const headings = Array.from({ length: 12 }, (_, i) => 30 * i);
    const data = runs(headings, 2, [0.2, 0.3], 0.01, 5);
    (data.eastMps as number[])[3] = 0.1;
    (data.northMps as number[])[8] = 2.6;
    const fit = good(fitVelocityCircles(data));
    expect(fit.weights[3]).toBe(0);
    expect(fit.weights[8]).toBe(0);
    expect(fit.speedMps[0]).toBeCloseTo(2, 1);
    expect(Math.abs(fit.currentEastMps - 0.2)).toBeLessThan(0.02);
    expect(Math.abs(fit.currentNorthMps - 0.3)).toBeLessThan(0.02);
  });

  it('finds one current for runs at two settings, and a compass that is off', () => {
    const data = runs([0, 90, 180, 270, 45, 225], 1.5, [0.1, 0.2], 1e-6, 1);
    for (const i of [4, 5]) {
      (data.eastMps as number[])[i] = (data.eastMps[i]! - 0.1) / 2 + 0.1;
      (data.northMps as number[])[i] = (data.northMps[i]! - 0.2) / 2 + 0.2;
    }
    const grouped = { ...data, group: [0, 0, 0, 0, 1, 1] };
    for (const fit of [good(fitVelocityCircles(grouped)), good(fitVelocityVectors(grouped, data.headingDeg))]) {
      expect(fit.speedMps[0]).toBeCloseTo(1.5, 4);
      expect(fit.speedMps[1]).toBeCloseTo(0.75, 4);
      expect(fit.currentEastMps).toBeCloseTo(0.1, 4);
    }
    const off = good(fitVelocityVectors(grouped, data.headingDeg.map((h) => h - 7)));
    expect(off.headingErrorDeg).toBeCloseTo(7, 3);
  });

  it('refuses one heading, too few runs and velocities on a line', () => {
    expect(fitVelocityCircles(runs([10, 12, 15, 20], 1.5, [0.1, 0], 0.01, 1))).toEqual({ refused: expect.stringMatching(/one heading only: .*add the reciprocal/) });
    expect(fitVelocityCircles(runs([10, 190], 1.5, [0.1, 0], 0.01, 1))).toEqual({ refused: expect.stringMatching(/2 runs for 1 setting: a circle needs 3/) });
    expect(fitVelocityVectors(runs([10, 12, 15], 1.5, [0.1, 0], 0.01, 1), [10, 12, 15])).toEqual({ refused: expect.stringMatching(/one heading only/) });
  });
});
