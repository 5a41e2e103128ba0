import { createHash } from 'node:crypto';
import { readFile, readdir, rm, stat } from 'node:fs/promises';
import path from 'node:path';
import { beforeAll, afterAll, describe, expect, it } from 'vitest';
import { mkdtemp } from 'node:fs/promises';
import os from 'node:os';
import { makeProof } from '../../src/survey/make-demo.js';
import { openDesk } from '../../src/survey/open-desk.js';
import { STEPS } from '../../src/survey/steps.js';
import { readSoundingsFile } from '../../src/survey/soundings-file.js';

async function hashes(folder: string, under: readonly string[]): Promise<Record<string, string>> {
  const found: Record<string, string> = {};
  for (const part of under) {
    for (const name of await readdir(path.join(folder, part), { recursive: true })) {
      const file = path.join(folder, part, name);
      if ((await stat(file)).isFile()) found[`${part}/${name}`] = createHash('sha256').update(await readFile(file)).digest('hex');
    }
  }
  // How long steps took is the one thing a rebuild need not give again.
  delete found['derived/timings.json'];
  return found;
}

describe('rebuild', () => {
  let top: string;
  let folder: string;
  beforeAll(async () => {
    top = await mkdtemp(path.join(os.tmpdir(), 'tallow-rebuild-'));
    folder = path.join(top, 'survey');
    const { desk } = await makeProof(folder, 5, 'short', {});
    await desk.build();
  });
  afterAll(() => rm(top, { recursive: true, force: true }));

  it('build: gives the same bytes when derived and products are deleted', async () => {
    const before = await hashes(folder, ['derived', 'products']);
    expect(Object.keys(before)).toEqual(expect.arrayContaining(['products/report.html', 'products/report.pdf', 'products/surface.tif', 'products/soundings.csv', 'products/contours.geojson', 'products/gaps.geojson', 'derived/soundings.made.json']));
    await rm(path.join(folder, 'derived'), { recursive: true });
    await rm(path.join(folder, 'products'), { recursive: true });
    const { ran } = await (await openDesk(folder)).build();
    expect(ran.map(({ step }) => step)).toEqual(STEPS.map(({ name }) => name));
    expect(await hashes(folder, ['derived', 'products'])).toEqual(before);
  });

  it('build: step by step gives the same bytes as all at once', async () => {
    const before = await hashes(folder, ['derived', 'products']);
    await rm(path.join(folder, 'derived'), { recursive: true });
    await rm(path.join(folder, 'products'), { recursive: true });
    for (const { name: step } of STEPS) {
      // A desk of its own for each: nothing is held in memory between them.
      expect((await (await openDesk(folder)).build({}, step)).ran.map((one) => one.step)).toContain(step);
    }
    expect(await hashes(folder, ['derived', 'products'])).toEqual(before);
  });

  it('build: does nothing when nothing has changed, and only what depends on a change', async () => {
    const desk = await openDesk(folder);
    expect((await desk.build()).ran).toEqual([]);
    await desk.set('contours.intervalM', 2);
    const { ran } = await desk.build();
    expect(ran.map(({ step }) => step)).toEqual(['contours', 'products', 'chart', 'report']);
    await desk.undo();
    await desk.build();
  });

  it('decide: a sounding set aside by hand leaves the surface, and undo brings every byte back', async () => {
    const desk = await openDesk(folder);
    const before = await hashes(folder, ['derived', 'products']);
    const soundings = await readSoundingsFile(path.join(folder, 'derived/soundings.parquet'));
    const row = soundings.reason.indexOf(0);
    const { logs } = await desk.summary();
    const record = soundings.record[row] as number;
    await desk.decide({ kind: 'set-aside', soundings: [{ log: logs[0]!.sha256.slice(0, 16), recordStart: record, recordEnd: record + 1 }] });
    const { summary } = await desk.build();
    expect(summary.soundings?.setAside['by-hand']).toBe(1);
    const after = await readSoundingsFile(path.join(folder, 'derived/soundings.parquet'));
    expect(after.reason[row]).toBe(10);
    expect(after.depthM[row]).toBe(soundings.depthM[row]);
    await desk.undo();
    await desk.build();
    const again = await hashes(folder, ['derived', 'products']);
    const changed = Object.keys(before).filter((name) => again[name] !== before[name]);
    // The report speaks of the journal, whose length has grown.
    expect(changed.filter((name) => !name.includes('report'))).toEqual([]);
  });
});
