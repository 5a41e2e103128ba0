import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { createRandom } from '../src/base/random.js';
import { soundingSurface } from '../src/depths/surface.js';
import type { BenchResult } from './bench.js';
import { keep, measureInTurn } from './bench.js';
import { hasProgram } from './has-program.js';

const POINTS = 1_000_000;
const REPEATS = 5;
/** Sixteen soundings a cell. */
const GRID = { westM: 0, northM: 1000, cellM: 4, cols: 250, rows: 250 };

/**
 * Several depths a cell kept and told apart, from 1 M dense soundings of which one in twenty is a spike, beside a robust
 * statistic of a general-purpose program on the same points and cells: GMT blockmedian, which keeps one depth and no
 * uncertainty. Both from the same file of doubles.
 */
export async function run(): Promise<BenchResult[]> {
  const folder = mkdtempSync(path.join(tmpdir(), 'hypotheses-'));
  try {
    const random = createRandom(20261125);
    const xyz = new Float64Array(3 * POINTS);
    for (let i = 0; i < POINTS; i++) {
      const x = random.uniform() * 1000;
      const y = random.uniform() * 1000;
      const spikeM = random.uniform() < 0.05 ? 4 * random.normal() : 0;
      xyz.set([x, y, 10 + 2 * Math.sin(x / 30) + Math.cos(y / 50) + 0.1 * random.normal() + spikeM], 3 * i);
    }
    const file = path.join(folder, 'points.bin');
    writeFileSync(file, xyz);
    const points = () => {
      const bytes = readFileSync(file);
      const read = new Float64Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength));
      const column = (k: number) => {
        const out = new Float64Array(POINTS);
        for (let i = 0; i < POINTS; i++) out[i] = read[3 * i + k]!;
        return out;
      };
      return { xM: column(0), yM: column(1), depthM: column(2), tvuM: new Float32Array(POINTS).fill(0.25) };
    };
    const ours = (statistic: 'hypotheses' | 'median') => () => keep(soundingSurface(points(), GRID, { statistic, fillDistanceM: 0 }).depth.values[31_000]!);
    const peers = hasProgram('gmt') ? [() => execFileSync('sh', ['-c', `gmt blockmedian ${file} -bi3d -R0/1000/0/1000 -I4 -r -bo3d > medians.bin`], { cwd: folder, stdio: 'ignore' })] : [];
    const [hypotheses, median, peer] = await measureInTurn([ours('hypotheses'), ours('median'), ...peers], REPEATS);
    return [
      ['hypotheses: several depths a cell told apart', hypotheses!, 'at most ten times GMT blockmedian on the same points, which keeps one depth', 0.1] as const,
      ['median of each cell, beside it', median!, 'at most the time of GMT blockmedian on the same points', 1] as const,
    ].map(([name, own, budget, enough]) => {
      const ratio = peer ? peer.median / own.median : null;
      return { name: `soundingSurface: ${name}, nothing filled, with uncertainty, n=1e6 on 250 x 250, one in twenty a spike, from file`, ours: { ...own, unit: 's' as const }, peer: peer ? { name: 'GMT blockmedian -bi3d', ...peer } : null, ratio, budget, met: ratio !== null && ratio >= enough };
    });
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
