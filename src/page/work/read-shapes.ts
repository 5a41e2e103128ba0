import type { Feature, FeatureCollection, Geometry, Position } from 'geojson';
import { createFrame, type Frame, type FrameSetting } from '../../geo/frame.js';
import type { LoadedShapes } from './messages.js';

type Shape = LoadedShapes['shapes'][number];

/**
 * Reads a GeoJSON file of the survey folder into the survey frame.
 * @returns null where the file is not there
 */
export async function readShapes(url: string, setting: FrameSetting, signal: AbortSignal): Promise<LoadedShapes | null> {
  const response = await fetch(url, { signal });
  if (response.status === 404) return null;
  if (!response.ok) throw new Error(`${url}: the server answered ${response.status}`);
  return { shapes: shapesInFrame((await response.json()) as FeatureCollection | Feature | Geometry, createFrame(setting)) };
}

/** Lines and polygons of GeoJSON in the survey frame; points are left out. */
export function shapesInFrame(geojson: FeatureCollection | Feature | Geometry, frame: Frame): Shape[] {
  if (geojson.type === 'FeatureCollection') return geojson.features.flatMap((feature) => shapesInFrame(feature, frame));
  if (geojson.type === 'Feature') {
    if (geojson.geometry === null) return [];
    const properties = geojson.properties ?? {};
    return shapesInFrame(geojson.geometry, frame).map((shape) => ({ ...shape, properties }));
  }
  const flat = (positions: readonly Position[]): Float64Array => {
    const out = new Float64Array(positions.length * 2);
    positions.forEach(([lonDeg, latDeg], i) => out.set(frame.toFrame(latDeg as number, lonDeg as number), 2 * i));
    return out;
  };
  switch (geojson.type) {
    case 'LineString':
      return [{ kind: 'line', parts: [flat(geojson.coordinates)], properties: {} }];
    case 'MultiLineString':
      return geojson.coordinates.map((line) => ({ kind: 'line' as const, parts: [flat(line)], properties: {} }));
    case 'Polygon':
      return [{ kind: 'polygon', parts: geojson.coordinates.map(flat), properties: {} }];
    case 'MultiPolygon':
      return geojson.coordinates.map((rings) => ({ kind: 'polygon' as const, parts: rings.map(flat), properties: {} }));
    case 'GeometryCollection':
      return geojson.geometries.flatMap((geometry) => shapesInFrame(geometry, frame));
    default:
      return [];
  }
}
