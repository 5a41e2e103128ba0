import type { FeatureProperties, GeoFeature, GeoShape } from '../geo/features.js';
import type { LonLatPolygon } from '../geo/lon-lat.js';
import { closedLonLatRing } from '../geo/lon-lat.js';
import { degreesText } from './geojson-degrees.js';

/** How a GeoJSON text is written. */
export interface GeoJsonOptions {
  /** Decimals of a degree: 8 (default) or 7. */
  readonly decimals?: 7 | 8;
  /** Further members of the collection, e.g. {"name": "lines"}; a GeoJSON member of that name is refused. */
  readonly members?: FeatureProperties;
}

/**
 * A FeatureCollection as text, one feature a line, the same bytes for the same features.
 *
 * WGS 84, longitude first; outer rings counter-clockwise and holes clockwise (the right-hand rule); rings closed.
 * Properties keep their order; NaN and infinities become null.
 *
 * @throws RangeError for a position that is not a number, or for coordinates with an odd count
 *
 * Source: RFC 7946, 3.1.6 (rings), 4 (reference system), 11.2 (precision).
 */
export function writeGeoJson(features: readonly GeoFeature[], options: GeoJsonOptions = {}): string {
  const decimals = options.decimals ?? 8;
  const members = Object.entries(options.members ?? {}).map(([key, value]) => {
    if (key === 'type' || key === 'features' || key === 'bbox') throw new RangeError(`members: "${key}" is GeoJSON's own`);
    return `${JSON.stringify(key)}:${valueText(value)},`;
  });
  const lines = features.map((feature) => featureText(feature, decimals));
  return `{"type":"FeatureCollection",${members.join('')}"features":[\n${lines.join(',\n')}${lines.length > 0 ? '\n' : ''}]}\n`;
}

function featureText(feature: GeoFeature, decimals: 7 | 8): string {
  const properties = Object.entries(feature.properties).map(([key, value]) => `${JSON.stringify(key)}:${valueText(value)}`);
  return `{"type":"Feature","geometry":${shapeText(feature.shape, decimals)},"properties":{${properties.join(',')}}}`;
}

function valueText(value: string | number | boolean | null): string {
  return typeof value === 'number' && !Number.isFinite(value) ? 'null' : JSON.stringify(value);
}

function shapeText(shape: GeoShape, decimals: 7 | 8): string {
  switch (shape.kind) {
    case 'point':
      return `{"type":"Point","coordinates":[${degreesText(shape.lonDeg, decimals)},${degreesText(shape.latDeg, decimals)}]}`;
    case 'line':
      return `{"type":"LineString","coordinates":${pathText(shape.path, decimals)}}`;
    case 'lines':
      return `{"type":"MultiLineString","coordinates":[${shape.paths.map((path) => pathText(path, decimals)).join(',')}]}`;
    case 'polygon':
      return `{"type":"Polygon","coordinates":${polygonText(shape.polygon, decimals)}}`;
    case 'polygons':
      return `{"type":"MultiPolygon","coordinates":[${shape.polygons.map((polygon) => polygonText(polygon, decimals)).join(',')}]}`;
  }
}

function pathText(path: Float64Array, decimals: 7 | 8): string {
  if (path.length % 2 !== 0) throw new RangeError(`path: ${path.length} numbers: expected pairs of longitude and latitude`);
  const positions: string[] = [];
  for (let i = 0; i < path.length; i += 2) positions.push(`[${degreesText(path[i]!, decimals)},${degreesText(path[i + 1]!, decimals)}]`);
  return `[${positions.join(',')}]`;
}

function polygonText(polygon: LonLatPolygon, decimals: 7 | 8): string {
  return `[${[closedLonLatRing(polygon.outer, true), ...polygon.holes.map((hole) => closedLonLatRing(hole, false))].map((ring) => pathText(ring, decimals)).join(',')}]`;
}
