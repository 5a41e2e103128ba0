import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { medianInPlace } from '../../src/depths/block-median.js';
import type { BlockStatistic, SoundingPoints } from '../../src/depths/blocks.js';
import { gridSoundings } from '../../src/depths/blocks.js';
import type { RasterGrid } from '../../src/geo/raster.js';
import { HAVE_RECORDED, recorded, referenceTable, SKIP_NOTE } from './recorded-soundings.js';

const ALL: BlockStatistic[] = ['count', 'mean', 'median', 'min', 'max', 'deviation', 'place', 'shoalestAt', 'deepestAt'];
const GRID: RasterGrid = { westM: 0, northM: 4, cellM: 1, cols: 5, rows: 4 };
/** Results are stored as float32: half a unit in the last of 24 bits, and one more for the reference's own rounding. */
const FLOAT32 = 2 ** -23;

const at = (xs: number[], ys: number[], depths: number[]): SoundingPoints => ({
  xM: Float64Array.from(xs),
  yM: Float64Array.from(ys),
  depthM: Float64Array.from(depths),
});

function naive(points: SoundingPoints, grid: RasterGrid, cell: number): number[] {
  const row = Math.floor(cell / grid.cols);
  const col = cell % grid.cols;
  const depths: number[] = [];
  points.xM.forEach((x, i) => {
    const y = points.yM[i]!;
    const west = grid.westM + col * grid.cellM;
    const north = grid.northM - row * grid.cellM;
    const inX = x >= west && (x < west + grid.cellM || (col === grid.cols - 1 && x === west + grid.cellM));
    const inY = y <= north && (y > north - grid.cellM || (row === grid.rows - 1 && y === north - grid.cellM));
    if (inX && inY && Number.isFinite(points.depthM[i]!)) depths.push(points.depthM[i]!);
  });
  return depths.sort((a, b) => a - b);
}

describe('gridSoundings', () => {
  test('gridSoundings: every statistic equals a sorted list per cell when points lie anywhere, edges included', () => {
    const place = fc.oneof(fc.integer({ min: -1, max: 6 }), fc.integer({ min: -1024, max: 6144 }).map((k) => k / 1024)); // exact in binary
    const sounding = fc.tuple(place, place, fc.oneof(fc.constant(NaN), fc.double({ min: -5, max: 50, noNaN: true })));
    fc.assert(
      fc.property(fc.array(sounding, { maxLength: 80 }), (rows) => {
        const points = at(rows.map((r) => r[0]), rows.map((r) => r[1]), rows.map((r) => r[2]));
        const result = gridSoundings(points, GRID, { statistics: ALL });
        let used = 0;
        for (let cell = 0; cell < 20; cell++) {
          const depths = naive(points, GRID, cell);
          const n = depths.length;
          used += n;
          expect(result.count[cell]).toBe(n);
          const mean = depths.reduce((a, b) => a + b, 0) / n;
          const median = (depths[(n - 1) >> 1]! + depths[n >> 1]!) / 2;
          expect(result.median![cell]).toBe(Math.fround(n ? median : NaN));
          expect(result.min![cell]).toBe(Math.fround(depths[0] ?? NaN));
          expect(result.max![cell]).toBe(Math.fround(depths.at(-1) ?? NaN));
          if (n > 0) expect(Math.abs(result.mean![cell]! - mean)).toBeLessThanOrEqual(FLOAT32 * 50);
          else expect(result.mean![cell]).toBeNaN();
          if (n > 1) expect(Math.abs(result.deviation![cell]! - Math.sqrt(depths.reduce((s, d) => s + (d - mean) ** 2, 0) / (n - 1)))).toBeLessThan(FLOAT32 * 50);
          else expect(result.deviation![cell]).toBeNaN();
          expect(result.shoalestAt![cell]).toBe(n ? rows.findIndex((r) => r[2] === depths[0] && naive(at([r[0]], [r[1]], [r[2]]), GRID, cell).length === 1) : -1);
          if (n > 0) expect(points.depthM[result.deepestAt![cell]!]).toBe(depths.at(-1));
        }
        expect(result.used).toBe(used);
        const { setAside, noDepth, noPlace, outside } = result.skipped;
        expect(used + setAside + noDepth + noPlace + outside).toBe(rows.length);
      }),
      { seed: 20260301, numRuns: 300 },
    );
  });

  test('gridSoundings: a point on an inner edge goes east or south, on the outer edge stays in when edges are exact', () => {
    const one = (x: number, y: number) => gridSoundings(at([x], [y], [1]), GRID, { statistics: ['count'] }).count.indexOf(1);
    expect(one(1, 3.5)).toBe(1);
    expect(one(0.5, 3)).toBe(5);
    expect(one(0, 4)).toBe(0);
    expect(one(5, 0)).toBe(19);
    expect(one(5, 3.5)).toBe(4);
    expect(one(5.000000000000001, 3.5)).toBe(-1);
    expect(one(-Number.MIN_VALUE, 3.5)).toBe(-1);
    expect(one(2.5, -1e-12)).toBe(-1);
  });

  test('gridSoundings: what is not used is counted under the first reason when several hold', () => {
    const points: SoundingPoints = {
      xM: Float64Array.of(0.5, 0.5, 0.5, NaN, 9, Infinity, 0.5),
      yM: Float64Array.of(0.5, 0.5, 0.5, 0.5, 0.5, 0.5, NaN),
      depthM: Float64Array.of(1, NaN, 2, 3, 4, 5, Infinity),
      reason: Uint8Array.of(0, 0, 8, 0, 0, 0, 0),
    };
    const result = gridSoundings(points, GRID, { statistics: ALL });
    expect(result.skipped).toEqual({ setAside: 1, noDepth: 2, noPlace: 2, outside: 1 });
    expect(result.used).toBe(1);
    expect(result.mean![15]).toBe(1);
  });

  test('gridSoundings: results do not depend on the order of soundings when they are shuffled', () => {
    const random = createRandom(7);
    const n = 5000;
    const x = Array.from({ length: n }, () => random.between(0, 5));
    const y = Array.from({ length: n }, () => random.between(0, 4));
    const z = Array.from({ length: n }, () => Math.fround(random.between(2, 9)));
    const order = [...x.keys()];
    for (let i = n - 1; i > 0; i--) {
      const j = random.integer(i + 1);
      [order[i], order[j]] = [order[j]!, order[i]!];
    }
    const one = gridSoundings(at(x, y, z), GRID, { statistics: ALL });
    const two = gridSoundings(at(order.map((i) => x[i]!), order.map((i) => y[i]!), order.map((i) => z[i]!)), GRID, { statistics: ALL });
    for (const name of ['count', 'median', 'min', 'max'] as const) expect(two[name]).toEqual(one[name]);
    one.mean!.forEach((value, cell) => expect(Math.abs(value - two.mean![cell]!)).toBeLessThanOrEqual(FLOAT32 * 9));
    one.deviation!.forEach((value, cell) => expect(Math.abs(value - two.deviation![cell]!)).toBeLessThanOrEqual(FLOAT32 * 9));
  });

  test('gridSoundings: statistics keep their place when frame and depths are shifted and scaled by powers of two', () => {
    const random = createRandom(8);
    const x = Array.from({ length: 600 }, () => random.integer(5 * 64) / 64);
    const y = Array.from({ length: 600 }, () => random.integer(4 * 64) / 64);
    const z = Array.from({ length: 600 }, () => random.integer(4096) / 64);
    const one = gridSoundings(at(x, y, z), GRID, { statistics: ALL });
    const shifted = gridSoundings(
      at(x.map((v) => 4 * v + 2 ** 19), y.map((v) => 4 * v + 2 ** 22), z.map((v) => 2 * v)),
      { westM: 2 ** 19, northM: 16 + 2 ** 22, cellM: 4, cols: 5, rows: 4 },
      { statistics: ALL },
    );
    expect(shifted.count).toEqual(one.count);
    for (const name of ['median', 'min', 'max', 'mean', 'deviation'] as const) expect(shifted[name]).toEqual(one[name]!.map((v) => 2 * v));
    one.placeXM!.forEach((v, cell) => expect(shifted.placeXM![cell]).toBeCloseTo(4 * v + 2 ** 19, 8));
    one.placeYM!.forEach((v, cell) => expect(shifted.placeYM![cell]).toBeCloseTo(4 * v + 2 ** 22, 8));
  });

  test('gridSoundings: the deviation keeps its digits when the depths are large and close together', () => {
    const result = gridSoundings(at([0.5, 0.5, 0.5], [0.5, 0.5, 0.5], [1e6 + 0.001, 1e6 + 0.002, 1e6 + 0.003]), GRID, { statistics: ['deviation'] });
    expect(result.deviation![15]).toBeCloseTo(0.001, 9);
  });

  test('gridSoundings: tvu is the median of the known ones when some are NaN', () => {
    const points = { ...at([0.5, 0.5, 0.5, 0.5], [0.5, 0.5, 0.5, 0.5], [1, 2, 3, 4]), tvuM: Float32Array.of(0.5, NaN, 0.25, 1) };
    expect(gridSoundings(points, GRID, { statistics: ['tvu'] }).tvuM![15]).toBe(0.5);
    const unknown = { ...points, tvuM: new Float32Array(4).fill(NaN) };
    expect(gridSoundings(unknown, GRID, { statistics: ['tvu'] }).tvuM![15]).toBeNaN();
  });

  test('gridSoundings: nothing in gives empty cells, and columns of unequal length are refused', () => {
    const empty = gridSoundings(at([], [], []), GRID, { statistics: ALL });
    expect(empty.used).toBe(0);
    expect(empty.median!.every(Number.isNaN)).toBe(true);
    expect(() => gridSoundings(at([1, 2], [1], [1, 2]), GRID, { statistics: ALL })).toThrow('points.yM: length 1, expected 2 like xM');
    expect(() => gridSoundings(at([1], [1], [1]), GRID, { statistics: ['tvu'] })).toThrow("'tvu' needs points.tvuM");
  });
});

test('medianInPlace: equals the sorted middle when values are sorted, reversed, constant, organ-pipe or random, of any count', () => {
  const random = createRandom(3);
  const shapes: ((i: number, n: number) => number)[] = [(i) => i, (i, n) => n - i, () => 4, (i, n) => Math.min(i, n - i), (i) => i % 3, () => random.uniform()];
  for (const shape of shapes) {
    for (const n of [0, 1, 2, 3, 23, 24, 25, 26, 100, 1001, 20_000]) {
      const values = Float64Array.from({ length: n + 2 }, (_, i) => (i === 0 || i === n + 1 ? -99 : shape(i - 1, n)));
      const sorted = values.slice(1, n + 1).sort();
      const expected = n === 0 ? NaN : (sorted[(n - 1) >> 1]! + sorted[n >> 1]!) / 2;
      expect(medianInPlace(values, 1, n + 1)).toBe(expected);
      expect([values[0], values[n + 1]]).toEqual([-99, -99]);
    }
  }
});

interface BlockTable {
  input: string;
  sha256: string;
  grid: RasterGrid;
  occupied: number;
  countTotal: number;
  countMax: number;
  meanOfMeans: number;
  meanOfMedians: number;
  minOfAll: number;
  maxOfAll: number;
  sample: { cell: number[]; count: number[]; mean: number[]; deviation: (number | null)[]; min: number[]; max: number[]; median: number[]; placeX: number[]; placeY: number[] };
}

describe.skipIf(!HAVE_RECORDED)(`gridSoundings against GMT blockmean and blockmedian${SKIP_NOTE}`, () => {
  // Source: GMT 6.4.0 blockmean -E, -Sn and blockmedian on the same points; test/reference/depths/make.py.
  for (const table of referenceTable('blocks.json') as BlockTable[]) {
    test(`gridSoundings: equals GMT in count, mean, deviation, range, median and place when given ${table.input}`, () => {
      const points = recorded(table.input);
      expect(points.sha256).toBe(table.sha256);
      const result = gridSoundings(points, table.grid, { statistics: ALL });
      const occupied = [...result.count.keys()].filter((cell) => result.count[cell]! > 0);
      expect(occupied.length).toBe(table.occupied);
      expect(result.used).toBe(table.countTotal);
      expect(Math.max(...result.count)).toBe(table.countMax);
      const meanOf = (column: Float32Array) => occupied.reduce((sum, cell) => sum + column[cell]!, 0) / occupied.length;
      expect(Math.abs(meanOf(result.mean!) / table.meanOfMeans - 1)).toBeLessThan(FLOAT32);
      expect(Math.abs(meanOf(result.median!) / table.meanOfMedians - 1)).toBeLessThan(FLOAT32);
      expect(Math.min(...occupied.map((cell) => result.min![cell]!))).toBe(Math.fround(table.minOfAll));
      expect(Math.max(...occupied.map((cell) => result.max![cell]!))).toBe(Math.fround(table.maxOfAll));
      const { sample } = table;
      sample.cell.forEach((cell, i) => {
        const scale = Math.max(1, Math.abs(sample.mean[i]!));
        expect(result.count[cell]).toBe(sample.count[i]);
        expect(result.min![cell]).toBe(Math.fround(sample.min[i]!));
        expect(result.max![cell]).toBe(Math.fround(sample.max[i]!));
        expect(Math.abs(result.mean![cell]! - sample.mean[i]!)).toBeLessThanOrEqual(FLOAT32 * scale);
        expect(Math.abs(result.median![cell]! - sample.median[i]!)).toBeLessThanOrEqual(FLOAT32 * scale);
        // GMT sums squares in one pass and prints 12 digits: a hundred-thousandth of the deviation is its own rounding
        if (sample.deviation[i] === null) expect(result.deviation![cell]).toBeNaN();
        else expect(Math.abs(result.deviation![cell]! - sample.deviation[i]!)).toBeLessThanOrEqual(1e-5 * Math.max(0.01, sample.deviation[i]!));
        expect(result.placeXM![cell]).toBeCloseTo(sample.placeX[i]!, 6);
        expect(result.placeYM![cell]).toBeCloseTo(sample.placeY[i]!, 6);
      });
    });
  }
});
