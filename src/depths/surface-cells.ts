import type { RasterGrid } from '../geo/raster.js';
import type { BlockStatistic, BlockStatistics, SoundingPoints } from './blocks.js';
import { gridSoundings } from './blocks.js';
import type { ChosenHypotheses, HypothesisDecision, HypothesisRule } from './hypotheses-choose.js';
import { chooseHypotheses } from './hypotheses-choose.js';
import type { TrackedHypotheses } from './hypotheses-track.js';
import { trackHypotheses } from './hypotheses-track.js';
import type { ErrorParts } from './error-parts.js';
import { checkErrorParts } from './error-parts.js';
import { measuredUncertainty } from './surface-uncertainty.js';

/** How the depth of a measured cell comes from its soundings. */
export type CellStatistic = 'mean' | 'median' | 'shoalest' | 'deepest' | 'weighted' | 'hypotheses';

/** What decides the depth of a measured cell. */
export interface CellOptions {
  readonly statistic: CellStatistic;
  /** Share of a sounding's variance that all soundings of a cell have in common, 0..1; 0.6 unless given. */
  readonly systematicShare?: number;
  /** How the soundings' errors hang together; goes before `systematicShare`. */
  readonly errorParts?: ErrorParts;
  /** With `hypotheses`: what decides between several; `both` unless given. */
  readonly hypothesis?: HypothesisRule;
  readonly hypothesisDecisions?: readonly HypothesisDecision[];
}

const STATISTIC_COLUMN = { mean: 'mean', median: 'median', shoalest: 'min', deepest: 'max', weighted: 'weighted' } as const;

/** The cells that hold soundings. Rasters are [rows * cols], NaN in other cells. */
export interface MeasuredCells {
  readonly count: Uint32Array;
  /** Cells with soundings, ascending. */
  readonly measured: Uint32Array;
  readonly depthM: Float32Array;
  /** Where that depth is: the mean place of the soundings, or the place of the shoalest or deepest [m]. */
  readonly placeXM: Float64Array;
  readonly placeYM: Float64Array;
  /** 95 %, before the slope between that place and the centre [m]. */
  readonly uncertaintyM: Float32Array;
  /** The part of it that each cell has by itself, and that which neighbouring lines may have in common, one for each of `measured` [m]. */
  readonly randomM: Float32Array;
  readonly commonM: Float32Array;
  /** What neighbouring lines do not share, root mean square over the cells [m]; NaN where nothing is known. */
  readonly apartM: number;
  /** With `hypotheses`: all of them, and which stands. */
  readonly hypotheses?: { readonly tracked: TrackedHypotheses; readonly choice: ChosenHypotheses };
  readonly used: number;
  readonly skipped: BlockStatistics['skipped'];
}

/**
 * Depth, place and uncertainty of every cell that holds soundings: see `soundingSurface`.
 * @throws RangeError for a share outside 0..1, columns of unequal length, the weighted mean and hypotheses without TVUs
 */
export function measureCells(points: SoundingPoints, grid: RasterGrid, options: CellOptions): MeasuredCells {
  const { statistic, systematicShare = 0.6 } = options;
  if (!(systematicShare >= 0 && systematicShare <= 1)) throw new RangeError(`systematicShare ${systematicShare}: expected 0 to 1`);
  if (options.errorParts) checkErrorParts(options.errorParts);
  if (statistic === 'hypotheses') return hypothesisCells(points, grid, options);
  const column = STATISTIC_COLUMN[statistic];
  const extreme = statistic === 'shoalest' || statistic === 'deepest';
  const statistics: BlockStatistic[] = [column, 'deviation'];
  if (statistic !== 'weighted') statistics.push('place');
  if (points.tvuM) statistics.push('tvu');
  if (extreme) statistics.push(statistic === 'shoalest' ? 'shoalestAt' : 'deepestAt');
  const blocks = gridSoundings(points, grid, { statistics });
  const placeXM = (blocks.weightedXM ?? blocks.placeXM)!;
  const placeYM = (blocks.weightedYM ?? blocks.placeYM)!;
  if (extreme) moveToExtreme(points, (statistic === 'shoalest' ? blocks.shoalestAt : blocks.deepestAt)!, placeXM, placeYM);
  const measured = occupied(blocks.count);
  return {
    count: blocks.count,
    measured,
    depthM: blocks[column]!,
    placeXM,
    placeYM,
    ...measuredUncertainty(blocks, blocks[column]!, measured, { systematicShare, ...(options.errorParts ? { errorParts: options.errorParts } : {}), one: extreme }),
    used: blocks.used,
    skipped: blocks.skipped,
  };
}

/** Cells whose depth is the hypothesis that stands at their centre. */
function hypothesisCells(points: SoundingPoints, grid: RasterGrid, { systematicShare = 0.6, errorParts, hypothesis = 'both', hypothesisDecisions = [] }: CellOptions): MeasuredCells {
  const tracked = trackHypotheses(points, grid, { systematicShare });
  const choice = chooseHypotheses(tracked, hypothesis, hypothesisDecisions);
  const measured = occupied(tracked.count);
  const cells = tracked.count.length;
  const depthM = new Float32Array(cells).fill(NaN);
  const uncertaintyM = new Float32Array(cells).fill(NaN);
  const placeXM = new Float64Array(cells).fill(NaN);
  const placeYM = new Float64Array(cells).fill(NaN);
  const randomM = new Float32Array(measured.length);
  const commonM = new Float32Array(measured.length);
  let apart2 = 0;
  for (const [at, cell] of measured.entries()) {
    const k = choice.chosen[cell]!;
    depthM[cell] = tracked.depthM[k]!;
    uncertaintyM[cell] = tracked.uncertaintyM[k]!;
    placeXM[cell] = tracked.placeXM[k]!;
    placeYM[cell] = tracked.placeYM[k]!;
    randomM[at] = tracked.randomM[k]!;
    const lasting2 = Math.max(0, uncertaintyM[cell]! ** 2 - randomM[at]! ** 2);
    // Of several depths in a cell none is said to be a mean of passes: all that does not average out is taken as common.
    commonM[at] = Math.sqrt(lasting2);
    apart2 += randomM[at]! ** 2 + (errorParts ? Math.min(lasting2, 1.96 ** 2 * errorParts.passM ** 2) : 0);
  }
  return {
    count: tracked.count,
    measured,
    depthM,
    placeXM,
    placeYM,
    uncertaintyM,
    randomM,
    commonM,
    apartM: Math.sqrt(apart2 / measured.length),
    hypotheses: { tracked, choice },
    used: tracked.used,
    skipped: tracked.skipped,
  };
}

function moveToExtreme(points: SoundingPoints, at: Int32Array, placeXM: Float64Array, placeYM: Float64Array): void {
  for (let cell = 0; cell < at.length; cell++) {
    const i = at[cell]!;
    if (i < 0) continue;
    placeXM[cell] = points.xM[i]!;
    placeYM[cell] = points.yM[i]!;
  }
}

function occupied(count: Uint32Array): Uint32Array {
  let n = 0;
  for (let cell = 0; cell < count.length; cell++) if (count[cell] !== 0) n++;
  const cells = new Uint32Array(n);
  for (let cell = 0, at = 0; cell < count.length; cell++) if (count[cell] !== 0) cells[at++] = cell;
  return cells;
}
