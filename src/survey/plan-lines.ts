import { UseError } from '../base/errors.js';
import type { WorkContext } from '../base/progress.js';
import { writeGeoJson } from '../formats/geojson-write.js';
import { writeGpx } from '../formats/gpx-route-write.js';
import { writeLinesCsv } from '../formats/lines-csv.js';
import type { Frame } from '../geo/frame.js';
import type { LinePlan } from '../lines/line-plan.js';
import { planLines } from '../lines/plan-lines.js';
import { linesToGeoJson, lonLatLines, planToRoute, type RunnablePlan } from '../lines/plan-output.js';
import { writeAtomic } from './atomic-file.js';
import { PLACES, placeIn } from './folder.js';
import { readNoGo, readPlanPolygons } from './plan-files.js';
import type { Settings } from './settings.js';
import type { LinesSummary } from './summary.js';
import { needFrame } from './survey-frame.js';

/** Figures of the line plan, beside the plan. */
export const LINES_FIGURES = 'plan/lines.json';

/** The line plan of a survey as its area, keep-outs and settings stand. @throws UseError where there is no area or no line fits */
export async function linePlanFor(folder: string, settings: Settings): Promise<LinePlan> {
  const area = await readPlanPolygons(folder, settings, 'area');
  if (area === null || area.length === 0) {
    throw new UseError(`${folder}: there is no area to lay lines over; put one in with: tallow lines ${folder} --area FILE, or draw it on the page`, { path: PLACES.area, fix: `tallow lines ${folder} --area FILE` });
  }
  const { spacingM, headingDeg, crossShare, runInM, runOutM, minLengthM, insetM, keepoutM, speedMps, cells, edges } = settings.lines;
  const options = { spacingM, headingDeg, crossShare, runInM, runOutM, minLengthM, insetM, keepoutM, speedMps, cells, edges };
  return planLines({ area, keepouts: await readNoGo(folder, settings), frame: await needFrame(folder, settings), options });
}

/** Lines as the files people exchange. */
export async function writeLineFiles(folder: string, plan: RunnablePlan, frame: Frame, name: string, places: { geojson: string; gpx: string; csv: string }): Promise<void> {
  await writeAtomic(placeIn(folder, places.geojson), writeGeoJson(linesToGeoJson(plan, frame)));
  await writeAtomic(placeIn(folder, places.gpx), writeGpx({ name, description: 'Survey lines in the order to run them. Not for navigation.', routes: [planToRoute(plan, frame, name)] }));
  await writeAtomic(placeIn(folder, places.csv), writeLinesCsv(lonLatLines(plan, frame)));
}

/** Plans the lines and writes plan/lines.geojson, the route as GPX and the table as CSV. */
export async function planIntoFolder(folder: string, settings: Settings, context: WorkContext): Promise<{ readonly plan: LinePlan; readonly why: readonly string[]; readonly notes: readonly string[] }> {
  context.progress?.('lines', NaN);
  const frame = await needFrame(folder, settings);
  const plan = await linePlanFor(folder, settings);
  const figures: LinesSummary = {
    main: plan.main.length,
    cross: plan.cross.length,
    mainLengthM: plan.lengths.mainM,
    crossLengthM: plan.lengths.crossM,
    transitLengthM: plan.lengths.transitM + plan.lengths.runInOutM,
    headingDeg: plan.headingDeg,
    spacingM: plan.spacingM,
    timeS: plan.time.totalS,
  };
  await writeLineFiles(folder, plan, frame, `${settings.name} lines`, { geojson: PLACES.lines, gpx: PLACES.linesGpx, csv: PLACES.linesCsv });
  await writeAtomic(placeIn(folder, LINES_FIGURES), `${JSON.stringify(figures, null, 2)}\n`);
  return { plan, why: plan.why, notes: plan.notes };
}
