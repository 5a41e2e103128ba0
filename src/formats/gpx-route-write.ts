import type { GeoRoute, RoutePoint } from '../geo/features.js';
import { degreesText } from './geojson-degrees.js';
import { escapeXml } from './xml-escape.js';

/** What goes into a GPX file; parts left out are not written. */
export interface GpxContent {
  readonly name: string;
  readonly description?: string;
  readonly waypoints?: readonly RoutePoint[];
  readonly routes?: readonly GeoRoute[];
  /** Tracks of one segment each; the points' names are written where they are not empty. */
  readonly tracks?: readonly GeoRoute[];
}

/**
 * A GPX 1.1 text, valid against the schema. No time is written: the same content gives the same bytes.
 * @throws RangeError for a position off the world or not a number
 * Source: GPX 1.1 schema (http://www.topografix.com/GPX/1/1); longitude 180 is written as -180, as the schema asks.
 */
export function writeGpx(content: GpxContent): string {
  const out: string[] = [
    '<?xml version="1.0" encoding="UTF-8"?>',
    '<gpx version="1.1" creator="Tallow" xmlns="http://www.topografix.com/GPX/1/1" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" xsi:schemaLocation="http://www.topografix.com/GPX/1/1 http://www.topografix.com/GPX/1/1/gpx.xsd">',
    '  <metadata>',
    `    <name>${escapeXml(content.name)}</name>`,
  ];
  if (content.description !== undefined) out.push(`    <desc>${escapeXml(content.description)}</desc>`);
  out.push('  </metadata>');
  for (const point of content.waypoints ?? []) out.push(`  ${pointText('wpt', point)}`);
  for (const route of content.routes ?? []) {
    out.push('  <rte>', `    <name>${escapeXml(route.name)}</name>`);
    for (const point of route.points) out.push(`    ${pointText('rtept', point)}`);
    out.push('  </rte>');
  }
  for (const track of content.tracks ?? []) {
    out.push('  <trk>', `    <name>${escapeXml(track.name)}</name>`, '    <trkseg>');
    for (const point of track.points) out.push(`      ${pointText('trkpt', point)}`);
    out.push('    </trkseg>', '  </trk>');
  }
  out.push('</gpx>', '');
  return out.join('\n');
}

function pointText(element: string, point: RoutePoint): string {
  const { latDeg, lonDeg } = point;
  if (!(latDeg >= -90 && latDeg <= 90)) throw new RangeError(`latDeg ${latDeg}: expected -90 to 90`);
  if (!(lonDeg >= -180 && lonDeg <= 180)) throw new RangeError(`lonDeg ${lonDeg}: expected -180 to 180`);
  const lonText = degreesText(lonDeg, 8);
  const place = `lat="${degreesText(latDeg, 8)}" lon="${lonText === '180' ? '-180' : lonText}"`;
  return point.name === '' ? `<${element} ${place}/>` : `<${element} ${place}><name>${escapeXml(point.name)}</name></${element}>`;
}
