import { describe, expect, test } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { leaveLinesOut } from '../../src/depths/left-out.js';
import type { FillOptions } from '../../src/depths/surface.js';
import { filledSurface } from '../../src/depths/surface.js';
import type { RasterGrid } from '../../src/geo/raster.js';

const GRID: RasterGrid = { westM: 0, northM: 60, cellM: 1, cols: 90, rows: 60 };
const OPTIONS: FillOptions = { statistic: 'mean', fill: 'triangulation', fillDistanceM: 10, systematicShare: 0 };

/** Upright lines 8 m apart, a sounding a metre in the middle of its cell. */
function lines(depth: (x: number, y: number, line: number) => number, tvu = 0.1) {
  const xM: number[] = [];
  const yM: number[] = [];
  const line: number[] = [];
  for (let k = 0; k < 11; k++) {
    for (let row = 0; row < 60; row++) {
      xM.push(4.5 + 8 * k);
      yM.push(60 - row - 0.5);
      line.push(k + 1);
    }
  }
  return { points: { xM: Float64Array.from(xM), yM: Float64Array.from(yM), depthM: Float64Array.from(xM, (x, i) => depth(x, yM[i]!, line[i]!)), tvuM: new Float32Array(xM.length).fill(tvu) }, line: Int32Array.from(line) };
}

describe('leaveLinesOut', () => {
  test('leaveLinesOut: a plane is told without error, and the outer lines are told by nobody', async () => {
    for (const fill of ['triangulation', 'natural-neighbour', 'spline'] as const) {
      const { points, line } = lines((x, y) => 5 + 0.1 * x - 0.05 * y);
      const found = (await leaveLinesOut(points, line, GRID, { ...OPTIONS, fill }))!;
      expect(found.lines).toBe(11);
      expect(found.rounds).toBe(8);
      // Lines 1 and 9, 2 and 10, 3 and 11 go together: 9 lines have a neighbour on both sides, two have none on one.
      expect(found.count + found.notReached).toBe(660);
      expect(found.notReached).toBe(120);
      expect(found.p95M).toBeLessThan(fill === 'spline' ? 0.005 : 1e-5);
      expect(found.withinShare).toBe(1);
    }
  });

  test('leaveLinesOut: errors are those of the means of both neighbours when lines are level and of known depths', async () => {
    const depths = [0, 9, 9.4, 8.7, 9.9, 9.2, 9.6, 8.8, 9.1, 9.7, 9.3, 9.5];
    const { points, line } = lines((_x, _y, k) => depths[k]!);
    const found = (await leaveLinesOut(points, line, GRID, OPTIONS))!;
    const errors = Array.from({ length: 9 }, (_, k) => (depths[k + 1]! + depths[k + 3]!) / 2 - depths[k + 2]!);
    expect(found.rmsM).toBeCloseTo(Math.sqrt(errors.reduce((sum, one) => sum + one * one, 0) / 9), 4);
    expect(found.biasM).toBeCloseTo(errors.reduce((sum, one) => sum + one, 0) / 9, 4);
    expect(found.byDistance.map(({ fromM, toM, count }) => [fromM, toM, count])).toEqual([[8, 9, 540]]);
  });

  test('leaveLinesOut: what is claimed holds about 95 % of the errors of other lines when the floor is rough', async () => {
    const random = createRandom(8);
    const waves = Array.from({ length: 30 }, () => ({ kx: random.between(-0.5, 0.5), ky: random.between(-0.5, 0.5), phase: random.between(0, 7) }));
    const floor = (x: number, y: number) => 9 + waves.reduce((sum, w) => sum + 0.05 * Math.sin(w.kx * x + w.ky * y + w.phase), 0);
    const { points, line } = lines((x, y) => floor(x, y) + 0.05 * random.normal(), 0.098);
    const found = (await leaveLinesOut(points, line, GRID, OPTIONS))!;
    expect(found.withinShare).toBeGreaterThan(0.9);
    expect(found.withinShare).toBeLessThan(0.999);
    expect(found.bridging).toBeGreaterThan(0.25);
  });

  test('leaveLinesOut: gives the same twice, nothing for one line or no filling, and stops when asked', async () => {
    const { points, line } = lines((x, y) => 8 + Math.sin(x / 9) + Math.cos(y / 7));
    expect(await leaveLinesOut(points, line, GRID, OPTIONS)).toEqual(await leaveLinesOut(points, line, GRID, OPTIONS));
    expect(await leaveLinesOut(points, line.map(() => 3), GRID, OPTIONS)).toBeNull();
    expect(await leaveLinesOut(points, line, GRID, { ...OPTIONS, fill: 'none' })).toBeNull();
    await expect(leaveLinesOut(points, line, GRID, OPTIONS, { signal: AbortSignal.abort() })).rejects.toThrow('cancelled');
    await expect(leaveLinesOut(points, new Int32Array(3), GRID, OPTIONS)).rejects.toThrow('line: length 3');
  });
});

describe('filledSurface', () => {
  test('filledSurface: every way keeps the measured cells and fills the same others', async () => {
    const { points } = lines((x, y) => 8 + Math.sin(x / 9) + Math.cos(y / 7));
    const plain = await filledSurface(points, GRID, OPTIONS);
    for (const fill of ['natural-neighbour', 'spline'] as const) {
      const surface = await filledSurface(points, GRID, { ...OPTIONS, fill });
      expect(surface.cellsFilled).toBe(plain.cellsFilled);
      surface.depth.values.forEach((depth, cell) => {
        expect(Number.isNaN(depth)).toBe(Number.isNaN(plain.depth.values[cell]!));
        if (surface.count[cell]! > 0) expect(depth).toBe(plain.depth.values[cell]);
        expect(Number.isNaN(surface.uncertainty.values[cell]!)).toBe(Number.isNaN(depth));
      });
    }
    expect((await filledSurface(points, GRID, { ...OPTIONS, fill: 'none' })).cellsFilled).toBe(0);
  });

  test('filledSurface: the weighted mean is that of inverse variances when soundings of a cell are not equally good', async () => {
    const points = { xM: Float64Array.of(3.5, 3.7), yM: Float64Array.of(55.5, 55.5), depthM: Float64Array.of(10, 11), tvuM: Float32Array.of(0.1, 0.2) };
    const surface = await filledSurface(points, GRID, { ...OPTIONS, statistic: 'weighted', fill: 'none' });
    expect(surface.depth.values[4 * 90 + 3]).toBeCloseTo((10 * 100 + 11 * 25) / 125, 5);
    await expect(filledSurface({ ...points, tvuM: undefined } as never, GRID, { ...OPTIONS, statistic: 'weighted' })).rejects.toThrow("'weighted' needs points.tvuM");
  });
});
