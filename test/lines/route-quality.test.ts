import { describe, expect, it } from 'vitest';
import { routeFigures } from '../../bench/line-routes.js';
import { lineAreas } from '../../bench/line-areas.js';
import { X, Y } from './grounds.js';

// The benchmark's areas, another seed, a few of each kind.
describe('routes over seeded areas', () => {
  for (const one of lineAreas(X, Y, 3, 2)) {
    it(`planLines: covers 99.9 %, stays out of keep-outs, beats the serpentine and is never under the bound: ${one.name}`, () => {
      const figures = routeFigures(one);
      expect(figures.covered).toBeGreaterThanOrEqual(0.999);
      expect(figures.nearestM).toBeGreaterThan(0);
      expect(figures.timeS).toBeLessThanOrEqual(figures.fixedS);
      expect(figures.overBound).toBeGreaterThanOrEqual(1 - 1e-9);
      expect(figures.overExact).toBeLessThanOrEqual(1.03);
    });
  }
}, 60_000);
