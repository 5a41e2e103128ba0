import { pointInRing, signedRingAreaM2 } from '../geo/ring.js';
import type { Polygon, Ring } from '../geo/shapes.js';

/** A straight cut: through a point in a direction (unit vector), in the frame [m]. */
export interface Cut {
  readonly xM: number;
  readonly yM: number;
  readonly ux: number;
  readonly uy: number;
}

/** Corners nearer to a cut than this would be on it: the cut is moved aside [m]. */
const OFF_M = 1e-4;
const TRIES = 8;

/**
 * The parts of a polygon left and right of a straight cut, holes kept. A cut that runs through corners is moved aside by
 * less than a millimetre; the parts share their new edge exactly.
 *
 * @returns null where the cut does not part the polygon, or no place beside it is free of corners
 */
export function splitPolygon(polygon: Polygon, cut: Cut): { readonly left: Polygon[]; readonly right: Polygon[] } | null {
  const rings = [polygon.outer, ...polygon.holes];
  for (let k = 0; k < TRIES; k++) {
    const shift = (k % 2 === 0 ? 1 : -1) * Math.ceil((k + 1) / 2) * 2 * OFF_M;
    const x0 = cut.xM - cut.uy * shift;
    const y0 = cut.yM + cut.ux * shift;
    const sides = rings.map((ring) => {
      const out = new Float64Array(ring.length / 2);
      for (let i = 0; i < out.length; i++) out[i] = cut.ux * (ring[2 * i + 1]! - y0) - cut.uy * (ring[2 * i]! - x0);
      return out;
    });
    if (sides.some((side) => side.some((s) => Math.abs(s) < OFF_M))) continue;
    return partBy(rings, sides, x0, y0, cut);
  }
  return null;
}

interface Crossing {
  readonly x: number;
  readonly y: number;
  readonly along: number;
}

function partBy(rings: readonly Ring[], sides: readonly Float64Array[], x0: number, y0: number, cut: Cut): { left: Polygon[]; right: Polygon[] } | null {
  const crossings: Crossing[] = [];
  /** Chains of one side: from a crossing, along vertices, to a crossing. */
  const chains: { readonly from: number; readonly to: number; readonly left: boolean; readonly points: number[] }[] = [];
  const whole: { readonly ring: Ring; readonly left: boolean }[] = [];
  rings.forEach((ring, r) => {
    const side = sides[r]!;
    const n = side.length;
    const at: { edge: number; id: number }[] = [];
    for (let i = 0; i < n; i++) {
      const j = (i + 1) % n;
      if (side[i]! > 0 === side[j]! > 0) continue;
      const t = side[i]! / (side[i]! - side[j]!);
      const x = ring[2 * i]! + t * (ring[2 * j]! - ring[2 * i]!);
      const y = ring[2 * i + 1]! + t * (ring[2 * j + 1]! - ring[2 * i + 1]!);
      at.push({ edge: i, id: crossings.length });
      crossings.push({ x, y, along: (x - x0) * cut.ux + (y - y0) * cut.uy });
    }
    if (at.length === 0) {
      whole.push({ ring, left: side[0]! > 0 });
      return;
    }
    at.forEach((start, k) => {
      const end = at[(k + 1) % at.length]!;
      const points: number[] = [];
      for (let i = (start.edge + 1) % n; ; i = (i + 1) % n) {
        points.push(ring[2 * i]!, ring[2 * i + 1]!);
        if (i === end.edge) break;
      }
      chains.push({ from: start.id, to: end.id, left: side[(start.edge + 1) % n]! > 0, points });
    });
  });
  if (crossings.length === 0) return null;
  // Along the cut the polygon's inside lies between crossings 0 and 1, 2 and 3, ...: those are the new edges.
  const order = crossings.map((_, i) => i).sort((a, b) => crossings[a]!.along - crossings[b]!.along);
  const place = new Int32Array(crossings.length);
  order.forEach((id, i) => (place[id] = i));
  const partner = (id: number): number => order[place[id]! ^ 1]!;
  const out: { left: Polygon[]; right: Polygon[] } = { left: [], right: [] };
  for (const left of [true, false]) {
    const mine = chains.filter((chain) => chain.left === left);
    const startsAt = new Map(mine.map((chain) => [chain.from, chain]));
    const used = new Set<number>();
    const loops: Ring[] = [];
    for (const chain of mine) {
      if (used.has(chain.from)) continue;
      const points: number[] = [];
      let at: typeof chain | undefined = chain;
      while (at !== undefined && !used.has(at.from)) {
        used.add(at.from);
        const a = crossings[at.from]!;
        const b = crossings[at.to]!;
        points.push(a.x, a.y);
        for (const value of at.points) points.push(value);
        points.push(b.x, b.y);
        at = startsAt.get(partner(at.to));
      }
      if (at === undefined) return null;
      loops.push(Float64Array.from(points));
    }
    for (const one of whole) if (one.left === left) loops.push(one.ring);
    const outers = loops.filter((ring) => signedRingAreaM2(ring) > 0);
    const holes = loops.filter((ring) => signedRingAreaM2(ring) < 0);
    const polygons = outers.map((outer) => ({ outer, holes: holes.filter((hole) => pointInRing(outer, hole[0]!, hole[1]!)) }));
    (left ? out.left : out.right).push(...polygons);
  }
  return out.left.length > 0 && out.right.length > 0 ? out : null;
}
