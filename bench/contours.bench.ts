import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { createRandom } from '../src/base/random.js';
import { contourLines } from '../src/depths/contour.js';
import type { BenchResult } from './bench.js';
import { keep, measureInTurn } from './bench.js';
import { hasProgram } from './has-program.js';

const SIZE = 1000;
const GRID = { westM: 0, northM: SIZE, cellM: 1, cols: SIZE, rows: SIZE };

/** Depths of a rolling floor with the roughness that soundings of 0.1 m uncertainty leave on it. */
function surface(): Float32Array {
  const random = createRandom(20260303);
  return Float32Array.from({ length: SIZE * SIZE }, (_, cell) => {
    const x = cell % SIZE;
    const y = Math.floor(cell / SIZE);
    return 20 + 8 * Math.sin(x / 90) * Math.cos(y / 120) + 2 * Math.sin(x / 21 + y / 33) + 0.05 * random.normal();
  });
}

/**
 * Contours at 0.5 m of a 1000 x 1000 surface against gdal_contour. Both read the same raw float32 raster; GDAL keeps its
 * contours in memory (its fastest output) and its start-up is in its time.
 */
export async function run(): Promise<BenchResult[]> {
  const folder = mkdtempSync(path.join(tmpdir(), 'contours-'));
  try {
    const file = path.join(folder, 'floor.bin');
    writeFileSync(file, surface());
    writeFileSync(
      path.join(folder, 'floor.hdr'),
      `ENVI\nsamples = ${SIZE}\nlines = ${SIZE}\nbands = 1\ndata type = 4\nbyte order = 0\ninterleave = bsq\nmap info = {frame, 1, 1, 0, ${SIZE}, 1, 1}\n`,
    );
    const ours = (smooth: boolean) => () => {
      const bytes = readFileSync(file);
      keep(contourLines({ grid: GRID, values: new Float32Array(bytes.buffer, bytes.byteOffset, SIZE * SIZE) }, { intervalM: 0.5, smooth }).n);
    };
    const peers = hasProgram('gdal_contour')
      ? [() => execFileSync('gdal_contour', '-q -a level -i 0.5 -f Memory floor.bin contours'.split(' '), { cwd: folder, stdio: 'ignore' })]
      : [];
    const [plain, smooth, peer] = await measureInTurn([ours(false), ours(true), ...peers]);
    return [
      ['contourLines: 0.5 m, 1000 x 1000, from file', plain!] as const,
      ['contourLines: 0.5 m, smoothed, 1000 x 1000, from file', smooth!] as const,
    ].map(([name, own]) => {
      const ratio = peer ? peer.median / own.median : null;
      return {
        name,
        ours: { ...own, unit: 's' as const },
        peer: peer ? { name: 'gdal_contour -f Memory', ...peer } : null,
        ratio,
        budget: 'no slower than gdal_contour',
        met: ratio !== null && ratio >= 1,
      };
    });
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
