import { formatUtc } from '../base/time.js';
import { degreesText } from './geojson-degrees.js';
import { checkRoute, routeLegs, type Route } from './route.js';

const HEADER = 'number,name,kind,line,latDeg,lonDeg,courseDeg,lengthM,speedMps,timeUtc,xtdM,radiusM';

/**
 * A route as CSV, a waypoint a row, with the leg that leads there: course true, length on the ellipsoid. What is not known is
 * empty. Same route, same bytes.
 * @throws RangeError for fewer than two waypoints or a position off the world
 * Source: RFC 4180 (comma, CRLF, quotes doubled).
 */
export function writeRouteCsv(route: Route): string {
  checkRoute(route);
  const legs = routeLegs(route);
  const text = (value: number, decimals: number): string => (Number.isNaN(value) ? '' : value.toFixed(decimals));
  const rows = route.waypoints.map((one, i) => {
    const course = text(legs[i]!.courseDeg, 2);
    return [
      String(i + 1),
      quoted(one.name),
      quoted(one.kind),
      one.line === null ? '' : String(one.line),
      degreesText(one.latDeg, 8),
      degreesText(one.lonDeg, 8),
      course === '360.00' ? '0.00' : course,
      text(legs[i]!.lengthM, 2),
      text(one.speedMps, 3),
      Number.isNaN(one.timeS) ? '' : formatUtc(one.timeS),
      text(one.xtdM, 2),
      text(one.radiusM, 2),
    ].join(',');
  });
  return [HEADER, ...rows, ''].join('\r\n');
}

function quoted(value: string): string {
  return /[",\r\n]/.test(value) ? `"${value.replace(/"/g, '""')}"` : value;
}
