import fc from 'fast-check';
import { expect, test } from 'vitest';
import { pointPolygonDistanceM, segmentPolygonDistanceM } from '../../src/geo/segment.js';
import type { Polygon } from '../../src/geo/shapes.js';
import { createTransitNetwork } from '../../src/lines/transit-network.js';
import { anyKeepouts, polygon, rectangle, star, X, Y } from './grounds.js';

test('createTransitNetwork: nothing in the way is straight', () => {
  const way = createTransitNetwork([rectangle(0, 0, 10, 10)], 2).way(X - 50, Y - 20, X + 50, Y - 20);
  expect(way.lengthM).toBe(100);
  expect([...way.path]).toEqual([X - 50, Y - 20, X + 50, Y - 20]);
  expect(createTransitNetwork([], 2).lengthM(X, Y, X + 3, Y + 4)).toBe(5);
});

test('createTransitNetwork: around a square the shorter way, by its corners', () => {
  const network = createTransitNetwork([rectangle(-50, -30, 100, 100)], 0.001);
  const way = network.way(X - 100, Y, X + 100, Y);
  // Two corners at 30 m below the straight line.
  expect(way.lengthM).toBeCloseTo(2 * Math.hypot(50, 30) + 100, 1);
  expect(way.path.length / 2).toBeGreaterThanOrEqual(4);
});

test('createTransitNetwork: with a clearance the way is the taut string about the corners’ circles, within 0.2 %', () => {
  const r = 10;
  const network = createTransitNetwork([rectangle(-50, -30, 100, 100)], r);
  const { lengthM } = network.way(X - 150, Y, X + 150, Y);
  // Tangent from (-150, 0) to the circle about (-50, -30), its arc, the straight run at 40 m, and the same again.
  const d = Math.hypot(100, 30);
  const tangent = Math.sqrt(d * d - r * r);
  const arc = Math.atan2(30, 100) + Math.asin(r / d);
  const exact = 2 * (tangent + r * arc) + 100;
  expect(lengthM).toBeGreaterThanOrEqual(exact - 1e-6);
  expect(lengthM).toBeLessThanOrEqual(exact * 1.002);
});

test('createTransitNetwork: into a bay and out of it', () => {
  const bay: Polygon = polygon([[-60, -60], [60, -60], [60, 60], [40, 60], [40, -40], [-40, -40], [-40, 60], [-60, 60]]);
  const network = createTransitNetwork([bay], 2);
  const way = network.way(X, Y, X, Y - 100);
  expect(way.lengthM).toBeGreaterThan(2 * 60 + 100);
  expect(way.lengthM).toBeLessThan(300);
});

test('createTransitNetwork: walled in there is no way', () => {
  const ring: Polygon = polygon([[-60, -60], [60, -60], [60, 60], [-60, 60]], [[-50, -50], [-50, 50], [50, 50], [50, -50]]);
  const network = createTransitNetwork([ring], 2);
  expect(network.lengthM(X, Y, X + 100, Y)).toBe(Infinity);
  expect(network.way(X, Y, X + 100, Y).path).toHaveLength(0);
  expect(network.lengthM(X, Y, X + 40, Y + 40)).toBeCloseTo(Math.hypot(40, 40), 9);
  expect([network.isInside(X, Y), network.isInside(X + 55, Y)]).toEqual([false, true]);
});

test('createTransitNetwork: a gap narrower than twice the clearance is still passed where there is no other way', () => {
  const left = polygon([[-100, -100], [-1, -100], [-1, 100], [-100, 100]]);
  const walls = [left, polygon([[1, -100], [100, -100], [100, 100], [1, 100]]), polygon([[-110, 100.5], [110, 100.5], [110, 120], [-110, 120]]), polygon([[-120, -100], [-110, -100], [-110, 120], [-120, 120]]), polygon([[110, -100], [120, -100], [120, 120], [110, 120]])];
  const network = createTransitNetwork(walls, 5);
  const way = network.way(X, Y - 150, X, Y + 95);
  expect(way.lengthM).toBeLessThan(Infinity);
  for (let i = 0; i + 3 < way.path.length; i += 2) {
    for (const wall of walls) expect(segmentPolygonDistanceM(wall, way.path[i]!, way.path[i + 1]!, way.path[i + 2]!, way.path[i + 3]!)).toBeGreaterThan(0.4);
  }
});

test('createTransitNetwork: a shore of thousands of corners is gone around with few, and not touched', () => {
  const radii = Array.from({ length: 4000 }, (_, i) => 100 + 5 * Math.sin(i * 0.7) + 3 * Math.sin(i * 0.05));
  const island = star(0, 0, radii, 0);
  const network = createTransitNetwork([island], 2);
  const way = network.way(X - 200, Y + 1, X + 200, Y + 1);
  expect(way.path.length / 2).toBeLessThan(40);
  for (let i = 0; i + 3 < way.path.length; i += 2) {
    expect(segmentPolygonDistanceM(island, way.path[i]!, way.path[i + 1]!, way.path[i + 2]!, way.path[i + 3]!)).toBeGreaterThan(1.99);
  }
  // The taut string about a circle of 100 m from 200 m to 200 m: 2 sqrt(200^2 - 100^2) + 100 pi/3.
  expect(way.lengthM).toBeLessThan((2 * Math.sqrt(200 ** 2 - 100 ** 2) + (100 * Math.PI) / 3) * 1.1);
});

/** Shortest way on a grid of steps to 16 neighbours: never shorter than the truth, and at most some per cent longer. */
function gridWayM(keepouts: readonly Polygon[], from: readonly [number, number], to: readonly [number, number], clearanceM: number): number {
  const step = 10;
  const half = 50;
  const width = 2 * half + 1;
  const free = new Uint8Array(width * width);
  for (let r = 0; r < width; r++) for (let c = 0; c < width; c++) {
    const x = X + (c - half) * step;
    const y = Y + (r - half) * step;
    free[r * width + c] = keepouts.every((keepout) => pointPolygonDistanceM(keepout, x, y) >= clearanceM) ? 1 : 0;
  }
  const moves = [[1, 0], [0, 1], [1, 1], [1, -1], [2, 1], [1, 2], [2, -1], [1, -2]].flatMap(([a, b]) => [[a!, b!], [-a!, -b!]]);
  const cell = ([x, y]: readonly [number, number]): number => (y / step + half) * width + x / step + half;
  const best = new Float64Array(width * width).fill(Infinity);
  best[cell(from)] = 0;
  const open = new Set([cell(from)]);
  while (open.size > 0) {
    let u = -1;
    for (const v of open) if (u < 0 || best[v]! < best[u]!) u = v;
    open.delete(u);
    if (u === cell(to)) break;
    const r = Math.floor(u / width);
    const c = u % width;
    for (const [dc, dr] of moves) {
      const r2 = r + dr!;
      const c2 = c + dc!;
      if (r2 < 0 || c2 < 0 || r2 >= width || c2 >= width || free[r2 * width + c2] === 0) continue;
      const sum = best[u]! + step * Math.hypot(dc!, dr!);
      if (sum >= best[r2 * width + c2]! - 1e-9) continue;
      const clear = keepouts.every((keepout) => segmentPolygonDistanceM(keepout, X + (c - half) * step, Y + (r - half) * step, X + (c2 - half) * step, Y + (r2 - half) * step) >= clearanceM);
      if (!clear) continue;
      best[r2 * width + c2] = sum;
      open.add(r2 * width + c2);
    }
  }
  return best[cell(to)]!;
}

test('createTransitNetwork: never longer than the shortest way found on a grid with the same clearance; never in a keep-out', () => {
  let compared = 0;
  fc.assert(
    fc.property(anyKeepouts, (keepouts) => {
      const from = [-400, -100] as const;
      const to = [400, 120] as const;
      const network = createTransitNetwork(keepouts, 3);
      const way = network.way(X + from[0], Y + from[1], X + to[0], Y + to[1]);
      const back = network.way(X + to[0], Y + to[1], X + from[0], Y + from[1]);
      expect(back.lengthM).toBeCloseTo(way.lengthM, 6);
      expect(way.lengthM).toBeGreaterThanOrEqual(Math.hypot(800, 220) - 1e-9);
      for (let i = 0; i + 3 < way.path.length; i += 2) {
        for (const keepout of keepouts) expect(segmentPolygonDistanceM(keepout, way.path[i]!, way.path[i + 1]!, way.path[i + 2]!, way.path[i + 3]!)).toBeGreaterThan(2.99);
      }
      const onGrid = gridWayM(keepouts, from, to, 3);
      if (onGrid === Infinity) return;
      compared++;
      // The grid's ways keep the same clearance; ours follows corners of the circle about a keep-out's corner, which adds
      // less than a per cent of the bend.
      expect(way.lengthM).toBeLessThanOrEqual(onGrid * 1.003);
    }),
    { seed: 97, numRuns: 25, endOnFailure: true },
  );
  expect(compared).toBeGreaterThan(20);
});

test('createTransitNetwork: a clearance of nothing is the caller’s mistake', () => {
  expect(() => createTransitNetwork([], 0)).toThrow('clearanceM 0: expected more than 0');
});
