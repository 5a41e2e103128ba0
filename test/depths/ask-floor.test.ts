import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import path from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { cellShares } from '../../src/depths/cell-shares.js';
import { depthProfile, soundingsNear } from '../../src/depths/profile.js';
import { leastDepth, selectSoundings } from '../../src/depths/select-soundings.js';
import { ruggedness, rugosity, slopeDegrees } from '../../src/depths/slope-rugosity.js';
import { floorChange } from '../../src/depths/surface-difference.js';
import { sampleRaster } from '../../src/depths/surface-sample.js';
import { hypsometry, volumesAgainst, type FloorRasters } from '../../src/depths/volumes.js';
import { memorySink, bytesSource } from '../../src/base/byte-source.js';
import { readGeoTiff } from '../../src/formats/geotiff-read.js';
import { writeGeoTiff } from '../../src/formats/geotiff-write.js';
import type { Raster, RasterGrid } from '../../src/geo/raster.js';
import { temporaryFolder } from '../survey/temporary-folder.js';
import { writeFileSync } from 'node:fs';

const GRID: RasterGrid = { westM: 1000, northM: 2200, cellM: 1, cols: 220, rows: 200 };

function floorOf(depth: (x: number, y: number) => number, u = 0.1, grid = GRID): FloorRasters {
  const values = new Float32Array(grid.cols * grid.rows);
  for (let row = 0; row < grid.rows; row++) for (let col = 0; col < grid.cols; col++) values[row * grid.cols + col] = depth(grid.westM + (col + 0.5) * grid.cellM, grid.northM - (row + 0.5) * grid.cellM);
  return { depth: { grid, values }, uncertainty: { grid, values: new Float32Array(values.length).fill(u) } };
}
const ALL = new Float32Array(GRID.cols * GRID.rows).fill(1);
const circle = (x: number, y: number, r: number, n = 720) => ({ outer: Float64Array.from({ length: 2 * n }, (_, i) => (i % 2 === 0 ? x + r * Math.cos((Math.PI * (i - (i % 2))) / n) : y + r * Math.sin((Math.PI * (i - (i % 2))) / n))), holes: [] });

describe('cellShares', () => {
  it('cell shares: area of a circle with a hole is pi (R2 - r2) within 0.05 %', () => {
    const polygon = { outer: circle(1100, 2100, 80).outer, holes: [circle(1110, 2090, 30).outer] };
    const area = cellShares([polygon], GRID).reduce((sum, one) => sum + one, 0);
    expect(area / (Math.PI * (80 ** 2 - 30 ** 2))).toBeCloseTo(1, 3);
  });
  it('cell shares: a rectangle off the cells is exact along columns and within a strip along rows', () => {
    const shares = cellShares([{ outer: Float64Array.of(1000.25, 2199, 1003.5, 2199, 1003.5, 2197, 1000.25, 2197), holes: [] }], GRID);
    expect(shares[GRID.cols]).toBeCloseTo(0.75, 6);
    expect(shares[GRID.cols + 3]).toBeCloseTo(0.5, 6);
    expect(shares.reduce((sum, one) => sum + one, 0)).toBeCloseTo(3.25 * 2, 5);
  });
});

describe('volumesAgainst', () => {
  it('volumes: a cone of 60 m radius and 6 m height stands pi r2 h / 3 above its foot', () => {
    const cone = floorOf((x, y) => 10 - Math.max(0, 6 * (1 - Math.hypot(x - 1110, y - 2100) / 60)));
    const found = volumesAgainst(cone, { shares: ALL, levelM: 10 });
    expect(found.aboveM3 / ((Math.PI * 60 ** 2 * 6) / 3)).toBeCloseTo(1, 3);
    // The frustum below a level 2 m under the top: a cone of 20 m and 2 m is above it.
    const top = volumesAgainst(cone, { shares: ALL, levelM: 6 });
    expect(top.aboveM3 / ((Math.PI * 20 ** 2 * 2) / 3)).toBeCloseTo(1, 2);
    expect(top.aboveM2 / (Math.PI * 20 ** 2)).toBeCloseTo(1, 2);
  });
  it('volumes: cut and fill of a tilted plane against a level through its middle are the two wedges', () => {
    // 4 % over 220 m: +-4.4 m at the ends; each wedge is half of base x height x width = 110 x 4.4 / 2 x 200.
    const found = volumesAgainst(floorOf((x) => 8 + 0.04 * (x - 1110)), { shares: ALL, levelM: 8 });
    expect(found.aboveM3).toBeCloseTo(48_400, -1);
    expect(found.belowM3).toBeCloseTo(48_400, -1);
    expect(Math.abs(found.netM3)).toBeLessThan(1);
    expect(found.aboveM2).toBeCloseTo(22_000, 0);
  });
  it('volumes: against a design raster; where it or the floor is unknown the area is said', () => {
    const floor = floorOf(() => 5);
    floor.depth.values[0] = NaN;
    const design = new Float32Array(ALL.length).fill(7);
    design[1] = NaN;
    const found = volumesAgainst(floor, { shares: ALL, levelM: design });
    expect(found).toMatchObject({ aboveM3: 2 * (ALL.length - 2), unknownM2: 2, knownM2: ALL.length - 2 });
  });
  it('volumes: the half width holds the truth with 95 % by draws of common and single errors', () => {
    const random = createRandom(3);
    const flat = floorOf((x) => 6 + 0.02 * (x - 1000), 0.196, { ...GRID, cols: 40, rows: 40 });
    const shares = new Float32Array(1600).fill(1);
    const truth = volumesAgainst(flat, { shares, levelM: 3 });
    let inside = 0;
    for (let round = 0; round < 1000; round++) {
      const common = Math.sqrt(0.6) * 0.1 * random.normal();
      const drawn = { ...flat, depth: { ...flat.depth, values: flat.depth.values.map((one) => one + common + Math.sqrt(0.4) * 0.1 * random.normal()) } };
      const found = volumesAgainst(drawn, { shares, levelM: 3 });
      if (Math.abs(found.belowM3 - truth.belowM3) <= found.belowHalf95M3) inside++;
    }
    expect(inside / 1000).toBeGreaterThan(0.93);
    expect(inside / 1000).toBeLessThan(0.97);
  });
  it('hypsometry: area and volume of a paraboloid at each level', () => {
    // Depth = 10 - r2/400 inside 60 m: deeper than L is a circle of r2 = 400 (10 - L), volume pi r4/800 (half of base x height).
    const bowl = floorOf((x, y) => 10 - ((x - 1110) ** 2 + (y - 2100) ** 2) / 400);
    const rows = hypsometry(bowl, ALL, 2);
    const at8 = rows.find(({ levelM }) => levelM === 8)!;
    expect(at8.deeperM2 / (Math.PI * 800)).toBeCloseTo(1, 2);
    expect(at8.belowM3 / ((Math.PI * 800 * 2) / 2)).toBeCloseTo(1, 2);
    expect(() => hypsometry(bowl, ALL, 0)).toThrow('expected more than 0');
  });
});

describe('floorChange', () => {
  it('change: a dredged square is found with its volume, and what did not change is not called a change', () => {
    const random = createRandom(8);
    const noisy = (depth: (x: number, y: number) => number): FloorRasters => {
      const floor = floorOf(depth, 0.098);
      return { ...floor, depth: { ...floor.depth, values: floor.depth.values.map((one) => one + 0.05 * random.normal()) } };
    };
    const dug = (x: number, y: number): number => (Math.abs(x - 1100) < 20 && Math.abs(y - 2100) < 20 ? 1 : 0);
    const then = noisy((x) => 6 + 0.01 * (x - 1000));
    const now = noisy((x, y) => 6 + 0.01 * (x - 1000) + dug(x, y));
    const found = floorChange(then, now, ALL);
    expect(found.deeperSignificantM3).toBeGreaterThan(1580);
    expect(Math.abs(found.deeperM3 - found.shoalerM3 - 1600)).toBeLessThan(found.netHalf95M3);
    const outside = (ALL.length * found.significantShare - 1600) / (ALL.length - 1600);
    expect(outside).toBeGreaterThan(0.035);
    expect(outside).toBeLessThan(0.065);
  });
  it('change: surveys on other grids are compared between their cells', () => {
    const plane = (x: number, y: number): number => 5 + 0.03 * (x - 1000) - 0.02 * (y - 2000);
    const found = floorChange(floorOf(plane, 0.1, { westM: 990.3, northM: 2210.7, cellM: 1.7, cols: 150, rows: 150 }), floorOf(plane), ALL);
    expect(Math.abs(found.meanM)).toBeLessThan(1e-4);
    expect(found.comparedM2).toBe(ALL.length);
  });
});

describe('slope and rugosity', () => {
  const plane = floorOf((x, y) => 5 + 0.3 * (x - 1000) - 0.4 * (y - 2000)).depth;
  it('slope: of a plane of 0.3 and 0.4 is atan 0.5 = 26.565 degrees everywhere', () => {
    for (const one of slopeDegrees(plane).values) if (one === one) expect(one).toBeCloseTo(26.56505, 2);
  });
  it('rugosity: of that plane is 1/cos = sqrt 1.25; ruggedness is nothing', () => {
    const cell = 50 * GRID.cols + 50;
    expect(rugosity(plane).values[cell]).toBeCloseTo(Math.sqrt(1.25), 3);
    expect(ruggedness(plane).values[cell]).toBeLessThan(1e-6);
    const random = createRandom(1);
    expect(ruggedness(floorOf(() => 5 + 0.5 * random.normal()).depth).values[cell]).toBeGreaterThan(0.01);
  });
  it('slope: no data in any of nine cells is no slope', () => {
    const holed: Raster = { grid: GRID, values: Float32Array.from(plane.values) };
    holed.values[50 * GRID.cols + 50] = NaN;
    const found = slopeDegrees(holed);
    for (let dr = -1; dr <= 1; dr++) for (let dc = -1; dc <= 1; dc++) expect(found.values[(50 + dr) * GRID.cols + 50 + dc]).toBeNaN();
    expect(found.values[52 * GRID.cols + 50]).not.toBeNaN();
    expect(found.values[0]).toBeNaN();
  });
  const gdal = ((): boolean => {
    try {
      execFileSync('gdalinfo', ['--version'], { stdio: 'ignore' });
      return true;
    } catch {
      return false;
    }
  })();
  it.skipIf(!gdal)('slope: equals gdaldem slope (Horn) on a rough floor', async () => {
    const folder = await temporaryFolder();
    const rough = floorOf((x, y) => 8 + 2 * Math.sin(x / 9) * Math.cos(y / 7) + 0.3 * Math.sin(x * y)).depth;
    const sink = memorySink();
    await writeGeoTiff(sink, { grid: GRID, epsg: 32626, bands: [{ name: 'depth', unit: 'm', values: rough.values }], description: 'rough floor' });
    writeFileSync(path.join(folder, 'in.tif'), sink.bytes());
    execFileSync('gdaldem', ['slope', '-q', path.join(folder, 'in.tif'), path.join(folder, 'out.tif')]);
    const theirs = (await readGeoTiff(bytesSource('out.tif', new Uint8Array(readFileSync(path.join(folder, 'out.tif')))))).bands[0]!.values;
    const ours = slopeDegrees(rough).values;
    let compared = 0;
    for (let cell = 0; cell < ours.length; cell++) {
      if (ours[cell] !== ours[cell]) continue;
      compared++;
      // Single precision of depths near 10 m over 1 m cells.
      expect(Math.abs(ours[cell]! - theirs[cell]!)).toBeLessThan(1e-3);
    }
    expect(compared).toBe((GRID.cols - 2) * (GRID.rows - 2));
  });
});

describe('profile', () => {
  it('profile: along a bent line over a plane, every half cell, distances summed', () => {
    const floor = floorOf((x, y) => 5 + 0.03 * (x - 1000) - 0.02 * (y - 2000));
    const found = depthProfile(floor, Float64Array.of(1010, 2010, 1040, 2050, 1140, 2050));
    expect(found.lengthM).toBeCloseTo(150, 9);
    expect(found.distanceM[found.n - 1]).toBeCloseTo(150, 9);
    for (let i = 0; i < found.n; i++) expect(found.depthM[i]).toBeCloseTo(5 + 0.03 * (found.xM[i]! - 1000) - 0.02 * (found.yM[i]! - 2000), 4);
    expect(() => depthProfile(floor, Float64Array.of(1, 2))).toThrow('two points');
  });
  it('sample: NaN off the surface, the cell itself at its edge', () => {
    const at = sampleRaster(floorOf(() => 7).depth);
    expect(at(0, 0)).toBeNaN();
    expect(at(1000.1, 2199.9)).toBe(7);
  });
  it('soundings near a line: by distance along it, the side by sign', () => {
    const found = soundingsNear({ n: 4, xM: Float64Array.of(50, 20, 20, 90), yM: Float64Array.of(3, -2, 9, 1), reason: Uint8Array.of(0, 0, 0, 4) }, Float64Array.of(0, 0, 100, 0), 5);
    expect([...found.row]).toEqual([1, 0]);
    expect([...found.distanceM]).toEqual([20, 50]);
    expect([...found.offM]).toEqual([2, -3]);
  });
});

describe('selectSoundings', () => {
  const points = fc.array(fc.tuple(fc.integer({ min: 0, max: 300 }), fc.integer({ min: 0, max: 300 }), fc.integer({ min: 10, max: 200 })), { minLength: 1, maxLength: 150 });
  it('selection: none nearer than the radius, and every sounding has one no deeper than itself within it', () => {
    fc.assert(
      fc.property(points, fc.integer({ min: 1, max: 80 }), (rows, radius) => {
        const all = { n: rows.length, xM: Float64Array.from(rows, (row) => row[0]), yM: Float64Array.from(rows, (row) => row[1]), depthM: Float32Array.from(rows, (row) => row[2] / 10), reason: new Uint8Array(rows.length) };
        const kept = [...selectSoundings(all, radius)];
        const apart = (i: number, j: number): number => Math.hypot(all.xM[i]! - all.xM[j]!, all.yM[i]! - all.yM[j]!);
        kept.forEach((i, a) => kept.slice(a + 1).forEach((j) => expect(apart(i, j)).toBeGreaterThanOrEqual(radius)));
        for (let i = 0; i < all.n; i++) expect(kept.some((j) => (j === i || apart(i, j) < radius) && all.depthM[j]! <= all.depthM[i]!)).toBe(true);
      }),
      { seed: 4, numRuns: 150 },
    );
  });
  it('least depth: the shoalest good sounding in a polygon, with its uncertainty', () => {
    const soundings = { n: 4, xM: Float64Array.of(5, 6, 50, 7), yM: Float64Array.of(5, 5, 50, 7), depthM: Float32Array.of(4, 3, 1, 2), reason: Uint8Array.of(0, 0, 0, 8), tvuM: Float32Array.of(0.2, 0.3, 0.1, 0.1), thuM: Float32Array.of(1, 2, 3, 4) };
    const square = { outer: Float64Array.of(0, 0, 10, 0, 10, 10, 0, 10), holes: [] };
    expect(leastDepth(soundings, [square])).toMatchObject({ row: 1, depthM: 3, thuM: 2, count: 2 });
    expect(leastDepth(soundings, null).row).toBe(2);
    expect(leastDepth({ ...soundings, n: 0 }, null)).toMatchObject({ row: -1, depthM: NaN });
  });
});
