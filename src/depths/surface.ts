import { breathe } from '../base/breathe.js';
import type { WorkContext } from '../base/progress.js';
import { quantileInPlace, withoutNaN } from '../base/statistics.js';
import type { Raster, RasterGrid } from '../geo/raster.js';
import type { BlockStatistics, SoundingPoints } from './blocks.js';
import type { ErrorParts } from './error-parts.js';
import { krigeCells } from './kriging-filler.js';
import { naturalNeighbourCells } from './natural-neighbour.js';
import { tensionedSpline } from './spline-tension.js';
import type { CellOptions, MeasuredCells } from './surface-cells.js';
import { measureCells } from './surface-cells.js';
import { squaredDistanceCells } from './surface-distance.js';
import type { InterpolationGrowth } from './surface-growth.js';
import { growthAt, interpolationGrowth } from './surface-growth.js';
import { roughnessRatio } from './surface-roughness.js';
import { cellGradient } from './surface-uncertainty.js';
import type { Mesh } from './triangulate.js';
import { drawMesh, triangulate } from './triangulate.js';

/** How soundings become a surface. */
export interface SurfaceOptions extends CellOptions {
  /**
   * The depth of a measured cell: mean, median, shoalest or deepest of its soundings, their mean weighted by 1 / TVU squared,
   * or of several depths that its soundings speak for the one that stands (`trackHypotheses`).
   */
  readonly statistic: CellOptions['statistic'];
  /** No cell further than this from the centre of a measured cell is filled; 0 fills nothing [m]. */
  readonly fillDistanceM: number;
  /**
   * Share of a sounding's variance that all soundings of a cell have in common (water level, draft, sound speed, squat)
   * and that no averaging takes off, 0..1. 0.6 unless given: the share in the default budget at 10 m.
   */
  readonly systematicShare?: number;
  /**
   * How the soundings' errors hang together, from the budget they were reckoned with; without it only the systematic share is
   * known, which then counts as common to the whole survey.
   */
  readonly errorParts?: ErrorParts;
  /** Times the error of bridging that the data show: see `bridgingFactor`. 1 unless given. */
  readonly bridging?: number;
}

/** A surface, how good it is, and what it rests on. Arrays are [rows * cols], row 0 = north. */
export interface SoundingSurface {
  readonly grid: RasterGrid;
  /** Depth at cell centres, positive down [m]; NaN where neither measured nor filled. */
  readonly depth: Raster;
  /** Uncertainty of that depth, 95 % [m]; NaN where there is no depth. */
  readonly uncertainty: Raster;
  /** Part of the uncertainty of a filled cell that comes of bridging the gap [m]; 0 in others. */
  readonly bridgedM: Float32Array;
  /** Part of the uncertainty that neighbouring lines may have in common [m]; NaN where there is no depth. */
  readonly commonM: Float32Array;
  /** Soundings in the cell; 0 in a filled one. */
  readonly count: Uint32Array;
  readonly cellsMeasured: number;
  readonly cellsFilled: number;
  /** Range of the depths and median of the uncertainties; NaN for an empty surface [m]. */
  readonly depthMinM: number;
  readonly depthMaxM: number;
  readonly uncertaintyMedianM: number;
  readonly used: number;
  readonly skipped: BlockStatistics['skipped'];
  /** With the statistic `hypotheses`: all of them, and which stands. */
  readonly hypotheses?: MeasuredCells['hypotheses'];
  /** What the data showed of the error of bridging gaps; lags in cells. */
  readonly growth: InterpolationGrowth;
}

/**
 * Triangles that a circle of this many fill distances does not hold are left out. Those along the edge of the survey and
 * across gaps are long and thin: their cells may lie near a sounding, but their corners are tens of metres away, and what
 * they say of the floor is up to metres off. Between lines as far apart as can be filled the circle is one fill distance.
 */
const LARGEST_TRIANGLE = 1.5;

/**
 * A surface from soundings: a block statistic in each measured cell, straight lines between them where near enough.
 *
 * A measured cell keeps its block's depth. An unmeasured one gets the plane of its Delaunay triangle, whose corners are
 * the blocks' depths at the mean place of their soundings (at the sounding itself for shoalest and deepest). It stays
 * empty when further than `fillDistanceM` from any measured cell's centre, in a triangle too large for a circle of one and a
 * half times that, so that long triangles bridge no gap, and outside the convex hull: nothing is extrapolated. One or two measured cells, or cells in one straight line, stand as
 * they are with nothing filled between.
 *
 * **Uncertainty of a measured cell** (95 %), the larger of two views of it, and the cell's own slope:
 * - by the budget: T sqrt(s + (1 - s) / n), T the median TVU of its n soundings, s the systematic share: the common part
 *   does not shrink with the number of soundings;
 * - by the spread: sqrt(s T^2 + (1.96 d)^2 / n), d the standard deviation in the cell drawn towards that of all cells
 *   (worth four soundings), since two soundings say little of a deviation;
 * - in quadrature, slope x distance from the soundings' mean place to the cell's centre, where the depth is meant to be.
 * For shoalest and deepest n is 1: one sounding decides. Without TVUs only the spread is seen, and nothing systematic.
 *
 * **Uncertainty of a filled cell**: the corners' uncertainties interpolated (what the survey has in common in full, the rest
 * less as corners on different lines err by themselves: see `drawMesh`), in quadrature with the error of bridging that reach,
 * which the data show themselves: see `interpolationGrowth`, `roughnessRatio` for where it is more and where less, and
 * `drawMesh` for reach. It is a figure for the floor the lines have seen: what stands between lines unseen is not in it.
 *
 * Held against known floors (24 sets of lines, spacing 10 to 40 m, errors of known size) the 95 % held 94.6 to 97.2 % of
 * the errors of measured cells and 94.9 to 99.4 % of filled ones (of one floor alone, not less than 86 %, without cross
 * lines); on recorded tracks with pieces kept back, 96 to 99 %.
 *
 * @param points soundings; those with a reason other than 0, without depth or outside the grid are left out and counted
 * @throws RangeError for a fill distance below 0, a share outside 0..1, columns of unequal length
 */
export function soundingSurface(points: SoundingPoints, grid: RasterGrid, options: SurfaceOptions): SoundingSurface {
  const base = meshedSurface(points, grid, options);
  return finished(base, options);
}

/** What fills the cells between measured ones. */
export type FillMethod = 'triangulation' | 'natural-neighbour' | 'spline' | 'kriging' | 'none';

/** How `filledSurface` fills. */
export interface FillOptions extends SurfaceOptions {
  readonly fill: FillMethod;
  /** Of the spline, 0..1; 0.35 unless given. */
  readonly tension?: number;
}

/**
 * A surface from soundings by any of the ways of filling; measured cells are those of `soundingSurface`, whatever the way.
 *
 * All ways fill the same cells, those that `soundingSurface` fills: within the fill distance of a measured cell and in a
 * triangle that bridges no gap. So a spline does not run on beyond the soundings. The uncertainty of a filled cell is that
 * of `soundingSurface`, the error of bridging times `bridging` for its way; that of kriging is its own, see `krigeCells`,
 * its error of bridging times `bridging` too.
 *
 * @throws RangeError as `soundingSurface`; CancelledError when stopped
 */
export async function filledSurface(points: SoundingPoints, grid: RasterGrid, options: FillOptions, context: WorkContext = {}): Promise<SoundingSurface> {
  const { fill } = options;
  if (fill === 'none') return soundingSurface(points, grid, { ...options, fillDistanceM: 0 });
  const base = meshedSurface(points, grid, options);
  await breathe(context);
  const { cells, wanted, depthM, mesh } = base;
  const { measured, placeXM, placeYM } = cells;
  // Only where the mesh has an answer: beyond it any other way would extrapolate.
  for (let cell = 0; cell < wanted.length; cell++) if (depthM[cell] !== depthM[cell]) wanted[cell] = 0;
  if (fill === 'natural-neighbour') {
    await naturalNeighbourCells(mesh, base.cornerDepthM, { grid, wanted }, depthM, context);
  } else if (fill === 'spline') {
    const spline = await tensionedSpline({ xM: taken(placeXM, measured), yM: taken(placeYM, measured), depthM: taken(depthM, measured) }, grid, { tension: options.tension ?? 0.35, toleranceM: SPLINE_TOLERANCE_M }, context);
    for (let cell = 0; cell < wanted.length; cell++) if (wanted[cell] !== 0) depthM[cell] = spline[cell]!;
  } else if (fill === 'kriging') {
    const filled = await krigeCells(
      { xM: taken(placeXM, measured), yM: taken(placeYM, measured), depthM: taken(depthM, measured), sigmaM: Float64Array.from(cells.randomM, (one) => one / 1.96), uncertaintyM: taken(cells.uncertaintyM, measured) },
      { grid, wanted, fillDistanceM: options.fillDistanceM },
      context,
    );
    base.ownBridgedM = filled.bridgedM;
    for (let cell = 0; cell < wanted.length; cell++) {
      if (wanted[cell] === 0) continue;
      depthM[cell] = filled.depthM[cell]!;
      base.uncertaintyM[cell] = filled.uncertaintyM[cell]!;
    }
  }
  await breathe(context);
  return finished(base, options);
}

/** A sweep that changes no cell by more than this ends the spline [m]. */
const SPLINE_TOLERANCE_M = 0.0005;

/** The measured cells and the mesh drawn between them. */
interface MeshedSurface {
  readonly grid: RasterGrid;
  readonly cells: MeasuredCells;
  /** Non-zero where a depth is wanted; not all need have one. */
  readonly wanted: Uint8Array;
  readonly mesh: Mesh;
  readonly cornerDepthM: Float64Array;
  readonly depthM: Float32Array;
  /** Of measured cells before their slope; of filled ones that of their corners, interpolated. */
  readonly uncertaintyM: Float32Array;
  /** The part that neighbouring lines may have in common. */
  readonly commonM: Float32Array;
  readonly reach: Float32Array;
  /** Of a filled cell: what bridging errs there, next to the whole floor. */
  readonly roughness: Float32Array;
  readonly growth: InterpolationGrowth;
  /** The error of bridging of filled cells where their way gives its own. */
  ownBridgedM?: Float32Array;
}

function meshedSurface(points: SoundingPoints, grid: RasterGrid, options: SurfaceOptions): MeshedSurface {
  const { fillDistanceM } = options;
  if (!(fillDistanceM >= 0)) throw new RangeError(`fillDistanceM ${fillDistanceM}: expected 0 or more`);
  const { cols, rows, cellM } = grid;
  const cells = measureCells(points, grid, options);
  const { count, measured, depthM, placeXM, placeYM, uncertaintyM } = cells;
  const fillCells = fillDistanceM / cellM;
  const wanted = cellsToFill(count, cols, rows, fillCells);
  // Nearer than a cell there is no other centre: nothing to fill, nothing to triangulate.
  const corners = fillCells < 1 ? new Uint32Array(0) : meshCells(count, cols, rows, measured);
  const mesh = triangulate(taken(placeXM, corners), taken(placeYM, corners), grid);
  const cornerDepthM = taken(depthM, corners);
  const growth = interpolationGrowth(depthM, cols, rows, measured, cells.apartM, Math.ceil(2 * fillCells), () => slope95(mesh, cornerDepthM));
  const reach = new Float32Array(depthM.length);
  const commonM = new Float32Array(depthM.length).fill(NaN);
  for (let at = 0; at < measured.length; at++) commonM[measured[at]!] = cells.commonM[at]!;
  const left = new Float32Array(depthM.length);
  const most = { cols, rows, wanted, mostRadius: LARGEST_TRIANGLE * fillCells };
  drawMesh(mesh, taken(commonM, corners), null, { ...most, depthM: commonM });
  drawMesh(mesh, cornerDepthM, taken(uncertaintyM, corners), { ...most, depthM, uncertaintyM, reach, left });
  let [sumReach, filled] = [0, 0];
  for (let cell = 0; cell < wanted.length; cell++) {
    if (wanted[cell] === 0 || depthM[cell] !== depthM[cell]) continue;
    const common2 = commonM[cell]! ** 2;
    uncertaintyM[cell] = Math.sqrt(common2 + left[cell]! * Math.max(0, uncertaintyM[cell]! ** 2 - common2));
    sumReach += reach[cell]!;
    filled++;
  }
  const roughness = roughnessRatio(cells.depthM, grid, measured, wanted, sumReach / filled, SEEN_AROUND * fillCells, (1.5 * cells.apartM ** 2) / 1.96 ** 2);
  return { grid, cells, wanted, mesh, cornerDepthM, depthM, uncertaintyM, commonM, reach, roughness, growth };
}

/** The floor within so many fill distances says how rough it is in a gap: the lines on both sides, and a little beyond. */
const SEEN_AROUND = 1.5;

function finished(base: MeshedSurface, options: SurfaceOptions): SoundingSurface {
  const { grid, cells, wanted, depthM, uncertaintyM, commonM, reach, roughness, growth } = base;
  const { cols, cellM } = grid;
  const { bridging = 1 } = options;
  const bridgedM = reach;
  let cellsFilled = 0;
  for (let cell = 0; cell < wanted.length; cell++) {
    if (wanted[cell] === 0 || depthM[cell] !== depthM[cell]) continue;
    cellsFilled++;
    const known = uncertaintyM[cell]!;
    bridgedM[cell] = bridging * (base.ownBridgedM ? base.ownBridgedM[cell]! : growthAt(growth, reach[cell]!) * roughness[cell]!);
    uncertaintyM[cell] = Math.hypot(known === known ? known : 0, bridgedM[cell]!);
  }
  const random2 = cells.randomM.reduce((sum, one) => sum + (one === one ? one * one : 0), 0) / Math.max(1, cells.measured.length);
  const noise2 = (2 * random2) / 1.96 ** 2;
  for (const cell of cells.measured) {
    const row = Math.floor(cell / cols);
    const col = cell - row * cols;
    const offM = Math.hypot(cells.placeXM[cell]! - (grid.westM + (col + 0.5) * cellM), cells.placeYM[cell]! - (grid.northM - (row + 0.5) * cellM));
    const known = uncertaintyM[cell]!;
    uncertaintyM[cell] = Math.hypot(known === known ? known : 0, offM * cellGradient(depthM, grid, row, col, noise2));
  }
  return {
    grid,
    depth: { grid, values: depthM },
    uncertainty: { grid, values: uncertaintyM },
    bridgedM,
    commonM,
    count: cells.count,
    cellsMeasured: cells.measured.length,
    cellsFilled,
    ...describe(depthM, uncertaintyM),
    ...(cells.hypotheses ? { hypotheses: cells.hypotheses } : {}),
    used: cells.used,
    skipped: cells.skipped,
    growth,
  };
}

function taken(column: Float32Array | Float64Array, cells: Uint32Array): Float64Array {
  const out = new Float64Array(cells.length);
  for (let i = 0; i < cells.length; i++) out[i] = column[cells[i]!]!;
  return out;
}

/** Unmeasured cells near enough to a measured one. */
function cellsToFill(count: Uint32Array, cols: number, rows: number, fillCells: number): Uint8Array {
  const squared = squaredDistanceCells(count, cols, rows);
  const limit = fillCells * fillCells * (1 + 1e-12);
  const wanted = new Uint8Array(count.length);
  for (let cell = 0; cell < wanted.length; cell++) wanted[cell] = squared[cell]! > 0 && squared[cell]! <= limit ? 1 : 0;
  return wanted;
}

/**
 * The measured cells that can be a corner of a triangle over an unmeasured centre: all but those whose 7 x 7 surroundings
 * are measured. (An empty circle through such a place is smaller than a cell's diagonal, since a larger one would hold
 * a whole measured cell; its triangles end within 2.83 cells, on measured ones.) Dense surveys need few triangles.
 */
function meshCells(count: Uint32Array, cols: number, rows: number, measured: Uint32Array): Uint32Array {
  const across = new Uint8Array(count.length);
  for (let row = 0; row < rows; row++) {
    for (let col = 0, run = 0, at = row * cols; col < cols; col++, at++) {
      run = count[at] !== 0 ? run + 1 : 0;
      if (run >= 7) across[at - 3] = 1;
    }
  }
  const inner = new Uint8Array(count.length);
  const runs = new Uint32Array(cols);
  for (let row = 0, at = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++, at++) {
      runs[col] = across[at] !== 0 ? runs[col]! + 1 : 0;
      if (runs[col]! >= 7) inner[at - 3 * cols] = 1;
    }
  }
  return measured.filter((cell) => inner[cell] === 0);
}

/** The slope that 95 % of the mesh's sides stay below, in metres of depth per cell; 0 for no triangles. */
function slope95(mesh: Mesh, depthM: Float64Array): number {
  const slopes = new Float64Array(mesh.triangles.length);
  for (let i = 0; i < slopes.length; i++) {
    const a = mesh.triangles[i]!;
    const b = mesh.triangles[i % 3 === 2 ? i - 2 : i + 1]!;
    slopes[i] = Math.abs(depthM[a]! - depthM[b]!) / Math.hypot(mesh.u[a]! - mesh.u[b]!, mesh.v[a]! - mesh.v[b]!);
  }
  slopes.sort();
  return slopes.length === 0 ? 0 : slopes[Math.floor(0.95 * (slopes.length - 1))]!;
}

function describe(depthM: Float32Array, uncertaintyM: Float32Array): { depthMinM: number; depthMaxM: number; uncertaintyMedianM: number } {
  let low = Infinity;
  let high = -Infinity;
  for (let cell = 0; cell < depthM.length; cell++) {
    const depth = depthM[cell]!;
    if (depth < low) low = depth;
    if (depth > high) high = depth;
  }
  return {
    depthMinM: low === Infinity ? NaN : low,
    depthMaxM: high === -Infinity ? NaN : high,
    uncertaintyMedianM: quantileInPlace(withoutNaN(uncertaintyM), 0.5),
  };
}
