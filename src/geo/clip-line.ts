import type { Polygon } from './shapes.js';
import { ringsOf } from './ring.js';

/** Stretches of one line as pairs [start0, end0, start1, end1, ...], rising, apart from each other. */
export type Intervals = readonly number[];

/** Merges stretches in any order into rising ones; touching ones join. */
export function unionOfIntervals(pairs: readonly number[]): number[] {
  const order = Array.from({ length: pairs.length / 2 }, (_, i) => i).sort((a, b) => pairs[2 * a]! - pairs[2 * b]!);
  const out: number[] = [];
  for (const i of order) {
    const start = pairs[2 * i]!;
    const end = pairs[2 * i + 1]!;
    if (!(end > start)) continue;
    if (out.length > 0 && start <= out[out.length - 1]!) out[out.length - 1] = Math.max(out[out.length - 1]!, end);
    else out.push(start, end);
  }
  return out;
}

/** What of the stretches `keep` lies in none of `without`; both rising and apart. */
export function subtractIntervals(keep: Intervals, without: Intervals): number[] {
  const out: number[] = [];
  let w = 0;
  for (let k = 0; k < keep.length; k += 2) {
    let start = keep[k]!;
    const end = keep[k + 1]!;
    while (w < without.length && without[w + 1]! <= start) w += 2;
    for (let v = w; v < without.length && without[v]! < end; v += 2) {
      if (without[v]! > start) out.push(start, without[v]!);
      start = Math.max(start, without[v + 1]!);
    }
    if (start < end) out.push(start, end);
  }
  return out;
}

/**
 * Stretches of the segment a-b that lie inside any of the polygons, as distances from a [m].
 *
 * Crossings are counted half-open against the segment's own direction, so a vertex on the line counts once and an edge
 * along it not at all: the result is the same whichever way rings run, and a line along an edge is in or out, never torn.
 *
 * @returns pairs [start, end, ...] within 0..length; empty where a = b or nothing lies inside
 */
export function clipSegmentToPolygons(polygons: readonly Polygon[], ax: number, ay: number, bx: number, by: number): number[] {
  const length = Math.hypot(bx - ax, by - ay);
  if (!(length > 0)) return [];
  const ux = (bx - ax) / length;
  const uy = (by - ay) / length;
  const inside: number[] = [];
  for (const polygon of polygons) {
    const at: number[] = [];
    for (const ring of ringsOf([polygon])) {
      const n = ring.length / 2;
      for (let i = 0, j = n - 1; i < n; j = i++) {
        const ex = ring[2 * j]! - ax;
        const ey = ring[2 * j + 1]! - ay;
        const fx = ring[2 * i]! - ax;
        const fy = ring[2 * i + 1]! - ay;
        const acrossE = ux * ey - uy * ex;
        const acrossF = ux * fy - uy * fx;
        if (acrossE > 0 === acrossF > 0) continue;
        const t = acrossE / (acrossE - acrossF);
        at.push(ux * (ex + t * (fx - ex)) + uy * (ey + t * (fy - ey)));
      }
    }
    at.sort((p, q) => p - q);
    for (let k = 0; k + 1 < at.length; k += 2) inside.push(Math.max(0, at[k]!), Math.min(length, at[k + 1]!));
  }
  return unionOfIntervals(inside);
}
