import type { Polygon, Ring } from '../geo/shapes.js';
import { ringsOf } from '../geo/ring.js';
import { subtractIntervals, unionOfIntervals } from '../geo/clip-line.js';

/** Axes turned to a bearing about an origin: along it, and across it to the right. */
export interface SweepAxes {
  readonly originXM: number;
  readonly originYM: number;
  /** Unit vector along the bearing: east and north parts. */
  readonly ux: number;
  readonly uy: number;
}

/** Axes for a bearing clockwise from grid north [deg]. */
export function sweepAxes(originXM: number, originYM: number, bearingDeg: number): SweepAxes {
  const bearingRad = (bearingDeg * Math.PI) / 180;
  return { originXM, originYM, ux: Math.sin(bearingRad), uy: Math.cos(bearingRad) };
}

/** Frame position of a point given along and across, [east, north] in metres. */
export function fromSweep(axes: SweepAxes, alongM: number, acrossM: number): [number, number] {
  return [axes.originXM + alongM * axes.ux + acrossM * axes.uy, axes.originYM + alongM * axes.uy - acrossM * axes.ux];
}

/** Rings as [along0, across0, ...]. */
export type SweptRings = readonly Float64Array[];

/** The rings of polygons in sweep axes. */
export function sweptRings(axes: SweepAxes, polygons: readonly Polygon[]): SweptRings {
  return ringsOf(polygons).map((ring: Ring) => {
    const out = new Float64Array(ring.length);
    for (let i = 0; i < ring.length; i += 2) {
      const dx = ring[i]! - axes.originXM;
      const dy = ring[i + 1]! - axes.originYM;
      out[i] = dx * axes.ux + dy * axes.uy;
      out[i + 1] = dx * axes.uy - dy * axes.ux;
    }
    return out;
  });
}

/** Parallel lines across: level k lies at startM + k stepM, or at valuesM[k] where those are given, rising. */
export interface Levels {
  readonly startM: number;
  readonly stepM: number;
  readonly count: number;
  readonly valuesM?: Float64Array;
}

/** Where a level lies across. */
export function levelAt(levels: Levels, k: number): number {
  return levels.valuesM === undefined ? levels.startM + k * levels.stepM : levels.valuesM[k]!;
}

/** The same levels, all so far on. */
function shifted(levels: Levels, byM: number): Levels {
  return { ...levels, startM: levels.startM + byM, ...(levels.valuesM === undefined ? {} : { valuesM: levels.valuesM.map((value) => value + byM) }) };
}

/** First and last+1 level within [loM, hiM]. */
function levelRange(levels: Levels, loM: number, hiM: number): [number, number] {
  const { valuesM } = levels;
  if (valuesM !== undefined) {
    let first = 0;
    while (first < valuesM.length && valuesM[first]! < loM - 1e-9) first++;
    let end = first;
    while (end < valuesM.length && valuesM[end]! <= hiM + 1e-9) end++;
    return [first, end];
  }
  if (levels.count === 1) return loM <= levels.startM && levels.startM <= hiM ? [0, 1] : [0, 0];
  const first = Math.max(0, Math.ceil((loM - levels.startM) / levels.stepM - 1e-9));
  const last = Math.min(levels.count - 1, Math.floor((hiM - levels.startM) / levels.stepM + 1e-9));
  return [first, last + 1];
}

/** For each level, the stretches inside rings (even-odd over all of them), as pairs along. */
export function insideStretches(rings: SweptRings, levels: Levels): number[][] {
  const crossings: number[][] = Array.from({ length: levels.count }, () => []);
  for (const ring of rings) {
    const n = ring.length / 2;
    for (let i = 0, j = n - 1; i < n; j = i++) {
      const a0 = ring[2 * j]!;
      const c0 = ring[2 * j + 1]!;
      const a1 = ring[2 * i]!;
      const c1 = ring[2 * i + 1]!;
      if (c0 === c1) continue;
      const [first, end] = levelRange(levels, Math.min(c0, c1), Math.max(c0, c1));
      for (let k = first; k < end; k++) {
        const y = levelAt(levels, k);
        if (c0 > y === c1 > y) continue;
        crossings[k]!.push(a0 + ((y - c0) / (c1 - c0)) * (a1 - a0));
      }
    }
  }
  for (const at of crossings) at.sort((p, q) => p - q);
  return crossings;
}

/**
 * For each level, where along it the band of halfM to either side meets the inside of rings, as pairs along: what a line
 * must run for its band to cover all that lies abreast of it.
 *
 * What lies in the band above or below a place along is bounded by the band's own edge, where a line there is inside, or
 * by an edge of a ring within the band.
 */
export function bandStretches(rings: SweptRings, levels: Levels, halfM: number): number[][] {
  const found: number[][] = Array.from({ length: levels.count }, () => []);
  for (const off of [-halfM, 0, halfM]) {
    insideStretches(rings, shifted(levels, off)).forEach((stretches, k) => found[k]!.push(...stretches));
  }
  for (const ring of rings) {
    const n = ring.length / 2;
    for (let i = 0, j = n - 1; i < n; j = i++) {
      const a0 = ring[2 * j]!;
      const c0 = ring[2 * j + 1]!;
      const a1 = ring[2 * i]!;
      const c1 = ring[2 * i + 1]!;
      const [first, end] = levelRange(levels, Math.min(c0, c1) - halfM, Math.max(c0, c1) + halfM);
      for (let k = first; k < end; k++) {
        const y = levelAt(levels, k);
        let from = 0;
        let to = 1;
        if (c0 !== c1) {
          const p = (y - halfM - c0) / (c1 - c0);
          const q = (y + halfM - c0) / (c1 - c0);
          from = Math.max(0, Math.min(p, q));
          to = Math.min(1, Math.max(p, q));
        }
        if (!(to >= from)) continue;
        const p = a0 + from * (a1 - a0);
        const q = a0 + to * (a1 - a0);
        found[k]!.push(Math.min(p, q), Math.max(p, q));
      }
    }
  }
  return found.map(unionOfIntervals);
}

/** For each level, the stretches within rM of any edge of rings. */
export function nearStretches(rings: SweptRings, levels: Levels, rM: number): number[][] {
  const near: number[][] = Array.from({ length: levels.count }, () => []);
  if (!(rM > 0)) return near;
  for (const ring of rings) {
    const n = ring.length / 2;
    for (let i = 0, j = n - 1; i < n; j = i++) {
      const a0 = ring[2 * j]!;
      const c0 = ring[2 * j + 1]!;
      const a1 = ring[2 * i]!;
      const c1 = ring[2 * i + 1]!;
      const [first, end] = levelRange(levels, Math.min(c0, c1) - rM, Math.max(c0, c1) + rM);
      for (let k = first; k < end; k++) pushNearEdge(near[k]!, levelAt(levels, k), rM, a0, c0, a1, c1);
    }
  }
  return near.map(unionOfIntervals);
}

/** The stretch of the line across = y within r of an edge: where it cuts the two end discs and the strip between them. */
function pushNearEdge(out: number[], y: number, r: number, a0: number, c0: number, a1: number, c1: number): void {
  let start = Infinity;
  let end = -Infinity;
  const include = (along: number): void => {
    if (along < start) start = along;
    if (along > end) end = along;
  };
  const h0 = r * r - (y - c0) * (y - c0);
  if (h0 >= 0) {
    const half = Math.sqrt(h0);
    include(a0 - half);
    include(a0 + half);
  }
  const h1 = r * r - (y - c1) * (y - c1);
  if (h1 >= 0) {
    const half = Math.sqrt(h1);
    include(a1 - half);
    include(a1 + half);
  }
  const length = Math.hypot(a1 - a0, c1 - c0);
  if (length > 0) {
    const na = (-(c1 - c0) / length) * r;
    const nc = ((a1 - a0) / length) * r;
    for (const side of [-1, 1]) {
      const p = c0 + side * nc;
      const q = c1 + side * nc;
      if (p !== q && Math.min(p, q) <= y && y <= Math.max(p, q)) {
        include(a0 + side * na + ((y - p) / (q - p)) * (a1 - a0));
      }
    }
  }
  if (end > start) out.push(start, end);
}

/** What lines at some levels may use, and what they must not touch. */
export interface LevelStretches {
  /** Inside the area, insetM from its edges, clear of keep-outs; per level, pairs along. */
  readonly usable: readonly (readonly number[])[];
  /** In a keep-out or too near one; per level, pairs along. */
  readonly blocked: readonly (readonly number[])[];
}

/** How lines are cut to an area. */
export interface CutRules {
  readonly insetM: number;
  /** From keep-outs: [m], one for each. */
  readonly clearancesM: readonly number[];
  /** Lines reach as far as a band this far to either side meets the area; 0: as far as they lie in it themselves. */
  readonly bandM: number;
  /** Where the inset is kept from: the whole area, when what is swept is a part of it; null: from what is swept. */
  readonly limits: readonly SweptRings[] | null;
}

/**
 * Cuts lines at even levels to the area and around keep-outs.
 *
 * The inset is exact, not an offset polygon: what lies within a distance of a polygon's edges is, on a straight line, a
 * union of stretches, one an edge; they are taken off. So nothing can fail at narrow necks or sharp corners.
 *
 * @param areas rings of each area polygon apart: they may overlap, a level uses what any of them gives
 */
export function stretchesAtLevels(areas: readonly SweptRings[], keepouts: readonly SweptRings[], levels: Levels, rules: CutRules): LevelStretches {
  const { insetM, bandM, limits } = rules;
  const collect = (polygons: readonly SweptRings[], of: (rings: SweptRings, i: number) => number[][]): number[][] => {
    const all: number[][] = Array.from({ length: levels.count }, () => []);
    for (const [i, rings] of polygons.entries()) of(rings, i).forEach((stretches, k) => all[k]!.push(...stretches));
    return all;
  };
  const within = (rings: SweptRings): number[][] => {
    const near = nearStretches(rings, levels, insetM);
    return insideStretches(rings, levels).map((stretches, k) => subtractIntervals(unionOfIntervals(stretches), near[k]!));
  };
  let usable = limits === null && bandM === 0 ? collect(areas, within) : collect(areas, (rings) => (bandM > 0 ? bandStretches(rings, levels, bandM) : insideStretches(rings, levels)));
  if (insetM > 0 && (limits !== null || bandM > 0)) {
    const allowed = collect(limits ?? areas, within);
    usable = usable.map((stretches, k) => {
      const wanted = joined(unionOfIntervals(stretches));
      return subtractIntervals(wanted, subtractIntervals(wanted, joined(unionOfIntervals(allowed[k]!))));
    });
  }
  const blocked = collect(keepouts, (rings, i) => {
    const near = nearStretches(rings, levels, rules.clearancesM[i] ?? 0);
    return insideStretches(rings, levels).map((stretches, k) => [...stretches, ...near[k]!]);
  });
  const blockedUnion = blocked.map(unionOfIntervals);
  return {
    usable: usable.map((stretches, k) => subtractIntervals(joined(unionOfIntervals(stretches)), blockedUnion[k]!)),
    blocked: blockedUnion,
  };
}

/** A gap between area polygons narrower than this is a shared edge, not a gap [m]. */
const SEAM_M = 0.02;

/** Rising stretches with the seams between them closed. */
function joined(stretches: readonly number[]): number[] {
  const out: number[] = [];
  for (let i = 0; i < stretches.length; i += 2) {
    if (out.length > 0 && stretches[i]! - out[out.length - 1]! < SEAM_M) out[out.length - 1] = stretches[i + 1]!;
    else out.push(stretches[i]!, stretches[i + 1]!);
  }
  return out;
}
