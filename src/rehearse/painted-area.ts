import { insideMask } from '../depths/gaps-mask.js';
import { connectedRegions, regionOutline } from '../depths/gaps-outline.js';
import { boundsOfPolygons } from '../geo/ring.js';
import { gridCovering, type RasterGrid } from '../geo/raster.js';
import type { Polygon } from '../geo/shapes.js';
import type { Sortie } from '../lines/sortie.js';
import { normalChance } from './normal-chance.js';
import type { RehearsalColumns } from './rehearsal.js';
import type { Reach } from './sensor-reach.js';

/** One sortie as it was rehearsed. */
export interface PaintedRun {
  readonly sortie: Sortie;
  readonly columns: Pick<RehearsalColumns, 'n' | 'timeS' | 'xM' | 'yM' | 'headingDeg' | 'legIndex'>;
}

export interface PaintedAreaRequest {
  readonly runs: readonly PaintedRun[];
  readonly area: readonly Polygon[];
  /** Not part of what is to be covered: keep-outs and land. */
  readonly without: readonly Polygon[];
  /** What the sensor sees abeam at a place and time. */
  readonly reachAt: (xM: number, yM: number, timeS: number) => Reach;
  /** One sigma of the boat's cross-track error about its mean track [m]. */
  readonly trackRmsM: number;
  /** True bearing less frame bearing [deg]. */
  readonly convergenceDeg: number;
  /** Ground counts as covered with this chance or more. */
  readonly chance: number;
  /** A smaller hole is not told. */
  readonly minAreaM2: number;
  /** Of the grid [m]; chosen so that the reach is 16 cells and the grid under a million when left out. */
  readonly cellM?: number;
}

/** A hole: ground not covered with the chance wanted. */
export interface PaintedHole {
  readonly areaM2: number;
  /** A place in it, the one least likely to be covered [m]. */
  readonly xM: number;
  readonly yM: number;
  /** Chance that it is covered there [1]. */
  readonly chance: number;
  readonly outline: Polygon;
}

/** How an area will be covered. */
export interface PaintedArea {
  readonly areaM2: number;
  readonly cellM: number;
  /** Share of the area expected to be covered: the mean of the chances [1]. */
  readonly expectedShare: number;
  /** Share of the area that is not covered with the chance wanted [1], and that no line comes near at all. */
  readonly uncoveredShare: number;
  readonly unseenShare: number;
  /** Largest first. */
  readonly holes: readonly PaintedHole[];
}

const MOST_CELLS = 1e6;
/** Steps along and across, in cells: no cell is stepped over. */
const STEP_CELLS = 0.5;
const SIGMAS = 4;
/** Chances are tabled so much finer than a step. */
const FINE = 8;

/**
 * The ground that lines paint, before they are run: cell by cell the chance that it is seen, from the boat's mean track with its
 * heading (a crab angle turns the swath), what the sensor reaches over the depth there, and the card's cross-track error as a
 * normal deviate, one for each pass over a line. Passes are independent of each other: a cell is missed where all miss it.
 *
 * Only lines paint, not turns or run-ins. Within a pass the error is one along the line, so that of the looks at a cell the best
 * counts. An error to either side moves a swath as a whole; for a side-scan the gap under it too.
 *
 * @returns null for an area without cells
 */
export function paintedArea(request: PaintedAreaRequest): PaintedArea | null {
  const { area, runs, without } = request;
  if (area.length === 0) return null;
  const box = boundsOfPolygons(area);
  const grid = gridCovering(box, request.cellM ?? cellFor(request, box));
  const inside = insideMask(area, grid);
  const closed = without.length === 0 ? null : insideMask(without, grid);
  const miss = new Float32Array(inside.length).fill(1);
  const pass = new Float32Array(inside.length);
  for (const { sortie, columns } of runs) {
    for (let row = 0; row < columns.n; ) {
      const leg = columns.legIndex[row]!;
      let end = row + 1;
      while (end < columns.n && columns.legIndex[end] === leg) end++;
      if (sortie.legs[leg]?.kind === 'line') paintPass(request, columns, row, end, grid, pass, miss);
      row = end;
    }
  }
  const marked = new Uint8Array(inside.length);
  let [cells, expected, uncovered, unseen] = [0, 0, 0, 0];
  for (let i = 0; i < inside.length; i++) {
    if (inside[i] === 0 || closed?.[i] === 1) continue;
    const chance = 1 - miss[i]!;
    cells++;
    expected += chance;
    if (chance < 1e-3) unseen++;
    if (chance >= request.chance) continue;
    uncovered++;
    marked[i] = 1;
  }
  if (cells === 0) return null;
  const cellM2 = grid.cellM * grid.cellM;
  return { areaM2: cells * cellM2, cellM: grid.cellM, expectedShare: expected / cells, uncoveredShare: uncovered / cells, unseenShare: unseen / cells, holes: holesOf(marked, miss, grid, request.minAreaM2) };
}

/** Fine enough for the narrowest reach met, coarse enough for the grid. */
function cellFor({ runs, reachAt }: PaintedAreaRequest, box: { readonly westM: number; readonly southM: number; readonly eastM: number; readonly northM: number }): number {
  let least = Infinity;
  for (const { columns } of runs) for (let i = 0; i < columns.n; i += 60) {
    const { farM } = reachAt(columns.xM[i]!, columns.yM[i]!, columns.timeS[i]!);
    if (farM > 0) least = Math.min(least, farM);
  }
  const byArea = Math.sqrt(((box.eastM - box.westM) * (box.northM - box.southM)) / MOST_CELLS);
  return Math.max(0.1, byArea, Number.isFinite(least) ? least / 16 : 1);
}

/** One pass along a line: the best chance of each cell, then put into `miss`; `pass` is zero before and after. */
function paintPass(request: PaintedAreaRequest, columns: PaintedRun['columns'], rowStart: number, rowEnd: number, grid: RasterGrid, pass: Float32Array, miss: Float32Array): void {
  const { reachAt, trackRmsM, convergenceDeg } = request;
  const { westM, northM, cellM, cols, rows } = grid;
  const stepM = STEP_CELLS * cellM;
  const touched: number[] = [];
  let chances = new Float32Array(0);
  let key = '';
  let most = 0;
  for (let i = rowStart + 1; i < rowEnd; i++) {
    const [ax, ay, bx, by] = [columns.xM[i - 1]!, columns.yM[i - 1]!, columns.xM[i]!, columns.yM[i]!];
    const length = Math.hypot(bx - ax, by - ay);
    if (!(length > 0)) continue;
    const reach = reachAt(bx, by, columns.timeS[i]!);
    if (!(reach.farM > 0)) continue;
    const now = `${Math.round(100 * reach.nearM)} ${Math.round(100 * reach.farM)}`;
    if (now !== key) {
      key = now;
      most = Math.ceil((reach.farM + SIGMAS * trackRmsM) / stepM);
      const half = (most + 2) * FINE;
      chances = Float32Array.from({ length: 2 * half + 1 }, (_, k) => seenChance(((k - half) * stepM) / FINE, reach, trackRmsM));
    }
    const rad = ((columns.headingDeg[i]! - convergenceDeg) * Math.PI) / 180;
    // To starboard of the bow.
    const [sx, sy] = [Math.cos(rad), -Math.sin(rad)];
    const steps = Math.max(1, Math.ceil(length / stepM));
    for (let s = 0; s < steps; s++) {
      const share = (s + 0.5) / steps;
      const [px, py] = [ax + share * (bx - ax), ay + share * (by - ay)];
      for (let k = -most; k <= most; k++) {
        const col = Math.floor((px + k * stepM * sx - westM) / cellM);
        const row = Math.floor((northM - (py + k * stepM * sy)) / cellM);
        if (col < 0 || col >= cols || row < 0 || row >= rows) continue;
        // As its centre lies abeam, not as the step fell.
        const acrossM = (westM + (col + 0.5) * cellM - px) * sx + (northM - (row + 0.5) * cellM - py) * sy;
        const chance = chances[Math.round((acrossM * FINE) / stepM) + (most + 2) * FINE]!;
        if (chance < 1e-4) continue;
        const cell = row * cols + col;
        if (pass[cell] === 0) touched.push(cell);
        if (chance > pass[cell]!) pass[cell] = chance;
      }
    }
  }
  for (const cell of touched) {
    miss[cell]! *= 1 - pass[cell]!;
    pass[cell] = 0;
  }
}

/** Chance that ground `offsetM` to starboard of the mean track is seen, the boat itself off it by a normal deviate. */
export function seenChance(offsetM: number, { nearM, farM }: Reach, sigmaM: number): number {
  const between = (low: number, high: number): number => {
    if (!(sigmaM > 0)) return offsetM >= low && offsetM <= high ? 1 : 0;
    return Math.max(0, normalChance((offsetM - low) / sigmaM) - normalChance((offsetM - high) / sigmaM));
  };
  return nearM > 0 ? Math.min(1, between(nearM, farM) + between(-farM, -nearM)) : between(-farM, farM);
}

function holesOf(marked: Uint8Array, miss: Float32Array, grid: RasterGrid, minAreaM2: number): PaintedHole[] {
  const { cellM, cols, rows, westM, northM } = grid;
  const regions = connectedRegions(marked, cols, rows);
  const holes: PaintedHole[] = [];
  for (let k = 0; k < regions.n; k++) {
    const cells = regions.cells.subarray(regions.first[k]!, regions.first[k + 1]!);
    const areaM2 = cells.length * cellM * cellM;
    if (areaM2 < minAreaM2) continue;
    let worst = cells[Math.floor(cells.length / 2)]!;
    for (const cell of cells) if (miss[cell]! > miss[worst]! + 1e-6) worst = cell;
    holes.push({ areaM2, xM: westM + ((worst % cols) + 0.5) * cellM, yM: northM - (Math.floor(worst / cols) + 0.5) * cellM, chance: 1 - miss[worst]!, outline: regionOutline(regions.label, k, cells, grid) });
  }
  return holes.sort((a, b) => b.areaM2 - a.areaM2);
}
