import { mkdtemp, readFile, rm } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readGeoTiff } from '../../src/formats/geotiff-read.js';
import { readParquet } from '../../src/formats/parquet-columns.js';
import { openFileSource } from '../../src/survey/file-source.js';
import { makeProof } from '../../src/survey/make-demo.js';
import type { Desk } from '../../src/survey/desk.js';

describe('surface of hypotheses', () => {
  let top: string;
  let folder: string;
  let desk: Desk;
  beforeAll(async () => {
    top = await mkdtemp(path.join(os.tmpdir(), 'tallow-hypotheses-'));
    folder = path.join(top, 'survey');
    ({ desk } = await makeProof(folder, 5, 'short', {}));
    // Cells of 3 m, so that some straddle steps of the floor.
    await desk.set('surface.cellM', 3);
    await desk.set('surface.statistic', 'hypotheses');
    await desk.build({}, 'surface');
  });
  afterAll(() => rm(top, { recursive: true, force: true }));

  const table = async () => {
    const source = await openFileSource(path.join(folder, 'derived/hypotheses.parquet'));
    try {
      return new Map(Object.entries((await readParquet(source)) as Record<string, ArrayLike<number>>));
    } finally {
      await source.close();
    }
  };

  it('surface: every depth of a cell with several is in hypotheses.parquet, one of them standing', async () => {
    const source = await openFileSource(path.join(folder, 'derived/surface/surface.tif'));
    const tiff = await readGeoTiff(source);
    await source.close();
    expect(tiff.bands.length).toBe(5);
    const rows = await table();
    const perCell = new Map<number, { n: number; stands: number; depthM: number }>();
    for (let k = 0; k < rows.get('row')!.length; k++) {
      const cell = rows.get('row')![k]! * tiff.grid.cols + rows.get('col')![k]!;
      const one = perCell.get(cell) ?? { n: 0, stands: 0, depthM: NaN };
      one.n++;
      one.stands += rows.get('stands')![k]!;
      if (rows.get('stands')![k] === 1) one.depthM = rows.get('depthM')![k]!;
      perCell.set(cell, one);
    }
    const several = tiff.bands[3]!.values.reduce((sum, n) => sum + (n > 1 ? 1 : 0), 0);
    expect(perCell.size).toBe(several);
    expect(several).toBeGreaterThan(0);
    for (const [cell, { n, stands, depthM }] of perCell) {
      expect(stands).toBe(1);
      expect(n).toBe(tiff.bands[3]!.values[cell]);
      expect(tiff.bands[0]!.values[cell]).toBeCloseTo(depthM, 4);
    }
    const figures = (await desk.summary()).surface!.hypotheses!;
    expect(figures.several).toBe(several);
    expect(figures.byHand).toBe(0);
  });

  it('surface: a depth chosen by hand is drawn, undone again, and a choice that fits no depth is said', async () => {
    const rows = await table();
    const k = Array.from(rows.get('stands')!).indexOf(0);
    const [latDeg, lonDeg, depthM] = ['latDeg', 'lonDeg', 'depthM'].map((name) => rows.get(name)![k]!) as [number, number, number];
    await desk.decide({ kind: 'hypothesis', latDeg, lonDeg, depthM });
    await desk.build({}, 'surface');
    expect((await desk.summary()).surface!.hypotheses!.byHand).toBe(1);
    const chosen = await table();
    expect(chosen.get('stands')![k]).toBe(1);
    expect(chosen.get('byHand')![k]).toBe(1);
    await desk.undo();
    await desk.decide({ kind: 'hypothesis', latDeg, lonDeg, depthM: depthM + 500 });
    await desk.build({}, 'surface');
    const summary = await desk.summary();
    expect(summary.surface!.hypotheses).toMatchObject({ byHand: 0, lost: 1 });
    expect(summary.notes.join(' ')).toContain('1 choice of a depth by hand fit');
    await expect(desk.decide({ kind: 'hypothesis', latDeg: 200, lonDeg, depthM })).rejects.toThrow(/expected a latitude, a longitude and a depth/);
    expect(await readFile(path.join(folder, 'journal.jsonl'), 'utf8')).toContain('"kind":"hypothesis"');
  });

  it('surface: no table stays behind when another statistic is set', async () => {
    await desk.set('surface.statistic', 'median');
    await desk.build({}, 'surface');
    await expect(readFile(path.join(folder, 'derived/hypotheses.parquet'))).rejects.toThrow(/ENOENT/);
    expect((await desk.summary()).surface!.hypotheses).toBeUndefined();
  });
});
