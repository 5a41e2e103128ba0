import fc from 'fast-check';
import { expect, test } from 'vitest';
import { centroidM, orientedPolygon, pointInPolygon, pointInRing, polygonAreaM2, reversedRing, ringLengthM, signedRingAreaM2 } from '../../src/geo/ring.js';
import { lineMeetingPoint, pointPolygonDistanceM, pointSegmentDistanceM, polylineLengthM, segmentPolygonDistanceM, segmentsCross, segmentSegmentDistanceM } from '../../src/geo/segment.js';
import type { Polygon } from '../../src/geo/shapes.js';

// Where survey frames are: sums of products of such numbers would lose centimetres.
const X = 687_071.25;
const Y = 6_210_141.5;
const L: Polygon = { outer: Float64Array.of(X, Y, X + 30, Y, X + 30, Y + 10, X + 10, Y + 10, X + 10, Y + 40, X, Y + 40), holes: [] };

test('ring: area, length and centre of an L of two rectangles, at frame-sized coordinates', () => {
  expect(signedRingAreaM2(L.outer)).toBe(30 * 10 + 10 * 30);
  expect(signedRingAreaM2(reversedRing(L.outer))).toBe(-600);
  expect(ringLengthM(L.outer)).toBe(140);
  const [x, y] = centroidM([L]);
  // 300 m2 about (15, 5) and 300 m2 about (5, 25).
  expect(x - X).toBeCloseTo(10, 8);
  expect(y - Y).toBeCloseTo(15, 8);
});

test('ring: a hole takes its area off and moves the centre, whichever way it runs', () => {
  const hole = Float64Array.of(X + 2, Y + 2, X + 8, Y + 2, X + 8, Y + 8, X + 2, Y + 8);
  for (const ring of [hole, reversedRing(hole)]) {
    const polygon: Polygon = { outer: L.outer, holes: [ring] };
    expect(polygonAreaM2(polygon)).toBe(600 - 36);
    const [x] = centroidM([polygon]);
    expect(x - X).toBeCloseTo((600 * 10 - 36 * 5) / 564, 8);
    const turned = orientedPolygon(polygon);
    expect(signedRingAreaM2(turned.outer)).toBeGreaterThan(0);
    expect(signedRingAreaM2(turned.holes[0]!)).toBeLessThan(0);
    expect(pointInPolygon(turned, X + 5, Y + 5)).toBe(false);
    expect(pointInPolygon(turned, X + 9, Y + 9)).toBe(true);
  }
});

test('ring: fewer than three corners have no area; NaN stays NaN', () => {
  expect(signedRingAreaM2(Float64Array.of())).toBe(0);
  expect(signedRingAreaM2(Float64Array.of(1, 2, 3, 4))).toBe(0);
  expect(signedRingAreaM2(Float64Array.of(0, 0, NaN, 4, 3, 3))).toBeNaN();
});

test('pointInRing: agrees with the winding number by summed angles', () => {
  const star = fc.array(fc.tuple(fc.double({ min: 5, max: 100, noNaN: true }), fc.double({ min: 0.01, max: 1, noNaN: true })), { minLength: 3, maxLength: 20 });
  fc.assert(
    fc.property(star, fc.double({ min: -120, max: 120, noNaN: true }), fc.double({ min: -120, max: 120, noNaN: true }), (arms, x, y) => {
      const total = arms.reduce((sum, [, share]) => sum + share, 0);
      const ring: number[] = [];
      let angle = 0;
      for (const [radius, share] of arms) {
        ring.push(X + radius * Math.cos(angle), Y + radius * Math.sin(angle));
        angle += (2 * Math.PI * share) / total;
      }
      let winding = 0;
      for (let i = 0; i < ring.length; i += 2) {
        const j = (i + 2) % ring.length;
        const a = Math.atan2(ring[i + 1]! - Y - y, ring[i]! - X - x);
        const b = Math.atan2(ring[j + 1]! - Y - y, ring[j]! - X - x);
        winding += Math.atan2(Math.sin(b - a), Math.cos(b - a));
      }
      const polygon: Polygon = { outer: Float64Array.from(ring), holes: [] };
      let nearest = Infinity;
      for (let i = 0; i < ring.length; i += 2) {
        const j = (i + 2) % ring.length;
        nearest = Math.min(nearest, pointSegmentDistanceM(X + x, Y + y, ring[i]!, ring[i + 1]!, ring[j]!, ring[j + 1]!));
      }
      fc.pre(nearest > 1e-6);
      // Even-odd and winding agree where no arm is wider than half a turn, so that the star does not overlap itself.
      fc.pre(arms.every(([, share]) => share / total < 0.5));
      const inside = Math.abs(winding) > Math.PI;
      expect(pointInRing(polygon.outer, X + x, Y + y)).toBe(inside);
      expect(pointPolygonDistanceM(polygon, X + x, Y + y)).toBeCloseTo(inside ? 0 : nearest, 6);
    }),
    { seed: 3, numRuns: 500 },
  );
});

test('segments: crossing, touching, parallel', () => {
  expect(segmentsCross(0, 0, 10, 10, 0, 10, 10, 0)).toBe(true);
  expect(lineMeetingPoint(0, 0, 10, 10, 0, 10, 10, 0)).toEqual([5, 5]);
  expect(segmentsCross(0, 0, 10, 10, 5, 5, 10, 0)).toBe(false);
  expect(segmentSegmentDistanceM(0, 0, 10, 10, 5, 5, 10, 0)).toBe(0);
  expect(segmentsCross(0, 0, 10, 0, 2, 0, 8, 0)).toBe(false);
  expect(segmentSegmentDistanceM(0, 0, 10, 0, 2, 3, 8, 3)).toBe(3);
  expect(lineMeetingPoint(0, 0, 10, 0, 0, 1, 10, 1)).toEqual([NaN, NaN]);
  expect(pointSegmentDistanceM(3, 4, 0, 0, 0, 0)).toBe(5);
  expect(polylineLengthM(Float64Array.of(0, 0, 3, 4, 3, 10))).toBe(11);
  expect(polylineLengthM(Float64Array.of())).toBe(0);
});

test('segments: distance agrees with a search along both', () => {
  const place = fc.double({ min: -50, max: 50, noNaN: true });
  fc.assert(
    fc.property(fc.tuple(place, place, place, place, place, place, place, place), ([ax, ay, bx, by, cx, cy, dx, dy]) => {
      const distance = segmentSegmentDistanceM(ax, ay, bx, by, cx, cy, dx, dy);
      let least = Infinity;
      for (let i = 0; i <= 200; i++) {
        const t = i / 200;
        least = Math.min(least, pointSegmentDistanceM(ax + t * (bx - ax), ay + t * (by - ay), cx, cy, dx, dy));
      }
      const stepM = Math.hypot(bx - ax, by - ay) / 200;
      expect(distance).toBeLessThanOrEqual(least + 1e-9);
      expect(distance).toBeGreaterThanOrEqual(least - stepM - 1e-9);
    }),
    { seed: 5, numRuns: 300 },
  );
});

test('segmentPolygonDistanceM: 0 inside, across and touching; the gap outside; inside a hole the way to its edge', () => {
  expect(segmentPolygonDistanceM(L, X + 1, Y + 1, X + 2, Y + 2)).toBe(0);
  expect(segmentPolygonDistanceM(L, X - 5, Y + 5, X + 50, Y + 5)).toBe(0);
  expect(segmentPolygonDistanceM(L, X + 15, Y + 17, X + 50, Y + 17)).toBe(5);
  const framed: Polygon = { outer: L.outer, holes: [Float64Array.of(X + 1, Y + 1, X + 1, Y + 9, X + 9, Y + 9, X + 9, Y + 1)] };
  expect(segmentPolygonDistanceM(framed, X + 4, Y + 4, X + 4, Y + 6)).toBe(3);
});
