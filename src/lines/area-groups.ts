import type { Polygon } from '../geo/shapes.js';
import { boundsOfPolygons, pointInPolygon } from '../geo/ring.js';
import { pointPolygonDistanceM, segmentPolygonDistanceM } from '../geo/segment.js';

/**
 * Area polygons in groups that touch or overlap: each group gets lines at one set of levels, so that neighbours keep
 * their spacing across a shared edge, and polygons apart are each covered to their edges.
 * Groups come in the order of their first polygon.
 */
export function touchingGroups(polygons: readonly Polygon[]): Polygon[][] {
  const group = polygons.map((_, i) => i);
  const find = (i: number): number => (group[i] === i ? i : (group[i] = find(group[i]!)));
  for (let i = 0; i < polygons.length; i++) {
    for (let j = 0; j < i; j++) {
      if (find(i) !== find(j) && polygonsTouch(polygons[i]!, polygons[j]!)) group[find(i)] = find(j);
    }
  }
  const members = new Map<number, Polygon[]>();
  polygons.forEach((polygon, i) => {
    const root = find(i);
    const list = members.get(root);
    if (list === undefined) members.set(root, [polygon]);
    else list.push(polygon);
  });
  return [...members.values()];
}

/** Whether two polygons come within a centimetre of each other. */
export function polygonsTouch(a: Polygon, b: Polygon): boolean {
  const nearM = 0.01;
  const boxA = boundsOfPolygons([a]);
  const boxB = boundsOfPolygons([b]);
  if (boxA.westM > boxB.eastM + nearM || boxB.westM > boxA.eastM + nearM) return false;
  if (boxA.southM > boxB.northM + nearM || boxB.southM > boxA.northM + nearM) return false;
  if (pointPolygonDistanceM(a, b.outer[0]!, b.outer[1]!) <= nearM) return true;
  const n = a.outer.length / 2;
  for (let i = 0, j = n - 1; i < n; j = i++) {
    if (segmentPolygonDistanceM(b, a.outer[2 * j]!, a.outer[2 * j + 1]!, a.outer[2 * i]!, a.outer[2 * i + 1]!) <= nearM) return true;
  }
  return false;
}

/**
 * The area's holes as keep-outs: what the user cut out of the area may be an island. A hole with another of the area's
 * polygons in it is left as a hole, or that polygon could not be reached.
 */
export function holesAsKeepouts(polygons: readonly Polygon[]): Polygon[] {
  const out: Polygon[] = [];
  for (const polygon of polygons) {
    for (const hole of polygon.holes) {
      const solid: Polygon = { outer: hole, holes: [] };
      const holdsAnother = polygons.some((other) => other !== polygon && pointInPolygon(solid, other.outer[0]!, other.outer[1]!));
      if (!holdsAnother) out.push(solid);
    }
  }
  return out;
}
