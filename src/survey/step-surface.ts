import { filledSurface, type SoundingSurface } from '../depths/surface.js';
import { writeGeoTiff } from '../formats/geotiff-write.js';
import { readGeoTiff } from '../formats/geotiff-read.js';
import { makeAtomic, writeAtomic } from './atomic-file.js';
import { openFileSource } from './file-source.js';
import { PLACES, placeIn } from './folder.js';
import { boxOf, surfaceGrid } from './raster-size.js';
import { needFrame } from './survey-frame.js';
import { soundingsOf } from './step-soundings.js';
import type { Made, Step, StepWork } from './step-graph.js';
import type { SurfaceSummary } from './summary.js';

/** Figures of the surface, beside the raster. */
export const SURFACE_FIGURES = 'derived/surface/surface.json';

/** What later steps need of the surface. Arrays [rows * cols], row 0 = north. */
export interface StoredSurface {
  readonly grid: SoundingSurface['grid'];
  readonly depthM: Float32Array;
  readonly uncertaintyM: Float32Array;
  readonly count: Float32Array;
}

/** The surface: from this run's memory, or from its file; null where there was nothing to make one of. */
export async function surfaceOf(work: StepWork): Promise<StoredSurface | null> {
  if (work.memory.has('surface')) return work.memory.get('surface') as StoredSurface | null;
  let source;
  try {
    source = await openFileSource(placeIn(work.folder, PLACES.surface));
  } catch {
    return null;
  }
  try {
    const tiff = await readGeoTiff(source);
    if (tiff.kind !== 'utm') return null;
    const [depth, uncertainty, count] = tiff.bands;
    const stored = { grid: tiff.grid, depthM: depth!.values, uncertaintyM: uncertainty!.values, count: count!.values };
    work.memory.set('surface', stored);
    return stored;
  } finally {
    await source.close();
  }
}

export const stepSurface: Step = {
  name: 'surface',
  version: 3,
  after: ['soundings'],
  settings: ['surface.cellM', 'surface.statistic', 'surface.fill', 'surface.tension', 'surface.fillDistanceM', 'frame', 'datum', 'name'],
  files: () => [],
  async run(work): Promise<Made> {
    const soundings = await soundingsOf(work);
    const { settings } = work;
    const box = boxOf(soundings.xM, soundings.yM, (row) => soundings.reason[row] === 0);
    if (box === null) {
      work.memory.set('surface', null);
      const text = 'null\n';
      return { [SURFACE_FIGURES]: { sha256: await writeAtomic(placeIn(work.folder, SURFACE_FIGURES), text), bytes: text.length } };
    }
    const frame = await needFrame(work.folder, settings, work.logs);
    const grid = surfaceGrid(box, settings.surface.cellM);
    work.context.progress?.('surface', 0.1, `${grid.cols} x ${grid.rows} cells of ${grid.cellM} m`);
    const { statistic, fill, tension, fillDistanceM } = settings.surface;
    const surface = await filledSurface(soundings, grid, { statistic, fill, tension, fillDistanceM }, work.context);
    const count = Float32Array.from(surface.count);
    const depthM = surface.depth.values;
    const uncertaintyM = surface.uncertainty.values;
    for (let cell = 0; cell < count.length; cell++) if (Number.isNaN(depthM[cell] as number)) count[cell] = NaN;
    work.context.progress?.('surface', 0.6, 'writing');
    const made = await makeAtomic(placeIn(work.folder, PLACES.surface), async (sink) => {
      await writeGeoTiff(
        sink,
        {
          grid,
          epsg: frame.epsg,
          bands: [
            { name: 'depth', unit: 'm', values: depthM },
            { name: 'uncertainty 95 %', unit: 'm', values: uncertaintyM },
            { name: 'count', unit: '1', values: count },
          ],
          description: `${settings.name}: depth below ${settings.datum}, positive down. Not for navigation.`,
          metadata: { datum: settings.datum, statistic, fill, fillDistanceM: String(fillDistanceM) },
        },
        { deflateLevel: 4, ...(work.context.signal === undefined ? {} : { signal: work.context.signal }) },
      );
    });
    const stored: StoredSurface = { grid, depthM, uncertaintyM, count };
    work.memory.set('surface', stored);
    const figures: SurfaceSummary = {
      cellM: grid.cellM,
      cols: grid.cols,
      rows: grid.rows,
      cellsMeasured: surface.cellsMeasured,
      cellsFilled: surface.cellsFilled,
      depthMinM: surface.depthMinM,
      depthMaxM: surface.depthMaxM,
      uncertaintyMedianM: surface.uncertaintyMedianM,
    };
    const text = `${JSON.stringify(figures, null, 2)}\n`;
    return {
      [PLACES.surface]: made,
      [SURFACE_FIGURES]: { sha256: await writeAtomic(placeIn(work.folder, SURFACE_FIGURES), text), bytes: Buffer.byteLength(text) },
    };
  },
};
