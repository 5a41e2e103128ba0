import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { convexHull, longestDirection, minimumAreaRectangle } from '../../src/geo/hull.js';
import { ringLengthM, signedRingAreaM2 } from '../../src/geo/ring.js';

interface Reference {
  readonly hulls: readonly { seed: number; n: number; vertices: readonly number[]; areaM2: number; lengthM: number }[];
}
const reference = JSON.parse(readFileSync(new URL('../reference/geo/reference.json', import.meta.url), 'utf8')) as Reference;

/** The points of make.py: the same linear congruential generator. */
function referencePoints(seed: number, n: number): Float64Array {
  const out = new Float64Array(2 * n);
  let state = BigInt(seed);
  for (let i = 0; i < out.length; i++) {
    state = (state * 1103515245n + 12345n) % 2147483648n;
    out[i] = (Number(state) / 2147483648) * 1000;
  }
  return out;
}

test('convexHull: same corners, area and length as Qhull (test/reference/geo/make.py)', () => {
  expect(reference.hulls).toHaveLength(3);
  for (const row of reference.hulls) {
    const points = referencePoints(row.seed, row.n);
    const hull = convexHull(points);
    const corners = row.vertices.map((i) => `${points[2 * i]} ${points[2 * i + 1]}`).sort();
    const ours = Array.from({ length: hull.length / 2 }, (_, i) => `${hull[2 * i]} ${hull[2 * i + 1]}`).sort();
    expect(ours).toEqual(corners);
    expect(signedRingAreaM2(hull)).toBeCloseTo(row.areaM2, 6);
    expect(ringLengthM(hull)).toBeCloseTo(row.lengthM, 8);
  }
});

test('convexHull: points on one line, one point, repeats', () => {
  expect([...convexHull(Float64Array.of(0, 0, 1, 1, 2, 2, 3, 3))]).toEqual([0, 0, 3, 3]);
  expect(convexHull(Float64Array.of(5, 5)).length).toBe(0);
  expect([...convexHull(Float64Array.of(0, 0, 4, 0, 4, 0, 4, 3, 0, 3, 2, 0, 0, 0))]).toEqual([0, 0, 4, 0, 4, 3, 0, 3]);
});

test('minimumAreaRectangle: a turned rectangle is found with its length, width, centre and bearing', () => {
  for (const bearingDeg of [0, 12.5, 89, 90, 133, 179]) {
    const a = (bearingDeg * Math.PI) / 180;
    const [ux, uy] = [Math.sin(a), Math.cos(a)];
    const at = (along: number, across: number): number[] => [5e5 + along * ux + across * uy, 5e6 + along * uy - across * ux];
    const points = Float64Array.from([at(-150, -40), at(150, -40), at(150, 40), at(-150, 40), at(3, 5), at(-20, 39)].flat());
    const found = minimumAreaRectangle(points);
    expect(found.lengthM).toBeCloseTo(300, 6);
    expect(found.widthM).toBeCloseTo(80, 6);
    expect(found.centreXM).toBeCloseTo(5e5, 6);
    expect(found.centreYM).toBeCloseTo(5e6, 6);
    const apart = Math.abs(found.bearingDeg - bearingDeg);
    expect(Math.min(apart, 180 - apart)).toBeLessThan(1e-6);
  }
});

test('minimumAreaRectangle: no turn of half a degree does better, and it holds every point', () => {
  const place = fc.double({ min: -100, max: 100, noNaN: true });
  fc.assert(
    fc.property(fc.array(fc.tuple(place, place), { minLength: 3, maxLength: 15 }), (corners) => {
      const points = Float64Array.from(corners.flat());
      const found = minimumAreaRectangle(points);
      const extent = (bearingDeg: number): [number, number] => {
        const a = (bearingDeg * Math.PI) / 180;
        const along = corners.map(([x, y]) => x * Math.sin(a) + y * Math.cos(a));
        const across = corners.map(([x, y]) => x * Math.cos(a) - y * Math.sin(a));
        return [Math.max(...along) - Math.min(...along), Math.max(...across) - Math.min(...across)];
      };
      for (let b = 0; b < 180; b += 0.5) {
        const [l, w] = extent(b);
        expect(found.lengthM * found.widthM).toBeLessThanOrEqual(l * w * (1 + 1e-9) + 1e-6);
      }
      const [l, w] = extent(found.bearingDeg);
      expect(l).toBeCloseTo(found.lengthM, 5);
      expect(w).toBeCloseTo(found.widthM, 5);
    }),
    { seed: 29, numRuns: 60 },
  );
});

test('minimumAreaRectangle: one point and points on one line', () => {
  expect(minimumAreaRectangle(Float64Array.of(3, 4))).toMatchObject({ centreXM: 3, centreYM: 4, lengthM: 0, widthM: 0 });
  expect(minimumAreaRectangle(Float64Array.of(0, 0, 0, 50, 0, 20))).toMatchObject({ lengthM: 50, widthM: 0, bearingDeg: 0 });
  expect(() => minimumAreaRectangle(Float64Array.of())).toThrow('pointsM: expected at least one point');
});

test('longestDirection: the diagonal of a rectangle', () => {
  const found = longestDirection(Float64Array.of(0, 0, 40, 0, 40, 30, 0, 30));
  expect(found.lengthM).toBe(50);
  expect(Math.min(Math.abs(found.bearingDeg - 53.13010235), Math.abs(found.bearingDeg - (180 - 53.13010235)))).toBeLessThan(1e-8);
});
