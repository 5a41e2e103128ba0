import { coverageGaps, fillInLines, insideMask, type Gap, type Gaps } from '../depths/gaps.js';
import { tvuLimitM } from '../depths/orders.js';
import { polygonToLonLat } from '../geo/area-polygons.js';
import { writeGeoJson } from '../formats/geojson-write.js';
import { writeGpx } from '../formats/gpx-route-write.js';
import { fillInPlan } from '../lines/fill-in-plan.js';
import { linesToGeoJson, planToRoute } from '../lines/plan-output.js';
import { UseError } from '../base/errors.js';
import type { Frame } from '../geo/frame.js';
import type { Polygon, Polyline } from '../geo/shapes.js';
import { writeMade } from './atomic-file.js';
import { PLACES, placeIn } from './folder.js';
import { readLineFeatures, readNoGo, readPlanPolygons } from './plan-files.js';
import { gapsText } from './geojson-out.js';
import { cellCentre, rasterValueAt, type RasterGrid } from '../geo/raster.js';
import { boxOf, surfaceGrid, type Box } from './raster-size.js';
import { soundingsOf } from './step-soundings.js';
import { surfaceOf } from './step-surface.js';
import type { Made, Step, StepWork } from './step-graph.js';
import type { GapsSummary } from './summary.js';
import { needFrame } from './survey-frame.js';

/** Figures of the gaps. */
export const GAP_FIGURES = 'derived/gaps.json';

/** The fill-in lines as a route. */
const FILL_IN_GPX = 'derived/fill-in.gpx';

/** The coverage raster: as fine as a surface by itself would be, or a quarter of the reach where that is finer and still fits. */
function coverageGrid(box: Box, reachM: number): RasterGrid {
  const own = surfaceGrid(box, null);
  if (own.cellM <= reachM / 4) return own;
  try {
    return surfaceGrid(box, reachM / 4);
  } catch {
    return own;
  }
}

async function write(folder: string, place: string, text: string): Promise<{ sha256: string; bytes: number }> {
  return writeMade(placeIn(folder, place), text);
}

/** How far from a sounding a place counts as surveyed: as set, else half the line spacing and a tenth of it. */
export function reachOf({ settings: { gaps, lines } }: Pick<StepWork, 'settings'>): number {
  return gaps.reachM ?? 0.6 * lines.spacingM;
}

export const stepGaps: Step = {
  name: 'gaps',
  version: 4,
  after: ['soundings', 'surface'],
  settings: ['gaps.minAreaM2', 'gaps.reachM', 'gaps.order', 'order', 'lines.spacingM', 'lines.runInM', 'lines.runOutM', 'lines.headingDeg', 'lines.speedMps', 'frame', 'name'],
  files: () => [PLACES.area, PLACES.keepouts, PLACES.shore, PLACES.lines],
  async run(work): Promise<Made> {
    const area = await readPlanPolygons(work.folder, work.settings, 'area');
    if (area === null || area.length === 0) {
      work.memory.set('gaps', null);
      return { [GAP_FIGURES]: await write(work.folder, GAP_FIGURES, 'null\n') };
    }
    const frame = await needFrame(work.folder, work.settings, work.logs);
    const keepouts = await readNoGo(work.folder, work.settings);
    const soundings = await soundingsOf(work);
    const reachM = reachOf(work);
    const rings = area.map((polygon) => polygon.outer);
    const xM = Float64Array.from(rings.flatMap((ring) => Array.from(ring.filter((_, i) => i % 2 === 0))));
    const yM = Float64Array.from(rings.flatMap((ring) => Array.from(ring.filter((_, i) => i % 2 === 1))));
    const box = boxOf(xM, yM, () => true)!;
    // Soundings just outside the area reach into it.
    const wide = { westM: box.westM - reachM, southM: box.southM - reachM, eastM: box.eastM + reachM, northM: box.northM + reachM };
    const grid = coverageGrid(wide, reachM);
    const inside = insideMask(area, grid);
    const kept = insideMask(keepouts, grid);
    for (let cell = 0; cell < inside.length; cell++) if (kept[cell] !== 0) inside[cell] = 0;
    const sounded = new Uint8Array(grid.cols * grid.rows);
    for (let i = 0; i < soundings.n; i++) {
      if (soundings.reason[i] !== 0) continue;
      const col = Math.floor(((soundings.xM[i] as number) - grid.westM) / grid.cellM);
      const row = Math.floor((grid.northM - (soundings.yM[i] as number)) / grid.cellM);
      if (col >= 0 && col < grid.cols && row >= 0 && row < grid.rows) sounded[row * grid.cols + col] = 1;
    }
    work.context.progress?.('gaps', 0.3);
    const { minAreaM2 } = work.settings.gaps;
    const holes = coverageGaps({ grid, inside, sounded, reachM, minAreaM2 });
    const weak = work.settings.gaps.order ? await orderGaps(work, grid, inside, holes, minAreaM2) : [];
    const gaps: Gaps = { ...holes, gaps: [...holes.gaps, ...weak] };
    const { spacingM, runInM, runOutM, headingDeg } = work.settings.lines;
    const planned = await readLineFeatures(work.folder);
    const heading = planned?.find((line) => line.kind === 'main')?.headingDeg ?? headingDeg ?? 0;
    const fill = fillInLines(gaps, { spacingM, headingDeg: heading % 180, reachM, joinM: Math.max(spacingM, runInM + runOutM), navigable: navigable(kept) });
    const plan = fillPlan(fill.map(({ line }) => line), keepouts, frame, { runInM, runOutM, speedMps: work.settings.lines.speedMps });
    const figures: GapsSummary = {
      count: gaps.gaps.length,
      areaM2: gaps.gaps.reduce((sum, gap) => sum + gap.areaM2, 0),
      coveredShare: gaps.coveredShare,
      largestM2: gaps.gaps.reduce((most, gap) => Math.max(most, gap.areaM2), 0),
      weakCount: weak.length,
      weakM2: weak.reduce((sum, gap) => sum + gap.areaM2, 0),
      reachM,
      fillLines: plan.main.length,
      fillLengthM: plan.lengths.totalM,
      fillTimeS: plan.time.totalS,
    };
    return {
      [PLACES.gaps]: await write(work.folder, PLACES.gaps, gapsText(gaps.gaps.map((gap, index) => ({ ...gap, kind: index < holes.gaps.length ? 'hole' : 'order', lonLat: polygonToLonLat(gap.polygon, frame) })))),
      [PLACES.fillIn]: await write(work.folder, PLACES.fillIn, writeGeoJson(linesToGeoJson(plan, frame))),
      [FILL_IN_GPX]: await write(
        work.folder,
        FILL_IN_GPX,
        writeGpx({ name: `${work.settings.name} fill-in lines`, description: 'Lines that fill the gaps, in the order to run them. Not for navigation.', routes: plan.main.length === 0 ? [] : [planToRoute(plan, frame, 'fill-in lines')] }),
      ),
      [GAP_FIGURES]: await write(work.folder, GAP_FIGURES, `${JSON.stringify(figures, null, 2)}\n`),
    };
  },
};

/**
 * Where the surface stands but is not good enough: its 95 % exceeds what the order aimed at allows there. Cells between lines
 * count as well as sounded ones; holes are not looked at again.
 */
async function orderGaps(work: StepWork, grid: RasterGrid, inside: Uint8Array, holes: Gaps, minAreaM2: number): Promise<readonly Gap[]> {
  const surface = await surfaceOf(work);
  if (surface === null) return [];
  const depthAt = rasterValueAt({ grid: surface.grid, values: surface.depthM });
  const uncertaintyAt = rasterValueAt({ grid: surface.grid, values: surface.uncertaintyM });
  const weak = new Uint8Array(inside.length);
  for (let row = 0; row < grid.rows; row++) {
    for (let col = 0; col < grid.cols; col++) {
      const cell = row * grid.cols + col;
      if (inside[cell] === 0) continue;
      const [xM, yM] = cellCentre(grid, row, col);
      if (uncertaintyAt(xM, yM) > tvuLimitM(work.settings.order, depthAt(xM, yM))) weak[cell] = 1;
    }
  }
  for (const hole of holes.gaps) for (const cell of hole.cells) weak[cell] = 0;
  return coverageGaps({ grid, inside: weak, sounded: new Uint8Array(weak.length), reachM: 0, minAreaM2 }).gaps.map((gap) => ({ ...gap, furthestM: NaN }));
}

/** Fill-in lines in run order; one that a keep-out's edge still touches is left out. */
function fillPlan(lines: readonly Polyline[], keepouts: readonly Polygon[], frame: Frame, options: { runInM: number; runOutM: number; speedMps: number }) {
  try {
    return fillInPlan({ lines, keepouts, frame, options });
  } catch (error) {
    if (!(error instanceof UseError)) throw error;
    const clear = lines.filter((line) => {
      try {
        fillInPlan({ lines: [line], keepouts, frame, options });
        return true;
      } catch {
        return false;
      }
    });
    return fillInPlan({ lines: clear, keepouts, frame, options });
  }
}

/** Where a fill-in line may lie: anywhere but in a keep-out. */
function navigable(kept: Uint8Array): Uint8Array {
  return kept.map((cell) => (cell === 0 ? 1 : 0));
}
