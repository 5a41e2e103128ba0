import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { connectedRegions } from '../../src/depths/gaps-outline.js';
import type { FillLine, Gap, Gaps } from '../../src/depths/gaps.js';
import { coverageGaps, fillInLines, insideMask } from '../../src/depths/gaps.js';
import type { RasterGrid } from '../../src/geo/raster.js';
import type { Polygon, Ring } from '../../src/geo/shapes.js';

const grid = (cols: number, rows: number, cellM = 1): RasterGrid => ({ westM: 100, northM: 200, cellM, cols, rows });
const ring = (...points: [number, number][]): Ring => Float64Array.from(points.flat());

function ringArea(r: Ring): number {
  let twice = 0;
  for (let i = 0; i < r.length; i += 2) {
    const j = (i + 2) % r.length;
    twice += r[i]! * r[j + 1]! - r[j]! * r[i + 1]!;
  }
  return twice / 2;
}
const polygonArea = (p: Polygon) => ringArea(p.outer) + p.holes.reduce((sum, hole) => sum + ringArea(hole), 0);

/** Even-odd by a ray to the east, with the vertices' half-open rule. */
function holds(p: Polygon, x: number, y: number): boolean {
  let inside = false;
  for (const r of [p.outer, ...p.holes]) {
    for (let i = 0; i < r.length; i += 2) {
      const j = (i + 2) % r.length;
      const [x0, y0, x1, y1] = [r[i]!, r[i + 1]!, r[j]!, r[j + 1]!];
      if (y0 <= y !== y1 <= y && x < x0 + ((x1 - x0) * (y - y0)) / (y1 - y0)) inside = !inside;
    }
  }
  return inside;
}

describe('insideMask', () => {
  test('insideMask: equals a point-in-polygon test of every centre when polygons with holes are random stars', () => {
    const random = createRandom(40);
    const g = grid(40, 30);
    for (let k = 0; k < 60; k++) {
      const star = (radius: number, clockwise: boolean): Ring => {
        const n = 3 + random.integer(12);
        const points = Array.from({ length: n }, (_, i) => {
          const angle = ((clockwise ? -1 : 1) * 2 * Math.PI * i) / n;
          const r = radius * random.between(0.4, 1);
          return [120 + r * Math.cos(angle), 185 + r * Math.sin(angle)] as [number, number];
        });
        return ring(...points);
      };
      const polygons: Polygon[] = [{ outer: star(random.between(2, 30), false), holes: k % 2 ? [star(5, true)] : [] }];
      if (k % 3 === 0) polygons.push({ outer: ring([95, 195], [111, 195.25], [104, 202.1]), holes: [] });
      const mask = insideMask(polygons, g);
      for (let cell = 0; cell < mask.length; cell++) {
        const [x, y] = [100 + (cell % 40) + 0.5, 200 - Math.floor(cell / 40) - 0.5];
        expect(mask[cell]).toBe(polygons.some((p) => holds(p, x, y)) ? 1 : 0);
      }
    }
  });

  test('insideMask: two polygons that share an edge through centres share no cell and miss none', () => {
    const g = grid(6, 6);
    const west: Polygon = { outer: ring([100, 194], [103.5, 194], [103.5, 200], [100, 200]), holes: [] };
    const east: Polygon = { outer: ring([103.5, 194], [106, 194], [106, 200], [103.5, 200]), holes: [] };
    const a = insideMask([west], g);
    const b = insideMask([east], g);
    for (let cell = 0; cell < 36; cell++) expect(a[cell]! + b[cell]!).toBe(1);
    expect(a[3]).toBe(0); // the centre at 103.5 belongs to the polygon east of it
    const north: Polygon = { outer: ring([100, 197.5], [106, 197.5], [106, 200], [100, 200]), holes: [] };
    const south: Polygon = { outer: ring([100, 194], [106, 194], [106, 197.5], [100, 197.5]), holes: [] };
    const c = insideMask([north], g);
    const d = insideMask([south], g);
    for (let cell = 0; cell < 36; cell++) expect(c[cell]! + d[cell]!).toBe(1);
    expect(c[12]).toBe(1); // the centre at 197.5 belongs to the polygon north of it
  });

  test('insideMask: overlapping polygons are inside once, and none gives nothing', () => {
    const g = grid(10, 10);
    const square = (x: number): Polygon => ({ outer: ring([x, 191], [x + 5, 191], [x + 5, 199], [x, 199]), holes: [] });
    expect(insideMask([square(101), square(103)], g).reduce((a, b) => a + b, 0)).toBe(7 * 8);
    expect(insideMask([], g).some((v) => v !== 0)).toBe(false);
    expect(insideMask([square(500)], g).some((v) => v !== 0)).toBe(false);
  });
});

function naiveGaps(g: RasterGrid, inside: Uint8Array, sounded: Uint8Array, reachM: number): number[][] {
  const hole = (cell: number) => {
    if (!inside[cell]) return false;
    for (let other = 0; other < sounded.length; other++) {
      if (!sounded[other]) continue;
      const d = Math.hypot((cell % g.cols) - (other % g.cols), Math.floor(cell / g.cols) - Math.floor(other / g.cols)) * g.cellM;
      if (d <= reachM * (1 + 1e-12)) return false;
    }
    return true;
  };
  // label by repeatedly taking the least label of the neighbours
  const label = Array.from(inside, (_, cell) => (hole(cell) ? cell : -1));
  for (let changed = true; changed; ) {
    changed = false;
    label.forEach((own, cell) => {
      if (own < 0) return;
      for (const other of [cell % g.cols ? cell - 1 : -1, (cell + 1) % g.cols ? cell + 1 : -1, cell - g.cols, cell + g.cols]) {
        const theirs = label[other] ?? -1;
        if (theirs >= 0 && theirs < label[cell]!) {
          label[cell] = theirs;
          changed = true;
        }
      }
    });
  }
  const groups = new Map<number, number[]>();
  label.forEach((own, cell) => {
    if (own >= 0) groups.set(own, [...(groups.get(own) ?? []), cell]);
  });
  return [...groups.values()].sort((a, b) => b.length - a.length || a[0]! - b[0]!);
}

const cases = fc.tuple(fc.integer({ min: 1, max: 12 }), fc.integer({ min: 1, max: 12 })).chain(([cols, rows]) =>
  fc.tuple(
    fc.constant(cols),
    fc.constant(rows),
    fc.array(fc.integer({ min: 0, max: 4 }).map((k) => (k ? 1 : 0)), { minLength: cols * rows, maxLength: cols * rows }),
    fc.array(fc.integer({ min: 0, max: 9 }).map((k) => (k ? 0 : 1)), { minLength: cols * rows, maxLength: cols * rows }),
    fc.constantFrom(0, 0.5, 1, 1.5, 2.9, 4),
  ),
);

describe('coverageGaps', () => {
  test('coverageGaps: the gaps are the connected cells beyond the reach, and the outlines hold exactly them, when areas and soundings are any', () => {
    fc.assert(
      fc.property(cases, ([cols, rows, insideCells, soundedCells, reachM]) => {
        const g = grid(cols, rows, 0.5);
        const inside = Uint8Array.from(insideCells);
        const sounded = Uint8Array.from(soundedCells);
        const result = coverageGaps({ grid: g, inside, sounded, reachM, minAreaM2: 0 });
        const expected = naiveGaps(g, inside, sounded, reachM);
        expect(result.gaps.map((gap) => [...gap.cells])).toEqual(expected);
        const cellsInside = inside.reduce((a, b) => a + b, 0);
        const holes = expected.reduce((n, cells) => n + cells.length, 0);
        if (cellsInside === 0) expect(result.coveredShare).toBeNaN();
        else expect(result.coveredShare).toBeCloseTo(1 - holes / cellsInside, 12);
        for (const gap of result.gaps) {
          expect(gap.areaM2).toBeCloseTo(gap.cells.length * 0.25, 12);
          expect(polygonArea(gap.polygon)).toBeCloseTo(gap.areaM2, 9);
          expect(ringArea(gap.polygon.outer)).toBeGreaterThan(0);
          for (const hole of gap.polygon.holes) expect(ringArea(hole)).toBeLessThan(0);
          const own = new Set(gap.cells);
          for (let cell = 0; cell < cols * rows; cell++) expect(holds(gap.polygon, 100 + ((cell % cols) + 0.5) / 2, 200 - (Math.floor(cell / cols) + 0.5) / 2)).toBe(own.has(cell));
          for (const r of [gap.polygon.outer, ...gap.polygon.holes]) checkRing(r);
        }
      }),
      { seed: 50, numRuns: 400 },
    );
  });

  test('coverageGaps: rings that touch at a corner are parted into simple rings when holes meet diagonally', () => {
    const g = grid(5, 5);
    const inside = new Uint8Array(25).fill(1);
    for (const cell of [6, 12, 3, 9]) inside[cell] = 0; // two holes touching, and two more reaching the edge by a corner
    const { gaps } = coverageGaps({ grid: g, inside, sounded: new Uint8Array(25), reachM: 1, minAreaM2: 0 });
    const big = gaps[0]!;
    for (const r of [big.polygon.outer, ...big.polygon.holes]) checkRing(r);
    expect(big.polygon.holes.length).toBe(2);
    expect(gaps.map((gap) => gap.areaM2)).toEqual([20, 1]);
  });

  test('coverageGaps: a missed line gives one gap of its length, as wide as what is out of reach, when lines are 20 m apart', () => {
    const g = grid(100, 120);
    const inside = new Uint8Array(12_000).fill(1);
    const sounded = new Uint8Array(12_000);
    for (const col of [10, 30, 70, 90]) for (let row = 0; row < 120; row++) sounded[row * 100 + col] = 1; // 50 was missed
    const result = coverageGaps({ grid: g, inside, sounded, reachM: 11, minAreaM2: 100 });
    expect(result.gaps.length).toBe(1);
    const [gap] = result.gaps as [Gap];
    expect(gap.areaM2).toBe(17 * 120); // columns 42 to 58
    expect([...gap.polygon.outer].sort((a, b) => a - b)).toEqual([80, 80, 142, 142, 159, 159, 200, 200].sort((a, b) => a - b));
    expect(gap.maxWidthM).toBe(17);
    expect(gap.furthestM).toBe(20);
    expect(result.coveredShare).toBeCloseTo(1 - (17 * 120) / 12_000, 12);
    expect(result.areaM2).toBe(17 * 120);
  });

  test('coverageGaps: a hole smaller than the least area is no gap but is not covered either', () => {
    const g = grid(20, 10);
    const sounded = new Uint8Array(200).fill(1);
    for (const cell of [22, 23, 42, 43, 110, 111, 112]) sounded[cell] = 0;
    const inside = new Uint8Array(200).fill(1);
    const result = coverageGaps({ grid: g, inside, sounded, reachM: 0, minAreaM2: 4 });
    expect(result.gaps.map((gap) => gap.areaM2)).toEqual([4]);
    expect(result.coveredShare).toBeCloseTo(193 / 200, 12);
  });

  test('coverageGaps: without any sounding the whole area is a gap, and without an area there is none', () => {
    const g = grid(8, 6);
    const all = coverageGaps({ grid: g, inside: new Uint8Array(48).fill(1), sounded: new Uint8Array(48), reachM: 500, minAreaM2: 1 });
    expect([all.gaps.length, all.coveredShare, all.gaps[0]!.areaM2, all.gaps[0]!.furthestM, all.gaps[0]!.maxWidthM]).toEqual([1, 0, 48, Infinity, 5]);
    const none = coverageGaps({ grid: g, inside: new Uint8Array(48), sounded: new Uint8Array(48).fill(1), reachM: 5, minAreaM2: 1 });
    expect([none.gaps.length, none.areaM2, none.coveredShare]).toEqual([0, 0, NaN]);
  });

  test('coverageGaps: the largest circle is within half a cell of the true one when the gap is a square, a strip or a disc', () => {
    const g = grid(60, 60);
    const disc = Uint8Array.from({ length: 3600 }, (_, cell) => (Math.hypot((cell % 60) - 30, Math.floor(cell / 60) - 30) <= 20 ? 1 : 0));
    const width = (inside: Uint8Array) => coverageGaps({ grid: g, inside, sounded: new Uint8Array(3600), reachM: 1, minAreaM2: 1 }).gaps[0]!.maxWidthM;
    expect(Math.abs(width(disc) - 40)).toBeLessThanOrEqual(1);
    const strip = (test: (col: number, row: number) => boolean) => Uint8Array.from({ length: 3600 }, (_, cell) => (test(cell % 60, Math.floor(cell / 60)) ? 1 : 0));
    expect(Math.abs(width(strip((col, row) => col >= 10 && col < 31 && row >= 5 && row < 26)) - 21)).toBeLessThanOrEqual(1);
    expect(Math.abs(width(strip((col) => col >= 10 && col < 14)) - 4)).toBeLessThanOrEqual(1);
  });

  test('coverageGaps: refuses masks of another size and negative limits', () => {
    const g = grid(2, 2);
    const mask = new Uint8Array(4);
    expect(() => coverageGaps({ grid: g, inside: new Uint8Array(3), sounded: mask, reachM: 1, minAreaM2: 1 })).toThrow('inside: length 3, expected 2 x 2 = 4');
    expect(() => coverageGaps({ grid: g, inside: mask, sounded: mask, reachM: -1, minAreaM2: 1 })).toThrow('reachM -1');
    expect(() => coverageGaps({ grid: g, inside: mask, sounded: mask, reachM: 1, minAreaM2: NaN })).toThrow('minAreaM2 NaN');
  });

  test('connectedRegions: a spiral of a million cells is one region when the stack is deep', () => {
    const marked = new Uint8Array(1_000_000).fill(1);
    for (let row = 1; row < 1000; row += 2) marked.fill(0, row * 1000 + (row % 4 === 1 ? 0 : 1), row * 1000 + (row % 4 === 1 ? 999 : 1000));
    expect(connectedRegions(marked, 1000, 1000).n).toBe(1);
  });
});

/** No corner twice, and every corner turns. */
function checkRing(r: Ring): void {
  const n = r.length / 2;
  expect(n).toBeGreaterThanOrEqual(4);
  expect(new Set(Array.from({ length: n }, (_, i) => `${r[2 * i]},${r[2 * i + 1]}`)).size).toBe(n);
  for (let i = 0; i < n; i++) {
    const [a, b, c] = [i, (i + 1) % n, (i + 2) % n].map((k) => [r[2 * k]!, r[2 * k + 1]!] as const) as [readonly [number, number], readonly [number, number], readonly [number, number]];
    expect((b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])).not.toBe(0);
  }
}

describe('fillInLines', () => {
  const distanceToLine = ({ line }: FillLine, x: number, y: number) => {
    const [x0, y0, x1, y1] = line as unknown as [number, number, number, number];
    const length2 = (x1 - x0) ** 2 + (y1 - y0) ** 2;
    const t = Math.max(0, Math.min(1, ((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / length2));
    return Math.hypot(x - x0 - t * (x1 - x0), y - y0 - t * (y1 - y0));
  };
  const blobs = (seed: number): Gaps => {
    const random = createRandom(seed);
    const g = grid(120, 90);
    const inside = new Uint8Array(g.cols * g.rows);
    for (let k = 0; k < 5; k++) {
      const [cx, cy, r] = [random.between(10, 110), random.between(10, 80), random.between(3, 22)];
      for (let cell = 0; cell < inside.length; cell++) if (Math.hypot((cell % 120) - cx, (Math.floor(cell / 120) - cy) * 1.5) < r) inside[cell] = 1;
    }
    return coverageGaps({ grid: g, inside, sounded: new Uint8Array(inside.length), reachM: 1, minAreaM2: 20 });
  };

  test('fillInLines: every place of every gap is within reach of a line of that gap when the heading is any', () => {
    for (let seed = 1; seed <= 6; seed++) {
      const gaps = blobs(seed);
      for (const headingDeg of [0, 37, 90, 215.5]) {
        const options = { spacingM: 12, reachM: 5, headingDeg, runInM: 4, runOutM: 2 };
        const lines = fillInLines(gaps, options);
        gaps.gaps.forEach((gap, index) => {
          const own = lines.filter((line) => line.gap === index);
          for (const cell of gap.cells) {
            for (const [dx, dy] of [[0.02, 0.02], [0.98, 0.02], [0.02, 0.98], [0.98, 0.98]] as const) {
              const nearest = Math.min(...own.map((line) => distanceToLine(line, 100 + (cell % 120) + dx, 200 - Math.floor(cell / 120) - dy)));
              expect(nearest).toBeLessThanOrEqual(5 + 1e-9);
            }
          }
        });
        for (const { line, lengthM } of lines) {
          const [x0, y0, x1, y1] = line as unknown as [number, number, number, number];
          expect(Math.hypot(x1 - x0, y1 - y0)).toBeCloseTo(lengthM, 9);
          expect(Math.abs(Math.sin(Math.atan2(x1 - x0, y1 - y0) - (headingDeg * Math.PI) / 180))).toBeLessThan(1e-9);
        }
      }
    }
  });

  test('fillInLines: a gap of 17 x 120 m takes one line of 120 m and its runs, alternating ones when it takes more', () => {
    const g = grid(100, 120);
    const sounded = new Uint8Array(12_000);
    for (const col of [10, 30, 70, 90]) for (let row = 0; row < 120; row++) sounded[row * 100 + col] = 1;
    const gaps = coverageGaps({ grid: g, inside: new Uint8Array(12_000).fill(1), sounded, reachM: 11, minAreaM2: 100 });
    const [only, ...more] = fillInLines(gaps, { spacingM: 20, reachM: 11, headingDeg: 0, runInM: 5, runOutM: 3 });
    expect(more).toEqual([]);
    expect([...only!.line]).toEqual([150.5, 75, 150.5, 203].map((v) => expect.closeTo(v, 9)));
    expect(only!.lengthM).toBeCloseTo(128, 9);
    const three = fillInLines(gaps, { spacingM: 6, reachM: 11, headingDeg: 0 });
    expect(three.map(({ line }) => Math.sign(line[3]! - line[1]!))).toEqual([1, -1, 1]);
    expect(three.map(({ line }) => line[0]!)).toEqual([142 + 17 / 6, 150.5, 159 - 17 / 6].map((v) => expect.closeTo(v, 9)));
  });

  test('fillInLines: stretches of a strip far apart become lines of their own, near ones one line', () => {
    const g = grid(10, 100);
    const inside = new Uint8Array(1000);
    for (const row of [0, 1, 2, 3, 4, 5]) for (let col = 0; col < 10; col++) for (const at of [0, 60]) inside[(row + at) * 10 + col] = 1;
    for (let row = 0; row < 66; row++) inside[row * 10] = 1; // one thin bridge makes it one gap
    const gaps = coverageGaps({ grid: g, inside, sounded: new Uint8Array(1000), reachM: 1, minAreaM2: 1 });
    expect(gaps.gaps.length).toBe(1);
    const lines = fillInLines(gaps, { spacingM: 5, reachM: 5, headingDeg: 0, runInM: 2, runOutM: 2 });
    expect(lines.map(({ lengthM }) => lengthM)).toEqual([70, 10, 10].map((v) => expect.closeTo(v, 9)));
    expect(fillInLines(gaps, { spacingM: 5, reachM: 5, headingDeg: 0, runInM: 30, runOutM: 30 }).length).toBe(2);
    // the stretches are 54 m apart: run through where that is allowed
    expect(fillInLines(gaps, { spacingM: 5, reachM: 5, headingDeg: 0, joinM: 53 }).length).toBe(3);
    expect(fillInLines(gaps, { spacingM: 5, reachM: 5, headingDeg: 0, joinM: 55 }).map(({ lengthM }) => lengthM)).toEqual([66, 66].map((v) => expect.closeTo(v, 9)));
  });

  test('fillInLines: lines keep to the cells the boat may use when a keep-out lies across them', () => {
    const g = grid(30, 60);
    const inside = new Uint8Array(1800);
    const navigable = new Uint8Array(1800);
    for (let row = 5; row < 55; row++) {
      for (let col = 5; col < 25; col++) {
        const keepOut = row >= 25 && row < 35 && col >= 9 && col < 30;
        inside[row * 30 + col] = keepOut ? 0 : 1;
        navigable[row * 30 + col] = keepOut ? 0 : 1;
      }
    }
    const gaps = coverageGaps({ grid: g, inside, sounded: new Uint8Array(1800), reachM: 1, minAreaM2: 1 });
    const lines = fillInLines(gaps, { spacingM: 4, reachM: 4, headingDeg: 0, runInM: 20, runOutM: 20, navigable });
    for (const { line } of lines) {
      for (let k = 1; k < 200; k++) {
        const x = line[0]! + ((line[2]! - line[0]!) * k) / 200;
        const y = line[1]! + ((line[3]! - line[1]!) * k) / 200;
        const row = Math.floor(200 - y);
        expect(navigable[row * 30 + Math.floor(x - 100)]).toBe(1);
      }
    }
    expect(lines.length).toBe(1 + 4 * 2);
    expect(fillInLines(gaps, { spacingM: 4, reachM: 4, headingDeg: 0, navigable: new Uint8Array(1800) })).toEqual([]);
  });

  test('fillInLines: no gaps need no lines, and impossible spacings are refused', () => {
    const g = grid(4, 4);
    const none = coverageGaps({ grid: g, inside: new Uint8Array(16).fill(1), sounded: new Uint8Array(16).fill(1), reachM: 1, minAreaM2: 1 });
    expect(fillInLines(none, { spacingM: 5, reachM: 5, headingDeg: 0 })).toEqual([]);
    expect(() => fillInLines(none, { spacingM: 0, reachM: 5, headingDeg: 0 })).toThrow('spacingM 0: expected more than 0');
    expect(() => fillInLines(none, { spacingM: 5, reachM: 0, headingDeg: 0 })).toThrow('reachM 0: expected more than 0');
    expect(() => fillInLines(none, { spacingM: 5, reachM: 5, headingDeg: 0, runInM: -1 })).toThrow('expected 0 or more');
    expect(() => fillInLines(none, { spacingM: 5, reachM: 5, headingDeg: NaN })).toThrow('headingDeg NaN');
    expect(() => fillInLines(none, { spacingM: 5, reachM: 5, headingDeg: 0, navigable: new Uint8Array(3) })).toThrow('navigable: length 3');
  });
});
