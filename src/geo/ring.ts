import type { Polygon, Ring } from './shapes.js';

/** A box in the survey frame [m]; `westM > eastM` where it holds nothing. */
export interface Box {
  readonly westM: number;
  readonly southM: number;
  readonly eastM: number;
  readonly northM: number;
}

/**
 * Area a ring encloses, positive where it runs counter-clockwise [m2].
 * The surveyor's formula about the first vertex, so that eastings of 10^6 m cost no digits. NaN if a vertex is NaN.
 */
export function signedRingAreaM2(ring: Ring): number {
  const n = ring.length / 2;
  if (n < 3) return 0;
  const x0 = ring[0]!;
  const y0 = ring[1]!;
  let twice = 0;
  for (let i = 1; i < n - 1; i++) {
    twice += (ring[2 * i]! - x0) * (ring[2 * i + 3]! - y0) - (ring[2 * i + 2]! - x0) * (ring[2 * i + 1]! - y0);
  }
  return twice / 2;
}

/** The ring with its vertices in the other order; the first vertex stays first. */
export function reversedRing(ring: Ring): Ring {
  const n = ring.length / 2;
  const out = new Float64Array(ring.length);
  for (let i = 0; i < n; i++) {
    const from = (n - i) % n;
    out[2 * i] = ring[2 * from]!;
    out[2 * i + 1] = ring[2 * from + 1]!;
  }
  return out;
}

/** The polygon with its outer ring counter-clockwise and its holes clockwise, as `Polygon` asks. */
export function orientedPolygon(polygon: Polygon): Polygon {
  return {
    outer: signedRingAreaM2(polygon.outer) < 0 ? reversedRing(polygon.outer) : polygon.outer,
    holes: polygon.holes.map((hole) => (signedRingAreaM2(hole) > 0 ? reversedRing(hole) : hole)),
  };
}

/** The box around the vertices of rings. */
export function boundsOfRings(rings: readonly Ring[]): Box {
  let westM = Infinity;
  let southM = Infinity;
  let eastM = -Infinity;
  let northM = -Infinity;
  for (const ring of rings) {
    for (let i = 0; i < ring.length; i += 2) {
      const x = ring[i]!;
      const y = ring[i + 1]!;
      if (x < westM) westM = x;
      if (x > eastM) eastM = x;
      if (y < southM) southM = y;
      if (y > northM) northM = y;
    }
  }
  return { westM, southM, eastM, northM };
}

/** The box around polygons. */
export function boundsOfPolygons(polygons: readonly Polygon[]): Box {
  return boundsOfRings(polygons.map((polygon) => polygon.outer));
}

/** All rings of polygons, outer rings and holes. */
export function ringsOf(polygons: readonly Polygon[]): Ring[] {
  return polygons.flatMap((polygon) => [polygon.outer, ...polygon.holes]);
}

/** Area of a polygon without its holes [m2], whichever way its rings run. */
export function polygonAreaM2(polygon: Polygon): number {
  let area = Math.abs(signedRingAreaM2(polygon.outer));
  for (const hole of polygon.holes) area -= Math.abs(signedRingAreaM2(hole));
  return area;
}

/** Length of a ring all the way round [m]. */
export function ringLengthM(ring: Ring): number {
  const n = ring.length / 2;
  let length = 0;
  for (let i = 0; i < n; i++) {
    const j = (i + 1) % n;
    length += Math.hypot(ring[2 * j]! - ring[2 * i]!, ring[2 * j + 1]! - ring[2 * i + 1]!);
  }
  return length;
}

/**
 * Centre of area of polygons, holes left out, [east, north] in metres.
 * Where they have no area: the middle of their box. NaN if a vertex is NaN.
 */
export function centroidM(polygons: readonly Polygon[]): [number, number] {
  const box = boundsOfPolygons(polygons);
  const x0 = (box.westM + box.eastM) / 2;
  const y0 = (box.southM + box.northM) / 2;
  let twice = 0;
  let sx = 0;
  let sy = 0;
  for (const polygon of polygons) {
    const { outer, holes } = orientedPolygon(polygon);
    for (const ring of [outer, ...holes]) {
      const n = ring.length / 2;
      for (let i = 0; i < n; i++) {
        const j = (i + 1) % n;
        const ax = ring[2 * i]! - x0;
        const ay = ring[2 * i + 1]! - y0;
        const bx = ring[2 * j]! - x0;
        const by = ring[2 * j + 1]! - y0;
        const cross = ax * by - bx * ay;
        twice += cross;
        sx += (ax + bx) * cross;
        sy += (ay + by) * cross;
      }
    }
  }
  if (twice === 0) return [x0, y0];
  return [x0 + sx / (3 * twice), y0 + sy / (3 * twice)];
}

/**
 * Whether a point lies in a ring, by counting crossings of a ray to the east (even-odd); a point on the edge may be either.
 * Source: Shimrat (1962), Algorithm 112, Comm. ACM 5(8), 434, in the half-open form that counts a vertex once.
 */
export function pointInRing(ring: Ring, xM: number, yM: number): boolean {
  const n = ring.length / 2;
  let inside = false;
  for (let i = 0, j = n - 1; i < n; j = i++) {
    const yi = ring[2 * i + 1]!;
    const yj = ring[2 * j + 1]!;
    if (yi > yM === yj > yM) continue;
    const xi = ring[2 * i]!;
    const xj = ring[2 * j]!;
    if (xM < xi + ((yM - yi) / (yj - yi)) * (xj - xi)) inside = !inside;
  }
  return inside;
}

/** Whether a point lies in a polygon and in none of its holes. */
export function pointInPolygon(polygon: Polygon, xM: number, yM: number): boolean {
  return pointInRing(polygon.outer, xM, yM) && !polygon.holes.some((hole) => pointInRing(hole, xM, yM));
}

/** Whether a point lies in any of the polygons. */
export function pointInPolygons(polygons: readonly Polygon[], xM: number, yM: number): boolean {
  return polygons.some((polygon) => pointInPolygon(polygon, xM, yM));
}
