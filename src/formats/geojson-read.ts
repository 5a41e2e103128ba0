import { FormatError, UnsupportedError } from '../base/errors.js';
import type { LonLatPolygon } from '../geo/lon-lat.js';
import type { AreaFile, RingCollector } from './area-file-rings.js';
import { createRingCollector } from './area-file-rings.js';
import { jsonFaultAt } from './geojson-fault.js';

/** Deeper nesting than this is no drawing. */
const MOST_DEPTH = 64;

type Json = null | boolean | number | string | readonly Json[] | { readonly [key: string]: Json };

/**
 * The polygons of a GeoJSON text: Polygon, MultiPolygon, Feature, FeatureCollection, GeometryCollection; a LineString
 * counts where it is closed, with a note.
 *
 * @param name the file's name, for messages
 * @throws FormatError where it is not GeoJSON, with the line of a fault in the JSON or the member that is wrong
 * @throws UnsupportedError for coordinates in another reference system
 *
 * Source: RFC 7946 (GeoJSON), RFC 8259 (JSON).
 */
export function readGeoJsonArea(text: string, name: string): AreaFile {
  const collector = createRingCollector(name);
  const polygons: LonLatPolygon[] = [];
  const properties: Readonly<Record<string, unknown>>[] = [];
  readObject(parseJson(text.startsWith('\uFEFF') ? text.slice(1) : text, name), 'GeoJSON', { name, collector, polygons, properties });
  return { ...collector.finish('geojson', polygons), properties: polygons.map((_, i) => properties[i] ?? {}) };
}

interface Reading {
  readonly name: string;
  readonly collector: RingCollector;
  readonly polygons: LonLatPolygon[];
  /** Of each polygon read, its feature's. */
  readonly properties: Readonly<Record<string, unknown>>[];
}

function parseJson(text: string, name: string): Json {
  let depth = 0;
  let inString = false;
  for (let i = 0; i < text.length; i++) {
    const code = text.charCodeAt(i);
    if (inString) {
      if (code === 0x5c) i++;
      else if (code === 0x22) inString = false;
    } else if (code === 0x22) inString = true;
    else if (code === 0x5b || code === 0x7b) {
      if (++depth > MOST_DEPTH) {
        throw new FormatError('too-deep', name, `${name} line ${lineAt(text, i)}: nested too deep: expected at most ${MOST_DEPTH} levels; save the area as plain GeoJSON`, {
          line: lineAt(text, i),
          expected: `at most ${MOST_DEPTH} levels`,
        });
      }
    } else if (code === 0x5d || code === 0x7d) depth--;
  }
  try {
    return JSON.parse(text) as Json;
  } catch {
    const position = Math.max(0, jsonFaultAt(text));
    const line = lineAt(text, position);
    const what = position >= text.length ? 'the end of the file' : JSON.stringify(text.slice(position, position + 12));
    throw new FormatError('json', name, `${name} line ${line}: not JSON: found ${what} where something else must stand; save the file again or mend it there`, { line, found: what });
  }
}

function lineAt(text: string, position: number): number {
  let line = 1;
  for (let i = 0; i < position; i++) if (text.charCodeAt(i) === 0x0a) line++;
  return line;
}

function wrong(reading: Reading, where: string, expected: string, found: Json | undefined): FormatError {
  const shown = found === undefined ? 'nothing' : (JSON.stringify(found) ?? 'nothing');
  const short = shown.length > 60 ? `${shown.slice(0, 57)}...` : shown;
  return new FormatError('geojson', reading.name, `${reading.name}: ${where}: expected ${expected}, found ${short}; mend it or save the file again as GeoJSON (RFC 7946)`, {
    expected,
    found: short,
  });
}

function isObject(value: Json | undefined): value is { readonly [key: string]: Json } {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function isList(value: Json | undefined): value is readonly Json[] {
  return Array.isArray(value);
}

function readObject(value: Json | undefined, where: string, reading: Reading): void {
  if (!isObject(value)) throw wrong(reading, where, 'an object with a "type"', value);
  refuseOtherSystem(value, reading);
  const { type } = value;
  if (type === 'FeatureCollection') {
    const { features } = value;
    if (!isList(features)) throw wrong(reading, `${where}, features`, 'a list', features);
    features.forEach((feature, i) => readObject(feature, `feature ${i + 1}`, reading));
    return;
  }
  if (type === 'Feature') {
    if (value['geometry'] === null) {
      reading.collector.leftOut('feature without a place');
      return;
    }
    readGeometry(value['geometry'], where === 'GeoJSON' ? 'feature' : where, reading);
    const said = value['properties'];
    while (reading.properties.length < reading.polygons.length) reading.properties.push(isObject(said) ? said : {});
    return;
  }
  readGeometry(value, where, reading);
}

function readGeometry(value: Json | undefined, where: string, reading: Reading): void {
  if (!isObject(value)) throw wrong(reading, `${where}, geometry`, 'an object with a "type"', value);
  const { type, coordinates } = value;
  const { collector, polygons } = reading;
  switch (type) {
    case 'Polygon':
      polygons.push(readPolygon(coordinates, `${where}, polygon`, reading));
      return;
    case 'MultiPolygon':
      if (!isList(coordinates)) throw wrong(reading, `${where}, coordinates`, 'a list of polygons', coordinates);
      coordinates.forEach((polygon, i) => polygons.push(readPolygon(polygon, `${where}, polygon ${i + 1}`, reading)));
      return;
    case 'GeometryCollection': {
      const { geometries } = value;
      if (!isList(geometries)) throw wrong(reading, `${where}, geometries`, 'a list', geometries);
      geometries.forEach((geometry, i) => readGeometry(geometry, `${where}, geometry ${i + 1}`, reading));
      return;
    }
    case 'LineString':
      readLine(coordinates, `${where}, line`, reading);
      return;
    case 'MultiLineString':
      if (!isList(coordinates)) throw wrong(reading, `${where}, coordinates`, 'a list of lines', coordinates);
      coordinates.forEach((line, i) => readLine(line, `${where}, line ${i + 1}`, reading));
      return;
    case 'Point':
      collector.leftOut('point');
      return;
    case 'MultiPoint':
      collector.leftOut('group of points');
      collector.note(`${where}: points are no area`);
      return;
    default:
      throw wrong(reading, `${where}, type`, 'a GeoJSON type such as "Polygon" or "FeatureCollection"', type);
  }
}

function readLine(value: Json | undefined, where: string, reading: Reading): void {
  const lonLat = readPositions(value, where, reading);
  const n = lonLat.length;
  if (n >= 8 && lonLat[0] === lonLat[n - 2] && lonLat[1] === lonLat[n - 1]) {
    reading.polygons.push({ outer: reading.collector.boundary(lonLat, where), holes: [] });
    reading.collector.note(`${where}: a closed line, taken as the outline of a polygon`);
    return;
  }
  reading.collector.leftOut('open line');
}

function readPolygon(value: Json | undefined, where: string, reading: Reading): LonLatPolygon {
  if (!isList(value) || value.length === 0) throw wrong(reading, `${where}, coordinates`, 'a list of rings', value);
  const [outer, ...holes] = value;
  return {
    outer: reading.collector.closedRing(readPositions(outer, where, reading), where),
    holes: holes.map((hole, i) => reading.collector.closedRing(readPositions(hole, `${where}, hole ${i + 1}`, reading), `${where}, hole ${i + 1}`)),
  };
}

function readPositions(value: Json | undefined, where: string, reading: Reading): number[] {
  if (!isList(value)) throw wrong(reading, where, 'a list of positions', value);
  const out: number[] = [];
  value.forEach((position, i) => {
    const lon = isList(position) ? position[0] : undefined;
    const lat = isList(position) ? position[1] : undefined;
    if (typeof lon !== 'number' || typeof lat !== 'number') {
      throw wrong(reading, `${where}, corner ${i + 1}`, '[longitude, latitude] in degrees', position);
    }
    out.push(lon, lat);
  });
  return out;
}

/** The older form of GeoJSON could name a reference system; only WGS 84 in longitude and latitude is read. */
function refuseOtherSystem(value: { readonly [key: string]: Json }, reading: Reading): void {
  const { crs } = value;
  if (!isObject(crs)) return;
  const properties = crs['properties'];
  const name = isObject(properties) ? properties['name'] : undefined;
  if (typeof name === 'string' && (/CRS:?84$/i.test(name) || /EPSG:+(?:[\d.]*:)?4326$/i.test(name))) return;
  throw new UnsupportedError(
    `${reading.name}: coordinates in another reference system: expected WGS 84 longitude and latitude (RFC 7946), found ${JSON.stringify(name ?? crs)}; save the file again in WGS 84 (EPSG:4326)`,
  );
}
