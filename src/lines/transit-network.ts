import type { KeepOut } from '../geo/keep-out.js';
import type { Polyline, Ring } from '../geo/shapes.js';
import { createEdgeStore, type EdgeStore } from '../geo/edge-store.js';
import { orientedPolygon, pointInPolygons } from '../geo/ring.js';
import { pointSegmentDistanceM, polylineLengthM, segmentPolygonDistanceM } from '../geo/segment.js';

/** A way between two points; `lengthM` is Infinity and `path` empty where there is none. */
export interface Way {
  readonly lengthM: number;
  readonly path: Polyline;
}

/** Finds the shortest way between points that never enters a keep-out. */
export interface TransitNetwork {
  /** Length of the way [m]; never less than the straight distance; Infinity where there is none. */
  lengthM(ax: number, ay: number, bx: number, by: number): number;
  way(ax: number, ay: number, bx: number, by: number): Way;
  /** Whether a point lies in a keep-out. */
  isInside(xM: number, yM: number): boolean;
  /** Whether a segment enters or touches a keep-out. */
  meets(ax: number, ay: number, bx: number, by: number): boolean;
  /** How far one can go straight on from a point in a direction (unit vector), a centimetre clear of keep-outs, at most `mostM`. */
  roomAlongM(xM: number, yM: number, ux: number, uy: number, mostM: number): number;
}

/** Nearer to a keep-out than this counts as touching it [m]. */
const TOUCH_M = 0.01;

/** Rings with more corners than this are followed with fewer. */
const MOST_CORNERS = 64;

/**
 * The network of ways around keep-outs.
 *
 * Straight where nothing is in the way; else the shortest path over the visibility graph (Lozano-Perez & Wesley 1979,
 * Comm. ACM 22(10), 560-570) whose nodes stand around the keep-outs' outward corners so that the path keeps the
 * clearance. A leg may come nearer than the clearance only as near as one of its own ends is. Where no way keeps the
 * clearance, one that keeps a tenth of it is looked for. A keep-out with a clearance of its own is kept off by that, where it is more.
 */
export function createTransitNetwork(keepouts: readonly KeepOut[], clearanceM: number): TransitNetwork {
  if (!(clearanceM > 0)) throw new RangeError(`clearanceM ${clearanceM}: expected more than 0`);
  const wide = createLayer(keepouts, clearanceM, 1);
  let narrow: Layer | null = null;
  const ask = (ax: number, ay: number, bx: number, by: number): Way => {
    const straight = Math.hypot(bx - ax, by - ay);
    if (wide.isClear(ax, ay, bx, by)) return { lengthM: straight, path: Float64Array.of(ax, ay, bx, by) };
    const found = wide.around(ax, ay, bx, by);
    if (found !== null) return found;
    narrow ??= createLayer(keepouts, clearanceM, 0.1);
    if (narrow.isClear(ax, ay, bx, by)) return { lengthM: straight, path: Float64Array.of(ax, ay, bx, by) };
    return narrow.around(ax, ay, bx, by) ?? { lengthM: Infinity, path: new Float64Array(0) };
  };
  return {
    lengthM: (ax, ay, bx, by) => (wide.isClear(ax, ay, bx, by) ? Math.hypot(bx - ax, by - ay) : ask(ax, ay, bx, by).lengthM),
    way: ask,
    isInside: (xM, yM) => pointInPolygons(keepouts, xM, yM),
    meets: (ax, ay, bx, by) => keepouts.some((polygon) => segmentPolygonDistanceM(polygon, ax, ay, bx, by) === 0),
    roomAlongM(xM, yM, ux, uy, mostM) {
      if (!(mostM > 0)) return 0;
      // Halving on the distance that stays clear: a millimetre is enough.
      const clear = (m: number): boolean => keepouts.every((polygon) => segmentPolygonDistanceM(polygon, xM, yM, xM + m * ux, yM + m * uy) >= TOUCH_M);
      if (clear(mostM)) return mostM;
      let lo = 0;
      let hi = mostM;
      while (hi - lo > 1e-3) {
        const middle = (lo + hi) / 2;
        if (clear(middle)) lo = middle;
        else hi = middle;
      }
      return lo;
    },
  };
}

interface Layer {
  isClear(ax: number, ay: number, bx: number, by: number): boolean;
  around(ax: number, ay: number, bx: number, by: number): Way | null;
}

/** Keep-outs that are kept off by one clearance. */
interface Group {
  readonly keepouts: readonly KeepOut[];
  readonly edges: EdgeStore;
  readonly clearanceM: number;
}

function groupsOf(keepouts: readonly KeepOut[], clearanceM: number, share: number): Group[] {
  const byClearance = new Map<number, KeepOut[]>();
  for (const keepout of keepouts) {
    const own = share * Math.max(clearanceM, keepout.clearanceM ?? 0);
    const list = byClearance.get(own);
    if (list === undefined) byClearance.set(own, [keepout]);
    else list.push(keepout);
  }
  return [...byClearance].map(([own, list]) => ({ keepouts: list, edges: createEdgeStore(list), clearanceM: own }));
}

/** @param share of the clearances that is kept */
function createLayer(keepouts: readonly KeepOut[], leastClearanceM: number, share: number): Layer {
  const groups = groupsOf(keepouts, leastClearanceM, share);
  const count = groups.length;

  /** Distances from a point to the nearest edge of each group, at most its clearance. */
  const pointRooms = (x: number, y: number): Float64Array => {
    const rooms = new Float64Array(count);
    for (let g = 0; g < count; g++) rooms[g] = groups[g]!.edges.nearestM(x, y, groups[g]!.clearanceM);
    return rooms;
  };
  const full = Float64Array.from(groups, (group) => group.clearanceM);
  const hasRoom = (x: number, y: number): boolean => groups.every(({ edges, clearanceM }) => edges.nearestM(x, y, clearanceM) >= clearanceM * (1 - 1e-6));

  /** Whether a leg keeps the lesser of two rooms from every group. */
  const isClearAt = (ax: number, ay: number, bx: number, by: number, roomsA: Float64Array, roomsB: Float64Array): boolean => {
    for (let g = 0; g < count; g++) if (groups[g]!.edges.anyWithin(ax, ay, bx, by, Math.min(roomsA[g]!, roomsB[g]!) * (1 - 1e-6))) return false;
    return true;
  };
  const rooms = new Map<number, Map<number, Float64Array>>();
  const knownRooms = (x: number, y: number): Float64Array => {
    let row = rooms.get(x);
    if (row === undefined) rooms.set(x, (row = new Map()));
    let room = row.get(y);
    if (room === undefined) row.set(y, (room = pointRooms(x, y)));
    return room;
  };
  const isClear = (ax: number, ay: number, bx: number, by: number): boolean => count === 0 || isClearAt(ax, ay, bx, by, knownRooms(ax, ay), knownRooms(bx, by));

  // Nodes around outward corners, kept where they have the room themselves.
  let nodes: Float64Array | null = null;
  const rows: (Float64Array | null)[] = [];
  const nodesNow = (): Float64Array => {
    if (nodes !== null) return nodes;
    const all: number[] = [];
    for (const group of groups) {
      for (const polygon of group.keepouts) {
        const { outer, holes } = orientedPolygon(polygon);
        for (const ring of [outer, ...holes]) {
          const corners = cornerNodes(ring, group.clearanceM);
          for (let i = 0; i < corners.length; i += 2) {
            const x = corners[i]!;
            const y = corners[i + 1]!;
            if (hasRoom(x, y) && !pointInPolygons(keepouts, x, y)) all.push(x, y);
          }
        }
      }
    }
    nodes = Float64Array.from(all);
    for (let i = 0; i < nodes.length / 2; i++) rows.push(null);
    return nodes;
  };
  /** Distances from node u to each node it sees, Infinity to others. */
  const rowOf = (u: number): Float64Array => {
    const at = nodesNow();
    const known = rows[u];
    if (known) return known;
    const row = new Float64Array(at.length / 2).fill(Infinity);
    for (let v = 0; v < row.length; v++) {
      if (v === u) continue;
      const other = rows[v];
      if (other) row[v] = other[u]!;
      else if (isClearAt(at[2 * u]!, at[2 * u + 1]!, at[2 * v]!, at[2 * v + 1]!, full, full)) {
        row[v] = Math.hypot(at[2 * v]! - at[2 * u]!, at[2 * v + 1]! - at[2 * u + 1]!);
      }
    }
    rows[u] = row;
    return row;
  };
  const seen = new Map<string, Float64Array>();
  /** Distances from a point to each node it sees, Infinity to others. */
  const seenFrom = (x: number, y: number): Float64Array => {
    const key = `${x} ${y}`;
    const known = seen.get(key);
    if (known !== undefined) return known;
    const at = nodesNow();
    const row = new Float64Array(at.length / 2).fill(Infinity);
    const roomsHere = knownRooms(x, y);
    for (let v = 0; v < row.length; v++) {
      if (isClearAt(x, y, at[2 * v]!, at[2 * v + 1]!, roomsHere, roomsHere)) row[v] = Math.hypot(at[2 * v]! - x, at[2 * v + 1]! - y);
    }
    seen.set(key, row);
    return row;
  };

  /** A* over the nodes, the straight distance to the goal as the bound. */
  const around = (ax: number, ay: number, bx: number, by: number): Way | null => {
    const at = nodesNow();
    const n = at.length / 2;
    const fromStart = seenFrom(ax, ay);
    const toGoal = seenFrom(bx, by);
    const best = Float64Array.from(fromStart);
    const parent = new Int32Array(n).fill(-1);
    const done = new Uint8Array(n);
    let goalM = Infinity;
    let last = -1;
    for (;;) {
      let u = -1;
      let least = goalM;
      for (let v = 0; v < n; v++) {
        if (done[v] === 1 || best[v] === Infinity) continue;
        const bound = best[v]! + Math.hypot(bx - at[2 * v]!, by - at[2 * v + 1]!);
        if (bound < least - 1e-9) {
          least = bound;
          u = v;
        }
      }
      if (u < 0) break;
      done[u] = 1;
      if (best[u]! + toGoal[u]! < goalM) {
        goalM = best[u]! + toGoal[u]!;
        last = u;
      }
      const row = rowOf(u);
      for (let v = 0; v < n; v++) {
        if (done[v] === 0 && best[u]! + row[v]! < best[v]!) {
          best[v] = best[u]! + row[v]!;
          parent[v] = u;
        }
      }
    }
    if (last < 0) return null;
    const middle: number[] = [];
    for (let v = last; v >= 0; v = parent[v]!) middle.unshift(at[2 * v]!, at[2 * v + 1]!);
    const path = Float64Array.from([ax, ay, ...middle, bx, by]);
    return { lengthM: polylineLengthM(path), path };
  };
  return { isClear, around };
}

/**
 * Points around the outward corners of a ring that lies left of its own direction, such that neighbours of one corner
 * see each other past it at the clearance: they stand on the polygon drawn about the corner's arc.
 */
function cornerNodes(ring: Ring, clearanceM: number): number[] {
  let toleranceM = 0;
  let kept = withoutRepeats(ring);
  for (let t = clearanceM / 4; kept.length / 2 > MOST_CORNERS; t *= 2) {
    toleranceM = t;
    kept = simplifiedRing(ring, t);
  }
  const radius = (clearanceM + toleranceM) * (1 + 1e-6);
  const out: number[] = [];
  const n = kept.length / 2;
  for (let i = 0; i < n; i++) {
    const h = (i + n - 1) % n;
    const j = (i + 1) % n;
    const inward = Math.atan2(kept[2 * i + 1]! - kept[2 * h + 1]!, kept[2 * i]! - kept[2 * h]!);
    const outward = Math.atan2(kept[2 * j + 1]! - kept[2 * i + 1]!, kept[2 * j]! - kept[2 * i]!);
    let turnRad = outward - inward;
    if (turnRad <= -Math.PI) turnRad += 2 * Math.PI;
    if (turnRad > Math.PI) turnRad -= 2 * Math.PI;
    if (turnRad <= 1e-9) continue;
    const parts = Math.max(1, Math.ceil(turnRad / (Math.PI / 4)));
    const half = turnRad / parts / 2;
    for (let p = 0; p < parts; p++) {
      const direction = inward - Math.PI / 2 + half * (2 * p + 1);
      const reach = radius / Math.cos(half);
      out.push(kept[2 * i]! + reach * Math.cos(direction), kept[2 * i + 1]! + reach * Math.sin(direction));
    }
  }
  return out;
}

function withoutRepeats(ring: Ring): Ring {
  const out: number[] = [];
  const n = ring.length / 2;
  for (let i = 0; i < n; i++) {
    const h = (i + n - 1) % n;
    if (ring[2 * i] !== ring[2 * h] || ring[2 * i + 1] !== ring[2 * h + 1]) out.push(ring[2 * i]!, ring[2 * i + 1]!);
  }
  return Float64Array.from(out);
}

/** Douglas & Peucker (1973) on a closed ring, cut at its first vertex and the one furthest from it. */
function simplifiedRing(ring: Ring, toleranceM: number): Ring {
  const n = ring.length / 2;
  let far = 0;
  let farM = -1;
  for (let i = 1; i < n; i++) {
    const d = Math.hypot(ring[2 * i]! - ring[0]!, ring[2 * i + 1]! - ring[1]!);
    if (d > farM) {
      farM = d;
      far = i;
    }
  }
  const keep = new Uint8Array(n);
  keep[0] = 1;
  keep[far] = 1;
  const stack: [number, number][] = [
    [0, far],
    [far, n],
  ];
  for (let span = stack.pop(); span !== undefined; span = stack.pop()) {
    const [from, to] = span;
    const end = to % n;
    let worst = -1;
    let worstM = toleranceM;
    for (let i = from + 1; i < to; i++) {
      const d = pointSegmentDistanceM(ring[2 * i]!, ring[2 * i + 1]!, ring[2 * from]!, ring[2 * from + 1]!, ring[2 * end]!, ring[2 * end + 1]!);
      if (d > worstM) {
        worstM = d;
        worst = i;
      }
    }
    if (worst < 0) continue;
    keep[worst] = 1;
    stack.push([from, worst], [worst, to]);
  }
  const out: number[] = [];
  for (let i = 0; i < n; i++) if (keep[i] === 1) out.push(ring[2 * i]!, ring[2 * i + 1]!);
  return Float64Array.from(out);
}
