import { geodesicLeg } from '../geo/geodesic.js';

/** A place on the way and what the boat does on the leg that leads there; NaN and null for what is not said. */
export interface RouteWaypoint {
  readonly latDeg: number;
  readonly lonDeg: number;
  readonly name: string;
  /** What the leg to here is: `line`, `transit`, `turn`, ... */
  readonly kind: string;
  /** Number of the survey line it belongs to. */
  readonly line: number | null;
  /** Ordered on the leg to here [m/s]. */
  readonly speedMps: number;
  /** UTC second it is to be here. */
  readonly timeS: number;
  /** How far the boat may stray from the leg to here, to either side [m]. */
  readonly xtdM: number;
  /** Radius of the turn here [m]. */
  readonly radiusM: number;
}

/** A route as it is handed over. */
export interface Route {
  readonly name: string;
  readonly description: string;
  readonly waypoints: readonly RouteWaypoint[];
}

/** The leg to a waypoint: true course at its start [deg, 0..360) and length on the ellipsoid [m]; NaN and 0 for the first. */
export interface RouteLeg {
  readonly courseDeg: number;
  readonly lengthM: number;
  /** From the first waypoint to here, along the route [m]. */
  readonly alongM: number;
}

/** The legs of a route, one for each waypoint. Source: `geodesicLeg`. */
export function routeLegs(route: Route): RouteLeg[] {
  let alongM = 0;
  return route.waypoints.map((to, i) => {
    const from = route.waypoints[i - 1];
    if (from === undefined) return { courseDeg: NaN, lengthM: 0, alongM: 0 };
    const { lengthM, startBearingDeg } = geodesicLeg(from.latDeg, from.lonDeg, to.latDeg, to.lonDeg);
    alongM += lengthM;
    return { courseDeg: lengthM === 0 ? NaN : (startBearingDeg + 360) % 360, lengthM, alongM };
  });
}

/** @throws RangeError for fewer than two waypoints, or a position off the world, by number */
export function checkRoute(route: Route): void {
  if (route.waypoints.length < 2) throw new RangeError(`route ${route.name}: ${route.waypoints.length} waypoints: expected two or more`);
  route.waypoints.forEach(({ latDeg, lonDeg }, i) => {
    if (!(latDeg >= -90 && latDeg <= 90)) throw new RangeError(`waypoint ${i + 1}: latDeg ${latDeg}: expected -90 to 90`);
    if (!(lonDeg >= -180 && lonDeg <= 180)) throw new RangeError(`waypoint ${i + 1}: lonDeg ${lonDeg}: expected -180 to 180`);
  });
}
