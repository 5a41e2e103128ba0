import type { Raster } from '../geo/raster.js';

/**
 * A raster's value at any place, between the four centres around it (bilinear). At the edge of what is known, where one to three
 * of the four are NaN, the value of the cell the place lies in; NaN where that has none.
 */
export function sampleRaster({ grid, values }: Raster): (xM: number, yM: number) => number {
  const { westM, northM, cellM, cols, rows } = grid;
  const at = (row: number, col: number): number => (row < 0 || col < 0 || row >= rows || col >= cols ? NaN : values[row * cols + col]!);
  return (xM, yM) => {
    const u = (xM - westM) / cellM - 0.5;
    const v = (northM - yM) / cellM - 0.5;
    const col = Math.floor(u);
    const row = Math.floor(v);
    const e = u - col;
    const s = v - row;
    const value = (1 - s) * ((1 - e) * at(row, col) + (e === 0 ? 0 : e * at(row, col + 1))) + (s === 0 ? 0 : s * ((1 - e) * at(row + 1, col) + (e === 0 ? 0 : e * at(row + 1, col + 1))));
    return value === value ? value : at(Math.floor((northM - yM) / cellM), Math.floor((xM - westM) / cellM));
  };
}
