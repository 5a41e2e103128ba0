import { writeFile } from 'node:fs/promises';
import { describe, test } from 'vitest';
import { measureRun, type CurveRun } from '../reference/finds/measure-curves.js';

const OUT = process.env['TALLOW_MEASURE_CURVES'];

describe.skipIf(OUT === undefined)('lateral range curves, measured anew (set TALLOW_MEASURE_CURVES to a file to run it)', () => {
  test('measure', { timeout: 3_600_000 }, async () => {
    const runs: Record<string, CurveRun[]> = {};
    for (let seed = 101; seed <= 110; seed++) {
      for (const [ground, sizeM] of [['plain', 0.6], ['rippled', 0.6], ['rocky', 0.6], ['plain', 0.3], ['plain', 1], ['plain', 2]] as const) {
        (runs[`${ground} ${sizeM}`] ??= []).push(await measureRun(ground, sizeM, seed % 2 === 0 ? 7 : 3.5, seed));
        await writeFile(OUT!, JSON.stringify(runs));
      }
    }
  });
});
