import { foldBearingDeg } from '../geo/bearing.js';
import { minimumAreaRectangle } from '../geo/hull.js';
import { polygonAreaM2 } from '../geo/ring.js';
import type { Polygon, Ring } from '../geo/shapes.js';
import { polygonsTouch, touchingGroups } from './area-groups.js';
import type { HeadingCosts } from './best-heading.js';
import { candidateBearings, quickest, tryHeadings } from './best-heading.js';
import type { LayingGround } from './lay-lines.js';
import { splitPolygon } from './split-polygon.js';
import type { Cut } from './split-polygon.js';

/** A part of the area with a bearing of its own for its lines. */
export interface Cell {
  readonly ground: LayingGround;
  /** Grid, 0..180 [deg]. */
  readonly bearingDeg: number;
  /** Its lines, transit and turns, by estimate [s]. */
  readonly costS: number;
}

/** What decomposition weighs with. */
export interface CellCosts extends HeadingCosts {
  readonly originXM: number;
  readonly originYM: number;
}

/** Inward corners looked at in a part, the sharpest; a blunter one than this is no place to cut [rad]. */
const MOST_CORNERS = 8;
const LEAST_CORNER_RAD = (12 * Math.PI) / 180;
/** A cut may cost this share at first when further cuts may pay for it. */
const HOPE = 1.04;
const MOST_DEPTH = 4;
/** Parts looked at, at most: the time this takes grows with them. */
const MOST_PARTS = 40;
/** Headings tried in a part. */
const STEPS = 6;

/**
 * Parts an area into cells, each with the bearing its own lines are quickest on, where that is quicker than one bearing
 * for all.
 *
 * Cuts are straight, through inward corners: along the edges that meet there, and along and across the bearing the part
 * is best swept on (boustrophedon cells). The best cut is tried and its parts are cut further; then parts that touch are
 * joined again wherever one bearing for both is as quick, and slivers always. By estimate: the caller lays and orders the lines to be sure.
 *
 * Source: Huang (2001), ICRA, 27-32 (a bearing per part, least sum of widths); Choset (2000), Autonomous Robots 9, 247-253;
 * Baehnemann et al. (2019), arXiv 1907.09224 (parts and bearings chosen together by the route they give).
 */
export function decompose(grounds: readonly LayingGround[], costs: CellCosts): Cell[] {
  const budget = { parts: 0 };
  return grounds.flatMap((ground) => {
    const start = bestOf(ground, ground.group, costs);
    return joined(parted(ground, start, costs, 0, budget), ground, costs);
  });
}

/** A group of polygons on its best bearing. */
function bestOf(ground: LayingGround, polygons: readonly Polygon[], costs: CellCosts, more: readonly number[] = []): Cell {
  const own: LayingGround = polygons === ground.group ? ground : { ...ground, group: polygons, whole: ground.whole ?? ground.group };
  const bearings = [...candidateBearings([own], STEPS), ...more];
  const best = quickest(tryHeadings([own], costs.originXM, costs.originYM, bearings, costs));
  return { ground: own, bearingDeg: best.bearingDeg, costS: best.timeS < Infinity ? best.timeS : 0 };
}

/** From one cell to the next: a turn and a way of some spacings. */
function betweenS(costs: CellCosts): number {
  return costs.turnS + (3 * costs.spacingM) / costs.speedMps;
}

function parted(ground: LayingGround, cell: Cell, costs: CellCosts, depth: number, budget: { parts: number }): Cell[] {
  if (depth >= MOST_DEPTH || budget.parts >= MOST_PARTS) return [cell];
  let best: { cells: Cell[]; costS: number } | null = null;
  for (const cut of cutsOf(cell, costs)) {
    const sides = cutGroup(cell.ground.group, cut);
    if (sides === null) continue;
    const cells = sides.map((polygons) => bestOf(ground, polygons, costs, [cell.bearingDeg]));
    const costS = sumOf(cells) + betweenS(costs) * (cells.length - 1);
    if (best === null || costS < best.costS) best = { cells, costS };
  }
  if (best === null || best.costS > HOPE * cell.costS) return [cell];
  budget.parts += best.cells.length;
  const further = best.cells.flatMap((one) => parted(ground, one, costs, depth + 1, budget));
  const costS = sumOf(further) + betweenS(costs) * (further.length - 1);
  return costS < cell.costS ? further : [cell];
}

function sumOf(cells: readonly Cell[]): number {
  return cells.reduce((sum, cell) => sum + cell.costS, 0);
}

/** Polygons left and right of a cut, in groups that touch; null where the cut parts none of them. */
function cutGroup(polygons: readonly Polygon[], cut: Cut): Polygon[][] | null {
  const left: Polygon[] = [];
  const right: Polygon[] = [];
  let parts = 0;
  for (const polygon of polygons) {
    const sides = splitPolygon(polygon, cut);
    if (sides !== null) {
      left.push(...sides.left);
      right.push(...sides.right);
      parts++;
    } else if (cut.ux * (polygon.outer[1]! - cut.yM) - cut.uy * (polygon.outer[0]! - cut.xM) > 0) left.push(polygon);
    else right.push(polygon);
  }
  if (parts === 0) return null;
  return [...touchingGroups(left), ...touchingGroups(right)];
}

/** Cuts worth trying in a cell: through its sharpest inward corners. */
function cutsOf(cell: Cell, costs: CellCosts): Cut[] {
  const corners: { x: number; y: number; turnRad: number; edges: number[] }[] = [];
  for (const polygon of cell.ground.group) {
    for (const ring of [polygon.outer, ...polygon.holes]) {
      const kept = withoutSmall(ring, costs.spacingM / 2);
      const n = kept.length / 2;
      for (let i = 0; i < n; i++) {
        const h = (i + n - 1) % n;
        const j = (i + 1) % n;
        const first = Math.atan2(kept[2 * i + 1]! - kept[2 * h + 1]!, kept[2 * i]! - kept[2 * h]!);
        const second = Math.atan2(kept[2 * j + 1]! - kept[2 * i + 1]!, kept[2 * j]! - kept[2 * i]!);
        let turnRad = second - first;
        if (turnRad <= -Math.PI) turnRad += 2 * Math.PI;
        if (turnRad > Math.PI) turnRad -= 2 * Math.PI;
        // The inside lies to the left: a turn to the right is an inward corner.
        if (turnRad < -LEAST_CORNER_RAD) corners.push({ x: kept[2 * i]!, y: kept[2 * i + 1]!, turnRad: -turnRad, edges: [first, second] });
      }
    }
  }
  corners.sort((a, b) => b.turnRad - a.turnRad);
  const bearingRad = (cell.bearingDeg * Math.PI) / 180;
  const along = Math.PI / 2 - bearingRad;
  const cuts: Cut[] = [];
  for (const corner of corners.slice(0, MOST_CORNERS)) {
    const directions: number[] = [];
    for (const direction of [...corner.edges, along, along + Math.PI / 2]) {
      const isNew = directions.every((other) => Math.abs(Math.sin(direction - other)) > 0.05);
      if (isNew) directions.push(direction);
    }
    for (const direction of directions) cuts.push({ xM: corner.x, yM: corner.y, ux: Math.cos(direction), uy: Math.sin(direction) });
  }
  return cuts;
}

/** A ring without corners that bend it by less than a tolerance. */
function withoutSmall(ring: Ring, toleranceM: number): Ring {
  let points = Array.from({ length: ring.length / 2 }, (_, i) => [ring[2 * i]!, ring[2 * i + 1]!] as const);
  for (let changed = true; changed && points.length > 4; ) {
    changed = false;
    const kept: (readonly [number, number])[] = [];
    const n = points.length;
    for (let i = 0; i < n; i++) {
      const [ax, ay] = kept[kept.length - 1] ?? points[n - 1]!;
      const [bx, by] = points[(i + 1) % n]!;
      const [x, y] = points[i]!;
      const base = Math.hypot(bx - ax, by - ay);
      const off = base > 0 ? Math.abs((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / base : Infinity;
      if (off < toleranceM && n - (i - kept.length) > 4) changed = true;
      else kept.push(points[i]!);
    }
    if (kept.length < 3) break;
    points = kept;
  }
  return Float64Array.from(points.flat());
}

/** Width of a cell across its lines [m]: its area over the longer side of the least rectangle around it. */
function meanWidthM(cell: Cell): number {
  const area = cell.ground.group.reduce((sum, polygon) => sum + polygonAreaM2(polygon), 0);
  const { lengthM } = minimumAreaRectangle(Float64Array.from(cell.ground.group.flatMap((polygon) => [...polygon.outer])));
  return lengthM > 0 ? area / lengthM : 0;
}

/** Joins cells that touch while that costs nothing; a sliver, narrower than a spacing, whatever it costs. */
function joined(cells: readonly Cell[], ground: LayingGround, costs: CellCosts): Cell[] {
  const list = cells.slice();
  const touch = (a: Cell, b: Cell): boolean => a.ground.group.some((p) => b.ground.group.some((q) => polygonsTouch(p, q)));
  const known = new Map<Cell, Map<Cell, Cell | null>>();
  const unionOf = (a: Cell, b: Cell): Cell | null => {
    let row = known.get(a);
    if (row === undefined) known.set(a, (row = new Map<Cell, Cell | null>()));
    let both = row.get(b);
    if (both === undefined) {
      both = touch(a, b) ? bestOf(ground, [...a.ground.group, ...b.ground.group], costs, [a.bearingDeg, b.bearingDeg]) : null;
      row.set(b, both);
    }
    return both;
  };
  while (list.length > 1) {
    let best: { a: Cell; b: Cell; both: Cell; gainS: number } | null = null;
    for (let i = 0; i < list.length; i++) {
      for (let j = i + 1; j < list.length; j++) {
        const a = list[i]!;
        const b = list[j]!;
        const both = unionOf(a, b);
        if (both === null) continue;
        const sliver = Math.min(meanWidthM(a), meanWidthM(b)) < costs.spacingM ? 1e6 : 0;
        const gainS = a.costS + b.costS + betweenS(costs) - both.costS + sliver;
        if (gainS > 0 && (best === null || gainS > best.gainS)) best = { a, b, both, gainS };
      }
    }
    if (best === null) break;
    list.splice(list.indexOf(best.b), 1);
    list[list.indexOf(best.a)] = best.both;
  }
  const only = list.length === 1 ? { ...list[0]!, ground } : null;
  return (only === null ? list : [only]).map((cell) => ({ ...cell, bearingDeg: foldBearingDeg(cell.bearingDeg) }));
}
