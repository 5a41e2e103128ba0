import type { Route, RouteWaypoint } from '../formats/route.js';
import type { Frame } from '../geo/frame.js';
import type { Sortie } from '../lines/sortie.js';
import type { LegRun } from '../rehearse/rehearsal.js';

const LABEL = { launch: 'out', transit: 'way', 'run-in': 'run-in', line: 'line', 'run-out': 'run-out', turn: 'turn', home: 'home' } as const;

/**
 * A sortie as a route: the launch point, then every corner of every leg, with the speed ordered on the leg that leads there and,
 * where it was rehearsed, the time the leg ends.
 *
 * @param xtdM how far the boat may stray [m]
 * @param radiusM within which a waypoint counts as reached [m]
 */
export function sortieRoute(sortie: Sortie, legs: readonly LegRun[] | null, frame: Frame, name: string, xtdM: number, radiusM: number): Route {
  const waypoints: RouteWaypoint[] = [];
  const add = (xM: number, yM: number, rest: Omit<RouteWaypoint, 'latDeg' | 'lonDeg' | 'xtdM' | 'radiusM'>): void => {
    const [latDeg, lonDeg] = frame.toGeographic(xM, yM);
    waypoints.push({ latDeg, lonDeg, xtdM, radiusM, ...rest });
  };
  const first = sortie.legs[0];
  if (first !== undefined) add(first.path[0]!, first.path[1]!, { name: 'launch', kind: 'launch', line: null, speedMps: NaN, timeS: legs?.[0]?.startS ?? NaN });
  sortie.legs.forEach((leg, i) => {
    const corners = leg.path.length / 2;
    for (let k = 1; k < corners; k++) {
      const last = k === corners - 1;
      const place = leg.line === null ? '' : ` ${leg.line}`;
      const label = leg.kind === 'line' ? `${leg.line} end` : last && leg.kind === 'home' ? 'launch' : `${LABEL[leg.kind]}${place}${corners > 2 ? ` ${k}` : ''}`;
      add(leg.path[2 * k]!, leg.path[2 * k + 1]!, { name: label, kind: leg.kind, line: leg.line, speedMps: leg.speedMps, timeS: last ? (legs?.[i]?.endS ?? NaN) : NaN });
    }
  });
  return { name, description: `Sortie ${sortie.number}, lines ${sortie.lines.join(', ')}. Not for navigation.`, waypoints };
}
