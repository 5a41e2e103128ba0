import { breathe } from '../base/breathe.js';
import type { WorkContext } from '../base/progress.js';
import { quantileInPlace } from '../base/statistics.js';
import type { RasterGrid } from '../geo/raster.js';
import type { SoundingPoints } from './blocks.js';
import { partsOf } from './error-parts.js';
import { squaredDistanceCells } from './surface-distance.js';
import type { FillOptions } from './surface.js';
import { filledSurface } from './surface.js';

/** Errors of a surface at soundings it was not given: predicted less sounded [m]. */
export interface LeftOutFigures {
  readonly count: number;
  readonly rmsM: number;
  /** Mean: positive where the surface is too deep. */
  readonly biasM: number;
  /** 95 % of the errors are within this. */
  readonly p95M: number;
  /** Share of the errors within what the surface and the sounding claim together. */
  readonly withinShare: number;
}

/** What leaving lines out showed. */
export interface LeftOut extends LeftOutFigures {
  /** Lines that were left out in turn, and how many at a time at most. */
  readonly lines: number;
  readonly rounds: number;
  /** Soundings on them that the others could not tell, being too far. */
  readonly notReached: number;
  /** By distance from the nearest kept cell, from and up to but not including [m]. */
  readonly byDistance: readonly (LeftOutFigures & { readonly fromM: number; readonly toM: number })[];
  /** Times the error of bridging as the surface reckons it, that holds 95 % of these errors; NaN for too few. */
  readonly bridging: number;
}

const ROUNDS = 8;
/** Of a survey with more soundings than this the first two rounds tell enough: tens of thousands of errors on a quarter of its lines. */
const MANY_SOUNDINGS = 150_000;
const FEW_ROUNDS = 2;
/** Fewer errors than this say nothing of their 95 %. */
const MIN_ERRORS = 100;
const MOST_SAMPLED = 100_000;
const LEAST_BRIDGING = 0.05;
const MOST_BRIDGING = 4;

/**
 * The error of a surface where it was not measured, from lines left out whole.
 *
 * Lines are put in order of their number and every eighth is left out in turn (each alone where there are eight or
 * fewer), so that a line's neighbours stay. Of a survey of more than 150 000 soundings only the first two rounds are run. The surface is made of the rest in the same way, but reaching twice as far:
 * a missing line doubles the gap. At the soundings of the lines left out the surface is read bilinearly and compared.
 * Cells that a kept line measures are left out of the figures: there nothing is bridged.
 *
 * **Bridging** is the least factor k with which 95 % of the errors r hold r^2 <= U^2 + T^2 + (k g)^2: U the uncertainty of
 * the data interpolated and T the sounding's own, both without what neighbouring lines share, g the error of bridging.
 * **Within** is counted against U and T in full and k g, with k of the other half of the rounds, so that no error has a say
 * in its own claim.
 *
 * @param line number of the main line of each sounding; -1: never left out. Shape [n]
 * @returns null for fewer than two lines, or where no sounding left out could be told
 * @throws RangeError as `filledSurface`; CancelledError when stopped
 *
 * Source: leaving groups out whole since neighbours along a line are not independent, common practice; k from the left-out
 * errors as in split conformal prediction, Lei et al. (2018), JASA 113, 1094-1111.
 */
export async function leaveLinesOut(points: SoundingPoints, line: Int32Array, grid: RasterGrid, options: FillOptions, context: WorkContext = {}): Promise<LeftOut | null> {
  const n = points.xM.length;
  if (line.length !== n) throw new RangeError(`line: length ${line.length}, expected ${n} like xM`);
  const good = (i: number): boolean => (points.reason === undefined || points.reason[i] === 0) && Number.isFinite(points.depthM[i]!);
  const numbers = new Set<number>();
  for (let i = 0; i < n; i++) if (line[i]! >= 0 && good(i)) numbers.add(line[i]!);
  if (numbers.size < 2 || options.fill === 'none') return null;
  const ordered = [...numbers].sort((a, b) => a - b);
  const rounds = Math.min(ROUNDS, ordered.length);
  const roundOf = new Map(ordered.map((number, k) => [number, k % rounds]));
  const share = options.systematicShare ?? 0.6;
  const wide: FillOptions = { ...options, fillDistanceM: 2 * options.fillDistanceM, bridging: 1 };

  const errors = new Errors();
  let notReached = 0;
  const run = n > MANY_SOUNDINGS ? Math.min(FEW_ROUNDS, rounds) : rounds;
  for (let round = 0; round < run; round++) {
    context.progress?.('leaving lines out', round / run, `${round + 1} of ${run}`);
    await breathe(context);
    const reason = new Uint8Array(n);
    const out: number[] = [];
    for (let i = 0; i < n; i++) {
      if (!good(i)) reason[i] = 1;
      else if (line[i]! >= 0 && roundOf.get(line[i]!) === round) {
        reason[i] = 1;
        out.push(i);
      }
    }
    const surface = await filledSurface({ ...points, reason }, grid, wide, context.signal || context.pause ? { ...(context.signal ? { signal: context.signal } : {}), ...(context.pause ? { pause: context.pause } : {}) } : {});
    const distance2 = squaredDistanceCells(surface.count, grid.cols, grid.rows);
    for (const i of out) {
      const col = Math.floor((points.xM[i]! - grid.westM) / grid.cellM);
      const row = Math.floor((grid.northM - points.yM[i]!) / grid.cellM);
      if (!(col >= 0 && row >= 0 && col < grid.cols && row < grid.rows)) continue;
      const cell = row * grid.cols + col;
      if (surface.count[cell]! > 0) continue;
      const depth = readAt(surface.depth.values, grid, points.xM[i]!, points.yM[i]!, cell);
      if (Number.isNaN(depth)) {
        notReached++;
        continue;
      }
      const bridged = surface.bridgedM[cell]!;
      const known2 = Math.max(0, surface.uncertainty.values[cell]! ** 2 - bridged ** 2);
      const tvu = points.tvuM ? points.tvuM[i]! : 0;
      const tvu2 = tvu === tvu ? tvu * tvu : 0;
      const { errorParts } = options;
      const ofCell2 = surface.commonM[cell]! ** 2;
      const own = errorParts ? partsOf(errorParts, points.depthM[i]!, tvu2) : { lasting2: share * tvu2, apart2: (1 - share) * tvu2, each2: 0 };
      // Of what is lasting the surface shares as much with the sounding as the sounding with it.
      const shared = own.apart2 - (tvu2 - own.lasting2);
      const apart2 = Math.max(0, known2 - (ofCell2 === ofCell2 ? ofCell2 : 0)) + shared + own.apart2;
      errors.push(depth - points.depthM[i]!, Math.sqrt(distance2[cell]!) * grid.cellM, known2 + tvu2, apart2, bridged, round);
    }
  }
  if (errors.n === 0) return null;
  return { ...figuresOf(errors, grid.cellM), lines: ordered.filter((_, k) => k % rounds < run).length, rounds: run, notReached };
}

/** The errors as growing columns. */
class Errors {
  n = 0;
  readonly errorM: number[] = [];
  readonly distanceM: number[] = [];
  /** Uncertainty of the data, surface and sounding together, squared [m2]. */
  readonly data2: number[] = [];
  /** The part of it that surface and sounding do not have in common. */
  readonly apart2: number[] = [];
  readonly bridgedM: number[] = [];
  readonly round: number[] = [];
  push(errorM: number, distanceM: number, data2: number, apart2: number, bridgedM: number, round: number): void {
    this.n++;
    this.errorM.push(errorM);
    this.distanceM.push(distanceM);
    this.data2.push(data2);
    this.apart2.push(apart2);
    this.bridgedM.push(bridgedM);
    this.round.push(round);
  }
}

function readAt(values: Float32Array, grid: RasterGrid, xM: number, yM: number, cell: number): number {
  const u = (xM - grid.westM) / grid.cellM - 0.5;
  const v = (grid.northM - yM) / grid.cellM - 0.5;
  const col = Math.floor(u);
  const row = Math.floor(v);
  if (col < 0 || row < 0 || col + 1 >= grid.cols || row + 1 >= grid.rows) return values[cell]!;
  const at = row * grid.cols + col;
  const [fu, fv] = [u - col, v - row];
  const north = values[at]! * (1 - fu) + values[at + 1]! * fu;
  const south = values[at + grid.cols]! * (1 - fu) + values[at + grid.cols + 1]! * fu;
  const depth = north * (1 - fv) + south * fv;
  return depth === depth ? depth : values[cell]!;
}

function figuresOf(errors: Errors, cellM: number): Omit<LeftOut, 'lines' | 'rounds' | 'notReached'> {
  const all = bridgingFactor(errors, () => true);
  const fold = [0, 1].map((half) => bridgingFactor(errors, (round) => round % 2 !== half));
  const within = (i: number): boolean => {
    const own = fold[errors.round[i]! % 2]!;
    const k = own === own ? own : all === all ? all : 1;
    return errors.errorM[i]! ** 2 <= errors.data2[i]! + (k * errors.bridgedM[i]!) ** 2;
  };
  const furthest = errors.distanceM.reduce((most, one) => Math.max(most, one), 0);
  const edges = [0];
  for (let edge = Math.max(cellM, 1); edge <= furthest; edge *= 2) edges.push(edge);
  edges.push(Infinity);
  const bins = edges.slice(1).map(() => [] as number[]);
  for (let i = 0; i < errors.n; i++) bins[edges.findIndex((edge, k) => k > 0 && errors.distanceM[i]! < edge) - 1]!.push(i);
  const byDistance = bins.flatMap((rows, k) => (rows.length === 0 ? [] : [{ fromM: edges[k]!, toM: Math.min(edges[k + 1]!, Math.ceil(furthest + cellM)), ...describe(errors, rows, within) }]));
  return { ...describe(errors, [...errors.errorM.keys()], within), byDistance, bridging: all };
}

function describe({ errorM }: Errors, rows: readonly number[], within: (i: number) => boolean): LeftOutFigures {
  let [sum, squares, held] = [0, 0, 0];
  for (const i of rows) {
    sum += errorM[i]!;
    squares += errorM[i]! ** 2;
    if (within(i)) held++;
  }
  const n = rows.length;
  return { count: n, rmsM: Math.sqrt(squares / n), biasM: sum / n, p95M: quantileInPlace(Float64Array.from(rows, (i) => Math.abs(errorM[i]!)), 0.95), withinShare: held / n };
}

/** The 95 % quantile over the errors of the k that just holds each; NaN for too few. */
function bridgingFactor(errors: Errors, wanted: (round: number) => boolean): number {
  const factors: number[] = [];
  const step = Math.max(1, errors.n / MOST_SAMPLED);
  for (let at = 0; at < errors.n; at += step) {
    const i = Math.floor(at);
    if (!wanted(errors.round[i]!)) continue;
    const over2 = errors.errorM[i]! ** 2 - errors.apart2[i]!;
    factors.push(over2 <= 0 ? 0 : Math.sqrt(over2) / Math.max(1e-9, errors.bridgedM[i]!));
  }
  if (factors.length < MIN_ERRORS) return NaN;
  return Math.min(MOST_BRIDGING, Math.max(LEAST_BRIDGING, quantileInPlace(Float64Array.from(factors), 0.95)));
}
