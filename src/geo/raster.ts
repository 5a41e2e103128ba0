/** A raster's cells in the survey frame: row 0 is the northernmost, row-major. */
export interface RasterGrid {
  /** East of the west edge of column 0 [m]. */
  readonly westM: number;
  /** North of the north edge of row 0 [m]. */
  readonly northM: number;
  readonly cellM: number;
  readonly cols: number;
  readonly rows: number;
}

/** Values on a raster grid; NaN is no data. Shape [rows * cols] row-major, row 0 = north. */
export interface Raster {
  readonly grid: RasterGrid;
  readonly values: Float32Array;
}

/**
 * The grid of whole cells, aligned to multiples of the cell size, that covers a box.
 * @throws RangeError for a cell that is not positive, an empty box, or more than maxCells cells
 */
export function gridCovering(
  box: { readonly westM: number; readonly southM: number; readonly eastM: number; readonly northM: number },
  cellM: number,
  maxCells = 2 ** 28,
): RasterGrid {
  if (!(cellM > 0)) throw new RangeError(`cellM ${cellM}: expected more than 0`);
  if (!(box.eastM >= box.westM && box.northM >= box.southM)) throw new RangeError('box: east must not be west of west, nor north south of south');
  const colStart = Math.floor(box.westM / cellM);
  const colEnd = Math.max(Math.ceil(box.eastM / cellM), colStart + 1);
  const rowSouth = Math.floor(box.southM / cellM);
  const rowNorth = Math.max(Math.ceil(box.northM / cellM), rowSouth + 1);
  const cols = colEnd - colStart;
  const rows = rowNorth - rowSouth;
  if (cols * rows > maxCells) {
    throw new RangeError(`cellM ${cellM}: ${cols} x ${rows} cells, more than the limit of ${maxCells}; choose larger cells or a smaller area`);
  }
  return { westM: colStart * cellM, northM: rowNorth * cellM, cellM, cols, rows };
}

/** The east and north of a cell's centre [m]. */
export function cellCentre(grid: RasterGrid, row: number, col: number): [number, number] {
  return [grid.westM + (col + 0.5) * grid.cellM, grid.northM - (row + 0.5) * grid.cellM];
}

/** A raster's value in the cell a place lies in; NaN outside it. */
export function rasterValueAt({ grid, values }: Raster): (xM: number, yM: number) => number {
  return (xM, yM) => {
    const col = Math.floor((xM - grid.westM) / grid.cellM);
    const row = Math.floor((grid.northM - yM) / grid.cellM);
    return col < 0 || row < 0 || col >= grid.cols || row >= grid.rows ? NaN : values[row * grid.cols + col]!;
  };
}

/** A raster's value at a place, straight between the four cell centres around it; NaN outside the cells, beside a NaN, and half a cell inside the edge as the edge cell's own. */
export function rasterBilinearAt({ grid, values }: Raster): (xM: number, yM: number) => number {
  const { westM, northM, cellM, cols, rows } = grid;
  return (xM, yM) => {
    const across = (xM - westM) / cellM;
    const down = (northM - yM) / cellM;
    if (!(across >= 0 && down >= 0 && across <= cols && down <= rows)) return NaN;
    const x = Math.min(Math.max(across - 0.5, 0), cols - 1);
    const y = Math.min(Math.max(down - 0.5, 0), rows - 1);
    const col = Math.min(Math.floor(x), Math.max(0, cols - 2));
    const row = Math.min(Math.floor(y), Math.max(0, rows - 2));
    const [fx, fy] = [x - col, y - row];
    const right = Math.min(col + 1, cols - 1);
    const below = Math.min(row + 1, rows - 1);
    const top = (1 - fx) * values[row * cols + col]! + fx * values[row * cols + right]!;
    const bottom = (1 - fx) * values[below * cols + col]! + fx * values[below * cols + right]!;
    return (1 - fy) * top + fy * bottom;
  };
}
