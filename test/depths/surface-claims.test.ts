import { describe, expect, test } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { checkErrorParts, partsOf } from '../../src/depths/error-parts.js';
import { leaveLinesOut } from '../../src/depths/left-out.js';
import { straightRuns } from '../../src/depths/line-of.js';
import { filledSurface } from '../../src/depths/surface.js';
import { roughnessRatio } from '../../src/depths/surface-roughness.js';
import { cellGradient } from '../../src/depths/surface-uncertainty.js';
import type { RasterGrid } from '../../src/geo/raster.js';
import { runLines, wavyFloor } from './surface-floor.js';

describe('partsOf', () => {
  test('partsOf: each sounding\'s, a pass\'s and the common part are 1.96 sigma, slopes have the rest, and none is more than the whole', () => {
    const parts = { eachM: 0.03, eachShare: 0.004, passM: 0.02, commonM: 0.04, commonShare: 0.002, deeperM: 2 };
    // At 8 m below datum, 10 m measured: each 0.03^2 + 0.04^2 = 0.05^2, pass 0.02^2, common 0.04^2 + 0.02^2 = 0.002; slopes have the rest.
    const { each2, lasting2, apart2 } = partsOf(parts, 8, 1);
    const k = 1.96 ** 2;
    expect(each2).toBeCloseTo(k * 0.0025, 12);
    expect(lasting2).toBeCloseTo(1 - k * 0.0029, 12);
    expect(apart2).toBeCloseTo(k * 0.0029 + (1 - k * 0.0049) / 2, 12);
    expect(partsOf(parts, 8, 0.01)).toEqual({ each2: expect.closeTo(k * 0.0025, 12), lasting2: 0, apart2: expect.closeTo(0.01, 12) });
    expect(partsOf(parts, 8, 0.001)).toEqual({ each2: 0.001, lasting2: 0, apart2: 0.001 });
    expect(() => checkErrorParts({ ...parts, passM: -1 })).toThrow('errorParts.passM -1: expected 0 or more');
  });
});

describe('roughnessRatio', () => {
  const cols = 80;
  const rows = 60;
  const grid: RasterGrid = { westM: 0, northM: rows, cellM: 1, cols, rows };
  const measured = new Uint32Array(cols * 6).map((_, i) => (Math.floor(i / cols) * 10 + 5) * cols + (i % cols));
  const wanted = new Uint8Array(cols * rows).fill(1);
  const floorOf = (depth: (col: number, row: number) => number): Float32Array => {
    const depthM = new Float32Array(cols * rows).fill(NaN);
    for (const cell of measured) {
      depthM[cell] = depth(cell % cols, Math.floor(cell / cols));
      wanted[cell] = 0;
    }
    return depthM;
  };

  test('roughnessRatio: is the ratio of the errors when waves are four times higher on one half', () => {
    const ratio = roughnessRatio(floorOf((col) => 9 + (col < 40 ? 0.05 : 0.2) * Math.sin((2 * Math.PI * col) / 20)), grid, measured, wanted, 4, 9, 0);
    const [smooth, rough] = [ratio[30 * cols + 12]!, ratio[30 * cols + 67]!];
    // 38 triples of a place and 8 of the whole floor, whose mean square is the mean of both halves: 1.31 and 0.52.
    expect(rough).toBeCloseTo(Math.sqrt((38 * 16 + 8 * 8.5) / 46 / 8.5), 0);
    expect(rough / smooth).toBeGreaterThan(2.2);
    expect(rough / smooth).toBeLessThan(2.9);
    expect(rough ** 2 + smooth ** 2).toBeGreaterThan(1.8);
    expect(rough ** 2 + smooth ** 2).toBeLessThan(2.2);
  });

  test('roughnessRatio: is 1 everywhere when a plane has noise of the size said, and when nothing is measured', () => {
    const random = createRandom(5);
    const ratio = roughnessRatio(floorOf((col, row) => 9 + 0.1 * col - 0.05 * row + 0.1 * random.normal()), grid, measured, wanted, 4, 9, 1.5 * 0.012);
    expect(ratio.every((one) => one === 1)).toBe(true);
    expect(roughnessRatio(new Float32Array(cols * rows).fill(NaN), grid, new Uint32Array(0), wanted, 4, 9, 0).every((one) => one === 1)).toBe(true);
  });
});

describe('cellGradient', () => {
  test('cellGradient: noise of the size said is not taken for a slope', () => {
    const random = createRandom(9);
    const grid: RasterGrid = { westM: 0, northM: 40, cellM: 0.5, cols: 80, rows: 80 };
    const mean = (slope: number, noise2: number): number => {
      const depthM = Float32Array.from({ length: 6400 }, (_, cell) => 9 + slope * 0.5 * (cell % 80) + 0.03 * random.normal());
      let sum = 0;
      for (let row = 1; row < 79; row++) for (let col = 1; col < 79; col++) sum += cellGradient(depthM, grid, row, col, noise2);
      return sum / 78 ** 2;
    };
    expect(mean(0, 0)).toBeGreaterThan(0.12);
    // The steeper way of two on either axis: noise is not gone, but most of it is.
    expect(mean(0, 2 * 0.03 ** 2)).toBeLessThan(0.6 * mean(0, 0));
    expect(mean(0.5, 2 * 0.03 ** 2)).toBeGreaterThan(0.48);
  });
});

describe('filledSurface', () => {
  // Known floors of the same waves, three times higher on one half, run by lines whose errors are as large as said.
  test('filledSurface: the 95 % of filled and measured cells holds 92 to 98 % on rough and smooth ground alike when errors are told apart', async () => {
    const grid: RasterGrid = { westM: 0, northM: 200, cellM: 1, cols: 200, rows: 200 };
    const held = { measured: [0, 0], smooth: [0, 0], rough: [0, 0] };
    for (let seed = 1; seed <= 6; seed++) {
      const random = createRandom(seed);
      const waves = wavyFloor(random.fork('floor'));
      const floor = (x: number, y: number): number => 12 + (x < 100 ? 0.3 : 1) * (waves(x, y) - 12);
      const run = runLines(floor, random.fork('run'), { sizeM: 200, spacingM: 12, headingDeg: 0, lineSigmaM: 0.04, soundingSigmaM: 0.04, crossLines: 2 });
      const points = { ...run, depthM: Float64Array.from(run.depthM), reason: new Uint8Array(run.xM.length) };
      const timeS = Float64Array.from(points.xM, (_, i) => i * 0.2);
      const line = straightRuns({ n: points.xM.length, timeS, ...points }, { headingDeg: 20, minRunM: 20 }).run;
      const options = { statistic: 'median', fill: 'triangulation', fillDistanceM: 7.2, errorParts: { eachM: 0.04, eachShare: 0, passM: 0.04, commonM: 0, commonShare: 0, deeperM: 0 } } as const;
      const leftOut = (await leaveLinesOut(points, line, grid, options))!;
      const surface = await filledSurface(points, grid, { ...options, bridging: leftOut.bridging });
      surface.depth.values.forEach((z, cell) => {
        if (Number.isNaN(z)) return;
        const x = (cell % 200) + 0.5;
        const y = 200 - Math.floor(cell / 200) - 0.5;
        const pair = surface.count[cell]! > 0 ? held.measured : x < 100 ? held.smooth : held.rough;
        pair[1]!++;
        if (Math.abs(z - floor(x, y)) <= surface.uncertainty.values[cell]!) pair[0]!++;
      });
    }
    for (const [name, [n, of]] of Object.entries(held)) {
      expect(n! / of!, name).toBeGreaterThan(0.92);
      expect(n! / of!, name).toBeLessThan(0.98);
    }
  });
});
