import type { WorkContext } from '../base/progress.js';
import type { RasterGrid } from '../geo/raster.js';

/** What the soundings of a grid come down to: one point for each cell that has any. Columns of one length [n]. */
export interface BlockPoints {
  /** Mean place of the cell's soundings, or the place of its shoalest or deepest, in the survey frame [m]; no two alike. */
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** The cell's depth, positive down [m]; finite. */
  readonly depthM: Float64Array;
  /** One sigma of the part of that depth's error that differs from cell to cell [m]; NaN where not known. */
  readonly sigmaM: Float64Array;
  /** Uncertainty of that depth, 95 %, the part that all cells have in common included [m]; NaN where not known. */
  readonly uncertaintyM: Float64Array;
}

/** The cells to fill. */
export interface FillTarget {
  readonly grid: RasterGrid;
  /** Non-zero where a depth is wanted [rows * cols], row 0 = north. Measured cells are never wanted. */
  readonly wanted: Uint8Array;
  /** No wanted cell lies further than this from the centre of a measured cell [m]. */
  readonly fillDistanceM: number;
}

/** What a filler gives: [rows * cols], row 0 = north; NaN in every cell that was not wanted and where it has no answer. */
export interface FilledCells {
  readonly depthM: Float32Array;
  /** The part of its uncertainty, 95 %, that the data have in common [m]. */
  readonly uncertaintyM: Float32Array;
  /** The part of it that comes of bridging the gap from data with errors of their own, 95 % [m]; the whole is the root of the sum of squares. */
  readonly bridgedM: Float32Array;
}

/**
 * A way of giving depths to cells between measured ones.
 *
 * It may leave wanted cells empty, as where a gap is bridged from one side only; it never writes others. The same
 * points in the same order give the same bytes. It reports progress 0..1 and looks at the signal at least every second,
 * letting other work in between (`breathe` of src/base/breathe.ts).
 */
export type SurfaceFiller = (points: BlockPoints, target: FillTarget, context: WorkContext) => Promise<FilledCells>;
