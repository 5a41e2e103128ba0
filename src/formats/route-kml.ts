import type { FeatureProperties, GeoFeature } from '../geo/features.js';
import { formatUtc } from '../base/time.js';
import { writeKml } from './kml-write.js';
import { checkRoute, routeLegs, type Route } from './route.js';

/**
 * A route as KML 2.2: its line, and its waypoints with what is known of each.
 * @throws RangeError for fewer than two waypoints or a position off the world
 * Source: as `writeKml`.
 */
export function writeRouteKml(route: Route): string {
  checkRoute(route);
  const legs = routeLegs(route);
  const path = Float64Array.from(route.waypoints.flatMap((one) => [one.lonDeg, one.latDeg]));
  const rounded = (value: number, decimals: number): number | null => (Number.isFinite(value) ? Number(value.toFixed(decimals)) : null);
  const points = route.waypoints.map((one, i): GeoFeature => {
    const properties: FeatureProperties = {
      name: one.name,
      number: i + 1,
      kind: one.kind === '' ? null : one.kind,
      line: one.line,
      courseDeg: rounded(legs[i]!.courseDeg, 2),
      lengthM: rounded(legs[i]!.lengthM, 2),
      speedMps: rounded(one.speedMps, 3),
      timeUtc: Number.isNaN(one.timeS) ? null : formatUtc(one.timeS),
      xtdM: rounded(one.xtdM, 2),
      radiusM: rounded(one.radiusM, 2),
    };
    return { shape: { kind: 'point', lonDeg: one.lonDeg, latDeg: one.latDeg }, properties };
  });
  return writeKml(route.name, [
    { name: 'route', nameProperty: 'name', features: [{ shape: { kind: 'line', path }, properties: { name: route.name, description: route.description } }] },
    { name: 'waypoints', nameProperty: 'name', features: points },
  ]);
}
