import { mkdtemp, readFile, rm } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readGeoTiff } from '../../src/formats/geotiff-read.js';
import { openFileSource } from '../../src/survey/file-source.js';
import { makeProof } from '../../src/survey/make-demo.js';
import { complaint, tallow } from './run-tallow.js';

interface Listed {
  surface: { hypotheses: { several: number; doubtful: number; byHand: number } };
  doubtful: { row: number; col: number; latDeg: number; lonDeg: number; strength: number; byHand: boolean; depths: { depthM: number; uncertaintyM: number; soundings: number; stands: boolean }[] }[];
}

describe('depths --doubtful and --choose', () => {
  let top: string;
  let folder: string;
  beforeAll(async () => {
    top = await mkdtemp(path.join(os.tmpdir(), 'tallow-doubtful-'));
    folder = path.join(top, 'survey');
    await makeProof(folder, 5, 'short', {});
  });
  afterAll(() => rm(top, { recursive: true, force: true }));

  const drawn = async (row: number, col: number): Promise<number> => {
    const source = await openFileSource(path.join(folder, 'derived/surface/surface.tif'));
    const { grid, bands } = await readGeoTiff(source);
    await source.close();
    return bands[0]!.values[row * grid.cols + col]!;
  };

  it('with one depth a cell there is nothing to list, and it says what to set', async () => {
    expect(complaint(await tallow(['depths', folder, '--doubtful']))).toMatch(/the surface keeps one depth a cell.*--set surface\.statistic=hypotheses/);
  });

  it('cells in doubt are listed with their depths; another is chosen, drawn, journalled, undone', async () => {
    // Cells of 3 m, so that some straddle steps of the floor.
    const listed = await tallow(['depths', folder, '--set', 'surface.cellM=3', '--set', 'surface.statistic=hypotheses', '--doubtful', '--json']);
    expect(listed.code, listed.err).toBe(0);
    const { surface, doubtful } = listed.json<Listed>();
    expect(doubtful.length).toBe(surface.hypotheses.doubtful);
    expect(doubtful.length).toBeGreaterThan(0);
    for (const { depths, strength } of doubtful) {
      expect(depths.filter(({ stands }) => stands)).toHaveLength(1);
      const stands = depths.find((one) => one.stands)!;
      const most = Math.max(...depths.filter((one) => !one.stands).map(({ soundings }) => soundings));
      expect(most).toBeGreaterThanOrEqual(stands.soundings / 2);
      expect(strength).toBeCloseTo(Math.max(0, 1 - most / stands.soundings), 5);
    }
    const cell = doubtful[0]!;
    const other = cell.depths.find(({ stands }) => !stands)!;

    const text = await tallow(['depths', folder, '--doubtful']);
    expect(text.out).toContain('Cells in doubt, the weakest first');
    const hint = /--choose=(-?[\d.]+),(-?[\d.]+)=([\d.]+)/.exec(text.out)!;
    expect([Number(hint[1]), Number(hint[2]), Number(hint[3])]).toEqual([expect.closeTo(cell.latDeg, 5), expect.closeTo(cell.lonDeg, 5), expect.closeTo(other.depthM, 2)]);

    // As the hint says it.
    const chosen = await tallow(['depths', folder, hint[0]]);
    expect(chosen.code, chosen.err).toBe(0);
    expect(chosen.out).toContain(`Chosen by hand: ${other.depthM.toFixed(2)} m at`);
    expect(chosen.out).toContain('1 chosen by hand');
    expect(await drawn(cell.row, cell.col)).toBeCloseTo(other.depthM, 4);
    expect(await readFile(path.join(folder, 'journal.jsonl'), 'utf8')).toContain('"kind":"hypothesis"');

    await tallow(['journal', folder, '--undo']);
    await tallow(['build', folder]);
    expect(await drawn(cell.row, cell.col)).toBeCloseTo(cell.depths.find(({ stands }) => stands)!.depthM, 4);
  });

  it('a choice that fits no cell or no depth, or is misspelt, is refused with what there is; nothing is written', async () => {
    const { doubtful } = (await tallow(['depths', folder, '--doubtful', '--json'])).json<Listed>();
    const { latDeg, lonDeg, depths } = doubtful[0]!;
    const place = `${latDeg},${lonDeg}`;
    const before = await readFile(path.join(folder, 'journal.jsonl'), 'utf8');
    expect(complaint(await tallow(['depths', folder, `--choose=${place}=${depths[0]!.depthM}`, `--choose=${place}=999`]))).toMatch(/has no depth near 999 m: expected one of [\d., ]+ m/);
    expect(complaint(await tallow(['depths', folder, '--choose=10,-29.9=5']))).toMatch(/no cell with several depths lies at 10, -29\.9; the nearest is [\d.]+ m away, at \d/);
    expect(complaint(await tallow(['depths', folder, `--choose=${place}`]))).toMatch(/--choose: expected LAT,LON=DEPTH/);
    expect(await readFile(path.join(folder, 'journal.jsonl'), 'utf8')).toBe(before);
  });
});
