import type { FeatureProperties, GeoFeature, GeoShape } from '../geo/features.js';
import type { LonLatPolygon, LonLatRing } from '../geo/lon-lat.js';
import { closedLonLatRing } from '../geo/lon-lat.js';
import { degreesText } from './geojson-degrees.js';
import { escapeXml } from './xml-escape.js';

/** A folder of features in a KML file. */
export interface KmlFolder {
  readonly name: string;
  /** Property that names a feature; left out: features have no name. */
  readonly nameProperty?: string;
  readonly features: readonly GeoFeature[];
}

/**
 * A KML 2.2 text, valid against the schema: one Folder for each group, one Placemark for each feature, properties as
 * ExtendedData. Lines and polygons lie on the ground. The same content gives the same bytes.
 * @throws RangeError for a position that is not a number
 * Source: OGC KML 2.2 (07-147r2); outer boundaries counter-clockwise, holes clockwise (10.5).
 */
export function writeKml(name: string, folders: readonly KmlFolder[]): string {
  const out: string[] = ['<?xml version="1.0" encoding="UTF-8"?>', '<kml xmlns="http://www.opengis.net/kml/2.2">', '<Document>', `<name>${escapeXml(name)}</name>`];
  for (const folder of folders) {
    out.push('<Folder>', `<name>${escapeXml(folder.name)}</name>`);
    for (const feature of folder.features) out.push(placemarkText(feature, folder.nameProperty));
    out.push('</Folder>');
  }
  out.push('</Document>', '</kml>', '');
  return out.join('\n');
}

function placemarkText(feature: GeoFeature, nameProperty: string | undefined): string {
  const named = nameProperty === undefined ? undefined : feature.properties[nameProperty];
  const name = named === undefined || named === null ? '' : `<name>${escapeXml(String(named))}</name>`;
  return `<Placemark>${name}${dataText(feature.properties)}${shapeText(feature.shape)}</Placemark>`;
}

function dataText(properties: FeatureProperties): string {
  const data = Object.entries(properties)
    .filter(([, value]) => value !== null && !(typeof value === 'number' && !Number.isFinite(value)))
    .map(([key, value]) => `<Data name="${escapeXml(key)}"><value>${escapeXml(String(value))}</value></Data>`);
  return data.length === 0 ? '' : `<ExtendedData>${data.join('')}</ExtendedData>`;
}

function shapeText(shape: GeoShape): string {
  switch (shape.kind) {
    case 'point':
      return `<Point><coordinates>${degreesText(shape.lonDeg, 8)},${degreesText(shape.latDeg, 8)}</coordinates></Point>`;
    case 'line':
      return lineText(shape.path);
    case 'lines':
      return `<MultiGeometry>${shape.paths.map(lineText).join('')}</MultiGeometry>`;
    case 'polygon':
      return polygonText(shape.polygon);
    case 'polygons':
      return `<MultiGeometry>${shape.polygons.map(polygonText).join('')}</MultiGeometry>`;
  }
}

function lineText(path: Float64Array): string {
  return `<LineString><tessellate>1</tessellate><coordinates>${tuples(path)}</coordinates></LineString>`;
}

function polygonText(polygon: LonLatPolygon): string {
  const inner = polygon.holes.map((hole) => `<innerBoundaryIs>${ringText(hole, false)}</innerBoundaryIs>`).join('');
  return `<Polygon><tessellate>1</tessellate><outerBoundaryIs>${ringText(polygon.outer, true)}</outerBoundaryIs>${inner}</Polygon>`;
}

function ringText(ring: LonLatRing, counterClockwise: boolean): string {
  return `<LinearRing><coordinates>${tuples(closedLonLatRing(ring, counterClockwise))}</coordinates></LinearRing>`;
}

function tuples(path: Float64Array): string {
  const out: string[] = [];
  for (let i = 0; i < path.length; i += 2) out.push(`${degreesText(path[i]!, 8)},${degreesText(path[i + 1]!, 8)}`);
  return out.join(' ');
}
