import path from 'node:path';
import { readFile } from 'node:fs/promises';
import { describe, expect, it } from 'vitest';
import type { BoatCard } from '../../src/boat/boat-card.js';
import { temporaryFolder } from '../survey/temporary-folder.js';
import { complaint, tallow } from './run-tallow.js';

describe('trials', () => {
  it('shows the card with defaults marked, answers a question, and says no with exit code 1', async () => {
    const folder = path.join(await temporaryFolder(), 'survey');
    await tallow(['new', folder]);
    const shown = await tallow(['trials', folder]);
    expect(shown.code, shown.err).toBe(0);
    expect(shown.out).toMatch(/top speed through the water +2\.80 m\/s +± 1\.12 +\(DEFAULT\)/);
    expect(shown.out).toMatch(/13 of 13 figures are DEFAULTS usual for the class, not measured on this boat/);
    const card = JSON.parse(await readFile(path.join(folder, 'boat/card.json'), 'utf8')) as BoatCard;
    expect(card.figures.topSpeed?.value).toBe(2.8);
    const asked = await tallow(['trials', folder, '--ask', 'endurance', '--speed', '1.5', '--current', '0.4@210', '--course', '30']);
    expect(asked.code).toBe(0);
    expect(asked.out).toMatch(/Speed over the ground +1\.10 m\/s\n +Power +64\.8 ± 24\.0 W +\(DEFAULT\)\n +Endurance +18\.4 ± /);
    const no = await tallow(['trials', folder, '--ask', 'endurance', '--speed', '1', '--current', '1.2@180']);
    expect(no.code).toBe(1);
    expect(no.out).toMatch(/^No: at 1 m\/s the boat makes no way on this course/);
  });

  it('takes figures entered by hand, and names one that is none', async () => {
    const folder = path.join(await temporaryFolder(), 'survey');
    await tallow(['new', folder]);
    const shown = await tallow(['trials', folder, '--set', 'boat.hand={"topSpeed":{"value":2.6,"uncertainty95":0.05}}', '--json']);
    expect(shown.json<{ card: BoatCard }>().card.figures.topSpeed).toMatchObject({ value: 2.6, source: 'hand' });
    const wrong = await tallow(['trials', folder, '--set', 'boat.hand={"speed":{"value":2.6}}']);
    expect(wrong.code).toBe(2);
    expect(complaint(wrong)).toMatch(/boat\.hand\.speed: no such figure; figures are: topSpeed/);
    expect(complaint(await tallow(['trials', folder, '--set', 'boat.hand={}', '--ask', 'speed', '--speed', '1']))).toMatch(/--ask: expected endurance, range/);
    expect(complaint(await tallow(['trials', folder, '--ask', 'range', '--speed', '1', '--current', '0.4']))).toMatch(/--current: expected SPEED@DIRECTION/);
  });
});
