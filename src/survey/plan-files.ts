import { UseError } from '../base/errors.js';
import { polygonsFromLonLat, frameSettingForArea } from '../geo/area-polygons.js';
import { createFrame } from '../geo/frame.js';
import type { GeoFeature } from '../geo/features.js';
import type { LonLatPolygon } from '../geo/lon-lat.js';
import type { Polygon } from '../geo/shapes.js';
import { readAreaFile, readAreaText } from '../formats/area-file.js';
import { writeGeoJson } from '../formats/geojson-write.js';
import type { Desk } from './desk.js';
import { openFileSource } from './file-source.js';
import { PLACES, placeIn, readTextIfThere } from './folder.js';
import type { Settings } from './settings.js';
import { surveyFrame } from './survey-frame.js';

/** The polygons of a plan. */
export type PlanFile = 'area' | 'keepouts' | 'shore';

/** A plan file as it is kept: GeoJSON, one polygon a feature. */
function planText(polygons: readonly LonLatPolygon[]): string {
  return writeGeoJson(polygons.map((polygon, index): GeoFeature => ({ shape: { kind: 'polygon', polygon }, properties: { number: index + 1 } })));
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

/** Where the boat cannot or must not go: keep-outs and land. */
export async function readNoGo(folder: string, settings: Settings): Promise<readonly Polygon[]> {
  const keepouts = (await readPlanPolygons(folder, settings, 'keepouts')) ?? [];
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
  const { polygons } = readAreaText(text, file);
  // Checked in the area's own zone; the survey's frame may not be known yet.
  polygonsFromLonLat(polygons, createFrame(frameSettingForArea(polygons, file)), file);
  return planText(polygons);
}

/** Puts an area, keep-outs or shore from the user's own file into the folder; gives notes on how it was read. */
export async function readAreaInto(desk: Desk, file: PlanFile, from: string): Promise<string[]> {
  const source = await openFileSource(from);
  try {
    const { polygons, notes } = await readAreaFile(source);
    await desk.writePlan(file, planText(polygons));
    return [...notes];
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
  readonly lonLat: readonly number[];
}

/** The planned lines; null where there are none yet. @throws UseError where the file is not what `tallow lines` writes */
export async function readLineFeatures(folder: string): Promise<PlannedLine[] | null> {
  const text = await readTextIfThere(placeIn(folder, PLACES.lines));
  if (text === null) return null;
  let value: { features?: readonly { geometry?: { type?: string; coordinates?: readonly (readonly number[])[] }; properties?: Record<string, unknown> }[] };
  try {
    value = JSON.parse(text);
  } catch (error) {
    throw new UseError(`${PLACES.lines}: not valid JSON: ${(error as Error).message}; make it again with: tallow lines ${folder}`, { path: PLACES.lines });
  }
  return (value.features ?? []).map((feature, index) => {
    const coordinates = feature.geometry?.coordinates;
    const { number, kind, order, headingDeg, lengthM } = feature.properties ?? {};
    if (feature.geometry?.type !== 'LineString' || !Array.isArray(coordinates) || coordinates.length < 2 || typeof number !== 'number') {
      throw new UseError(`${PLACES.lines}: feature ${index + 1}: expected a LineString with a number; make it again with: tallow lines ${folder}`, { path: PLACES.lines });
    }
    return {
      number,
      kind: kind === 'cross' || kind === 'fill-in' ? kind : 'main',
      order: Number(order ?? index + 1),
      headingDeg: Number(headingDeg ?? NaN),
      lengthM: Number(lengthM ?? NaN),
      lonLat: coordinates.flatMap((position: readonly number[]) => [Number(position[0]), Number(position[1])]),
    };
  });
}
