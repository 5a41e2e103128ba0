import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { combine, half95 } from '../../src/boat/estimate.js';

describe('combine', () => {
  it('holds the truth 90 % of the time or more whether the own errors tell the scatter or are half of it, and 99 % or less from five repeats', () => {
    for (const [n, factor] of [[2, 1], [3, 1], [3, 2], [5, 2], [6, 1]] as const) {
      const random = createRandom(n * 10 + factor);
      let inside = 0;
      for (let i = 0; i < 2000; i++) {
        const all = Array.from({ length: n }, () => ({ value: 5 + 0.1 * factor * random.normal(), sigma: 0.1, dof: 20 }));
        const result = combine(all);
        if (Math.abs(result.value - 5) < half95(result)) inside++;
      }
      expect(inside / 2000, `${n} with errors ${factor} times their own`).toBeGreaterThan(0.9);
      expect(inside / 2000, `${n} with errors ${factor} times their own`).toBeLessThanOrEqual(n < 5 ? 1 : 0.99);
    }
  });

  it('of one widens by few degrees of freedom, of none is NaN, and does not depend on order or scale', () => {
    expect(half95(combine([{ value: 2, sigma: 0.1, dof: 30 }]))).toBeCloseTo(0.4303, 3);
    expect(combine([]).value).toBeNaN();
    const some = [{ value: 1, sigma: 0.1, dof: 9 }, { value: 1.4, sigma: 0.2, dof: 5 }, { value: 0.9, sigma: 0.1, dof: 9 }];
    const scaled = combine(some.map(({ value, sigma, dof }) => ({ value: 1000 * value, sigma: 1000 * sigma, dof })));
    expect(scaled.value).toBeCloseTo(1000 * combine(some).value, 6);
    expect(scaled.sigma).toBeCloseTo(1000 * combine(some).sigma, 6);
    expect(combine(some.slice().reverse()).value).toBeCloseTo(combine(some).value, 12);
  });
});
