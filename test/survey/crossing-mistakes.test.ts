import { cp, readFile, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { describe, expect, it } from 'vitest';
import { makeProof } from '../../src/survey/make-demo.js';
import { openDesk } from '../../src/survey/open-desk.js';
import { temporaryFolder } from './temporary-folder.js';

/** Every depth of a log changed, as a draft that is wrong by so much would: DBT in its three units, checksums made anew. */
function withDepthsChanged(text: string, addM: number): string {
  return text.replace(/\$(..DBT,[^*\r\n]*)\*[0-9A-F]{2}/g, (whole, body: string) => {
    const fields = body.split(',');
    const depthM = Number(fields[3]) + addM;
    if (fields[3] === '' || !Number.isFinite(depthM)) return whole;
    [fields[1], fields[3], fields[5]] = [(depthM / 0.3048).toFixed(2), depthM.toFixed(2), (depthM / 1.8288).toFixed(2)];
    const changed = fields.join(',');
    let sum = 0;
    for (const letter of changed) sum ^= letter.charCodeAt(0);
    return `$${changed}*${sum.toString(16).toUpperCase().padStart(2, '0')}`;
  });
}

async function causesOf(folder: string): Promise<{ kind: string; value: number; half95: number; words: string; alsoKinds: string[] }[]> {
  const desk = await openDesk(folder);
  await desk.build({}, 'soundings');
  return (JSON.parse(await readFile(path.join(folder, 'derived/crossings.json'), 'utf8')) as { causes: { kind: string; value: number; half95: number; words: string; alsoKinds: string[] }[] }).causes;
}

/** Mistakes a crew makes, put into a survey of the proving ground that has all its usual errors. */
describe('crossings of a whole survey', () => {
  // TALLOW_THOROUGH=1 takes a second.
  for (const seed of process.env['TALLOW_THOROUGH'] === '1' ? [1, 7] : [1]) {
    it(`names a water level an hour off, a draft 5 cm off on the second trip, and nothing where nothing is wrong: seed ${seed}`, { timeout: 240_000 }, async () => {
      const parent = await temporaryFolder();
      const folder = path.join(parent, 'right');
      const { survey } = await makeProof(folder, seed, 'demo', {});
      expect(await causesOf(folder)).toEqual([]);

      const levelFile = path.join(folder, 'water/level.csv');
      const level = await readFile(levelFile, 'utf8');
      const hourLate = level.replace(/^\d{4}-[^,]*/gm, (time) => new Date(Date.parse(time) + 3_600_000).toISOString());
      await writeFile(levelFile, hourLate);
      const [tide] = await causesOf(folder);
      expect(tide).toMatchObject({ kind: 'tide-time' });
      expect(Math.abs(tide!.value - 3600)).toBeLessThan(600);
      expect(tide!.words).toContain('late');
      await writeFile(levelFile, level);

      const drafted = path.join(parent, 'draft');
      const [first, second] = survey.logFiles.map((name) => path.join(folder, 'logs', name)) as [string, string];
      const wrong = path.join(parent, path.basename(second));
      await writeFile(wrong, withDepthsChanged(await readFile(second, 'latin1'), 0.05), 'latin1');
      await cp(folder, drafted, { recursive: true, filter: (from) => !/[/](logs|derived)$/.test(from) });
      await (await openDesk(drafted)).takeIn([first, wrong]);
      const [draft] = await causesOf(drafted);
      expect([draft!.kind, ...draft!.alsoKinds]).toContain('trip-step');
      // The level at the boat swings by a centimetre or two against the gauge, and is not told apart from draft.
      expect(Math.abs(draft!.value - 0.05)).toBeLessThan(0.03);
      expect(draft!.words).toContain('draft');
    });
  }
});
