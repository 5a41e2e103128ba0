import { expect, test } from 'vitest';
import { loadPolygonEngine } from '../../src/geo/polygon-engine.js';
import { boundsOfPolygons, polygonAreaM2, signedRingAreaM2 } from '../../src/geo/ring.js';
import type { Polygon } from '../../src/geo/shapes.js';

const engine = await loadPolygonEngine();
// A survey frame's own size of numbers.
const X = 500_000;
const Y = 5_100_000;
const box = (x: number, y: number, w: number, h: number): Polygon => ({
  outer: Float64Array.of(X + x, Y + y, X + x + w, Y + y, X + x + w, Y + y + h, X + x, Y + y + h),
  holes: [],
});
const areaOf = (polygons: readonly Polygon[]): number => polygons.reduce((sum, polygon) => sum + polygonAreaM2(polygon), 0);

test('offset: a square of 100 m grows by 10 m to its area, its sides and a circle', () => {
  // Steiner (1840): A + P r + pi r^2. The arc is followed to 1 mm, so the circle lacks less than its length times 1 mm.
  const grown = engine.offset([box(0, 0, 100, 100)], 10, 0.001);
  expect(grown).toHaveLength(1);
  const exact = 100 * 100 + 400 * 10 + Math.PI * 100;
  expect(areaOf(grown)).toBeLessThanOrEqual(exact + 0.01);
  expect(areaOf(grown)).toBeGreaterThan(exact - 2 * Math.PI * 10 * 0.001 - 0.01);
});

test('offset: a square of 100 m set in by 10 m is one of 80 m', () => {
  const shrunk = engine.offset([box(0, 0, 100, 100)], -10);
  expect(areaOf(shrunk)).toBeCloseTo(6400, 2);
  expect(boundsOfPolygons(shrunk)).toEqual({ westM: X + 10, southM: Y + 10, eastM: X + 90, northM: Y + 90 });
});

test('offset: a square of 100 m set in by 60 m leaves nothing', () => {
  expect(engine.offset([box(0, 0, 100, 100)], -60)).toEqual([]);
});

test('offset: two overlapping squares set in keep no edge between them', () => {
  const shrunk = engine.offset([box(0, 0, 100, 100), box(90, 0, 100, 100)], -10);
  expect(shrunk).toHaveLength(1);
  expect(areaOf(shrunk)).toBeCloseTo(170 * 80, 2);
});

test('difference: a square cut out of the middle is a hole, clockwise', () => {
  const [ring, ...more] = engine.difference([box(0, 0, 100, 100)], [box(40, 40, 20, 20)]);
  expect(more).toEqual([]);
  expect(ring!.holes).toHaveLength(1);
  expect(signedRingAreaM2(ring!.outer)).toBeGreaterThan(0);
  expect(signedRingAreaM2(ring!.holes[0]!)).toBeLessThan(0);
  expect(polygonAreaM2(ring!)).toBeCloseTo(10_000 - 400, 3);
});

test('difference: a band across cuts in two', () => {
  const parts = engine.difference([box(0, 0, 100, 100)], [box(-10, 40, 120, 20)]);
  expect(parts).toHaveLength(2);
  expect(areaOf(parts)).toBeCloseTo(8000, 3);
});

test('union and intersection: areas add up by inclusion and exclusion, whichever way rings run', () => {
  const a = box(0, 0, 100, 100);
  const b = { outer: box(30, 50, 100, 100).outer, holes: [] };
  const turned: Polygon = { outer: Float64Array.of(...[6, 4, 2, 0].flatMap((i) => [b.outer[i]!, b.outer[i + 1]!])), holes: [] };
  for (const other of [b, turned]) {
    expect(areaOf(engine.intersection([a], [other]))).toBeCloseTo(70 * 50, 3);
    expect(areaOf(engine.union([a, other]))).toBeCloseTo(20_000 - 3500, 3);
  }
});

test('engine: nothing in, nothing out', () => {
  expect(engine.union([])).toEqual([]);
  expect(engine.difference([], [box(0, 0, 1, 1)])).toEqual([]);
  expect(engine.offset([], 5)).toEqual([]);
  expect(() => engine.offset([], NaN)).toThrow('distanceM NaN: expected a number');
});
