import { describe, expect, test } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { naturalNeighbours } from '../../src/depths/natural-neighbour.js';
import { triangulate } from '../../src/depths/triangulate.js';
import type { RasterGrid } from '../../src/geo/raster.js';

const GRID: RasterGrid = { westM: -0.5, northM: 0.5, cellM: 1, cols: 30, rows: 30 }; // u = x, v = -y

function scattered(seed: number, n: number) {
  const random = createRandom(seed);
  const u = Float64Array.from({ length: n }, () => 30 * random.uniform());
  const v = Float64Array.from({ length: n }, () => 30 * random.uniform());
  return { u, v, mesh: triangulate(u, v.map((one) => -one), GRID) };
}

/** A convex polygon cut to the side of the bisector of p and q where p is nearer. */
function nearer(polygon: [number, number][], p: readonly [number, number], q: readonly [number, number]): [number, number][] {
  const side = ([x, y]: [number, number]) => (x - q[0]) ** 2 + (y - q[1]) ** 2 - (x - p[0]) ** 2 - (y - p[1]) ** 2;
  const out: [number, number][] = [];
  polygon.forEach((a, i) => {
    const b = polygon[(i + 1) % polygon.length]!;
    const [sa, sb] = [side(a), side(b)];
    if (sa >= 0) out.push(a);
    if (sa >= 0 !== sb >= 0) out.push([a[0] + ((b[0] - a[0]) * sa) / (sa - sb), a[1] + ((b[1] - a[1]) * sa) / (sa - sb)]);
  });
  return out;
}
const area = (polygon: [number, number][]) => polygon.reduce((sum, a, i) => sum + a[0] * polygon[(i + 1) % polygon.length]![1] - polygon[(i + 1) % polygon.length]![0] * a[1], 0) / 2;

/** Sibson's definition itself: the place's Voronoi cell by cutting with every bisector, then the part of it nearest each point. */
function byDefinition(u: Float64Array, v: Float64Array, depthM: Float64Array, pu: number, pv: number): number {
  let cell: [number, number][] = [[-500, -500], [500, -500], [500, 500], [-500, 500]];
  for (let i = 0; i < u.length; i++) cell = nearer(cell, [pu, pv], [u[i]!, v[i]!]);
  let sum = 0;
  for (let i = 0; i < u.length; i++) {
    let part = cell;
    for (let k = 0; k < u.length && part.length > 0; k++) if (k !== i) part = nearer(part, [u[i]!, v[i]!], [u[k]!, v[k]!]);
    if (part.length > 2) sum += area(part) * depthM[i]!;
  }
  return sum / area(cell);
}

describe('naturalNeighbours', () => {
  test('naturalNeighbours: equals the shares of Voronoi cells cut out one bisector at a time when points are scattered', () => {
    for (const seed of [1, 2, 3]) {
      const { u, v, mesh } = scattered(seed, 60);
      const random = createRandom(seed + 100);
      const depthM = Float64Array.from(u, () => 10 * random.uniform());
      const read = naturalNeighbours(mesh, depthM);
      for (let k = 0; k < 60; k++) {
        const [pu, pv] = [random.between(8, 22), random.between(8, 22)];
        expect(read.depthAt(pu, pv)).toBeCloseTo(byDefinition(u, v, depthM, pu, pv), 8);
      }
    }
  });

  test('naturalNeighbours: gives a plane back and stays within the depths, hull and needles included', () => {
    const { u, v, mesh } = scattered(7, 400);
    const plane = naturalNeighbours(mesh, u.map((one, i) => 3 + 0.7 * one - 0.2 * v[i]!));
    const zeroOne = naturalNeighbours(mesh, u.map((_, i) => i % 2));
    let inside = 0;
    for (let row = 0; row < 120; row++) {
      for (let col = 0; col < 120; col++) {
        const depth = plane.depthAt(col / 4, row / 4);
        if (Number.isNaN(depth)) continue;
        inside++;
        expect(Math.abs(depth - (3 + (0.7 * col) / 4 - (0.2 * row) / 4))).toBeLessThan(1e-5); // weights that err by up to a millionth of a cell stand
        const mixed = zeroOne.depthAt(col / 4, row / 4);
        expect(mixed).toBeGreaterThanOrEqual(-1e-6);
        expect(mixed).toBeLessThanOrEqual(1 + 1e-6);
      }
    }
    expect(inside).toBeGreaterThan(12_500);
  });

  test('naturalNeighbours: is exact at the points and has no step across sides of triangles when points lie in lines and squares', () => {
    const u = Float64Array.from({ length: 200 }, (_, i) => (i % 20) * 1.5);
    const v = Float64Array.from({ length: 200 }, (_, i) => Math.floor(i / 20) * 1.5);
    const mesh = triangulate(u, v.map((one) => -one), GRID);
    const depthM = u.map((one, i) => Math.sin(one) + Math.cos(v[i]!));
    const read = naturalNeighbours(mesh, depthM);
    u.forEach((one, i) => expect(read.depthAt(one, v[i]!)).toBeCloseTo(depthM[i]!, 12));
    // Four corners of a square share its middle equally, whichever diagonal was drawn.
    for (let i = 0; i < 179; i++) {
      if (i % 20 === 19) continue;
      const four = (depthM[i]! + depthM[i + 1]! + depthM[i + 20]! + depthM[i + 21]!) / 4;
      if (i % 20 > 0 && i % 20 < 18 && i > 20 && i < 159) expect(read.depthAt(u[i]! + 0.75, v[i]! + 0.75)).toBeCloseTo(four, 9);
    }
    for (let k = 0; k < 500; k++) {
      const [pu, pv] = [4 + k * 0.03, 2 + k * 0.02];
      expect(Math.abs(read.depthAt(pu, pv) - read.depthAt(pu + 1e-7, pv + 1e-7))).toBeLessThan(1e-5);
    }
  });

  test('naturalNeighbours: gives nothing outside the hull and without triangles', () => {
    const { mesh } = scattered(9, 50);
    expect(naturalNeighbours(mesh, new Float64Array(50)).depthAt(-5, 3)).toBeNaN();
    const none = triangulate(Float64Array.of(1, 2), Float64Array.of(1, 2), GRID);
    expect(naturalNeighbours(none, [1, 2]).depthAt(1.5, 1.5)).toBeNaN();
  });
});
