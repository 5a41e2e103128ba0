import type { Polygon, Polyline, Ring } from './shapes.js';
import { pointInPolygon, ringsOf } from './ring.js';

/** Distance from a point to a segment a-b [m]; to the point a where a = b. */
export function pointSegmentDistanceM(xM: number, yM: number, ax: number, ay: number, bx: number, by: number): number {
  const dx = bx - ax;
  const dy = by - ay;
  const lengthSquared = dx * dx + dy * dy;
  const t = lengthSquared > 0 ? Math.min(1, Math.max(0, ((xM - ax) * dx + (yM - ay) * dy) / lengthSquared)) : 0;
  const ex = xM - ax - t * dx;
  const ey = yM - ay - t * dy;
  return Math.sqrt(ex * ex + ey * ey);
}

/** Twice the area of the triangle a, b, c: positive where c lies left of a-b. */
function turn(ax: number, ay: number, bx: number, by: number, cx: number, cy: number): number {
  return (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
}

/** Whether the segments a-b and c-d cross at an inner point of both; touching ends do not count. */
export function segmentsCross(ax: number, ay: number, bx: number, by: number, cx: number, cy: number, dx: number, dy: number): boolean {
  const c = turn(ax, ay, bx, by, cx, cy);
  const d = turn(ax, ay, bx, by, dx, dy);
  if (!((c > 0 && d < 0) || (c < 0 && d > 0))) return false;
  const a = turn(cx, cy, dx, dy, ax, ay);
  const b = turn(cx, cy, dx, dy, bx, by);
  return (a > 0 && b < 0) || (a < 0 && b > 0);
}

/** The point where the lines through a-b and c-d meet; NaN where they are parallel. */
export function lineMeetingPoint(ax: number, ay: number, bx: number, by: number, cx: number, cy: number, dx: number, dy: number): [number, number] {
  const across = (bx - ax) * (dy - cy) - (by - ay) * (dx - cx);
  if (across === 0) return [NaN, NaN];
  const t = ((cx - ax) * (dy - cy) - (cy - ay) * (dx - cx)) / across;
  return [ax + t * (bx - ax), ay + t * (by - ay)];
}

/** Distance between the segments a-b and c-d [m]; 0 where they cross or touch. */
export function segmentSegmentDistanceM(ax: number, ay: number, bx: number, by: number, cx: number, cy: number, dx: number, dy: number): number {
  if (segmentsCross(ax, ay, bx, by, cx, cy, dx, dy)) return 0;
  return Math.min(
    pointSegmentDistanceM(ax, ay, cx, cy, dx, dy),
    pointSegmentDistanceM(bx, by, cx, cy, dx, dy),
    pointSegmentDistanceM(cx, cy, ax, ay, bx, by),
    pointSegmentDistanceM(dx, dy, ax, ay, bx, by),
  );
}

/** Distance from a point to the edge of a ring [m]. */
export function pointRingDistanceM(ring: Ring, xM: number, yM: number): number {
  const n = ring.length / 2;
  let least = Infinity;
  for (let i = 0, j = n - 1; i < n; j = i++) {
    least = Math.min(least, pointSegmentDistanceM(xM, yM, ring[2 * j]!, ring[2 * j + 1]!, ring[2 * i]!, ring[2 * i + 1]!));
  }
  return least;
}

/** Distance from a point to a polygon [m]: 0 inside it, else to its nearest edge. */
export function pointPolygonDistanceM(polygon: Polygon, xM: number, yM: number): number {
  if (pointInPolygon(polygon, xM, yM)) return 0;
  let least = Infinity;
  for (const ring of ringsOf([polygon])) least = Math.min(least, pointRingDistanceM(ring, xM, yM));
  return least;
}

/** Distance from a segment to a polygon [m]: 0 where any of it lies inside or touches. */
export function segmentPolygonDistanceM(polygon: Polygon, ax: number, ay: number, bx: number, by: number): number {
  if (pointInPolygon(polygon, ax, ay) || pointInPolygon(polygon, bx, by)) return 0;
  let least = Infinity;
  for (const ring of ringsOf([polygon])) {
    const n = ring.length / 2;
    for (let i = 0, j = n - 1; i < n; j = i++) {
      least = Math.min(least, segmentSegmentDistanceM(ax, ay, bx, by, ring[2 * j]!, ring[2 * j + 1]!, ring[2 * i]!, ring[2 * i + 1]!));
      if (least === 0) return 0;
    }
  }
  return least;
}

/** Length of a line of vertices [m]. */
export function polylineLengthM(line: Polyline): number {
  let length = 0;
  for (let i = 2; i < line.length; i += 2) length += Math.hypot(line[i]! - line[i - 2]!, line[i + 1]! - line[i - 1]!);
  return length;
}
