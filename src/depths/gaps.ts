import type { RasterGrid } from '../geo/raster.js';
import type { Polygon } from '../geo/shapes.js';
import { connectedRegions, regionOutline } from './gaps-outline.js';
import { squaredDistanceCells } from './surface-distance.js';

export { insideMask } from './gaps-mask.js';
export { fillInLines } from './gaps-fill.js';
export type { FillLine, FillOptions } from './gaps-fill.js';

export interface GapInput {
  readonly grid: RasterGrid;
  /** Cells to be surveyed: inside the area, keep-outs taken out [rows * cols], non-zero is inside. See `insideMask`. */
  readonly inside: Uint8Array;
  /** Cells with a good sounding [rows * cols], non-zero; the surface's `count` fits. */
  readonly sounded: Uint8Array | Uint32Array;
  /** A cell whose centre is further than this from the centre of any sounded cell is a hole [m]. */
  readonly reachM: number;
  /** A smaller hole is not a gap [m2]. */
  readonly minAreaM2: number;
}

/** One unsurveyed hole. */
export interface Gap {
  /** Outline along the edges of cells, in frame metres: exactly its cells. */
  readonly polygon: Polygon;
  /** Its cells, ascending. */
  readonly cells: Uint32Array;
  readonly areaM2: number;
  /** Diameter of the largest circle inside it, within half a cell [m]. */
  readonly maxWidthM: number;
  /** Furthest any of its cells is from a sounded cell; Infinity where nothing is sounded [m]. */
  readonly furthestM: number;
}

export interface Gaps {
  readonly grid: RasterGrid;
  /** Largest first; equal ones from the north-west. */
  readonly gaps: readonly Gap[];
  readonly areaM2: number;
  /** Share of the cells inside that are within reach, holes too small to be gaps counted as not covered; NaN for no area. */
  readonly coveredShare: number;
  readonly insideM2: number;
  readonly reachM: number;
}

/**
 * Holes in the coverage: the parts of the area that lie further than a reach from any good sounding.
 *
 * Distances are exact between cell centres (Felzenszwalb & Huttenlocher), so a sounding's place counts to within its
 * cell; soundings outside the area count too, if on the grid. Uncovered cells that share a side make one hole; a hole of
 * at least `minAreaM2` is a gap. The polygon is what is out of reach: the unsounded strip round it is wider by the reach.
 *
 * @throws RangeError for columns that do not fit the grid, a negative reach or area
 */
export function coverageGaps(input: GapInput): Gaps {
  const { grid, inside, sounded, reachM, minAreaM2 } = input;
  const { cols, rows, cellM } = grid;
  for (const [name, column] of [['inside', inside], ['sounded', sounded]] as const) {
    if (column.length !== cols * rows) throw new RangeError(`${name}: length ${column.length}, expected ${cols} x ${rows} = ${cols * rows}`);
  }
  if (!(reachM >= 0)) throw new RangeError(`reachM ${reachM}: expected 0 or more`);
  if (!(minAreaM2 >= 0)) throw new RangeError(`minAreaM2 ${minAreaM2}: expected 0 or more`);

  const squared = squaredDistanceCells(sounded, cols, rows);
  // Rounding must not turn a cell exactly at the reach into a hole.
  const limit = (reachM / cellM) ** 2 * (1 + 1e-12);
  const hole = new Uint8Array(cols * rows);
  let cellsInside = 0;
  let cellsCovered = 0;
  for (let cell = 0; cell < hole.length; cell++) {
    if (inside[cell] === 0) continue;
    cellsInside++;
    if (squared[cell]! > limit) hole[cell] = 1;
    else cellsCovered++;
  }
  const regions = connectedRegions(hole, cols, rows);
  const radius = inscribedRadius(hole, cols, rows);
  const gaps: Gap[] = [];
  for (let k = 0; k < regions.n; k++) {
    const cells = regions.cells.subarray(regions.first[k]!, regions.first[k + 1]!);
    const areaM2 = cells.length * cellM * cellM;
    if (areaM2 < minAreaM2) continue;
    let widest = 0;
    let furthest = 0;
    for (const cell of cells) {
      if (radius[cell]! > widest) widest = radius[cell]!;
      if (squared[cell]! > furthest) furthest = squared[cell]!;
    }
    gaps.push({
      polygon: regionOutline(regions.label, k, cells, grid),
      cells: cells.slice(),
      areaM2,
      maxWidthM: 2 * widest * cellM,
      furthestM: Math.sqrt(furthest) * cellM,
    });
  }
  gaps.sort((a, b) => b.areaM2 - a.areaM2 || a.cells[0]! - b.cells[0]!);
  return {
    grid,
    gaps,
    areaM2: gaps.reduce((sum, gap) => sum + gap.areaM2, 0),
    coveredShare: cellsCovered / cellsInside,
    insideM2: cellsInside * cellM * cellM,
    reachM,
  };
}

/** Distance from each hole cell's centre to the nearest cell that is none, less the half of that cell, in cells; the grid's border counts as one. */
function inscribedRadius(hole: Uint8Array, cols: number, rows: number): Float64Array {
  const width = cols + 2;
  const solid = new Uint8Array(width * (rows + 2)).fill(1);
  for (let row = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++) solid[(row + 1) * width + col + 1] = hole[row * cols + col] === 0 ? 1 : 0;
  }
  const squared = squaredDistanceCells(solid, width, rows + 2);
  const radius = new Float64Array(cols * rows);
  for (let row = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++) radius[row * cols + col] = Math.max(0, Math.sqrt(squared[(row + 1) * width + col + 1]!) - 0.5);
  }
  return radius;
}
