import Flatbush from 'flatbush';
import { ringsOf } from './ring.js';
import { pointSegmentDistanceM, segmentSegmentDistanceM } from './segment.js';
import type { Polygon } from './shapes.js';

/** The edges of polygons, for asking quickly how near something comes to them. */
export interface EdgeStore {
  /** Distance from a point to the nearest edge, at most `mostM` [m]. */
  nearestM(xM: number, yM: number, mostM: number): number;
  /** Whether any edge comes nearer than `roomM` to the segment a-b. */
  anyWithin(ax: number, ay: number, bx: number, by: number, roomM: number): boolean;
}

/** Neighbouring edges share one circle; up to so many circles are looked through one by one. */
const EDGES_A_CIRCLE = 12;
const SCANNED_CIRCLES = 96;

/** Stores the edges of polygons, holes included: in runs of neighbouring edges, each with a circle around it. */
export function createEdgeStore(polygons: readonly Polygon[]): EdgeStore {
  const coordinates: number[] = [];
  const firstEdge: number[] = [];
  for (const ring of ringsOf(polygons)) {
    const n = ring.length / 2;
    for (let i = 0; i < n; i++) {
      if (i % EDGES_A_CIRCLE === 0) firstEdge.push(coordinates.length / 4);
      const j = (i + 1) % n;
      coordinates.push(ring[2 * i]!, ring[2 * i + 1]!, ring[2 * j]!, ring[2 * j + 1]!);
    }
  }
  const edges = Float64Array.from(coordinates);
  const count = firstEdge.length;
  firstEdge.push(edges.length / 4);
  const centreX = new Float64Array(count);
  const centreY = new Float64Array(count);
  const radius = new Float64Array(count);
  const index = count > SCANNED_CIRCLES ? new Flatbush(count) : null;
  for (let c = 0; c < count; c++) {
    let west = Infinity;
    let south = Infinity;
    let east = -Infinity;
    let north = -Infinity;
    for (let k = 4 * firstEdge[c]!; k < 4 * firstEdge[c + 1]!; k += 2) {
      west = Math.min(west, edges[k]!);
      east = Math.max(east, edges[k]!);
      south = Math.min(south, edges[k + 1]!);
      north = Math.max(north, edges[k + 1]!);
    }
    centreX[c] = (west + east) / 2;
    centreY[c] = (south + north) / 2;
    radius[c] = Math.hypot(east - west, north - south) / 2;
    index?.add(west, south, east, north);
  }
  index?.finish();

  const circleNear = (c: number, ax: number, ay: number, bx: number, by: number, roomM: number): boolean => {
    const dx = bx - ax;
    const dy = by - ay;
    const lengthSquared = dx * dx + dy * dy;
    const px = centreX[c]! - ax;
    const py = centreY[c]! - ay;
    const t = lengthSquared > 0 ? Math.min(1, Math.max(0, (px * dx + py * dy) / lengthSquared)) : 0;
    const ex = px - t * dx;
    const ey = py - t * dy;
    const reach = radius[c]! + roomM;
    if (ex * ex + ey * ey > reach * reach) return false;
    const length = Math.sqrt(lengthSquared);
    for (let e = firstEdge[c]!; e < firstEdge[c + 1]!; e++) {
      // Wholly to one side of the segment, or wholly before or past it, by more than the room: nothing to work out.
      const qx = edges[4 * e]! - ax;
      const qy = edges[4 * e + 1]! - ay;
      const rx = edges[4 * e + 2]! - ax;
      const ry = edges[4 * e + 3]! - ay;
      const sideQ = dx * qy - dy * qx;
      const sideR = dx * ry - dy * rx;
      const far = roomM * length;
      if ((sideQ > far && sideR > far) || (sideQ < -far && sideR < -far)) continue;
      const alongQ = dx * qx + dy * qy;
      const alongR = dx * rx + dy * ry;
      if ((alongQ < -far && alongR < -far) || (alongQ > lengthSquared + far && alongR > lengthSquared + far)) continue;
      if (segmentSegmentDistanceM(ax, ay, bx, by, edges[4 * e]!, edges[4 * e + 1]!, edges[4 * e + 2]!, edges[4 * e + 3]!) < roomM) return true;
    }
    return false;
  };

  return {
    nearestM(xM, yM, mostM) {
      let least = mostM;
      const look = (c: number): void => {
        const dx = xM - centreX[c]!;
        const dy = yM - centreY[c]!;
        const reach = radius[c]! + least;
        if (dx * dx + dy * dy > reach * reach) return;
        for (let e = firstEdge[c]!; e < firstEdge[c + 1]!; e++) {
          least = Math.min(least, pointSegmentDistanceM(xM, yM, edges[4 * e]!, edges[4 * e + 1]!, edges[4 * e + 2]!, edges[4 * e + 3]!));
        }
      };
      if (index === null) for (let c = 0; c < count; c++) look(c);
      else for (const c of index.search(xM - mostM, yM - mostM, xM + mostM, yM + mostM)) look(c);
      return least;
    },
    anyWithin(ax, ay, bx, by, roomM) {
      if (index === null) {
        for (let c = 0; c < count; c++) if (circleNear(c, ax, ay, bx, by, roomM)) return true;
        return false;
      }
      let near = false;
      index.search(
        Math.min(ax, bx) - roomM,
        Math.min(ay, by) - roomM,
        Math.max(ax, bx) + roomM,
        Math.max(ay, by) + roomM,
        (c) => {
          if (!near) near = circleNear(c, ax, ay, bx, by, roomM);
          return false;
        },
      );
      return near;
    },
  };
}
