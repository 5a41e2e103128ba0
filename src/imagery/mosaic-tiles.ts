import type { RasterGrid } from '../geo/raster.js';
import type { MosaicLayer } from './geocode-stretch.js';

/** How looks of several lines at a place become one. */
export type BlendRule = 'best' | 'mean' | 'brightest' | 'latest';

/** Side of a tile in cells. */
const SIDE = 256;

interface Tile {
  /** Level so far; for the mean the sum of levels is in `sum`. */
  readonly levels: Uint8Array;
  /** `best`: quality of the look that stands; `mean`: how many looks. */
  readonly aside: Uint8Array | null;
  readonly sum: Uint16Array | null;
}

/**
 * A mosaic that grows layer by layer. Only tiles that something was laid onto are kept: 2 bytes a cell, 4 for the mean.
 *
 * Rules: `best`, the look with the smallest footprint (equal: the first); `mean`, the mean of the levels in dB, of 255 looks at most;
 * `brightest`; `latest`, the layer laid last. Layers laid in the same order give the same bytes.
 */
export class MosaicTiles {
  readonly #tiles = new Map<number, Tile>();
  readonly #rule: BlendRule;
  readonly cellM: number;
  #west = Infinity;
  #north = Infinity;
  #east = -Infinity;
  #south = -Infinity;

  constructor(cellM: number, rule: BlendRule) {
    this.cellM = cellM;
    this.#rule = rule;
  }

  /** Bytes held. */
  get bytes(): number {
    return this.#tiles.size * SIDE * SIDE * (this.#rule === 'mean' ? 4 : this.#rule === 'best' ? 2 : 1);
  }

  add({ grid, levels, quality }: MosaicLayer): void {
    if (Math.abs(grid.cellM - this.cellM) > 1e-9) throw new RangeError(`layer cell ${grid.cellM}: expected the mosaic's ${this.cellM}`);
    const col0 = Math.round(grid.westM / this.cellM);
    // Rows count southward from the equator of the frame.
    const row0 = -Math.round(grid.northM / this.cellM);
    for (let row = 0; row < grid.rows; row++) {
      const r = row0 + row;
      const tileRow = Math.floor(r / SIDE);
      const inRow = (r - tileRow * SIDE) * SIDE;
      for (let start = 0; start < grid.cols; ) {
        const tileCol = Math.floor((col0 + start) / SIDE);
        const end = Math.min(grid.cols, (tileCol + 1) * SIDE - col0);
        const first = row * grid.cols + start;
        let from = first;
        const stop = row * grid.cols + end;
        while (from < stop && levels[from] === 0) from++;
        if (from < stop) this.#put(this.#tileAt(tileCol, tileRow), inRow + col0 + start - tileCol * SIDE, levels, quality, first, stop, r, col0 + start);
        start = end;
      }
    }
  }

  #tileAt(tileCol: number, tileRow: number): Tile {
    const key = keyOf(tileCol, tileRow);
    let tile = this.#tiles.get(key);
    if (tile === undefined) {
      const cells = SIDE * SIDE;
      tile = { levels: new Uint8Array(this.#rule === 'mean' ? 0 : cells), aside: this.#rule === 'best' || this.#rule === 'mean' ? new Uint8Array(cells) : null, sum: this.#rule === 'mean' ? new Uint16Array(cells) : null };
      this.#tiles.set(key, tile);
    }
    return tile;
  }

  #put({ levels: held, aside, sum }: Tile, at: number, levels: Uint8Array, quality: Uint8Array, first: number, stop: number, row: number, col: number): void {
    let west = Infinity;
    let east = -Infinity;
    for (let i = first, to = at; i < stop; i++, to++) {
      const level = levels[i]!;
      if (level === 0) continue;
      const c = col + i - first;
      if (c < west) west = c;
      east = c;
      if (sum !== null) {
        if (aside![to]! < 255) {
          sum[to]! += level;
          aside![to]!++;
        }
      } else if (aside !== null) {
        if (held[to] === 0 || quality[i]! > aside[to]!) {
          held[to] = level;
          aside[to] = quality[i]!;
        }
      } else if (this.#rule === 'latest' || level > held[to]!) held[to] = level;
    }
    if (west < this.#west) this.#west = west;
    if (east > this.#east) this.#east = east;
    if (row < this.#north) this.#north = row;
    if (row > this.#south) this.#south = row;
  }

  /** The cells that hold something, as a grid; null where nothing does. */
  grid(): RasterGrid | null {
    if (!(this.#east >= this.#west)) return null;
    return { westM: this.#west * this.cellM, northM: -this.#north * this.cellM, cellM: this.cellM, cols: this.#east - this.#west + 1, rows: this.#south - this.#north + 1 };
  }

  /** Levels of the rows [rowStart, rowEnd) of that grid; 0 no data. Shape [(rowEnd - rowStart) * cols]. */
  rows(rowStart: number, rowEnd: number): Uint8Array {
    const grid = this.grid();
    if (grid === null) return new Uint8Array(0);
    const out = new Uint8Array((rowEnd - rowStart) * grid.cols);
    for (let row = rowStart; row < rowEnd; row++) {
      const r = this.#north + row;
      const tileRow = Math.floor(r / SIDE);
      for (let col = 0; col < grid.cols; ) {
        const c = this.#west + col;
        const tileCol = Math.floor(c / SIDE);
        const end = Math.min(grid.cols, (tileCol + 1) * SIDE - this.#west);
        const tile = this.#tiles.get(keyOf(tileCol, tileRow));
        if (tile !== undefined) {
          const from = (r - tileRow * SIDE) * SIDE + c - tileCol * SIDE;
          const to = (row - rowStart) * grid.cols + col;
          if (tile.sum === null) out.set(tile.levels.subarray(from, from + end - col), to);
          else for (let i = 0; i < end - col; i++) out[to + i] = tile.aside![from + i] === 0 ? 0 : Math.round(tile.sum[from + i]! / tile.aside![from + i]!);
        }
        col = end;
      }
    }
    return out;
  }

  /** Cells that hold something. */
  filled(): number {
    let cells = 0;
    for (const { levels, sum } of this.#tiles.values()) {
      const held = sum ?? levels;
      for (let i = 0; i < held.length; i++) if (held[i] !== 0) cells++;
    }
    return cells;
  }
}

/** One whole number for a tile's place; both are within 2^25 of 0 in any UTM frame with cells from 0.01 m. */
function keyOf(tileCol: number, tileRow: number): number {
  return (tileCol + 2 ** 25) * 2 ** 26 + (tileRow + 2 ** 25);
}
