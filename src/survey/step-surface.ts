import type { ErrorParts } from '../depths/error-parts.js';
import { quantile } from '../base/statistics.js';
import { leaveLinesOut, type LeftOut } from '../depths/left-out.js';
import { straightRuns } from '../depths/line-of.js';
import { filledSurface, type FillMethod, type FillOptions, type SoundingSurface } from '../depths/surface.js';
import { writeGeoTiff } from '../formats/geotiff-write.js';
import { readGeoTiff } from '../formats/geotiff-read.js';
import { makeAtomic, writeMade } from './atomic-file.js';
import { openFileSource } from './file-source.js';
import { PLACES, placeIn, readTextIfThere } from './folder.js';
import { boxOf, surfaceGrid } from './raster-size.js';
import { needFrame } from './survey-frame.js';
import { HYPOTHESES_PLACE, hypothesisBands, hypothesisDecisionsOf, hypothesisFigures, writeHypotheses } from './hypotheses-file.js';
import { readLineFeatures } from './plan-files.js';
import type { PlacedSoundings } from './soundings-file.js';
import { SOUNDING_FIGURES, soundingsOf } from './step-soundings.js';
import type { Made, Step, StepWork } from './step-graph.js';
import type { SoundingsSummary, SurfaceSummary } from './summary.js';
import { depthsBelow } from '../water/depth-datum.js';

/** Figures of the surface, beside the raster. */
export const SURFACE_FIGURES = 'derived/surface/surface.json';

/** The error from leaving whole lines out, beside the raster. */
export const LEFT_OUT_PLACE = 'derived/surface/left-out.json';

/** The ways of filling that `compareSurfaces` tries. */
export const FILL_METHODS = ['triangulation', 'natural-neighbour', 'spline', 'kriging'] as const satisfies readonly FillMethod[];

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

/** The main line each sounding was run on, by the plan, else by the track's own straight runs; -1 on none. */
async function mainLinesOf(work: StepWork, soundings: PlacedSoundings): Promise<Int32Array> {
  if (!soundings.line.some((number) => number >= 0)) return straightRuns(soundings, { headingDeg: 30, minRunM: 20 }).run;
  const main = new Set((await readLineFeatures(work.folder))?.filter(({ kind }) => kind === 'main').map(({ number }) => number));
  return soundings.line.map((number) => (main.has(number) ? number : -1));
}

/** What of the soundings' errors is each one's, each pass's and the survey's, by the budget of survey.json; heave is as good as measured where it was. */
async function errorPartsOf(work: StepWork, { measuredM, depthM, reason }: PlacedSoundings): Promise<ErrorParts> {
  const { uncertainty: u, water, sounder } = work.settings;
  const byHeights = water.level.kind === 'gnss-height';
  const figures = await readTextIfThere(placeIn(work.folder, SOUNDING_FIGURES));
  const { corrections } = (figures === null ? { corrections: [] } : JSON.parse(figures)) as Pick<SoundingsSummary, 'corrections'>;
  const heaved = corrections.some(({ column, leastM, mostM }) => column === 'heaveM' && mostM > leastM);
  const deeper = quantile(Float64Array.from(measuredM, (one, i) => one - depthM[i]!).filter((one, i) => reason[i] === 0 && one === one), 0.5);
  return { deeperM: deeper === deeper ? deeper : 0, eachM: u.sounderM, eachShare: u.sounderShare, passM: byHeights ? u.gnssHeightM : heaved ? u.heaveMeasuredM : u.heaveM, commonM: byHeights ? u.separationM : Math.hypot(u.draftM, u.squatM, u.waterLevelM, u.zoningM), commonShare: u.soundSpeedMps / sounder.soundSpeedSetMps };
}

/** The left-out error of every way of filling, with the other settings as they are; null where no surface can be made. */
export async function compareSurfaces(work: StepWork): Promise<{ readonly fill: FillMethod; readonly leftOut: LeftOut }[] | null> {
  const soundings = await soundingsOf(work);
  const box = boxOf(soundings.xM, soundings.yM, (row) => soundings.reason[row] === 0);
  if (box === null) return null;
  const { statistic, hypothesis, tension, fillDistanceM, cellM } = work.settings.surface;
  const grid = surfaceGrid(box, cellM);
  const lines = await mainLinesOf(work, soundings);
  const errorParts = await errorPartsOf(work, soundings);
  const found: { fill: FillMethod; leftOut: LeftOut }[] = [];
  for (const [k, fill] of FILL_METHODS.entries()) {
    work.context.progress?.('comparing surfaces', k / FILL_METHODS.length, fill);
    const leftOut = await leaveLinesOut(soundings, lines, grid, { statistic, hypothesis, errorParts, fill, tension, fillDistanceM }, { ...work.context, progress: () => undefined });
    if (leftOut !== null) found.push({ fill, leftOut });
  }
  return found;
}

export const stepSurface: Step = {
  name: 'surface',
  version: 9,
  after: ['soundings'],
  settings: ['surface.cellM', 'surface.statistic', 'surface.hypothesis', 'surface.fill', 'surface.tension', 'surface.fillDistanceM', 'uncertainty', 'water.level', 'corrections.waterLevel', 'frame', 'datum', 'name'],
  files: () => [PLACES.lines],
  extra: ({ settings, decisions }) => (settings.surface.statistic === 'hypotheses' ? JSON.stringify(decisions.filter(({ kind }) => kind === 'hypothesis')) : ''),
  async run(work): Promise<Made> {
    const soundings = await soundingsOf(work);
    const { settings } = work;
    const box = boxOf(soundings.xM, soundings.yM, (row) => soundings.reason[row] === 0);
    if (box === null) {
      work.memory.set('surface', null);
      const text = 'null\n';
      return { [SURFACE_FIGURES]: await writeMade(placeIn(work.folder, SURFACE_FIGURES), text) };
    }
    const frame = await needFrame(work.folder, settings, work.logs);
    const grid = surfaceGrid(box, settings.surface.cellM);
    work.context.progress?.('surface', 0.1, `${grid.cols} x ${grid.rows} cells of ${grid.cellM} m`);
    const { statistic, hypothesis, fill, tension, fillDistanceM } = settings.surface;
    const errorParts = await errorPartsOf(work, soundings);
    const hypothesisDecisions = statistic === 'hypotheses' ? hypothesisDecisionsOf(work.decisions, frame) : [];
    const options: FillOptions = { statistic, hypothesis, hypothesisDecisions, errorParts, fill, tension, fillDistanceM };
    const leftOut = await leaveLinesOut(soundings, await mainLinesOf(work, soundings), grid, options, work.context);
    const bridging = leftOut === null || Number.isNaN(leftOut.bridging) ? 1 : leftOut.bridging;
    const surface = await filledSurface(soundings, grid, { ...options, bridging }, work.context);
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
            ...hypothesisBands(surface),
          ],
          description: `${settings.name}: depth below ${depthsBelow(settings)}, positive down. Not for navigation.`,
          metadata: { datum: depthsBelow(settings), statistic, fill, fillDistanceM: String(fillDistanceM) },
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
      ...(surface.hypotheses ? { hypotheses: hypothesisFigures(surface.hypotheses) } : {}),
      fill,
      leftOut,
    };
    const text = `${JSON.stringify(figures, null, 2)}\n`;
    const leftOutText = `${JSON.stringify(leftOut, null, 2)}\n`;
    return {
      ...(surface.hypotheses ? { [HYPOTHESES_PLACE]: await writeHypotheses(placeIn(work.folder, HYPOTHESES_PLACE), surface.hypotheses, frame) } : {}),
      [LEFT_OUT_PLACE]: await writeMade(placeIn(work.folder, LEFT_OUT_PLACE), leftOutText),
      [PLACES.surface]: made,
      [SURFACE_FIGURES]: await writeMade(placeIn(work.folder, SURFACE_FIGURES), text),
    };
  },
};
