import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { tallow } from './run-tallow.js';

interface Comparison {
  readonly surfaces: { readonly best: string; readonly methods: readonly { readonly fill: string; readonly leftOut: { readonly count: number; readonly rmsM: number; readonly lines: number } }[] };
}

describe('tallow prove', () => {
  let folder = '';
  beforeAll(async () => {
    folder = await mkdtemp(path.join(tmpdir(), 'prove-cli-'));
  });
  afterAll(() => rm(folder, { recursive: true, force: true }));

  it('depths --compare-surfaces: says which way of filling errs least on the lines left out, in words and as JSON', { timeout: 300_000 }, async () => {
    const survey = path.join(folder, 'survey');
    expect((await tallow(['prove', survey, '--size', 'bank', '--seed', '4'])).code).toBe(0);
    const run = await tallow(['depths', survey, '--compare-surfaces', '--json']);
    expect(run.code).toBe(0);
    const { surfaces } = run.json<Comparison>() as Comparison;
    expect(surfaces.methods.map(({ fill }) => fill)).toEqual(['triangulation', 'natural-neighbour', 'spline', 'kriging']);
    const [first] = surfaces.methods;
    for (const { leftOut } of surfaces.methods) {
      expect(leftOut.count).toBeGreaterThan(1000);
      expect(leftOut.lines).toBe(first!.leftOut.lines);
      expect(leftOut.rmsM).toBeGreaterThan(0.03);
      expect(leftOut.rmsM).toBeLessThan(0.3);
    }
    const least = surfaces.methods.reduce((a, b) => (b.leftOut.rmsM < a.leftOut.rmsM ? b : a));
    expect(surfaces.best).toBe(least.fill);
    // Of larger cells, which is sooner done.
    const words = await tallow(['depths', survey, '--set', 'surface.cellM=2', '--compare-surfaces']);
    expect(words.code).toBe(0);
    for (const name of ['triangulation', 'natural neighbour', 'spline', 'kriging']) expect(words.out.toLowerCase()).toContain(name);
    expect(words.err).toMatch(/comparing surfaces/);
  });

  it('prove --sources: one source as words, as a table and as JSON, with progress', { timeout: 300_000 }, async () => {
    const run = await tallow(['prove', '--sources', '--source', 'heave-measured', '--seeds', '1', '--json']);
    expect(run.code).toBe(0);
    const [source] = run.json<{ sources: { key: string; corrected: { offM: number; onM: number }; soundings: { within: { share: number } } }[] }>().sources;
    expect(source!.key).toBe('heave-measured');
    expect(source!.corrected.offM).toBeGreaterThan(3 * source!.corrected.onM);
    expect(run.err).toMatch(/heave of 15 cm, measured to 3 cm: survey 1 of 1/);
    const table = await tallow(['prove', '--sources', '--source', 'heave-measured', '--seeds', '1', '--table']);
    expect(table.out).toMatch(/^\| source \| surveys \|/);
    expect(table.out).toMatch(/\| heave of 15 cm, measured to 3 cm \| 1 \|/);
    const words = await tallow(['prove', '--sources', '--source', 'heave-measured', '--seeds', '1']);
    expect(words.out).toMatch(/Correction: RMS 0\.1\d\d m without, 0\.0\d\d m with it/);
  });

  it('prove --sources: refuses a folder and a source that is none, and says which there are', async () => {
    const folderGiven = await tallow(['prove', path.join(folder, 'x'), '--sources']);
    expect(folderGiven.code).toBe(2);
    expect(folderGiven.err).toContain('--sources: makes many surveys and keeps none; leave the folder out');
    const unknown = await tallow(['prove', '--sources', '--source', 'weather']);
    expect(unknown.code).toBe(2);
    expect(unknown.err).toMatch(/--source: expected one of none, sounder, .*found "weather"/);
  });
});
