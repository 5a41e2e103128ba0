import type { RasterGrid } from '../geo/raster.js';
import type { Polygon, Ring } from '../geo/shapes.js';

/**
 * Which cells of a grid have their centre inside any of the polygons.
 *
 * Scan lines through the cell centres, even-odd within each polygon (its holes are out, and the direction of rings does
 * not matter); where polygons overlap the cell is inside. A centre on an edge is in when the polygon lies east or north
 * of it, so that two polygons sharing an edge share no cell and miss none.
 *
 * @returns [rows * cols], 1 inside and 0 outside; all 0 for no polygons
 */
export function insideMask(polygons: readonly Polygon[], grid: RasterGrid): Uint8Array {
  const mask = new Uint8Array(grid.cols * grid.rows);
  for (const polygon of polygons) fillPolygon(mask, polygon, grid);
  return mask;
}

function fillPolygon(mask: Uint8Array, polygon: Polygon, grid: RasterGrid): void {
  const { westM, northM, cellM, cols, rows } = grid;
  const rings = [polygon.outer, ...polygon.holes];
  const first = new Uint32Array(rows + 1);
  for (const ring of rings) {
    eachCrossing(ring, grid, (row) => {
      first[row + 1]!++;
    });
  }
  for (let row = 0; row < rows; row++) first[row + 1]! += first[row]!;
  const next = first.slice();
  const crossings = new Float64Array(first[rows]!);
  for (const ring of rings) {
    eachCrossing(ring, grid, (row, xM) => {
      crossings[next[row]!++] = xM;
    });
  }
  for (let row = 0; row < rows; row++) {
    const line = crossings.subarray(first[row]!, first[row + 1]!).sort();
    for (let i = 0; i + 1 < line.length; i += 2) {
      const colStart = Math.max(0, Math.ceil((line[i]! - westM) / cellM - 0.5));
      const colEnd = Math.min(cols, Math.ceil((line[i + 1]! - westM) / cellM - 0.5));
      if (colEnd > colStart) mask.fill(1, row * cols + colStart, row * cols + colEnd);
    }
  }

  function eachCrossing(ring: Ring, { rows }: RasterGrid, found: (row: number, xM: number) => void): void {
    const n = ring.length >> 1;
    for (let i = 0; i < n; i++) {
      const j = i + 1 === n ? 0 : i + 1;
      let x0 = ring[2 * i]!;
      let y0 = ring[2 * i + 1]!;
      let x1 = ring[2 * j]!;
      let y1 = ring[2 * j + 1]!;
      if (y0 > y1) [x0, y0, x1, y1] = [x1, y1, x0, y0];
      // rows whose centre has y0 <= y < y1; one row more each side, then tested exactly
      const rowStart = Math.max(0, Math.floor((northM - y1) / cellM - 0.5));
      const rowEnd = Math.min(rows, Math.ceil((northM - y0) / cellM + 0.5) + 1);
      for (let row = rowStart; row < rowEnd; row++) {
        const y = northM - (row + 0.5) * cellM;
        if (y >= y0 && y < y1) found(row, x0 + ((x1 - x0) * (y - y0)) / (y1 - y0));
      }
    }
  }
}
