import { mkdtemp, readFile, rm, stat, writeFile } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { ellipseOf } from '../../src/finds/place.js';
import { writeSegySonar } from '../../src/formats/segy-write.js';
import { createSideScanGround, type SideScanGround } from '../../src/proving/index.js';
import { makeAtomic } from '../../src/survey/atomic-file.js';
import { complaint, tallow } from './run-tallow.js';

/** A survey with a side-scan log over plain ground with three boxes, through the command line as a crew would. */
describe('finds', () => {
  let top: string;
  let folder: string;
  let ground: SideScanGround;
  beforeAll(async () => {
    top = await mkdtemp(path.join(os.tmpdir(), 'tallow-finds-'));
    folder = path.join(top, 'survey');
    const scene = { ground: 'plain', lines: 2, lengthM: 90, spacingM: 25, depthM: 5 } as const;
    const { lines } = createSideScanGround(3, { ...scene, objects: 0 });
    const [ax, ay, bx, by] = lines[0]!.path as unknown as [number, number, number, number];
    const lengthM = Math.hypot(bx - ax, by - ay);
    const [ux, uy] = [(bx - ax) / lengthM, (by - ay) / lengthM];
    const objects = [[20, 12], [45, 14], [70, 10]].map(([along, off], i) => ({ name: `box ${i}`, shape: 'box' as const, xM: ax + along! * ux + off! * uy, yM: ay + along! * uy - off! * ux, lengthM: 1, widthM: 1, heightM: 0.5, headingDeg: 90, strengthDb: 0, natural: false }));
    ground = createSideScanGround(3, { ...scene, objects });
    expect((await tallow(['new', folder, '--name', 'Planted boxes'])).code).toBe(0);
    await writeFile(path.join(top, ground.nmea.file), ground.nmea.bytes);
    const { file, reader } = ground.logs[0]!;
    await makeAtomic(path.join(top, file), async (sink) => void (await writeSegySonar(sink, { heads: reader.heads, read: (start, end) => reader.read(start, end) })));
    const settings = JSON.parse(await readFile(path.join(folder, 'survey.json'), 'utf8')) as Record<string, unknown>;
    const { mount, draftM } = ground.sonar;
    await writeFile(path.join(folder, 'survey.json'), JSON.stringify({ ...settings, ...ground.settings, sonar: { mount, draftM } }, null, 2));
    const taken = await tallow(['take-in', folder, path.join(top, ground.nmea.file), path.join(top, file)]);
    expect(taken.code, taken.err).toBe(0);
  });
  afterAll(() => rm(top, { recursive: true, force: true }));

  interface Listed { number: number; id: string; state: string; name: string; passes: number; confidence: number; place: { xM: number; yM: number; xx: number; xy: number; yy: number }; sightings: string[] }
  const run = async (...more: string[]): Promise<{ list: Listed[]; search: { chanceMean: number; expectedLeft: number; expectedBefore: number }; finds: { confirmed: number; rejected: number }; ran: { step: string }[] }> => {
    const done = await tallow(['finds', folder, '--json', ...more]);
    expect(done.code, done.err).toBe(0);
    return done.json();
  };

  it('boxes are found from both lines where they lie; the chance of a miss is said', async () => {
    const { list, search } = await run();
    for (const object of ground.objects) {
      const near = list.find(({ place }) => Math.hypot(place.xM - object.xM, place.yM - object.yM) < 2.5);
      expect(near, object.name).toBeDefined();
      expect(ellipseOf(near!.place).majorM).toBeLessThan(1.5);
    }
    expect(list[0]!.confidence).toBeGreaterThan(0.9);
    expect(search.chanceMean).toBeGreaterThan(0);
    expect(search.expectedLeft).toBeLessThan(search.expectedBefore);
    expect((await stat(path.join(folder, 'derived/finds/search.tif'))).size).toBeGreaterThan(1000);
    const finds = JSON.parse(await readFile(path.join(folder, 'derived/finds/finds.json'), 'utf8')) as { sightings: { chip: string | null }[] };
    const chip = finds.sightings.find((one) => one.chip !== null)!.chip!;
    expect((await readFile(path.join(folder, chip))).subarray(1, 4).toString()).toBe('PNG');
  }, 240_000);

  it('decisions: confirmed, named, rejected, undone, and in the products; a find that is not there is named', async () => {
    const before = (await run()).list;
    const looked = await readFile(path.join(folder, 'derived/sightings.made.json'), 'utf8');
    const searched = await readFile(path.join(folder, 'derived/search.made.json'), 'utf8');
    const after = await run('--confirm', '1', '--describe', '1', '--name', 'block, square', '--reject', '2', '--note', 'a stone');
    expect(after.finds).toMatchObject({ confirmed: 1, rejected: 1 });
    expect(after.list[0]).toMatchObject({ id: before[0]!.id, state: 'confirmed', name: 'block, square' });
    // What is decided on finds needs no new look at the pictures.
    expect(after.ran.map(({ step }) => step)).toEqual(['finds']);
    expect(await readFile(path.join(folder, 'derived/sightings.made.json'), 'utf8')).toBe(looked);
    expect(await readFile(path.join(folder, 'derived/search.made.json'), 'utf8')).toBe(searched);
    expect((await tallow(['journal', folder, '--undo'])).out).toContain('find: named block, square');
    expect((await run()).list[0]!.name).toBe('');
    const bad = await tallow(['finds', folder, '--confirm', '999']);
    expect(bad.code).toBe(2);
    expect(complaint(bad)).toContain('there is no find "999"');
    const made = await tallow(['report', folder]);
    expect(made.code, made.err).toBe(0);
    const csv = await readFile(path.join(folder, 'products/finds.csv'), 'utf8');
    expect(csv.trim().split('\r\n')).toHaveLength(before.length);
    expect(await readFile(path.join(folder, 'products/finds.gpx'), 'utf8')).toContain('<wpt ');
    const report = await readFile(path.join(folder, 'products/report.html'), 'utf8');
    expect(report).toContain('Lifting or disturbing anything is for licensed people');
    expect(report).toContain('data:image/png;base64');
    expect((await tallow(['check', folder])).code).toBe(0);
  }, 240_000);
});
