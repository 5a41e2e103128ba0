import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { hasProgram } from '../../bench/has-program.js';
import { createRandom } from '../../src/base/random.js';
import { tensionedSpline } from '../../src/depths/spline-tension.js';
import type { RasterGrid } from '../../src/geo/raster.js';

interface Table {
  readonly size: number;
  readonly points: { readonly cell: number[]; readonly depth: number[] };
  readonly tables: { readonly tension: number; readonly cell: number[]; readonly depth: number[] }[];
}

const square = (size: number): RasterGrid => ({ westM: 0, northM: size, cellM: 1, cols: size, rows: size });
const rms = (values: readonly number[]) => Math.sqrt(values.reduce((sum, one) => sum + one * one, 0) / values.length);

describe('tensionedSpline', () => {
  // Source: test/reference/depths/spline.py, the energy's normal equations solved directly with scipy.
  const reference = JSON.parse(readFileSync('test/reference/depths/spline.json', 'utf8')) as Table;
  for (const table of reference.tables) {
    test(`tensionedSpline: equals the direct sparse solution when tension is ${table.tension}`, async () => {
      const { size, points } = reference;
      const xM = Float64Array.from(points.cell, (cell) => (cell % size) + 0.5);
      const yM = Float64Array.from(points.cell, (cell) => size - Math.floor(cell / size) - 0.5);
      const z = await tensionedSpline({ xM, yM, depthM: points.depth }, square(size), { tension: table.tension, toleranceM: 1e-7, mostSweeps: 4000 });
      const errors = table.cell.map((cell, i) => z[cell]! - table.depth[i]!);
      // The edge conditions differ: what of that is felt twenty cells inside, of depths that vary by 6 m.
      expect(rms(errors)).toBeLessThan(0.0005);
      expect(Math.max(...errors.map(Math.abs))).toBeLessThan(0.005);
      points.cell.forEach((cell, i) => expect(z[cell]).toBeCloseTo(points.depth[i]!, 6));
    });
  }

  // GMT's own conditions at the edge are the same; it stops when a sweep changes less than -C.
  test.skipIf(!hasProgram('gmt'))(`tensionedSpline: equals GMT surface on the same points${hasProgram('gmt') ? '' : ' (SKIPPED: gmt is not here)'}`, async () => {
    const folder = mkdtempSync(path.join(tmpdir(), 'spline-'));
    try {
      const size = 80;
      const random = createRandom(5);
      const cells = [...new Set(Array.from({ length: 400 }, () => Math.floor(random.uniform() * size * size)))];
      const xM = Float64Array.from(cells, (cell) => (cell % size) + 0.5);
      const yM = Float64Array.from(cells, (cell) => size - Math.floor(cell / size) - 0.5);
      const depthM = xM.map((x, i) => 10 + 2 * Math.sin(x / 9) + Math.cos(yM[i]! / 7) + 0.02 * x);
      writeFileSync(path.join(folder, 'points.txt'), cells.map((_, i) => `${xM[i]} ${yM[i]} ${depthM[i]}`).join('\n'));
      execFileSync('sh', ['-c', `gmt surface points.txt -R0/${size}/0/${size} -I1 -r -Ti0.35 -C1e-6 -N10000 -Gout.nc && gmt grd2xyz out.nc -ZTLf > out.bin`], { cwd: folder, stdio: 'ignore' });
      const bytes = readFileSync(path.join(folder, 'out.bin'));
      const gmt = new Float32Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength));
      const z = await tensionedSpline({ xM, yM, depthM }, square(size), { tension: 0.35, toleranceM: 1e-6, mostSweeps: 1000 });
      const inner = [...z.keys()].filter((cell) => Math.min(cell % size, size - 1 - (cell % size), Math.floor(cell / size), size - 1 - Math.floor(cell / size)) >= 8);
      const differences = inner.map((cell) => z[cell]! - gmt[cell]!);
      expect(rms(differences)).toBeLessThan(0.0005); // of depths that vary by 6 m
      expect(Math.max(...differences.map(Math.abs))).toBeLessThan(0.01);
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  });

  test('tensionedSpline: gives a plane back when points lie anywhere in their cells', async () => {
    const random = createRandom(3);
    const xM = Float64Array.from({ length: 90 }, () => 50 * random.uniform());
    const yM = Float64Array.from({ length: 90 }, () => 50 * random.uniform());
    const z = await tensionedSpline({ xM, yM, depthM: xM.map((x, i) => 4 + 0.3 * x - 0.1 * yM[i]!) }, square(50), { tension: 0.35, toleranceM: 1e-6 });
    z.forEach((one, cell) => expect(one).toBeCloseTo(4 + 0.3 * ((cell % 50) + 0.5) - 0.1 * (50 - Math.floor(cell / 50) - 0.5), 6));
  });

  test('tensionedSpline: carries a depth to the centre of its cell along its own slope when the floor is curved', async () => {
    const random = createRandom(4);
    const floor = (x: number, y: number) => 8 + Math.sin(x / 8) + Math.cos(y / 6);
    const cells = [...new Set(Array.from({ length: 900 }, () => Math.floor(random.uniform() * 2500)))];
    const xM = Float64Array.from(cells, (cell) => (cell % 50) + random.between(0.05, 0.95));
    const yM = Float64Array.from(cells, (cell) => 50 - Math.floor(cell / 50) - random.between(0.05, 0.95));
    const z = await tensionedSpline({ xM, yM, depthM: xM.map((x, i) => floor(x, yM[i]!)) }, square(50), { tension: 0.1, toleranceM: 1e-5 });
    const errors = [...z.keys()].filter((cell) => cell % 50 > 4 && cell % 50 < 45 && cell > 250 && cell < 2250).map((cell) => z[cell]! - floor((cell % 50) + 0.5, 50 - Math.floor(cell / 50) - 0.5));
    // A point half a cell off on this floor's steepest slope is off by 6 cm where it is not carried.
    expect(rms(errors)).toBeLessThan(0.004);
  });

  test('tensionedSpline: one point is a level sheet, none is nothing, and a tension outside 0 to 1 is refused', async () => {
    const options = { tension: 0.35, toleranceM: 1e-4 };
    expect([...(await tensionedSpline({ xM: Float64Array.of(3.5), yM: Float64Array.of(4.5), depthM: [7] }, square(9), options))].every((one) => Math.abs(one - 7) < 1e-9)).toBe(true);
    expect((await tensionedSpline({ xM: new Float64Array(0), yM: new Float64Array(0), depthM: [] }, square(9), options)).every(Number.isNaN)).toBe(true);
    await expect(tensionedSpline({ xM: Float64Array.of(3.5), yM: Float64Array.of(4.5), depthM: [7] }, square(9), { ...options, tension: 1.2 })).rejects.toThrow('tension 1.2: expected 0 to 1');
  });
});
