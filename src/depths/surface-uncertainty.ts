import { quantileInPlace, withoutNaN } from '../base/statistics.js';
import type { RasterGrid } from '../geo/raster.js';
import type { BlockStatistics } from './blocks.js';

/** How much the deviation of all cells weighs beside a cell's own, in degrees of freedom. */
const POOLED_FREEDOM = 4;
const NINETY_FIVE = 1.96;

/**
 * 95 % uncertainty of each measured cell's depth, before the slope of the cell: see `soundingSurface` for the terms.
 *
 * @param blocks with `deviation`, and `tvuM` where the soundings have one
 * @param options.one the depth is one sounding's (shoalest, deepest): nothing is averaged
 * @returns uncertaintyM [rows * cols] [m], NaN outside the measured cells and where neither a TVU nor any cell with two
 *   soundings is known; randomM, the part of it that differs from cell to cell, one for each of `measured`, and its median [m]
 */
export function measuredUncertainty(
  blocks: BlockStatistics,
  measured: Uint32Array,
  options: { readonly systematicShare: number; readonly one: boolean },
): { readonly uncertaintyM: Float32Array; readonly randomM: Float32Array; readonly randomMedianM: number } {
  const { count, tvuM } = blocks;
  const deviation = blocks.deviation!;
  let freedom = 0;
  let squares = 0;
  for (const cell of measured) {
    const free = count[cell]! - 1;
    if (free === 0) continue;
    freedom += free;
    squares += free * deviation[cell]! ** 2;
  }
  const pooled = freedom > 0 ? squares / freedom : NaN;

  const uncertaintyM = new Float32Array(count.length).fill(NaN);
  const random = new Float64Array(measured.length);
  for (let at = 0; at < measured.length; at++) {
    const cell = measured[at]!;
    const free = count[cell]! - 1;
    const averaged = options.one ? 1 : blocks.weightedWorth ? blocks.weightedWorth[cell]! : count[cell]!;
    const own = free > 0 ? free * deviation[cell]! ** 2 : 0;
    const spread = (NINETY_FIVE ** 2 * (own + POOLED_FREEDOM * pooled)) / (free + POOLED_FREEDOM) / averaged;
    const tvu = tvuM ? tvuM[cell]! ** 2 : NaN;
    const budget = ((1 - options.systematicShare) * tvu) / averaged;
    const varying = budget > spread || spread !== spread ? budget : spread;
    random[at] = varying;
    uncertaintyM[cell] = Math.sqrt(varying + (tvu === tvu ? options.systematicShare * tvu : 0));
  }
  return { uncertaintyM, randomM: Float32Array.from(random, Math.sqrt), randomMedianM: Math.sqrt(quantileInPlace(withoutNaN(random), 0.5)) };
}

/**
 * Steepness at a cell, on the large side: along each axis the steeper way to a neighbour that has a depth; 0 where none
 * has [m/m]. Not the mean of both ways: neighbours' soundings lie off their centres too.
 */
export function cellGradient(depthM: Float32Array, grid: RasterGrid, row: number, col: number): number {
  const { cols, rows, cellM } = grid;
  const cell = row * cols + col;
  const here = depthM[cell]!;
  const east = col + 1 < cols ? depthM[cell + 1]! : NaN;
  const west = col > 0 ? depthM[cell - 1]! : NaN;
  const south = row + 1 < rows ? depthM[cell + cols]! : NaN;
  const north = row > 0 ? depthM[cell - cols]! : NaN;
  return Math.hypot(steeper(west, here, east), steeper(north, here, south)) / cellM;
}

function steeper(before: number, here: number, after: number): number {
  const backward = Math.abs(here - before);
  const forward = Math.abs(after - here);
  return backward > forward || forward !== forward ? (backward === backward ? backward : 0) : forward;
}
