import type { RasterGrid } from '../geo/raster.js';
import { medianInPlace } from './block-median.js';

/** Points with depths, as columns of the same length [n]. `Soundings` fits as it is. */
export interface SoundingPoints {
  /** Place in the survey frame [m]. */
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** Depth below datum, positive down [m]; NaN is no depth. */
  readonly depthM: Float32Array | Float64Array;
  /** Total vertical uncertainty of each, 95 % [m]; NaN is not known. */
  readonly tvuM?: Float32Array | Float64Array;
  /** Code of REASONS; anything but 0 is set aside and takes no part. */
  readonly reason?: Uint8Array;
}

/**
 * What can be asked of a block. `place` is the mean east and north of its soundings, `tvu` the median of their TVU,
 * `shoalestAt` and `deepestAt` the row of the sounding that is the block's least or greatest depth, `weighted` the mean
 * weighted by 1 / TVU squared, with the mean place and the number of equal soundings it is worth under the same weights.
 */
export type BlockStatistic = 'count' | 'mean' | 'median' | 'min' | 'max' | 'deviation' | 'place' | 'tvu' | 'shoalestAt' | 'deepestAt' | 'weighted';

/** Statistics of the soundings in each cell. Shape of every column: [rows * cols], row 0 = north; NaN where the cell has none. */
export interface BlockStatistics {
  readonly grid: RasterGrid;
  /** Soundings used, in each cell. */
  readonly count: Uint32Array;
  readonly mean?: Float32Array;
  readonly median?: Float32Array;
  /** Shoalest and deepest depth. */
  readonly min?: Float32Array;
  readonly max?: Float32Array;
  /** Standard deviation with n - 1; NaN for fewer than two soundings. */
  readonly deviation?: Float32Array;
  /** Mean place [m]. */
  readonly placeXM?: Float64Array;
  readonly placeYM?: Float64Array;
  /** Median TVU of the soundings whose TVU is known, 95 % [m]. */
  readonly tvuM?: Float32Array;
  /** Row of the first shoalest and the first deepest sounding; -1 where the cell has none. */
  readonly shoalestAt?: Int32Array;
  readonly deepestAt?: Int32Array;
  /** Mean weighted by 1 / TVU squared: depth [m], place [m], and how many equal soundings it is worth, 1 to count. */
  readonly weighted?: Float32Array;
  readonly weightedXM?: Float64Array;
  readonly weightedYM?: Float64Array;
  readonly weightedWorth?: Float32Array;
  /** Soundings used, and how many were not, by reason. */
  readonly used: number;
  readonly skipped: {
    readonly setAside: number;
    readonly noDepth: number;
    readonly noPlace: number;
    readonly outside: number;
  };
}

const NOWHERE = 0xffffffff;

/**
 * Statistics of the soundings that fall in each cell of a grid.
 *
 * A counting sort puts the depths of one cell side by side; each cell is then read once while it is in the cache. All
 * statistics are exact: the median by selection (mean of the two middle depths for an even count), the deviation in
 * two passes about the cell's own mean. The order of the soundings changes nothing but the last bits of a mean.
 *
 * **Edges.** A sounding on an edge between two cells belongs to the cell east or south of it; one on the outer edge of
 * the grid belongs to the grid. Every sounding within the closed outline is thus in exactly one cell.
 *
 * @param points columns of the same length
 * @param grid cells; at most 2^31 - 1
 * @param options.statistics which columns to compute; `count` always is
 * @returns the columns asked for, and how many soundings were skipped, each counted once under the first that holds:
 *   set aside, no depth (NaN or infinite), no place (NaN or infinite), outside the grid
 * @throws RangeError for columns of unequal length, or `tvu` asked for without tvuM
 */
export function gridSoundings(
  points: SoundingPoints,
  grid: RasterGrid,
  options: { readonly statistics: readonly BlockStatistic[] },
): BlockStatistics {
  const n = checkColumns(points);
  const wanted = new Set(options.statistics);
  for (const name of ['tvu', 'weighted'] as const) if (wanted.has(name) && !points.tvuM) throw new RangeError(`statistics: '${name}' needs points.tvuM`);
  const cells = grid.cols * grid.rows;

  const cellOf = new Uint32Array(n);
  const count = new Uint32Array(cells);
  const skipped = assignCells(points, grid, cellOf, count);
  const used = n - skipped.setAside - skipped.noDepth - skipped.noPlace - skipped.outside;

  const sorts = ['mean', 'median', 'min', 'max', 'deviation'].some((name) => wanted.has(name as BlockStatistic));
  const columns: { -readonly [K in keyof BlockStatistics]?: BlockStatistics[K] } = {};
  if (sorts) {
    const mean = wanted.has('mean') ? new Float32Array(cells) : undefined;
    const median = wanted.has('median') ? new Float32Array(cells) : undefined;
    const min = wanted.has('min') ? new Float32Array(cells) : undefined;
    const max = wanted.has('max') ? new Float32Array(cells) : undefined;
    const deviation = wanted.has('deviation') ? new Float32Array(cells) : undefined;
    const sorted = sortByCell(points.depthM, cellOf, count, used);
    describeCells(sorted, count, mean, median, min, max, deviation);
    Object.assign(columns, defined({ mean, median, min, max, deviation }));
  }
  if (wanted.has('place')) Object.assign(columns, meanPlaces(points, grid, cellOf, count));
  if (wanted.has('tvu')) columns.tvuM = medianTvu(points.tvuM!, cellOf, cells);
  if (wanted.has('shoalestAt')) columns.shoalestAt = extremeAt(points.depthM, cellOf, cells, 1);
  if (wanted.has('deepestAt')) columns.deepestAt = extremeAt(points.depthM, cellOf, cells, -1);
  if (wanted.has('weighted')) Object.assign(columns, weightedMeans(points, grid, cellOf, cells));
  return { grid, count, used, skipped, ...columns };
}

function checkColumns(points: SoundingPoints): number {
  const n = points.xM.length;
  for (const name of ['yM', 'depthM', 'tvuM', 'reason'] as const) {
    const column = points[name];
    if (column && column.length !== n) throw new RangeError(`points.${name}: length ${column.length}, expected ${n} like xM`);
  }
  return n;
}

/** Fills the cell of each sounding (NOWHERE if skipped) and the count of each cell. */
function assignCells(points: SoundingPoints, grid: RasterGrid, cellOf: Uint32Array, count: Uint32Array): BlockStatistics['skipped'] {
  const { xM, yM, depthM, reason } = points;
  const { westM, northM, cellM, cols, rows } = grid;
  let setAside = 0;
  let noDepth = 0;
  let noPlace = 0;
  let outside = 0;
  for (let i = 0; i < xM.length; i++) {
    if (reason !== undefined && reason[i] !== 0) {
      setAside++;
      cellOf[i] = NOWHERE;
      continue;
    }
    const depth = depthM[i]!;
    if (depth - depth !== 0) {
      noDepth++;
      cellOf[i] = NOWHERE;
      continue;
    }
    const u = (xM[i]! - westM) / cellM;
    const v = (northM - yM[i]!) / cellM;
    if (u >= 0 && u <= cols && v >= 0 && v <= rows) {
      let col = u | 0;
      let row = v | 0;
      if (col === cols) col--;
      if (row === rows) row--;
      const cell = row * cols + col;
      cellOf[i] = cell;
      count[cell]!++;
    } else {
      if (u - u !== 0 || v - v !== 0) noPlace++;
      else outside++;
      cellOf[i] = NOWHERE;
    }
  }
  return { setAside, noDepth, noPlace, outside };
}

/** The values of cell 0, then of cell 1, ...: a counting sort, stable. */
function sortByCell(values: Float32Array | Float64Array, cellOf: Uint32Array, count: Uint32Array, used: number): Float32Array | Float64Array {
  const next = new Uint32Array(count.length);
  for (let cell = 0, at = 0; cell < count.length; cell++) {
    next[cell] = at;
    at += count[cell]!;
  }
  const sorted = values instanceof Float32Array ? new Float32Array(used) : new Float64Array(used);
  for (let i = 0; i < cellOf.length; i++) {
    const cell = cellOf[i]!;
    if (cell !== NOWHERE) sorted[next[cell]!++] = values[i]!;
  }
  return sorted;
}

function describeCells(
  sorted: Float32Array | Float64Array,
  count: Uint32Array,
  mean?: Float32Array,
  median?: Float32Array,
  min?: Float32Array,
  max?: Float32Array,
  deviation?: Float32Array,
): void {
  const needsRange = min !== undefined || max !== undefined;
  const needsMean = mean !== undefined || deviation !== undefined;
  for (let cell = 0, start = 0; cell < count.length; cell++) {
    const n = count[cell]!;
    const end = start + n;
    if (needsMean) {
      let sum = 0;
      for (let i = start; i < end; i++) sum += sorted[i]!;
      const cellMean = sum / n; // 0 / 0 is the NaN an empty cell should have
      if (mean) mean[cell] = cellMean;
      if (deviation) {
        let squares = 0;
        for (let i = start; i < end; i++) {
          const difference = sorted[i]! - cellMean;
          squares += difference * difference;
        }
        deviation[cell] = n > 1 ? Math.sqrt(squares / (n - 1)) : NaN;
      }
    }
    if (needsRange) {
      let low = n > 0 ? sorted[start]! : NaN;
      let high = low;
      for (let i = start + 1; i < end; i++) {
        const value = sorted[i]!;
        if (value < low) low = value;
        if (value > high) high = value;
      }
      if (min) min[cell] = low;
      if (max) max[cell] = high;
    }
    if (median) median[cell] = medianInPlace(sorted, start, end);
    start = end;
  }
}

function meanPlaces(points: SoundingPoints, grid: RasterGrid, cellOf: Uint32Array, count: Uint32Array): { placeXM: Float64Array; placeYM: Float64Array } {
  const placeXM = new Float64Array(count.length);
  const placeYM = new Float64Array(count.length);
  // Summed from the grid's corner: a northing of millions would cost the last millimetres of the mean.
  for (let i = 0; i < cellOf.length; i++) {
    const cell = cellOf[i]!;
    if (cell === NOWHERE) continue;
    placeXM[cell]! += points.xM[i]! - grid.westM;
    placeYM[cell]! += points.yM[i]! - grid.northM;
  }
  for (let cell = 0; cell < count.length; cell++) {
    placeXM[cell] = grid.westM + placeXM[cell]! / count[cell]!;
    placeYM[cell] = grid.northM + placeYM[cell]! / count[cell]!;
  }
  return { placeXM, placeYM };
}

function medianTvu(tvuM: Float32Array | Float64Array, cellOf: Uint32Array, cells: number): Float32Array {
  const known = cellOf.slice();
  const count = new Uint32Array(cells);
  let used = 0;
  for (let i = 0; i < known.length; i++) {
    if (known[i] === NOWHERE) continue;
    if (Number.isFinite(tvuM[i]!)) {
      count[known[i]!]!++;
      used++;
    } else known[i] = NOWHERE;
  }
  const median = new Float32Array(cells);
  describeCells(sortByCell(tvuM, known, count, used), count, undefined, median);
  return median;
}

/**
 * Inverse-variance means. A sounding without TVU weighs as one with the largest TVU of all; where no sounding has one all
 * weigh the same. A TVU under a millimetre weighs as one millimetre.
 */
function weightedMeans(points: SoundingPoints, grid: RasterGrid, cellOf: Uint32Array, cells: number): Partial<BlockStatistics> {
  const { xM, yM, depthM } = points;
  const tvuM = points.tvuM!;
  let largest = 0;
  for (let i = 0; i < cellOf.length; i++) if (cellOf[i] !== NOWHERE && Number.isFinite(tvuM[i]!) && tvuM[i]! > largest) largest = tvuM[i]!;
  if (largest < 0.001) largest = 1;
  const sum = new Float64Array(cells);
  const squares = new Float64Array(cells);
  const depths = new Float64Array(cells);
  const weightedXM = new Float64Array(cells);
  const weightedYM = new Float64Array(cells);
  for (let i = 0; i < cellOf.length; i++) {
    const cell = cellOf[i]!;
    if (cell === NOWHERE) continue;
    const tvu = Number.isFinite(tvuM[i]!) ? Math.max(0.001, tvuM[i]!) : largest;
    const weight = 1 / (tvu * tvu);
    sum[cell]! += weight;
    squares[cell]! += weight * weight;
    depths[cell]! += weight * depthM[i]!;
    weightedXM[cell]! += weight * (xM[i]! - grid.westM);
    weightedYM[cell]! += weight * (yM[i]! - grid.northM);
  }
  const weighted = new Float32Array(cells);
  const weightedWorth = new Float32Array(cells);
  for (let cell = 0; cell < cells; cell++) {
    const whole = sum[cell]!; // 0 in an empty cell, and 0 / 0 is the NaN it should have
    weighted[cell] = depths[cell]! / whole;
    weightedWorth[cell] = (whole * whole) / squares[cell]!;
    weightedXM[cell] = grid.westM + weightedXM[cell]! / whole;
    weightedYM[cell] = grid.northM + weightedYM[cell]! / whole;
  }
  return { weighted, weightedXM, weightedYM, weightedWorth };
}

function extremeAt(depthM: Float32Array | Float64Array, cellOf: Uint32Array, cells: number, sign: 1 | -1): Int32Array {
  const at = new Int32Array(cells).fill(-1);
  for (let i = 0; i < cellOf.length; i++) {
    const cell = cellOf[i]!;
    if (cell === NOWHERE) continue;
    const best = at[cell]!;
    if (best < 0 || sign * depthM[i]! < sign * depthM[best]!) at[cell] = i;
  }
  return at;
}

function defined<T extends object>(columns: T): Partial<T> {
  return Object.fromEntries(Object.entries(columns).filter(([, column]) => column !== undefined)) as Partial<T>;
}
