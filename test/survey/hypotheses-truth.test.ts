import path from 'node:path';
import { describe, expect, it } from 'vitest';
import { tvuLimitM } from '../../src/depths/orders.js';
import { readGeoTiff } from '../../src/formats/geotiff-read.js';
import type { Floor } from '../../src/proving/index.js';
import { openFileSource } from '../../src/survey/file-source.js';
import { makeProof } from '../../src/survey/make-demo.js';
import { temporaryFolder } from './temporary-folder.js';

/** Errors of the measured cells of a surface against the true floor at their centres. */
interface Errors {
  readonly rmsM: number;
  readonly p95M: number;
  /** Share inside the 95 % that is claimed. */
  readonly within: number;
  /** Cells off by more than half a metre. */
  readonly gross: number;
  readonly cells: number;
}

async function errorsOf(folder: string, floor: Floor): Promise<Errors> {
  const source = await openFileSource(path.join(folder, 'derived/surface/surface.tif'));
  const tiff = await readGeoTiff(source);
  await source.close();
  if (tiff.kind !== 'utm') throw new Error('expected a raster of metres');
  const { grid } = tiff;
  const [depth, uncertainty, soundings] = [0, 1, 2].map((band) => tiff.bands[band]!.values) as [Float32Array, Float32Array, Float32Array];
  const sizes: number[] = [];
  let [squares, within, gross] = [0, 0, 0];
  for (let cell = 0; cell < depth.length; cell++) {
    if (!(soundings[cell]! > 0)) continue;
    const error = Math.abs(depth[cell]! - floor.depthM(grid.westM + ((cell % grid.cols) + 0.5) * grid.cellM, grid.northM - (Math.floor(cell / grid.cols) + 0.5) * grid.cellM));
    sizes.push(error);
    squares += error * error;
    if (error <= uncertainty[cell]!) within++;
    if (error > 0.5) gross++;
  }
  sizes.sort((a, b) => a - b);
  const cells = sizes.length;
  return { rmsM: Math.sqrt(squares / cells), p95M: sizes[Math.floor(0.95 * cells)]!, within: within / cells, gross, cells };
}

/** Surfaces of one survey with one ping in twenty a spike, and bursts and second echoes besides, each statistic in turn. */
async function surfaces(seed: number, cleaned: boolean): Promise<Record<'mean' | 'median' | 'hypotheses', Errors>> {
  const folder = path.join(await temporaryFolder(), 'survey');
  const { desk, survey } = await makeProof(folder, seed, 'short', {}, { faults: { spikeShare: 0.05, burstShare: 0.01, doubleShare: 0.01 } });
  if (!cleaned) for (const [key, value] of [['outlierSigmas', 1e6], ['outlierFloorM', 100], ['slopeDeg', 89]] as const) await desk.set(`cleaning.${key}`, value);
  // Some dozen soundings a cell.
  await desk.set('surface.cellM', 2);
  const found: Partial<Record<'mean' | 'median' | 'hypotheses', Errors>> = {};
  for (const statistic of ['mean', 'median', 'hypotheses'] as const) {
    await desk.set('surface.statistic', statistic);
    await desk.build({}, 'surface');
    found[statistic] = await errorsOf(folder, survey.floor);
  }
  return found as Record<'mean' | 'median' | 'hypotheses', Errors>;
}

describe('hypotheses against the true floor, spikes, bursts and second echoes put in', () => {
  for (const seed of process.env['TALLOW_THOROUGH'] === '1' ? [1, 2, 3] : [1]) {
    it(`none cleaned away: a fifth of the error of means and medians at most, and claims that hold: seed ${seed}`, async () => {
      const { mean, median, hypotheses } = await surfaces(seed, false);
      expect(hypotheses.cells).toBe(median.cells);
      expect(hypotheses.rmsM).toBeLessThan(mean.rmsM / 5);
      expect(hypotheses.rmsM).toBeLessThan(median.rmsM / 5);
      // The floor is 10 m deep at most: 95 % within S-44 special order there.
      expect(hypotheses.p95M).toBeLessThan(tvuLimitM('special', 10));
      expect(median.p95M).toBeGreaterThan(hypotheses.p95M);
      expect(hypotheses.gross).toBeLessThan(median.gross / 2);
      expect(hypotheses.within).toBeGreaterThan(0.94);
    });
  }

  it('cleaned as usual: no worse than means and medians', async () => {
    const { mean, median, hypotheses } = await surfaces(1, true);
    expect(hypotheses.rmsM).toBeLessThan(1.02 * Math.min(mean.rmsM, median.rmsM));
    expect(hypotheses.within).toBeGreaterThan(0.95);
  });
});
