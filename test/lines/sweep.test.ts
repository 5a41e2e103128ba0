import fc from 'fast-check';
import { expect, test } from 'vitest';
import { pointInPolygons } from '../../src/geo/ring.js';
import { pointRingDistanceM } from '../../src/geo/segment.js';
import { fromSweep, nearStretches, stretchesAtLevels, sweepAxes, sweptRings } from '../../src/lines/sweep.js';
import { anyArea, anyKeepouts, X, Y } from './grounds.js';

test('nearStretches: a square’s edges within 5 m: its corners are round', () => {
  const square = [Float64Array.of(0, 0, 100, 0, 100, 100, 0, 100)];
  const [below, on, inside, middle] = nearStretches(square, { startM: -3, stepM: 3, count: 4 }, 5);
  // 3 m below the square: 4 m beyond each corner.
  expect(below).toEqual([-4, 104].map((m) => expect.closeTo(m, 9)));
  expect(on).toEqual([-5, 105].map((m) => expect.closeTo(m, 9)));
  expect(inside).toEqual([-5, 105].map((m) => expect.closeTo(m, 9)));
  expect(middle).toEqual([-5, 5, 95, 105].map((m) => expect.closeTo(m, 9)));
  expect(nearStretches(square, { startM: 0, stepM: 1, count: 1 }, 0)).toEqual([[]]);
});

test('stretchesAtLevels: usable exactly where a point is inside, off the edge and clear of keep-outs', () => {
  fc.assert(
    fc.property(anyArea, anyKeepouts, fc.double({ min: 0, max: 360, noNaN: true }), fc.constantFrom(0, 4, 25), (area, keepouts, bearingDeg, insetM) => {
      const axes = sweepAxes(X, Y, bearingDeg);
      const levels = { startM: -350, stepM: 53.1, count: 14 };
      const { usable, blocked } = stretchesAtLevels([sweptRings(axes, [area])], keepouts.map((keepout) => sweptRings(axes, [keepout])), levels, { insetM, clearancesM: keepouts.map(() => 7), bandM: 0, limits: null });
      const within = (stretches: readonly number[], at: number): boolean => stretches.some((start, k) => k % 2 === 0 && at > start && at < stretches[k + 1]!);
      for (let k = 0; k < levels.count; k++) {
        for (let along = -420; along <= 420; along += 21.37) {
          const [x, y] = fromSweep(axes, along, levels.startM + k * levels.stepM);
          const edge = pointRingDistanceM(area.outer, x, y);
          const keepoutEdges = keepouts.map((keepout) => pointRingDistanceM(keepout.outer, x, y));
          // Away from every limit, where the last digit decides.
          if (Math.abs(edge - insetM) < 1e-6 || edge < 1e-6 || keepoutEdges.some((d) => Math.abs(d - 7) < 1e-6 || d < 1e-6)) continue;
          const inKeepout = pointInPolygons(keepouts, x, y) || keepoutEdges.some((d) => d < 7);
          expect(within(blocked[k]!, along)).toBe(inKeepout);
          expect(within(usable[k]!, along)).toBe(pointInPolygons([area], x, y) && edge > insetM && !inKeepout);
        }
      }
    }),
    { seed: 101, numRuns: 80, endOnFailure: true },
  );
});
