import { UseError } from '../base/errors.js';
import { gridCovering, type RasterGrid } from '../geo/raster.js';

/** A box in the frame [m]. */
export interface Box {
  readonly westM: number;
  readonly southM: number;
  readonly eastM: number;
  readonly northM: number;
}

const CELLS_WANTED = 4_000_000;
const CELLS_AT_MOST = 40_000_000;
const STEPS_M = [0.5, 1, 2, 5];

/**
 * The grid over a box: with the cell asked for, or the finest of 0.5, 1, 2, 5, 10, ... m that keeps under 4 million cells.
 * @throws UseError where the cell asked for would make more than 40 million cells
 */
export function surfaceGrid(box: Box, cellM: number | null): RasterGrid {
  if (cellM === null) {
    for (let decade = 1; ; decade *= 10) {
      for (const step of STEPS_M) {
        const candidate = step * decade;
        const cells = ((box.eastM - box.westM) / candidate + 1) * ((box.northM - box.southM) / candidate + 1);
        if (cells <= CELLS_WANTED) return gridCovering(box, candidate);
      }
    }
  }
  try {
    return gridCovering(box, cellM, CELLS_AT_MOST);
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    throw new UseError(`surface.cellM: ${error.message}, or null for Tallow to choose`, { path: 'surface.cellM', found: String(cellM), fix: 'tallow depths <folder> --set surface.cellM=null' });
  }
}

/** The box of the places where `use` holds, or null where it never does. */
export function boxOf(xM: Float64Array, yM: Float64Array, use: (row: number) => boolean): Box | null {
  let westM = Infinity;
  let southM = Infinity;
  let eastM = -Infinity;
  let northM = -Infinity;
  for (let i = 0; i < xM.length; i++) {
    if (!use(i)) continue;
    const x = xM[i] as number;
    const y = yM[i] as number;
    if (x < westM) westM = x;
    if (x > eastM) eastM = x;
    if (y < southM) southM = y;
    if (y > northM) northM = y;
  }
  return westM <= eastM && southM <= northM ? { westM, southM, eastM, northM } : null;
}
