import { formatUtc } from '../base/time.js';
import { degreesText } from './geojson-degrees.js';
import { checkRoute, type Route, type RouteWaypoint } from './route.js';
import { escapeXml } from './xml-escape.js';

export interface RtzOptions {
  /** How a leg runs: along a constant course (default) or the shortest way. On legs of 500 m they are 5 mm apart. */
  readonly geometry?: 'Loxodrome' | 'Orthodrome';
  readonly vesselName?: string;
  readonly author?: string;
}

const NM = 1852;
const KN = 1852 / 3600;

/**
 * A route as RTZ 1.1: waypoints with turn radius, and for the leg that leads to each its geometry, cross-track limits and
 * speed; a schedule where every waypoint has a time. Lengths are nautical miles and speeds knots, as the format asks.
 *
 * The format's limits hold: cross-track limits under 10 nautical miles, radii up to 5. A limit, speed or radius that is not
 * known is left out. Same route, same bytes.
 *
 * @throws RangeError for fewer than two waypoints, a position off the world, or a value beyond the format's limits
 * Source: IEC 61174:2015, annex S (RTZ 1.0), and its schema 1.1; longitude 180 is written as -180, as the schema asks.
 */
export function writeRtz(route: Route, options: RtzOptions = {}): string {
  checkRoute(route);
  const { geometry = 'Loxodrome', vesselName, author } = options;
  const { waypoints } = route;
  const timed = waypoints.every((one) => !Number.isNaN(one.timeS));
  const info = [
    attribute('routeName', route.name),
    ...(author === undefined ? [] : [attribute('routeAuthor', author)]),
    attribute('routeStatus', 'Not for navigation'),
    ...(timed ? [attribute('validityPeriodStart', formatUtc(waypoints[0]!.timeS)), attribute('validityPeriodStop', formatUtc(waypoints[waypoints.length - 1]!.timeS))] : []),
    ...(vesselName === undefined ? [] : [attribute('vesselName', vesselName)]),
  ];
  const out = ['<?xml version="1.0" encoding="UTF-8"?>', '<route xmlns="http://www.cirm.org/RTZ/1/1" version="1.1">', `  <routeInfo ${info.join(' ')}/>`, '  <waypoints>'];
  waypoints.forEach((one, i) => {
    const radius = Number.isNaN(one.radiusM) ? '' : ` radius="${miles(one.radiusM, 5, `waypoint ${i + 1}: radiusM`)}"`;
    out.push(`    <waypoint id="${i + 1}" revision="0" ${attribute('name', one.name)}${radius}>`);
    const lon = degreesText(one.lonDeg, 8);
    out.push(`      <position lat="${degreesText(one.latDeg, 8)}" lon="${lon === '180' ? '-180' : lon}"/>`);
    if (i > 0) out.push(`      <leg ${legText(one, i, geometry)}/>`);
    out.push('    </waypoint>');
  });
  out.push('  </waypoints>');
  if (timed) {
    out.push('  <schedules>', '    <schedule id="1" name="planned">', '      <calculated>');
    waypoints.forEach((one, i) => {
      const speed = i === 0 || Number.isNaN(one.speedMps) ? '' : ` speed="${(one.speedMps / KN).toFixed(3)}"`;
      out.push(`        <scheduleElement waypointId="${i + 1}" ${i === 0 ? 'etd' : 'eta'}="${formatUtc(one.timeS)}"${speed}/>`);
    });
    out.push('      </calculated>', '    </schedule>', '  </schedules>');
  }
  out.push('</route>', '');
  return out.join('\n');
}

function legText(to: RouteWaypoint, i: number, geometry: string): string {
  const parts: string[] = [];
  if (!Number.isNaN(to.xtdM)) {
    const limit = miles(to.xtdM, 9.99999, `waypoint ${i + 1}: xtdM`);
    parts.push(`starboardXTD="${limit}"`, `portsideXTD="${limit}"`);
  }
  parts.push(`geometryType="${geometry}"`);
  if (!Number.isNaN(to.speedMps)) {
    if (!(to.speedMps >= 0 && Number.isFinite(to.speedMps))) throw new RangeError(`waypoint ${i + 1}: speedMps ${to.speedMps}: expected 0 or more`);
    parts.push(`speedMax="${(to.speedMps / KN).toFixed(3)}"`);
  }
  const note = [to.kind, ...(to.line === null ? [] : [String(to.line)])].filter((one) => one !== '').join(' ');
  if (note !== '') parts.push(attribute('legInfo', note));
  return parts.join(' ');
}

function miles(lengthM: number, limit: number, what: string): string {
  const value = lengthM / NM;
  if (!(value >= 0 && value <= limit)) throw new RangeError(`${what} ${lengthM}: expected 0 to ${Math.floor(limit * NM)} m`);
  return value.toFixed(5);
}

function attribute(name: string, value: string): string {
  return `${name}="${escapeXml(value)}"`;
}
