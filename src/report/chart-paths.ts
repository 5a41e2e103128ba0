import type { Polygon } from '../geo/shapes.js';
import type { ChartFrame } from './chart-frame.js';
import { mm } from './svg-text.js';

/** Lines and polygons of the ground as paths on the sheet, no finer than print can show. */

/** Half a hair: vertices nearer than this to the line they lie on are left out [mm]. */
const FINENESS_MM = 0.05;

/**
 * A line on the sheet [x0, y0, x1, y1, ...] in mm, thinned to print; null where it lies outside the map.
 * A vertex that is not finite ends the line before it.
 */
export function sheetLine(frame: ChartFrame, line: ArrayLike<number>): Float64Array[] {
  const out: Float64Array[] = [];
  let run: number[] = [];
  const end = (): void => {
    if (run.length >= 4 && touchesMap(frame, run)) out.push(thin(run));
    run = [];
  };
  for (let i = 0; i + 1 < line.length; i += 2) {
    const x = frame.xMm(line[i] ?? NaN);
    const y = frame.yMm(line[i + 1] ?? NaN);
    if (Number.isFinite(x) && Number.isFinite(y)) run.push(x, y);
    else end();
  }
  end();
  return out;
}

/** Path data of an open line. */
export function pathOf(points: ArrayLike<number>, closed = false): string {
  const parts: string[] = [];
  for (let i = 0; i + 1 < points.length; i += 2) parts.push(`${i === 0 ? 'M' : 'L'}${mm(points[i] ?? 0)} ${mm(points[i + 1] ?? 0)}`);
  return parts.join('') + (closed ? 'Z' : '');
}

/** Path data of polygons with their holes, to be filled by the even-odd rule. Coordinates far outside the map are drawn in. */
export function polygonsPath(frame: ChartFrame, polygons: readonly Polygon[]): string {
  return polygons
    .flatMap((polygon) => [polygon.outer, ...polygon.holes])
    .map((ring) => {
      const points: number[] = [];
      for (let i = 0; i + 1 < ring.length; i += 2) points.push(near(frame.xMm(ring[i] ?? 0)), near(frame.yMm(ring[i + 1] ?? 0)));
      return points.length >= 6 ? pathOf(thin(points), true) : '';
    })
    .join('');
}

function near(valueMm: number): number {
  return Math.max(-2000, Math.min(3000, valueMm));
}

/** Whether any part of the line's bounding box is on the map. */
function touchesMap(frame: ChartFrame, points: readonly number[]): boolean {
  let [x0, y0, x1, y1] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let i = 0; i < points.length; i += 2) {
    const x = points[i] ?? 0;
    const y = points[i + 1] ?? 0;
    if (x < x0) x0 = x;
    if (x > x1) x1 = x;
    if (y < y0) y0 = y;
    if (y > y1) y1 = y;
  }
  return x0 <= frame.map.x1 && x1 >= frame.map.x0 && y0 <= frame.map.y1 && y1 >= frame.map.y0;
}

/** Radial thinning, then Douglas and Peucker (1973) without recursion. */
export function thin(points: ArrayLike<number>, finenessMm = FINENESS_MM): Float64Array {
  const sparse: number[] = [];
  const last = points.length - 2;
  for (let i = 0; i <= last; i += 2) {
    const x = points[i] ?? 0;
    const y = points[i + 1] ?? 0;
    const n = sparse.length;
    if (i > 0 && i < last && Math.hypot(x - (sparse[n - 2] ?? 0), y - (sparse[n - 1] ?? 0)) < finenessMm) continue;
    sparse.push(x, y);
  }
  const count = sparse.length / 2;
  if (count < 3) return Float64Array.from(sparse);
  const keep = new Uint8Array(count);
  keep[0] = 1;
  keep[count - 1] = 1;
  const stack = [0, count - 1];
  while (stack.length > 0) {
    const end = stack.pop() ?? 0;
    const start = stack.pop() ?? 0;
    const ax = sparse[2 * start] ?? 0;
    const ay = sparse[2 * start + 1] ?? 0;
    const dx = (sparse[2 * end] ?? 0) - ax;
    const dy = (sparse[2 * end + 1] ?? 0) - ay;
    const length2 = dx * dx + dy * dy;
    let far = -1;
    let farthest2 = finenessMm * finenessMm;
    for (let i = start + 1; i < end; i++) {
      const px = (sparse[2 * i] ?? 0) - ax;
      const py = (sparse[2 * i + 1] ?? 0) - ay;
      const along = length2 > 0 ? Math.max(0, Math.min(1, (px * dx + py * dy) / length2)) : 0;
      const ex = px - along * dx;
      const ey = py - along * dy;
      const distance2 = ex * ex + ey * ey;
      if (distance2 > farthest2) {
        farthest2 = distance2;
        far = i;
      }
    }
    if (far >= 0) {
      keep[far] = 1;
      stack.push(start, far, far, end);
    }
  }
  const out: number[] = [];
  for (let i = 0; i < count; i++) if (keep[i] === 1) out.push(sparse[2 * i] ?? 0, sparse[2 * i + 1] ?? 0);
  return Float64Array.from(out);
}
