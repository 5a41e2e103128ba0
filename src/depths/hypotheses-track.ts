import type { RasterGrid } from '../geo/raster.js';
import type { BlockStatistics, SoundingPoints } from './blocks.js';
import { gridSoundings } from './blocks.js';
import type { HypothesisRules, NodeHypothesis, NodeSounding } from './hypotheses-node.js';
import { checkHypothesisRules, trackNode } from './hypotheses-node.js';

/** How soundings are brought to nodes and told apart there. */
export interface HypothesisOptions extends HypothesisRules {
  /** A sounding speaks at nodes no further than this, and at its own [m]; half a cell's diagonal unless given. */
  readonly captureM?: number;
  /** Power of the distance with which a sounding's variance grows; 2 unless given. */
  readonly distancePower?: number;
  /** Share of a sounding's variance that all soundings of a node have in common, 0..1; 0.6 unless given. */
  readonly systematicShare?: number;
}

/** Soundings, with the horizontal uncertainty of each where that is to spread them further. */
export interface HypothesisPoints extends SoundingPoints {
  /** 95 % horizontal uncertainty [m]; NaN is not known. */
  readonly thuM?: Float32Array | Float64Array;
}

/**
 * Every hypothesis at every node: those of cell k are rows start[k] up to start[k + 1], in the order they arose. Columns
 * of one length [hypotheses] but `start` [cells + 1]. Nodes are the centres of cells that hold soundings.
 */
export interface TrackedHypotheses {
  readonly grid: RasterGrid;
  readonly start: Uint32Array;
  /** At the node, positive down [m]. */
  readonly depthM: Float64Array;
  /** One sigma of it by the soundings' own uncertainty, all of that taken as random [m]. */
  readonly sigmaM: Float64Array;
  /** 95 %, what all soundings have in common included [m]; and the part of it that differs from node to node [m]. */
  readonly uncertaintyM: Float64Array;
  readonly randomM: Float64Array;
  /** Soundings that speak for it; they may lie in a neighbouring cell. */
  readonly soundings: Uint32Array;
  /** Where its depth is: the node along an axis whose slope was taken off, else the weighted mean of its soundings [m]. */
  readonly placeXM: Float64Array;
  readonly placeYM: Float64Array;
  /** Soundings in each cell itself [cells]. */
  readonly count: Uint32Array;
  readonly used: number;
  readonly skipped: BlockStatistics['skipped'];
}

/** How much the deviation of all hypotheses weighs beside one's own, in degrees of freedom: as in the other surfaces. */
const POOLED_FREEDOM = 4;

/**
 * Tracks the depths that soundings speak for at each node of a grid: see `trackNode`.
 *
 * **To the node.** A sounding of variance v (TVU / 1.96, squared) at distance d from a node of spacing D, with horizontal
 * uncertainty t, speaks there with v (1 + ((d + t) / D)^p). Its depth is carried along the slope of the cells' medians,
 * in each axis the gentler of the ways to both neighbours where they fall the same way, else none: an even slope is
 * taken off and makes no hypothesis, a step is not. Where the depths as they are make fewer hypotheses, or as many that
 * hold together better, they are not carried. (The slope is an addition of ours.)
 *
 * **Uncertainty** of a hypothesis: sqrt(varying + s T^2), T^2 the mean squared TVU of its soundings, s the systematic
 * share; varying the larger of (1 - s) 1.96^2 C, C the tracked variance, and of the spread, 1.96^2 d^2 / n, d the
 * deviation of its soundings drawn towards that of all. The published method lets all of the variance average out;
 * what a day's soundings have in common does not.
 *
 * @param points in the order they were taken; `tvuM` is needed, an unknown one counts as the worst
 * @throws RangeError without TVUs, for columns of unequal length, options outside their range
 *
 * Source: Calder & Mayer (2003), Geochem. Geophys. Geosyst. 4(6), 1048, doi:10.1029/2002GC000486; from memory.
 */
export function trackHypotheses(points: HypothesisPoints, grid: RasterGrid, options: HypothesisOptions = {}): TrackedHypotheses {
  const { westM, northM, cellM, cols, rows } = grid;
  const { captureM = cellM * Math.SQRT1_2, distancePower = 2, systematicShare = 0.6 } = options;
  checkHypothesisRules(options);
  const { tvuM, thuM, xM, yM, depthM, reason } = points;
  if (!tvuM) throw new RangeError("statistic 'hypotheses' needs points.tvuM");
  if (thuM && thuM.length !== xM.length) throw new RangeError(`points.thuM: length ${thuM.length}, expected ${xM.length} like xM`);
  if (!(captureM >= 0 && captureM < Infinity)) throw new RangeError(`captureM ${captureM}: expected 0 or more`);
  if (!(distancePower > 0)) throw new RangeError(`distancePower ${distancePower}: expected more than 0`);
  if (!(systematicShare >= 0 && systematicShare <= 1)) throw new RangeError(`systematicShare ${systematicShare}: expected 0 to 1`);

  const blocks = gridSoundings(points, grid, { statistics: ['median'] });
  const { count } = blocks;
  const cells = cols * rows;
  const { east, south } = slopes(blocks.median!, grid);
  let worst = 0;
  for (const one of tvuM) if (one > worst && one < Infinity) worst = one;

  // Twice over all soundings: how many each node hears, then which. A node far from any sounding of its own hears none.
  const reach = Math.ceil(captureM / cellM);
  const each = (visit: (node: number, i: number) => void): void => {
    for (let i = 0; i < xM.length; i++) {
      if (reason !== undefined && reason[i] !== 0) continue;
      const u = (xM[i]! - westM) / cellM;
      const v = (northM - yM[i]!) / cellM;
      if (!(u >= 0 && v >= 0 && u <= cols && v <= rows) || !Number.isFinite(depthM[i]!)) continue;
      const ownCol = Math.min(cols - 1, Math.floor(u));
      const ownRow = Math.min(rows - 1, Math.floor(v));
      for (let row = Math.max(0, ownRow - reach); row <= Math.min(rows - 1, ownRow + reach); row++) {
        for (let col = Math.max(0, ownCol - reach); col <= Math.min(cols - 1, ownCol + reach); col++) {
          const node = row * cols + col;
          if (count[node] === 0) continue;
          if ((row === ownRow && col === ownCol) || Math.hypot(u - col - 0.5, v - row - 0.5) * cellM <= captureM) visit(node, i);
        }
      }
    }
  };
  const heardStart = new Uint32Array(cells + 1);
  each((node) => void heardStart[node + 1]!++);
  for (let node = 0; node < cells; node++) heardStart[node + 1]! += heardStart[node]!;
  const next = heardStart.slice();
  const heard = new Uint32Array(heardStart[cells]!);
  each((node, i) => void (heard[next[node]!++] = i));

  const start = new Uint32Array(cells + 1);
  const found: NodeHypothesis[] = [];
  const nodeOf: number[] = [];
  for (let node = 0; node < cells; node++) {
    const row = Math.floor(node / cols);
    const nodeX = westM + (node - row * cols + 0.5) * cellM;
    const nodeY = northM - (row + 0.5) * cellM;
    /** The node's soundings, carried along slopes; NaN: not along that axis. */
    const hear = (slopeX: number, slopeY: number): NodeSounding[] => {
      const here: NodeSounding[] = [];
      for (let at = heardStart[node]!; at < heardStart[node + 1]!; at++) {
        const i = heard[at]!;
        const placeX = xM[i]! - nodeX;
        const placeY = yM[i]! - nodeY;
        const tvu = tvuM[i]! > 0 && tvuM[i]! < Infinity ? tvuM[i]! : worst;
        const thu = thuM && thuM[i]! > 0 ? thuM[i]! : 0;
        const distance = Math.hypot(placeX, placeY) + thu;
        // A sounding that claims to be perfect would stop the tracking: nobody's is better than a millimetre.
        const variance = Math.max(1e-6, (tvu / 1.96) ** 2) * (1 + (distance / cellM) ** distancePower);
        const carried = (slopeX === slopeX ? -slopeX * placeX : 0) + (slopeY === slopeY ? slopeY * placeY : 0);
        here.push({ depthM: depthM[i]! + carried, variance, tvu2: tvu * tvu, placeX: slopeX === slopeX ? 0 : placeX, placeY: slopeY === slopeY ? 0 : placeY });
      }
      return here;
    };
    const slopeX = east[node]!;
    const slopeY = south[node]!;
    let best = trackNode(hear(slopeX, slopeY), options);
    if (best.length > 1 && (Math.abs(slopeX) > 0 || Math.abs(slopeY) > 0)) {
      const plain = trackNode(hear(NaN, NaN), options);
      if (plain.length < best.length || (plain.length === best.length && spreadOf(plain) < spreadOf(best))) best = plain;
    }
    for (const one of best) {
      found.push(one);
      nodeOf.push(node);
    }
    start[node + 1] = found.length;
  }
  return { grid, start, ...columnsOf(found, nodeOf, grid, systematicShare), count, used: blocks.used, skipped: blocks.skipped };
}

function spreadOf(found: readonly NodeHypothesis[]): number {
  return found.reduce((sum, { squares }) => sum + squares, 0);
}

function columnsOf(found: readonly NodeHypothesis[], nodeOf: readonly number[], grid: RasterGrid, systematicShare: number) {
  let [freedom, squares] = [0, 0];
  for (const one of found) {
    freedom += one.count - 1;
    squares += one.squares;
  }
  const pooled = freedom > 0 ? squares / freedom : 0;
  const n = found.length;
  const out = {
    depthM: new Float64Array(n),
    sigmaM: new Float64Array(n),
    uncertaintyM: new Float64Array(n),
    randomM: new Float64Array(n),
    soundings: new Uint32Array(n),
    placeXM: new Float64Array(n),
    placeYM: new Float64Array(n),
  };
  for (const [k, one] of found.entries()) {
    const row = Math.floor(nodeOf[k]! / grid.cols);
    const budget = (1 - systematicShare) * 1.96 ** 2 * one.variance;
    const spread = (1.96 ** 2 * (one.squares + POOLED_FREEDOM * pooled)) / (one.count - 1 + POOLED_FREEDOM) / one.count;
    const varying = Math.max(budget, spread);
    out.depthM[k] = one.depthM;
    out.sigmaM[k] = Math.sqrt(one.variance);
    out.randomM[k] = Math.sqrt(varying);
    out.uncertaintyM[k] = Math.sqrt(varying + (systematicShare * one.tvu2) / one.count);
    out.soundings[k] = one.count;
    out.placeXM[k] = grid.westM + (nodeOf[k]! - row * grid.cols + 0.5) * grid.cellM + one.placeX / one.weight;
    out.placeYM[k] = grid.northM - (row + 0.5) * grid.cellM + one.placeY / one.weight;
  }
  return out;
}

/**
 * How the medians fall to the east and to the south at each cell [m/m]: the gentler of both ways, 0 where one rises and one
 * falls; NaN where a neighbour is missing. Van Leer (1979), J. Comput. Phys. 32, 101-136, calls it the minmod slope.
 */
function slopes(median: Float32Array, { cols, rows, cellM }: RasterGrid): { east: Float32Array; south: Float32Array } {
  const east = new Float32Array(cols * rows).fill(NaN);
  const south = new Float32Array(cols * rows).fill(NaN);
  const gentler = (back: number, ahead: number): number => (back !== back || ahead !== ahead ? NaN : back * ahead <= 0 ? 0 : Math.abs(back) < Math.abs(ahead) ? back : ahead);
  for (let row = 0, cell = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++, cell++) {
      if (col > 0 && col + 1 < cols) east[cell] = gentler(median[cell]! - median[cell - 1]!, median[cell + 1]! - median[cell]!) / cellM;
      if (row > 0 && row + 1 < rows) south[cell] = gentler(median[cell]! - median[cell - cols]!, median[cell + cols]! - median[cell]!) / cellM;
    }
  }
  return { east, south };
}
