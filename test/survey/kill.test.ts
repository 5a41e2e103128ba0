import { spawn } from 'node:child_process';
import { mkdir, readFile } from 'node:fs/promises';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { checkFolder } from '../../src/survey/check-folder.js';
import { createFolder, placeIn } from '../../src/survey/folder.js';
import { readJournal } from '../../src/survey/journal.js';
import { readManifest } from '../../src/survey/manifest.js';
import { temporaryFolder } from './temporary-folder.js';

const CHILD = fileURLToPath(new URL('kill-child.mjs', import.meta.url));
const SEED = 20260617;

/** Runs the child and kills it a time after it has said so many lines (the first is that it is ready); gives the whole lines it had said. */
function runAndKill(args: readonly string[], afterLines: number, afterMs: number): Promise<string[]> {
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, [CHILD, ...args], { stdio: ['ignore', 'pipe', 'pipe'] });
    let out = '';
    let err = '';
    let armed = false;
    child.stdout.on('data', (data: Buffer) => {
      out += data.toString();
      if (!armed && out.split('\n').length > afterLines) {
        armed = true;
        setTimeout(() => child.kill('SIGKILL'), afterMs);
      }
    });
    child.stderr.on('data', (data: Buffer) => (err += data.toString()));
    child.on('error', reject);
    child.on('close', (_code, signal) => (signal === 'SIGKILL' ? resolve(out.slice(0, out.lastIndexOf('\n') + 1).split('\n').filter((line) => line !== '')) : reject(new Error(`the child ended by itself: ${err}`))));
  });
}

/** Kills of each kind; TALLOW_THOROUGH=1 gives a hundred. */
const KILLS = process.env['TALLOW_THOROUGH'] === '1' ? 100 : 16;

describe('a killed process', () => {
  it(`journal: every acknowledged decision survives ${KILLS} kills`, { timeout: 300_000 }, async () => {
    const random = createRandom(SEED);
    const folder = path.join(await temporaryFolder(), 'survey');
    await createFolder(folder, { name: 'killed' });
    const acknowledged = new Map<number, number>();
    for (let round = 0; round < KILLS; round++) {
      for (const line of await runAndKill([folder, folder, String(round), 'journal'], 1 + random.integer(4), 30 * random.uniform())) {
        const [word, number, record] = line.split(' ');
        expect(word === 'ready' || word === 'decision', line).toBe(true);
        if (word === 'decision') acknowledged.set(Number(number), Number(record));
      }
    }
    const { entries } = await readJournal(placeIn(folder, 'journal.jsonl'));
    expect(acknowledged.size, `seed ${SEED}`).toBeGreaterThan(KILLS);
    for (const [number, record] of acknowledged) expect(entries[number - 1]).toMatchObject({ number, kind: 'set-aside', soundings: [{ recordStart: record }] });
    expect((await checkFolder(folder, true)).faults).toEqual([]);
  });

  it(`take-in: every acknowledged log survives ${KILLS} kills`, { timeout: 300_000 }, async () => {
    const random = createRandom(SEED + 1);
    const top = await temporaryFolder();
    const folder = path.join(top, 'survey');
    const work = path.join(top, 'card');
    await mkdir(work);
    await createFolder(folder, { name: 'killed' });
    const acknowledged = new Set<string>();
    for (let round = 0; round < KILLS; round++) {
      for (const line of await runAndKill([folder, work, String(round), 'take-in'], 1 + random.integer(3), 100 * random.uniform())) {
        const [word, sha256] = line.split(' ');
        expect(word === 'ready' || word === 'log', line).toBe(true);
        if (word === 'log') acknowledged.add(sha256 as string);
      }
    }
    const { logs } = await readManifest(folder);
    expect(acknowledged.size, `seed ${SEED + 1}`).toBeGreaterThan(KILLS / 2);
    const kept = new Set(logs.map((log) => log.sha256));
    for (const sha256 of acknowledged) expect(kept.has(sha256)).toBe(true);
    // The check hashes every raw log against the manifest.
    expect((await checkFolder(folder, true)).faults).toEqual([]);
    expect(await readFile(placeIn(folder, 'survey.json'), 'utf8')).toContain('"killed"');
  });
});
