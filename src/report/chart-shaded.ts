import { INK } from './ink.js';
import { trueColourPng } from './png.js';
import type { ReportSurface } from './report-input.js';
import { tintBreaks } from './chart-tints.js';

/** Where the light comes from: north-west, half way up. Common practice. */
const LIGHT_FROM_DEG = 315;
const LIGHT_UP_DEG = 45;
/** A tenth of the cells is to be steeper than this once heights are stretched. */
const WANTED_SLOPE = 0.3;
const MOST_STRETCH = 20;
/** Brightness of level ground, and the darkest and lightest a slope may be. */
const SHADE = { level: 0.86, least: 0.5, most: 1 } as const;
/** The light sees the ground smoothed over so many cells to either side, twice: else it shows noise, not form. */
const SMOOTH_CELLS = 6;

export interface ShadedSurface {
  readonly png: Uint8Array;
  /** Heights were stretched by this much for the light alone. */
  readonly stretch: number;
  /** Depths between the tints [m]. */
  readonly breaks: readonly [number, number, number];
}

/**
 * A surface as a picture, a dot for each cell: the report's depth tints under a hill-shade; cells without data are see-through.
 * The light alone sees heights smoothed and stretched, so that a flat floor shows its form.
 *
 * Source: slope by Horn (1981), Proc. IEEE 69(1), 14-47, eq. 17; shade by Lambert's cosine law.
 */
export function shadedSurface({ grid, depthM }: ReportSurface, intervalM: number, texts: Readonly<Record<string, string>> = {}): ShadedSurface {
  const { rows, cols } = grid;
  const east = new Float32Array(rows * cols);
  const north = new Float32Array(rows * cols);
  const ground = smoothed(smoothed(depthM, cols, rows), cols, rows);
  let [low, high] = [Infinity, -Infinity];
  for (let row = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++) {
      const cell = row * cols + col;
      const depth = depthM[cell] as number;
      if (Number.isNaN(depth)) continue;
      if (depth < low) low = depth;
      if (depth > high) high = depth;
      const own = ground[cell] as number;
      /* A neighbour without data stands as the cell itself. */
      const at = (dRow: number, dCol: number): number => {
        const [r, c] = [row + dRow, col + dCol];
        const near = r < 0 || c < 0 || r >= rows || c >= cols ? NaN : (ground[r * cols + c] as number);
        return Number.isNaN(near) ? own : near;
      };
      const [nw, n, ne, w, e, sw, s, se] = [at(-1, -1), at(-1, 0), at(-1, 1), at(0, -1), at(0, 1), at(1, -1), at(1, 0), at(1, 1)];
      /* Of height, which is minus depth. */
      east[cell] = -(ne + 2 * e + se - nw - 2 * w - sw) / (8 * grid.cellM);
      north[cell] = -(nw + 2 * n + ne - sw - 2 * s - se) / (8 * grid.cellM);
    }
  }
  const stretch = stretchFor(depthM, east, north);
  const breaks = tintBreaks(low, high, intervalM);
  const tints = [INK.drying, ...INK.tints].map((colour) => [1, 3, 5].map((at) => Number.parseInt(colour.slice(at, at + 2), 16)));
  const up = (LIGHT_UP_DEG * Math.PI) / 180;
  const from = (LIGHT_FROM_DEG * Math.PI) / 180;
  const [lightEast, lightNorth, lightUp] = [Math.cos(up) * Math.sin(from), Math.cos(up) * Math.cos(from), Math.sin(up)];
  const pixels = new Uint8Array(rows * cols * 4);
  for (let cell = 0; cell < rows * cols; cell++) {
    const depth = depthM[cell] as number;
    if (Number.isNaN(depth)) continue;
    const [gx, gy] = [(east[cell] as number) * stretch, (north[cell] as number) * stretch];
    const light = (lightUp - gx * lightEast - gy * lightNorth) / Math.hypot(1, gx, gy) / lightUp;
    const factor = Math.max(SHADE.least, Math.min(SHADE.most, SHADE.level * light));
    const tint = tints[depth < 0 ? 0 : depth < breaks[0] ? 1 : depth < breaks[1] ? 2 : depth < breaks[2] ? 3 : 4] as number[];
    for (let c = 0; c < 3; c++) pixels[4 * cell + c] = Math.min(255, Math.round((tint[c] as number) * factor));
    pixels[4 * cell + 3] = 255;
  }
  return { png: trueColourPng(pixels, cols, rows, texts), stretch, breaks };
}

function stretchFor(depthM: Float32Array, east: Float32Array, north: Float32Array): number {
  const every = Math.max(1, Math.floor(depthM.length / 100_000));
  const slopes: number[] = [];
  for (let cell = 0; cell < depthM.length; cell += every) if (!Number.isNaN(depthM[cell] as number)) slopes.push(Math.hypot(east[cell] as number, north[cell] as number));
  slopes.sort((a, b) => a - b);
  const steep = slopes[Math.floor(slopes.length * 0.9)] ?? 0;
  return steep > 0 ? Math.max(1, Math.min(MOST_STRETCH, Math.round((WANTED_SLOPE / steep) * 10) / 10)) : 1;
}

/** Mean over a square of cells that hold depths; NaN stays NaN. Running sums along rows, then columns. */
function smoothed(values: Float32Array, cols: number, rows: number): Float32Array {
  const sums = new Float64Array(cols * rows);
  const counts = new Float64Array(cols * rows);
  for (let row = 0; row < rows; row++) {
    const at = row * cols;
    let [sum, count] = [0, 0];
    const add = (col: number, sign: number): void => {
      const value = col < 0 || col >= cols ? NaN : (values[at + col] as number);
      if (Number.isNaN(value)) return;
      sum += sign * value;
      count += sign;
    };
    for (let col = 0; col < SMOOTH_CELLS; col++) add(col, 1);
    for (let col = 0; col < cols; col++) {
      add(col + SMOOTH_CELLS, 1);
      sums[at + col] = sum;
      counts[at + col] = count;
      add(col - SMOOTH_CELLS, -1);
    }
  }
  const out = new Float32Array(cols * rows).fill(NaN);
  for (let col = 0; col < cols; col++) {
    let [sum, count] = [0, 0];
    const add = (row: number, sign: number): void => {
      if (row < 0 || row >= rows) return;
      sum += sign * (sums[row * cols + col] as number);
      count += sign * (counts[row * cols + col] as number);
    };
    for (let row = 0; row < SMOOTH_CELLS; row++) add(row, 1);
    for (let row = 0; row < rows; row++) {
      add(row + SMOOTH_CELLS, 1);
      const cell = row * cols + col;
      if (!Number.isNaN(values[cell] as number)) out[cell] = sum / count;
      add(row - SMOOTH_CELLS, -1);
    }
  }
  return out;
}
