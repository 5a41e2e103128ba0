import { quantileInPlace, withoutNaN } from '../base/statistics.js';
import type { RasterGrid } from '../geo/raster.js';
import type { BlockStatistics } from './blocks.js';
import type { ErrorParts, SquaredParts } from './error-parts.js';
import { partsOf } from './error-parts.js';

/** How much the deviation expected of a cell weighs beside its own, in degrees of freedom. */
const POOLED_FREEDOM = 4;
/** The same where it is known from the soundings' own budget, rather than from all cells together. */
const BUDGET_FREEDOM = 12;
const NINETY_FIVE = 1.96;

/** Uncertainty of measured cells, 95 % [m]; columns but the first are one for each of them. */
export interface CellUncertainties {
  /** [rows * cols]; NaN outside the measured cells and where neither a TVU nor any cell with two soundings is known. */
  readonly uncertaintyM: Float32Array;
  /** The part that each cell has by itself. */
  readonly randomM: Float32Array;
  /** The part that neighbouring lines may have in common; 0 where no TVU is known. */
  readonly commonM: Float32Array;
  /** What neighbouring lines do not share, root mean square over the cells. */
  readonly apartM: number;
}

/**
 * 95 % uncertainty of each measured cell's depth, before the slope of the cell: see `soundingSurface` for the terms.
 *
 * @param blocks with `deviation`, and `tvuM` where the soundings have one
 * @param depthM of the cells [rows * cols]
 * @param options.errorParts how the soundings' errors hang together; without it `systematicShare` is common to the survey and the
 *   rest is each sounding's
 * @param options.one the depth is one sounding's (shoalest, deepest): nothing is averaged
 */
export function measuredUncertainty(
  blocks: BlockStatistics,
  depthM: Float32Array,
  measured: Uint32Array,
  options: { readonly systematicShare: number; readonly errorParts?: ErrorParts; readonly one: boolean },
): CellUncertainties {
  const { count, tvuM } = blocks;
  const { errorParts, systematicShare } = options;
  const deviation = blocks.deviation!;
  const parts = (cell: number): SquaredParts => {
    const tvu2 = tvuM ? tvuM[cell]! ** 2 : NaN;
    return errorParts === undefined ? { each2: (1 - systematicShare) * tvu2, lasting2: systematicShare * tvu2, apart2: (1 - systematicShare) * tvu2 } : partsOf(errorParts, depthM[cell]!, tvu2);
  };
  const scatter = scatterRatio(count, deviation, measured, (cell) => parts(cell).each2);
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
  const commonM = new Float32Array(measured.length);
  const apart = new Float64Array(measured.length);
  for (let at = 0; at < measured.length; at++) {
    const cell = measured[at]!;
    const free = count[cell]! - 1;
    const averaged = options.one ? 1 : blocks.weightedWorth ? blocks.weightedWorth[cell]! : count[cell]!;
    const own = free > 0 ? free * deviation[cell]! ** 2 : 0;
    const tvu = tvuM ? tvuM[cell]! ** 2 : NaN;
    const { each2, lasting2, apart2 } = parts(cell);
    const [expected, worth] = each2 > 0 && scatter === scatter ? [(scatter * each2) / NINETY_FIVE ** 2, BUDGET_FREEDOM] : [pooled, POOLED_FREEDOM];
    const spread = (NINETY_FIVE ** 2 * (own + worth * expected)) / (free + worth) / averaged;
    const budget = each2 / averaged;
    const varying = budget > spread || spread !== spread ? budget : spread;
    random[at] = varying;
    commonM[at] = lasting2 === lasting2 ? Math.sqrt(lasting2) : 0;
    apart[at] = varying + (apart2 === apart2 ? apart2 - each2 : 0);
    uncertaintyM[cell] = Math.sqrt(varying + (tvu === tvu ? tvu - each2 : 0));
  }
  const known = withoutNaN(apart);
  return { uncertaintyM, randomM: Float32Array.from(random, Math.sqrt), commonM, apartM: known.length === 0 ? NaN : Math.sqrt(known.reduce((sum, one) => sum + one, 0) / known.length) };
}

/**
 * How much more soundings scatter within cells than each is said to by itself, as a ratio of variances, 1 or more: the median
 * over the cells, so that steep and broken ones have no say; NaN where no cell has two soundings or nothing is said.
 * The median of a chi-squared of f degrees of freedom is f (1 - 2 / 9f)^3 (Wilson & Hilferty 1931, PNAS 17(12), 684-688).
 */
function scatterRatio(count: Uint32Array, deviation: Float32Array, measured: Uint32Array, each2: (cell: number) => number): number {
  const ratios: number[] = [];
  for (const cell of measured) {
    const free = count[cell]! - 1;
    const said = each2(cell);
    if (free > 0 && said > 0) ratios.push((deviation[cell]! ** 2 * NINETY_FIVE ** 2) / (said * (1 - 2 / (9 * free)) ** 3));
  }
  return ratios.length === 0 ? NaN : Math.max(1, quantileInPlace(Float64Array.from(ratios), 0.5));
}

/**
 * Steepness at a cell, on the large side: along each axis the steeper way to a neighbour that has a depth; 0 where none
 * has [m/m]. Not the mean of both ways: neighbours' soundings lie off their centres too.
 * @param noise2 variance of the difference of two neighbours that is noise, and is taken off [m2]
 */
export function cellGradient(depthM: Float32Array, grid: RasterGrid, row: number, col: number, noise2 = 0): number {
  const { cols, rows, cellM } = grid;
  const cell = row * cols + col;
  const here = depthM[cell]!;
  const east = col + 1 < cols ? depthM[cell + 1]! : NaN;
  const west = col > 0 ? depthM[cell - 1]! : NaN;
  const south = row + 1 < rows ? depthM[cell + cols]! : NaN;
  const north = row > 0 ? depthM[cell - cols]! : NaN;
  const [across, down] = [steeper(west, here, east), steeper(north, here, south)];
  return Math.sqrt(Math.max(0, across * across - noise2) + Math.max(0, down * down - noise2)) / cellM;
}

function steeper(before: number, here: number, after: number): number {
  const backward = Math.abs(here - before);
  const forward = Math.abs(after - here);
  return backward > forward || forward !== forward ? (backward === backward ? backward : 0) : forward;
}
