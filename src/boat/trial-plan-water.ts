import { clipSegmentToPolygons, subtractIntervals, unionOfIntervals } from '../geo/clip-line.js';
import { createEdgeStore } from '../geo/edge-store.js';
import { boundsOfPolygons, centroidM, pointInPolygons, ringsOf, type Box } from '../geo/ring.js';
import type { Polygon } from '../geo/shapes.js';

/** A straight piece of free water. */
export interface Straight {
  readonly fromXM: number;
  readonly fromYM: number;
  readonly toXM: number;
  readonly toYM: number;
  readonly lengthM: number;
  /** From `from` to `to`, clockwise from grid north, 0..180 [deg]. */
  readonly gridDeg: number;
}

/** The water that trials may use, asked for free straights and free rounds. */
export interface TrialWater {
  /** Stretches of the segment a-b with at least so much room on every side, as distances from a: [start, end, ...]. */
  stretches(ax: number, ay: number, bx: number, by: number, roomM: number): number[];
  /** Whether all of a-b has so much room. */
  isFree(ax: number, ay: number, bx: number, by: number, roomM: number): boolean;
  /** Whether a round of so much room about a place is free. */
  isFreeRound(xM: number, yM: number, roomM: number): boolean;
  /**
   * The longest free straight at one of some headings, cut to `neededM` at the place nearest home; among several as long, the
   * nearest. Null where nothing is free.
   */
  straight(gridDegs: readonly number[], neededM: number, roomM: number): Straight | null;
  /** As `straight` over all headings, found on a sweep of 5 degrees and then drawn closer to 0.2. */
  longest(neededM: number, roomM: number): Straight | null;
  /** Places by distance from home, a few metres apart, that have so much room. */
  places(roomM: number): Iterable<readonly [number, number]>;
  readonly homeXM: number;
  readonly homeYM: number;
}

/** Sweep lines across the water at one heading, at most. */
const SWEEP_LINES = 90;
const LEAST_STEP_M = 1;
const EVERY_DEG = 5;
const PLACES_A_SIDE = 70;

/**
 * @param base the link's base: all must lie within its range
 * @param clearanceM room in any case; what a run needs beyond it is kept within the range too
 */
export function createTrialWater(
  water: readonly Polygon[],
  keepouts: readonly Polygon[],
  home: { readonly xM: number; readonly yM: number } | null,
  base: { readonly xM: number; readonly yM: number; readonly rangeM: number } | null,
  clearanceM: number,
): TrialWater {
  const edges = edgesOf([...water, ...keepouts]);
  const store = createEdgeStore([...water, ...keepouts]);
  const box = boundsOfPolygons(water);
  const [middleX, middleY] = centroidM(water);
  const homeXM = home?.xM ?? base?.xM ?? middleX;
  const homeYM = home?.yM ?? base?.yM ?? middleY;
  const reachM = (roomM: number): number => (base === null ? Infinity : base.rangeM - Math.max(0, roomM - clearanceM));

  const stretches = (ax: number, ay: number, bx: number, by: number, roomM: number): number[] => {
    const length = Math.hypot(bx - ax, by - ay);
    let inside = clipSegmentToPolygons(water, ax, ay, bx, by);
    if (inside.length === 0) return [];
    const ux = (bx - ax) / length;
    const uy = (by - ay) / length;
    const taken = clipSegmentToPolygons(keepouts, ax, ay, bx, by);
    for (let e = 0; e < edges.length; e += 4) addNearEdge(taken, ax, ay, ux, uy, edges[e]!, edges[e + 1]!, edges[e + 2]!, edges[e + 3]!, roomM);
    if (base !== null) {
      const along = (base.xM - ax) * ux + (base.yM - ay) * uy;
      const across = (base.yM - ay) * ux - (base.xM - ax) * uy;
      const half = reachM(roomM) ** 2 - across ** 2;
      if (!(half > 0) || reachM(roomM) <= 0) return [];
      taken.push(-Infinity, along - Math.sqrt(half), along + Math.sqrt(half), Infinity);
    }
    inside = subtractIntervals(inside, unionOfIntervals(taken));
    return inside;
  };
  const inReach = (xM: number, yM: number, roomM: number): boolean => base === null || Math.hypot(xM - base.xM, yM - base.yM) <= reachM(roomM);
  const isFreeRound = (xM: number, yM: number, roomM: number): boolean =>
    inReach(xM, yM, roomM) && pointInPolygons(water, xM, yM) && !pointInPolygons(keepouts, xM, yM) && store.nearestM(xM, yM, roomM) >= roomM;
  const isFree = (ax: number, ay: number, bx: number, by: number, roomM: number): boolean =>
    isFreeRound(ax, ay, roomM) && isFreeRound(bx, by, roomM) && !store.anyWithin(ax, ay, bx, by, roomM);

  const search = createSearch(stretches, box, homeXM, homeYM);
  const straight = (gridDegs: readonly number[], neededM: number, roomM: number): Straight | null => search(gridDegs, neededM, roomM);
  const longest = (neededM: number, roomM: number): Straight | null => {
    const all = Array.from({ length: 180 / EVERY_DEG }, (_, i) => i * EVERY_DEG);
    let best = search(all, neededM, roomM);
    for (const [reachDeg, stepDeg] of [[4, 1], [0.8, 0.2]] as const) {
      if (best === null || best.lengthM >= neededM - 1e-6) break;
      const near: number[] = [];
      for (let k = -Math.round(reachDeg / stepDeg); k <= Math.round(reachDeg / stepDeg); k++) near.push((best.gridDeg + k * stepDeg + 180) % 180);
      const closer = search(near, neededM, roomM);
      if (closer !== null && closer.lengthM > best.lengthM) best = closer;
    }
    return best;
  };

  function* places(roomM: number): Iterable<readonly [number, number]> {
    const step = Math.max(2, Math.max(box.eastM - box.westM, box.northM - box.southM) / PLACES_A_SIDE);
    const all: [number, number, number][] = [];
    for (let y = box.southM + step / 2; y < box.northM; y += step) {
      for (let x = box.westM + step / 2; x < box.eastM; x += step) all.push([x, y, Math.hypot(x - homeXM, y - homeYM)]);
    }
    all.sort((p, q) => p[2] - q[2] || p[1] - q[1] || p[0] - q[0]);
    for (const [x, y] of all) if (isFreeRound(x, y, roomM)) yield [x, y];
  }
  return { stretches, isFree, isFreeRound, straight, longest, places, homeXM, homeYM };
}

type Search = (gridDegs: readonly number[], neededM: number, roomM: number) => Straight | null;

/** Straights as long as the longest, but for this much, count as long as it [m]. */
const AS_LONG_M = 1;

function createSearch(stretches: TrialWater['stretches'], box: Box, homeXM: number, homeYM: number): Search {
  const cx = (box.westM + box.eastM) / 2;
  const cy = (box.southM + box.northM) / 2;
  const width = box.eastM - box.westM;
  const height = box.northM - box.southM;
  const reach = Math.hypot(width, height) / 2 + 1;
  return (gridDegs, neededM, roomM) => {
    let longestM = 0;
    let found: { straight: Straight; awayM: number }[] = [];
    for (const gridDeg of gridDegs) {
      const ux = Math.sin((gridDeg * Math.PI) / 180);
      const uy = Math.cos((gridDeg * Math.PI) / 180);
      const span = (Math.abs(uy) * width + Math.abs(ux) * height) / 2;
      const count = Math.max(3, Math.min(SWEEP_LINES, Math.ceil((2 * span) / LEAST_STEP_M)));
      for (let k = 0; k < count; k++) {
        const off = -span + ((k + 0.5) * 2 * span) / count;
        const ax = cx + off * uy - reach * ux;
        const ay = cy - off * ux - reach * uy;
        const free = stretches(ax, ay, ax + 2 * reach * ux, ay + 2 * reach * uy, roomM);
        for (let i = 0; i < free.length; i += 2) {
          const lengthM = Math.min(free[i + 1]! - free[i]!, neededM);
          if (!(lengthM > 0) || lengthM < longestM - AS_LONG_M) continue;
          longestM = Math.max(longestM, lengthM);
          const homeAlong = (homeXM - ax) * ux + (homeYM - ay) * uy;
          const start = Math.min(free[i + 1]! - lengthM, Math.max(free[i]!, homeAlong - lengthM / 2));
          const middle = start + lengthM / 2;
          const awayM = Math.hypot(ax + middle * ux - homeXM, ay + middle * uy - homeYM);
          found.push({ straight: { fromXM: ax + start * ux, fromYM: ay + start * uy, toXM: ax + (start + lengthM) * ux, toYM: ay + (start + lengthM) * uy, lengthM, gridDeg }, awayM });
        }
      }
    }
    found = found.filter(({ straight }) => straight.lengthM >= longestM - AS_LONG_M);
    let best: { straight: Straight; awayM: number } | null = null;
    for (const one of found) if (best === null || one.awayM < best.awayM) best = one;
    return best?.straight ?? null;
  };
}

/** Edges of polygons, holes included: [x0, y0, x1, y1, ...]. */
function edgesOf(polygons: readonly Polygon[]): Float64Array {
  const out: number[] = [];
  for (const ring of ringsOf(polygons)) {
    const n = ring.length / 2;
    for (let i = 0, j = n - 1; i < n; j = i++) out.push(ring[2 * j]!, ring[2 * j + 1]!, ring[2 * i]!, ring[2 * i + 1]!);
  }
  return Float64Array.from(out);
}

/** Adds the stretch of the line a + t u that lies nearer than the room to an edge: one stretch, as what lies within a distance of a segment is convex. */
function addNearEdge(out: number[], ax: number, ay: number, ux: number, uy: number, ex: number, ey: number, fx: number, fy: number, roomM: number): void {
  const acrossE = ux * (ey - ay) - uy * (ex - ax);
  const acrossF = ux * (fy - ay) - uy * (fx - ax);
  if ((acrossE > roomM && acrossF > roomM) || (acrossE < -roomM && acrossF < -roomM)) return;
  const alongE = ux * (ex - ax) + uy * (ey - ay);
  const alongF = ux * (fx - ax) + uy * (fy - ay);
  let start = Infinity;
  let end = -Infinity;
  for (const [along, across] of [[alongE, acrossE], [alongF, acrossF]] as const) {
    const half = roomM * roomM - across * across;
    if (half < 0) continue;
    start = Math.min(start, along - Math.sqrt(half));
    end = Math.max(end, along + Math.sqrt(half));
  }
  // Beside the edge: between its ends and within the room across it.
  const dx = alongF - alongE;
  const dy = acrossF - acrossE;
  const length = Math.hypot(dx, dy);
  if (length > 0) {
    const cos = dx / length;
    const sin = dy / length;
    // Of the place (t, 0): along the edge (t - alongE) cos - acrossE sin, across it -(t - alongE) sin - acrossE cos.
    let low = -Infinity;
    let high = Infinity;
    const within = (slope: number, at: number, from: number, to: number): void => {
      if (slope === 0) {
        if (at < from || at > to) low = Infinity;
        return;
      }
      const p = (from - at) / slope;
      const q = (to - at) / slope;
      low = Math.max(low, Math.min(p, q));
      high = Math.min(high, Math.max(p, q));
    };
    within(cos, -acrossE * sin, 0, length);
    within(-sin, -acrossE * cos, -roomM, roomM);
    if (low <= high) {
      start = Math.min(start, low + alongE);
      end = Math.max(end, high + alongE);
    }
  }
  if (end > start) out.push(start, end);
}
