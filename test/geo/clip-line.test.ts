import fc from 'fast-check';
import { expect, test } from 'vitest';
import { clipSegmentToPolygons, subtractIntervals, unionOfIntervals } from '../../src/geo/clip-line.js';
import { pointInPolygons, reversedRing } from '../../src/geo/ring.js';
import type { Polygon } from '../../src/geo/shapes.js';

const square: Polygon = { outer: Float64Array.of(0, 0, 100, 0, 100, 100, 0, 100), holes: [Float64Array.of(40, 40, 40, 60, 60, 60, 60, 40)] };

test('clipSegmentToPolygons: a line through a hole is two stretches', () => {
  expect(clipSegmentToPolygons([square], -10, 50, 110, 50)).toEqual([10, 50, 70, 110]);
  expect(clipSegmentToPolygons([square], 110, 50, -10, 50)).toEqual([10, 50, 70, 110]);
  expect(clipSegmentToPolygons([square], 45, 50, 55, 50)).toEqual([]);
  expect(clipSegmentToPolygons([square], 10, 10, 30, 10)).toEqual([0, 20]);
  expect(clipSegmentToPolygons([square], -5, 50, -1, 50)).toEqual([]);
  expect(clipSegmentToPolygons([square], 5, 5, 5, 5)).toEqual([]);
});

test('clipSegmentToPolygons: through corners and along edges nothing is torn', () => {
  expect(clipSegmentToPolygons([square], -10, -10, 30, 30)).toEqual([Math.hypot(10, 10), Math.hypot(40, 40)].map((m) => expect.closeTo(m, 9)));
  // Through a corner from outside: no stretch of any length.
  expect(clipSegmentToPolygons([square], -10, 10, 10, -10).every((m, i, all) => i % 2 === 0 || m - all[i - 1]! < 1e-9)).toBe(true);
  // Along an edge: wholly in or wholly out, and the same whichever way the ring runs.
  const along = clipSegmentToPolygons([square], -10, 0, 110, 0);
  expect([[], [10, 110]]).toContainEqual(along);
  const turned: Polygon = { outer: reversedRing(square.outer), holes: square.holes.map(reversedRing) };
  expect(clipSegmentToPolygons([turned], -10, 0, 110, 0)).toEqual(along);
  expect(clipSegmentToPolygons([turned], -10, 50, 110, 50)).toEqual([10, 50, 70, 110]);
});

test('clipSegmentToPolygons: overlapping polygons give one stretch', () => {
  const other: Polygon = { outer: Float64Array.of(90, 0, 200, 0, 200, 100, 90, 100), holes: [] };
  expect(clipSegmentToPolygons([square, other], -10, 20, 300, 20)).toEqual([10, 210]);
});

test('clipSegmentToPolygons: agrees with point-in-polygon along the line, for any ring', () => {
  const place = fc.integer({ min: -60, max: 60 });
  fc.assert(
    fc.property(fc.array(fc.tuple(place, place), { minLength: 3, maxLength: 12 }), fc.tuple(place, place, place, place), (corners, [ax, ay, bx, by]) => {
      fc.pre(ax !== bx || ay !== by);
      const polygon: Polygon = { outer: Float64Array.from(corners.flat()), holes: [] };
      const inside = clipSegmentToPolygons([polygon], ax, ay, bx, by);
      const length = Math.hypot(bx - ax, by - ay);
      for (let i = 0; i <= 40; i++) {
        const m = (length * (i + 0.37)) / 41;
        const x = ax + (m / length) * (bx - ax);
        const y = ay + (m / length) * (by - ay);
        // Off every edge, so that inside means the same to both.
        const n = corners.length;
        const clear = corners.every(([cx, cy], k) => {
          const [dx, dy] = corners[(k + 1) % n]!;
          const t = Math.min(1, Math.max(0, ((x - cx) * (dx - cx) + (y - cy) * (dy - cy)) / ((dx - cx) ** 2 + (dy - cy) ** 2 || 1)));
          return Math.hypot(x - cx - t * (dx - cx), y - cy - t * (dy - cy)) > 1e-6;
        });
        if (!clear) continue;
        const within = inside.some((start, k) => k % 2 === 0 && m > start && m < inside[k + 1]!);
        expect(within).toBe(pointInPolygons([polygon], x, y));
      }
    }),
    { seed: 17, numRuns: 500 },
  );
});

test('intervals: union and difference agree with counting on a number line', () => {
  const pairs = fc.array(fc.tuple(fc.integer({ min: 0, max: 40 }), fc.integer({ min: 0, max: 40 })), { maxLength: 8 });
  const covers = (list: readonly number[], at: number): boolean => list.some((start, k) => k % 2 === 0 && at > start && at < list[k + 1]!);
  fc.assert(
    fc.property(pairs, pairs, (a, b) => {
      const keep = unionOfIntervals(a.flat());
      const without = unionOfIntervals(b.flat());
      const left = subtractIntervals(keep, without);
      for (let cell = 0; cell < 40; cell++) {
        const at = cell + 0.5;
        expect(covers(keep, at)).toBe(a.some(([start, end]) => at > start && at < end));
        expect(covers(left, at)).toBe(covers(keep, at) && !covers(without, at));
      }
      for (let k = 1; k < left.length; k++) expect(left[k]!).toBeGreaterThan(left[k - 1]!);
    }),
    { seed: 23, numRuns: 500 },
  );
});
