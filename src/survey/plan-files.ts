import { UseError } from '../base/errors.js';
import { polygonsFromLonLat, frameSettingForArea } from '../geo/area-polygons.js';
import { createFrame } from '../geo/frame.js';
import type { GeoFeature } from '../geo/features.js';
import type { KeepOut } from '../geo/keep-out.js';
import type { LonLatPolygon } from '../geo/lon-lat.js';
import type { Polygon } from '../geo/shapes.js';
import { readAreaFile, readAreaText, type AreaFile } from '../formats/area-file.js';
import { writeGeoJson } from '../formats/geojson-write.js';
import type { Desk } from './desk.js';
import { openFileSource } from './file-source.js';
import { PLACES, placeIn, readTextIfThere } from './folder.js';
import { keepOutOf, keepOutProperties, type KeepOutProperties } from '../geo/keep-out-properties.js';
import type { Settings } from './settings.js';
import { surveyFrame } from './survey-frame.js';

/** The polygons of a plan. */
export type PlanFile = 'area' | 'keepouts' | 'shore';

/** A plan file as it is kept: GeoJSON, one polygon a feature. */
function planText(polygons: readonly LonLatPolygon[], properties: readonly KeepOutProperties[] = []): string {
  return writeGeoJson(polygons.map((polygon, index): GeoFeature => ({ shape: { kind: 'polygon', polygon }, properties: { number: index + 1, ...properties[index] } })));
}

/** What is said of each keep-out of a file; nothing of an area or the shore. @throws UseError */
function saidOf({ polygons, properties = [] }: AreaFile, file: PlanFile, name: string): KeepOutProperties[] {
  return file === 'keepouts' ? polygons.map((_, i) => keepOutProperties(properties[i] ?? {}, polygons.length === 1 ? name : `${name}, keep-out ${i + 1}`)) : [];
}

/** Polygons of a plan file in degrees; null where the file does not exist. @throws FormatError, UseError */
export async function readPlanLonLat(folder: string, file: PlanFile): Promise<readonly LonLatPolygon[] | null> {
  const text = await readTextIfThere(placeIn(folder, PLACES[file]));
  if (text === null || text.trim() === '') return null;
  return isEmptyCollection(text) ? [] : readAreaText(text, PLACES[file]).polygons;
}

function isEmptyCollection(text: string): boolean {
  return /^\s*\{\s*"type"\s*:\s*"FeatureCollection"[^[]*"features"\s*:\s*\[\s*\]\s*\}\s*$/.test(text);
}

/** Polygons of a plan file in the survey frame, checked; null where the file does not exist. */
export async function readPlanPolygons(folder: string, settings: Settings, file: PlanFile): Promise<readonly Polygon[] | null> {
  const polygons = await readPlanLonLat(folder, file);
  if (polygons === null) return null;
  const frame = await surveyFrame(folder, settings);
  return frame === null ? null : polygonsFromLonLat(polygons, frame, PLACES[file]);
}

/**
 * The keep-outs of a survey in its frame, with their clearances and their least depths.
 * @param bottomDepthM the bottom known to the survey, for keep-outs by tide that say no depth; null: not known
 */
export async function readKeepOuts(folder: string, settings: Settings, bottomDepthM: ((xM: number, yM: number) => number) | null = null): Promise<readonly KeepOut[]> {
  const text = await readTextIfThere(placeIn(folder, PLACES.keepouts));
  if (text === null || text.trim() === '' || isEmptyCollection(text)) return [];
  const file = readAreaText(text, PLACES.keepouts);
  const said = saidOf(file, 'keepouts', PLACES.keepouts);
  const frame = await surveyFrame(folder, settings);
  return frame === null ? [] : polygonsFromLonLat(file.polygons, frame, PLACES.keepouts).map((polygon, i) => keepOutOf(polygon, said[i]!, bottomDepthM));
}

/** Where the boat cannot or must not go: keep-outs and land. */
export async function readNoGo(folder: string, settings: Settings): Promise<readonly KeepOut[]> {
  const keepouts = await readKeepOuts(folder, settings);
  const shore = (await readPlanPolygons(folder, settings, 'shore')) ?? [];
  return [...keepouts, ...shore];
}

/**
 * Plan text in any form we read, checked, as it is to be kept. Polygons that cross themselves or hold nothing are refused.
 * @throws FormatError, UseError saying what is wrong with it and where
 */
export function checkPlanText(text: string, file: PlanFile): string {
  if (isEmptyCollection(text)) {
    if (file === 'area') throw new UseError('area: there is no polygon in it: expected at least one; draw the area first', { path: file });
    return planText([]);
  }
  const read = readAreaText(text, file);
  const { polygons } = read;
  // Checked in the area's own zone; the survey's frame may not be known yet.
  polygonsFromLonLat(polygons, createFrame(frameSettingForArea(polygons, file)), file);
  return planText(polygons, saidOf(read, file, file));
}

/** Puts an area, keep-outs or shore from the user's own file into the folder; gives notes on how it was read. `clearanceM` is for keep-outs that say none of their own. */
export async function readAreaInto(desk: Desk, file: PlanFile, from: string, clearanceM?: number): Promise<string[]> {
  const source = await openFileSource(from);
  try {
    const read = await readAreaFile(source);
    const said = saidOf(read, file, source.name).map((one) => (clearanceM === undefined || one['clearanceM'] !== undefined ? one : { ...one, clearanceM }));
    await desk.writePlan(file, planText(read.polygons, said));
    return [...read.notes];
  } finally {
    await source.close();
  }
}

/** A line of plan/lines.geojson. Vertices [lon0, lat0, lon1, lat1]. */
export interface PlannedLine {
  readonly number: number;
  readonly kind: 'main' | 'cross' | 'fill-in';
  readonly order: number;
  readonly headingDeg: number;
  readonly lengthM: number;
  /** NaN in files of earlier versions [m]. */
  readonly runInM: number;
  readonly runOutM: number;
  readonly lonLat: readonly number[];
}

/** The planned lines; null where there are none yet. @throws UseError where the file is not what `tallow lines` writes */
export async function readLineFeatures(folder: string, place: string = PLACES.lines): Promise<PlannedLine[] | null> {
  const text = await readTextIfThere(placeIn(folder, place));
  if (text === null) return null;
  let value: { features?: readonly { geometry?: { type?: string; coordinates?: readonly (readonly number[])[] }; properties?: Record<string, unknown> }[] };
  try {
    value = JSON.parse(text);
  } catch (error) {
    throw new UseError(`${place}: not valid JSON: ${(error as Error).message}; make it again with: tallow ${place === PLACES.lines ? 'lines' : 'gaps'} ${folder}`, { path: place });
  }
  return (value.features ?? []).map((feature, index) => {
    const coordinates = feature.geometry?.coordinates;
    const { number, kind, order, headingDeg, lengthM, runInM, runOutM } = feature.properties ?? {};
    if (feature.geometry?.type !== 'LineString' || !Array.isArray(coordinates) || coordinates.length < 2 || typeof number !== 'number') {
      throw new UseError(`${place}: feature ${index + 1}: expected a LineString with a number; make it again with: tallow ${place === PLACES.lines ? 'lines' : 'gaps'} ${folder}`, { path: place });
    }
    return {
      number,
      kind: kind === 'cross' || kind === 'fill-in' ? kind : 'main',
      order: Number(order ?? index + 1),
      headingDeg: Number(headingDeg ?? NaN),
      lengthM: Number(lengthM ?? NaN),
      runInM: Number(runInM ?? NaN),
      runOutM: Number(runOutM ?? NaN),
      lonLat: coordinates.flatMap((position: readonly number[]) => [Number(position[0]), Number(position[1])]),
    };
  });
}
