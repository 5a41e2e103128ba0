import { UseError, isExpectedError } from '../base/errors.js';
import type { WorkContext } from '../base/progress.js';
import { formatUtc } from '../base/time.js';
import type { BoatModel } from '../boat/boat-model.js';
import { currentSpan } from '../formats/current-file.js';
import { writeGeoJson } from '../formats/geojson-write.js';
import { writeGpx } from '../formats/gpx-route-write.js';
import { writeLinesCsv } from '../formats/lines-csv.js';
import type { Frame } from '../geo/frame.js';
import { positionInWords } from '../geo/lon-lat.js';
import { geodesicLengthM } from '../geo/geodesic.js';
import { centroidM, pointInPolygon } from '../geo/ring.js';
import type { Polygon } from '../geo/shapes.js';
import type { LinePlan } from '../lines/line-plan.js';
import { linesToGeoJson, lonLatLines, planToRoute, type RunnablePlan } from '../lines/plan-output.js';
import { planLinesByTide } from '../lines/tidal-plan.js';
import type { Place } from '../rehearse/rehearsal.js';
import type { CurrentField } from '../water/current-field.js';
import type { WaterLevel } from '../water/level.js';
import { writeAtomic } from './atomic-file.js';
import { currentOf } from './current-files.js';
import { spacingByDepth } from './derive-purpose.js';
import { PLACES, placeIn } from './folder.js';
import { readKeepOuts, readPlanPolygons } from './plan-files.js';
import type { Settings } from './settings.js';
import { bottomOf, startOf } from './sortie-ground.js';
import { boatIfAny } from './step-boat.js';
import type { LinesSummary } from './summary.js';
import { needFrame } from './survey-frame.js';
import { waterLevelOf } from './water-files.js';

/** Figures of the line plan, beside the plan. */
export const LINES_FIGURES = 'plan/lines.json';

/** What lines are ordered and timed with beside the settings: the boat, the current from the start on, the launch point. */
interface LineDay {
  readonly launch: Place | null;
  readonly boat: BoatModel | null;
  readonly current: CurrentField | null;
  readonly startS: number | null;
  readonly level: WaterLevel | null;
  readonly notes: readonly string[];
}

async function lineDay(folder: string, settings: Settings, frame: Frame): Promise<LineDay> {
  const notes: string[] = [];
  const { launch } = settings.sortie;
  const [xM, yM] = launch === null ? [NaN, NaN] : frame.toFrame(launch.latDeg, launch.lonDeg);
  const at = launch === null ? null : { xM, yM };
  const card = await boatIfAny(folder);
  const { speedMps } = settings.lines;
  if (card !== null && speedMps > card.topSpeedMps) notes.push(`${speedMps} m/s is more than the boat makes, ${card.topSpeedMps.toFixed(2)} m/s: times are as if it made it`);
  const startS = startOf(settings);
  let current: CurrentField | null = null;
  let level: WaterLevel | null = null;
  try {
    level = settings.water.level.kind === 'none' ? null : await waterLevelOf(folder, settings);
    if (at !== null && startS !== null && settings.water.current.kind !== 'none') current = await currentOf(folder, settings, frame, at, level, currentSpan(startS));
  } catch (error) {
    // Lines can be laid without them; what needs them stops there.
    if (!isExpectedError(error)) throw error;
    notes.push(`laid as in still water: ${(error as Error).message}`);
  }
  return { launch: at, boat: card !== null && speedMps > card.topSpeedMps ? null : card, current, startS, level, notes };
}

/** A line plan, and what its times were reckoned with. */
export interface SurveyLinePlan extends LinePlan {
  readonly reckoned: string;
  /** The spacing follows the depth; spacingM is the narrowest. */
  readonly byDepth: boolean;
}

/** The line plan of a survey as its area, keep-outs, water, boat and settings stand. @throws UseError where there is no area or no line fits */
export async function linePlanFor(folder: string, settings: Settings): Promise<SurveyLinePlan> {
  const area = await readPlanPolygons(folder, settings, 'area');
  if (area === null || area.length === 0) {
    throw new UseError(`${folder}: there is no area to lay lines over; put one in with: tallow lines ${folder} --area FILE, or draw it on the page`, { path: PLACES.area, fix: `tallow lines ${folder} --area FILE` });
  }
  const { spacingM, headingDeg, crossShare, runInM, runOutM, minLengthM, insetM, speedMps, cells, edges } = settings.lines;
  const { clearanceM } = settings.sortie;
  const keepoutM = settings.lines.keepoutM ?? clearanceM;
  const frame = await needFrame(folder, settings);
  checkLaunchNear(settings.sortie.launch, area, frame);
  const day = await lineDay(folder, settings, frame);
  const { launch, boat, current, startS } = day;
  const keepouts = await readKeepOuts(folder, settings, await bottomIfAny(folder, settings));
  const land = (await readPlanPolygons(folder, settings, 'shore')) ?? [];
  if (launch !== null) checkLaunch(launch, land, frame);
  const options = {
    spacingM, headingDeg, crossShare, runInM, runOutM, minLengthM, insetM, keepoutM, speedMps, cells, edges, launch, boat, current, spacingAtM: await spacingByDepth(folder, settings),
    ...(startS === null ? {} : { startS }),
    ...(clearanceM > 0 ? { clearanceM: Math.max(clearanceM, insetM) } : {}),
  };
  const tide = { level: day.level, needM: settings.rehearse.draftM + settings.rehearse.leastWaterM };
  const plan = planLinesByTide({ area, keepouts: [...keepouts, ...land], frame, options }, tide, startS);
  const turns = boat === null ? 'turns as usual for the class' : 'turns as the boat card has them';
  const water = current === null ? 'in still water' : `in the current from ${formatUtc(startS!).slice(0, 16).replace('T', ' ')} UTC on`;
  return { ...plan, notes: [...plan.notes, ...day.notes], reckoned: `${turns}, ${water}`, byDepth: options.spacingAtM !== null };
}

/** null where the raster that is named cannot be read: the rehearsal says so. */
async function bottomIfAny(folder: string, settings: Settings): Promise<((xM: number, yM: number) => number) | null> {
  try {
    return await bottomOf(folder, settings);
  } catch (error) {
    if (isExpectedError(error)) return null;
    throw error;
  }
}

/** No small boat is launched further off than this [m]. */
const FAR_M = 100_000;

/** @throws UseError where the launch point is nowhere near: most likely its coordinates stand in another order */
function checkLaunchNear(launch: Settings['sortie']['launch'], area: readonly Polygon[], frame: Frame): void {
  if (launch === null) return;
  const [latDeg, lonDeg] = frame.toGeographic(...centroidM(area));
  const awayM = geodesicLengthM(latDeg, lonDeg, launch.latDeg, launch.lonDeg);
  if (awayM <= FAR_M) return;
  const fix = 'see whether latitude and longitude are swapped: latitude comes first';
  throw new UseError(`launch point ${positionInWords(launch.latDeg, launch.lonDeg)}: ${(awayM / 1000).toFixed(0)} km from the area: expected at most ${FAR_M / 1000} km; ${fix}`, { path: 'sortie.launch', expected: `at most ${FAR_M / 1000} km from the area`, found: `${(awayM / 1000).toFixed(0)} km`, fix });
}

/** @throws UseError with the shapes to draw, where the launch point lies on land */
function checkLaunch(launch: Place, land: readonly Polygon[], frame: Frame): void {
  const on = land.find((polygon) => pointInPolygon(polygon, launch.xM, launch.yM));
  if (on === undefined) return;
  const place = positionInWords(...frame.toGeographic(launch.xM, launch.yM));
  throw new UseError(`launch point ${place}: lies on land, behind the shore as drawn: expected open water; move it to the water's edge, or mend the shore`, {
    path: 'sortie.launch', expected: 'open water', found: 'land', fix: 'move it to the water\'s edge, or mend the shore', where: [Float64Array.of(launch.xM, launch.yM), on.outer],
  });
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
    reckoned: plan.reckoned,
    ...(plan.byDepth ? { byDepth: true } : {}),
  };
  await writeLineFiles(folder, plan, frame, `${settings.name} lines`, { geojson: PLACES.lines, gpx: PLACES.linesGpx, csv: PLACES.linesCsv });
  await writeAtomic(placeIn(folder, LINES_FIGURES), `${JSON.stringify(figures, null, 2)}\n`);
  return { plan, why: plan.why, notes: plan.notes };
}
