import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { createRandom } from '../src/base/random.js';
import type { BlockStatistics } from '../src/depths/blocks.js';
import { gridSoundings } from '../src/depths/blocks.js';
import type { BenchResult } from './bench.js';
import { keep, measureInTurn } from './bench.js';
import { hasProgram } from './has-program.js';

const POINTS = 10_000_000;
const REPEATS = 5;
const BUDGET = 5;
const GRID = { westM: 0, northM: 1000, cellM: 1, cols: 1000, rows: 1000 };

/** Random order is the worst for the cache; along lines is how a survey comes. */
function points(order: 'random' | 'along lines'): Float32Array {
  const random = createRandom(20260301);
  const xyz = new Float32Array(3 * POINTS);
  for (let i = 0; i < POINTS; i++) {
    const along = i / POINTS;
    const line = Math.floor(along * 500);
    xyz[3 * i] = order === 'random' ? 1000 * random.uniform() : Math.min(999.99, 2 * line + 2 * random.uniform());
    xyz[3 * i + 1] = order === 'random' ? 1000 * random.uniform() : 999.99 * (along * 500 - line);
    xyz[3 * i + 2] = 10 + Math.sin(xyz[3 * i]! / 30) + 0.2 * random.normal();
  }
  return xyz;
}

function ours(file: string): BlockStatistics {
  const bytes = readFileSync(file);
  const xyz = new Float32Array(bytes.buffer, bytes.byteOffset, 3 * POINTS);
  const xM = new Float64Array(POINTS);
  const yM = new Float64Array(POINTS);
  const depthM = new Float32Array(POINTS);
  for (let i = 0; i < POINTS; i++) {
    xM[i] = xyz[3 * i]!;
    yM[i] = xyz[3 * i + 1]!;
    depthM[i] = xyz[3 * i + 2]!;
  }
  return gridSoundings({ xM, yM, depthM }, GRID, { statistics: ['count', 'mean', 'median', 'min', 'max', 'deviation'] });
}

/**
 * Six block statistics of 10 M soundings against GMT blockmedian, which computes one. Both start from the same file of
 * float32 triples: GMT's fastest input (doubles take it nearly twice as long), its binary output thrown away.
 */
export async function run(): Promise<BenchResult[]> {
  const folder = mkdtempSync(path.join(tmpdir(), 'blocks-'));
  try {
    const results: BenchResult[] = [];
    for (const order of ['random', 'along lines'] as const) {
      const file = path.join(folder, 'points.bin');
      writeFileSync(file, points(order));
      const peers = hasProgram('gmt')
        ? [
            () =>
              execFileSync('sh', ['-c', `gmt blockmedian points.bin -bi3f -R0/1000/0/1000 -I1 -r -C -bo3f > /dev/null`], { cwd: folder, stdio: ['ignore', 'ignore', 'inherit'] }),
          ]
        : [];
      const [own, peer] = await measureInTurn([() => keep(ours(file).median![500_500]!), ...peers], REPEATS);
      const ratio = peer ? peer.median / own!.median : null;
      results.push({
        name: `gridSoundings: count, mean, median, min, max, deviation, n=1e7 on 1000 x 1000, ${order}, from file`,
        ours: { ...own!, unit: 's' },
        peer: peer ? { name: 'GMT blockmedian -bi3f', ...peer } : null,
        ratio,
        budget: 'at most 1/5 of the time of GMT blockmedian on the same points',
        met: ratio !== null && ratio >= BUDGET,
      });
    }
    return results;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
