import { throwIfCancelled } from '../base/progress.js';
import { newSamples } from './geotiff-tile.js';
import type { SampleType, TiffArray } from './geotiff-tile.js';

/**
 * How four cells become one in an overview. `mean`, `max` and `min` leave no-data out and give no-data where there is
 * nothing else; `nearest` takes the north-western cell as it is.
 */
export type OverviewMethod = 'mean' | 'max' | 'min' | 'nearest';

/** Rows [rowStart, rowEnd) of a band, shape [(rowEnd - rowStart) * cols]. Asked from north to south, perhaps more than once. */
export type RowProvider = (rowStart: number, rowEnd: number) => TiffArray | Promise<TiffArray>;

export interface PyramidBand {
  readonly rows: RowProvider;
  readonly overview: OverviewMethod;
}

/** An image of the pyramid: level 0 is the full one, each next half as wide and high, rounded up. */
export interface PyramidLevel {
  readonly cols: number;
  readonly rows: number;
  readonly tileCols: number;
  readonly tileRows: number;
}

/** The levels of an image, down to the first that one tile holds. */
export function pyramidLevels(cols: number, rows: number, side: number): PyramidLevel[] {
  const levels: PyramidLevel[] = [];
  for (let c = cols, r = rows; ; c = Math.ceil(c / 2), r = Math.ceil(r / 2)) {
    levels.push({ cols: c, rows: r, tileCols: Math.ceil(c / side), tileRows: Math.ceil(r / side) });
    if (c <= side && r <= side) return levels;
  }
}

export interface PyramidJob {
  readonly bands: readonly PyramidBand[];
  readonly levels: readonly PyramidLevel[];
  readonly side: number;
  readonly type: SampleType;
  /** What stands for no data; NaN for float32, null for none. */
  readonly noData: number | null;
  readonly signal?: AbortSignal | undefined;
}

/** Told each tile of a level as it is complete, pixel-interleaved, padded with no-data; the array is its own to keep or change. */
export type TakeTile = (level: number, tile: number, samples: () => TiffArray) => void | Promise<void>;

/**
 * Reads the image once from north to south and gives the tiles of level 0 and of every overview up to `levelEnd`
 * (exclusive), each level's in row-major order. It holds one row of tiles a level, whatever the height.
 */
export async function walkPyramid(job: PyramidJob, levelEnd: number, take: TakeTile, rowsDone: (rows: number) => void = () => {}): Promise<void> {
  const { bands, levels, side, type } = job;
  /** By level: one strip a band, shape [side * cols], and how many of its rows are filled and where it lies. */
  const strips = levels.slice(0, levelEnd).map(({ cols }) => ({
    values: bands.map(() => newSamples(type, side * cols)),
    filled: 0,
    tileRow: 0,
  }));

  async function completeStrip(index: number): Promise<void> {
    const level = levels[index]!;
    const strip = strips[index]!;
    for (let tileCol = 0; tileCol < level.tileCols; tileCol++) {
      await take(index, strip.tileRow * level.tileCols + tileCol, () => interleaveTile(job, level, strip.values, strip.filled, tileCol));
    }
    strip.tileRow++;
    if (index + 1 < levelEnd) await halveInto(index);
    strip.filled = 0;
  }

  async function halveInto(index: number): Promise<void> {
    const from = strips[index]!;
    const to = strips[index + 1]!;
    const { cols } = levels[index]!;
    const above = levels[index + 1]!;
    bands.forEach(({ overview }, b) => halve(from.values[b]!, cols, from.filled, to.values[b]!, above.cols, to.filled, overview, job.noData));
    to.filled += Math.ceil(from.filled / 2);
    const rowsSoFar = to.tileRow * side + to.filled;
    if (to.filled === side || rowsSoFar === above.rows) await completeStrip(index + 1);
  }

  const { cols, rows } = levels[0]!;
  const base = strips[0]!;
  for (let rowStart = 0; rowStart < rows; rowStart += side) {
    throwIfCancelled(job.signal);
    const rowEnd = Math.min(rows, rowStart + side);
    for (let b = 0; b < bands.length; b++) {
      const part = await bands[b]!.rows(rowStart, rowEnd);
      if (part.length !== (rowEnd - rowStart) * cols || part.constructor !== base.values[b]!.constructor) {
        throw new RangeError(`band ${b + 1}: rows ${rowStart} to ${rowEnd}: expected ${(rowEnd - rowStart) * cols} values of ${type}, found ${part.length} of ${part.constructor.name}`);
      }
      base.values[b]!.set(part, 0);
    }
    base.filled = rowEnd - rowStart;
    await completeStrip(0);
    rowsDone(rowEnd);
  }
}

/** Cuts a tile out of a strip's bands. */
function interleaveTile(job: PyramidJob, level: PyramidLevel, strip: readonly TiffArray[], filled: number, tileCol: number): TiffArray {
  const { side, type } = job;
  const bands = strip.length;
  const tile = newSamples(type, side * side * bands);
  const pad = job.noData ?? 0;
  const width = Math.min(side, level.cols - tileCol * side);
  if (pad !== 0 && (width < side || filled < side)) tile.fill(pad);
  for (let b = 0; b < bands; b++) {
    const values = strip[b]!;
    for (let row = 0; row < filled; row++) {
      let from = row * level.cols + tileCol * side;
      let to = row * side * bands + b;
      for (let col = 0; col < width; col++, from++, to += bands) tile[to] = values[from]!;
    }
  }
  return tile;
}

/** Halves rows [0, filled) of a strip into rows from `outRow` on of the level above. */
function halve(
  values: TiffArray,
  cols: number,
  filled: number,
  out: TiffArray,
  outCols: number,
  outRow: number,
  method: OverviewMethod,
  noData: number | null,
): void {
  const whole = !(values instanceof Float32Array);
  const empty = noData ?? 0;
  for (let row = 0; row < filled; row += 2) {
    const north = row * cols;
    const south = row + 1 < filled ? north + cols : -1;
    let to = (outRow + row / 2) * outCols;
    for (let col = 0; col < cols; col += 2, to++) {
      if (method === 'nearest') {
        out[to] = values[north + col]!;
        continue;
      }
      let count = 0;
      let kept = 0;
      for (let k = 0; k < 4; k++) {
        const base = k < 2 ? north : south;
        const at = col + (k & 1);
        if (base < 0 || at >= cols) continue;
        const value = values[base + at]!;
        if (Number.isNaN(value) || value === noData) continue;
        if (count === 0) kept = value;
        else if (method === 'mean') kept += value;
        else if (method === 'max' ? value > kept : value < kept) kept = value;
        count++;
      }
      if (count === 0) out[to] = empty;
      else if (method !== 'mean') out[to] = kept;
      else out[to] = whole ? Math.round(kept / count) : kept / count;
    }
  }
}
