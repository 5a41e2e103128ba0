import type { RasterGrid } from '../geo/raster.js';
import type { Polygon } from '../geo/shapes.js';

/** Each row of cells is cut into this many strips; along a strip the length inside is exact. */
const STRIPS = 16;

/**
 * How much of each cell lies inside polygons, 0 to 1. Shape [rows * cols], row 0 = north.
 *
 * Along sixteen strips through each row of cells the stretch inside is exact (even-odd rule), so that an edge along the
 * columns is exact and any other within a thirty-second of a cell's side; areas of whole polygons come out far better.
 *
 * @param polygons null: everything
 */
export function cellShares(polygons: readonly Polygon[] | null, grid: RasterGrid): Float32Array {
  const { cols, rows, cellM, westM, northM } = grid;
  const shares = new Float32Array(cols * rows);
  if (polygons === null) return shares.fill(1);
  const rings = polygons.flatMap(({ outer, holes }) => [outer, ...holes]);
  for (let row = 0; row < rows; row++) {
    for (let strip = 0; strip < STRIPS; strip++) {
      const y = northM - (row + (strip + 0.5) / STRIPS) * cellM;
      const crossings: number[] = [];
      for (const ring of rings) {
        const n = ring.length / 2;
        for (let i = 0; i < n; i++) {
          const j = i + 1 === n ? 0 : i + 1;
          const y0 = ring[2 * i + 1]!;
          const y1 = ring[2 * j + 1]!;
          if (y0 > y === y1 > y) continue;
          crossings.push(ring[2 * i]! + ((y - y0) / (y1 - y0)) * (ring[2 * j]! - ring[2 * i]!));
        }
      }
      crossings.sort((a, b) => a - b);
      for (let k = 0; k + 1 < crossings.length; k += 2) addStretch(shares, row * cols, cols, (crossings[k]! - westM) / cellM, (crossings[k + 1]! - westM) / cellM);
    }
  }
  for (let cell = 0; cell < shares.length; cell++) shares[cell] = Math.min(1, shares[cell]!);
  return shares;
}

function addStretch(shares: Float32Array, first: number, cols: number, from: number, to: number): void {
  const start = Math.max(0, from);
  const end = Math.min(cols, to);
  for (let col = Math.floor(start); col < end; col++) {
    shares[first + col]! += (Math.min(end, col + 1) - Math.max(start, col)) / STRIPS;
  }
}
