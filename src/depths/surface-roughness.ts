import type { RasterGrid } from '../geo/raster.js';

/** Triples that the whole floor's roughness is worth beside those of a place. */
const POOLED_TRIPLES = 8;
/** A place is not believed to be smoother or rougher, next to the whole floor, than this (as a ratio of errors). */
const SMOOTHEST = 0.3;
const ROUGHEST = 8;

/**
 * How rough the floor is around each wanted cell, next to the whole of it: what the error of bridging there is multiplied by.
 *
 * At each measured cell the error of straight lines over it, |m - (a + b) / 2| with a and b measured cells at equal distance
 * on both sides, in all directions in which there are any. Its mean square over a square around the wanted cell, the noise
 * of the depths taken off (`noise2`), drawn towards that of all, over what the same directions show on the whole floor. One figure for the whole of a floor is too
 * much for its plains and too little for its rocks.
 *
 * @param lagCells distance of a and b from m: that of the gaps to be bridged
 * @param reachCells half the width of the square; must reach the lines on both sides of a gap
 * @param noise2 mean square of the noise in such an error: 1.5 times the variance of a depth [m2]
 * @returns [rows * cols]: 1 where nothing is known and in cells not wanted
 */
export function roughnessRatio(depthM: Float32Array, { cols, rows }: RasterGrid, measured: Uint32Array, wanted: Uint8Array, lagCells: number, reachCells: number, noise2: number): Float32Array {
  const ratio = new Float32Array(depthM.length).fill(1);
  const lag = Math.max(1, Math.round(lagCells));
  const directions = Math.min(24, 4 * lag);
  const steps = Array.from({ length: directions }, (_, k) => [Math.round(lag * Math.cos((Math.PI * k) / directions)), Math.round(lag * Math.sin((Math.PI * k) / directions))] as const);
  const found = Uint32Array.from(steps, () => 0);
  const sums = Float64Array.from(steps, () => 0);
  const errors = new Float64Array(directions);
  const look = (cell: number): void => {
    const row = Math.floor(cell / cols);
    const col = cell - row * cols;
    for (let k = 0; k < directions; k++) {
      const [across, down] = steps[k]!;
      const reach = Math.abs(across);
      const inside = col >= reach && col + reach < cols && row >= down && row + down < rows;
      errors[k] = inside ? depthM[cell]! - (depthM[cell - down * cols - across]! + depthM[cell + down * cols + across]!) / 2 : NaN;
    }
  };
  for (const cell of measured) {
    look(cell);
    for (let k = 0; k < directions; k++) {
      if (errors[k] !== errors[k]) continue;
      found[k]!++;
      sums[k]! += errors[k]! ** 2;
    }
  }
  const usual = sums.map((sum, k) => sum / found[k]!);
  const squares = new Float64Array((cols + 1) * (rows + 1));
  const expected = new Float64Array((cols + 1) * (rows + 1));
  const counts = new Float64Array((cols + 1) * (rows + 1));
  let [whole, all] = [0, 0];
  for (const cell of measured) {
    look(cell);
    let [own, asUsual, n] = [0, 0, 0];
    for (let k = 0; k < directions; k++) {
      if (errors[k] !== errors[k]) continue;
      own += errors[k]! ** 2;
      asUsual += usual[k]!;
      n++;
    }
    if (n === 0) continue;
    const row = Math.floor(cell / cols);
    const at = (row + 1) * (cols + 1) + (cell - row * cols) + 1;
    squares[at] = own / n;
    expected[at] = asUsual / n;
    counts[at] = 1;
    whole += asUsual / n;
    all++;
  }
  whole = whole / all - noise2;
  // Neither a floor that shows no more than its noise nor an empty one has places rougher than others.
  if (!(whole > 0.05 * noise2) || !(whole > 0)) return ratio;
  for (let row = 1; row <= rows; row++) {
    for (let col = 1, at = row * (cols + 1) + 1; col <= cols; col++, at++) {
      squares[at]! += squares[at - 1]! + squares[at - cols - 1]! - squares[at - cols - 2]!;
      expected[at]! += expected[at - 1]! + expected[at - cols - 1]! - expected[at - cols - 2]!;
      counts[at]! += counts[at - 1]! + counts[at - cols - 1]! - counts[at - cols - 2]!;
    }
  }
  const sum = (table: Float64Array, row0: number, row1: number, col0: number, col1: number): number =>
    table[row1 * (cols + 1) + col1]! - table[row0 * (cols + 1) + col1]! - table[row1 * (cols + 1) + col0]! + table[row0 * (cols + 1) + col0]!;
  const reach = Math.max(1, Math.ceil(reachCells));
  for (let row = 0, cell = 0; row < rows; row++) {
    const row0 = Math.max(0, row - reach);
    const row1 = Math.min(rows, row + reach + 1);
    for (let col = 0; col < cols; col++, cell++) {
      if (wanted[cell] === 0) continue;
      const col0 = Math.max(0, col - reach);
      const col1 = Math.min(cols, col + reach + 1);
      const n = sum(counts, row0, row1, col0, col1);
      const pooled = POOLED_TRIPLES * whole - n * noise2;
      const here = sum(squares, row0, row1, col0, col1) + pooled;
      const elsewhere = sum(expected, row0, row1, col0, col1) + pooled;
      ratio[cell] = Math.min(ROUGHEST, Math.max(SMOOTHEST, Math.sqrt(Math.max(0, here) / Math.max(1e-3 * whole, elsewhere))));
    }
  }
  return ratio;
}
