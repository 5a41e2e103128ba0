import type { RasterGrid } from '../geo/raster.js';
import { aspectOf, type LookRule } from './search-chance.js';
import { chanceMap, eachCellLooked, type SearchMap } from './search-map.js';
import type { LateralRangeCurve } from './lateral-range.js';

/** A line that could be run, straight from A to B in the frame [m]. */
export interface SearchLine {
  readonly ax: number;
  readonly ay: number;
  readonly bx: number;
  readonly by: number;
}

export interface NextLinesRequest {
  /** As it is now; not changed. */
  readonly map: SearchMap;
  readonly rule: LookRule;
  readonly curve: LateralRangeCurve;
  /** 1 where the search is to be: shape [rows * cols]. */
  readonly wanted: Uint8Array;
  /** Objects expected before the search in one square metre [1/m2]. */
  readonly perM2: number;
  readonly candidates: readonly SearchLine[];
  /** Sonar above the floor at a place; NaN where that is not known: the line sees nothing there [m]. */
  heightAtM(xM: number, yM: number): number;
  /** Ground ranges seen on each side [m]. */
  readonly nearM: number;
  readonly farM: number;
  /** Where the boat starts from and comes home to; null: from the first line's start, and no way home is counted. */
  readonly launch: { readonly xM: number; readonly yM: number } | null;
  /** Energy and time of going a straight way at survey speed [Wh/m, s/m], and of each turn onto a line. */
  readonly whPerM: number;
  readonly sPerM: number;
  readonly turnWh: number;
  readonly turnS: number;
  /** Energy there is, what is kept in reserve taken off [Wh]. */
  readonly budgetWh: number;
  /** No more lines than this. */
  readonly most: number;
}

export interface ChosenLine extends SearchLine {
  /** Objects it is expected to find that nobody has found [1], and the energy and time it takes with the way to it. */
  readonly gain: number;
  readonly wh: number;
  readonly s: number;
}

export interface NextLines {
  /** In the order they are run; each runs from A to B. */
  readonly lines: readonly ChosenLine[];
  /** With the way home. */
  readonly totalWh: number;
  readonly totalS: number;
  /** Objects expected to remain before and after them. */
  readonly before: number;
  readonly after: number;
  /** Mean chance of detection over what is wanted, before and after. */
  readonly chanceBefore: number;
  readonly chanceAfter: number;
}

/** What one line would show: cells, and the chance in each to the two aspects it looks in. */
interface Shown {
  readonly cells: Int32Array;
  readonly chance: Float32Array;
  readonly aspect: Uint8Array;
}

/**
 * Lines that raise the chance of detection most for the energy there is: greedy, each the one with the most new objects expected
 * for the energy of the way to it and along it, as long as the boat gets home on what is left.
 *
 * The gain has diminishing returns, so that a line's gain never grows as others are chosen: a line is reckoned anew only when its
 * last figure comes out best (lazy greedy). Greedy choice by gain over cost has no fixed bound with ways that depend on the order;
 * without them it is within 1 - 1/e of the best set for equal costs.
 *
 * Source: Nemhauser, Wolsey & Fisher (1978), Mathematical Programming 14, 265-294; Minoux (1978) for the lazy order.
 */
export function nextLines(request: NextLinesRequest): NextLines {
  const { map, rule, wanted, perM2, launch, whPerM, sPerM, turnWh, turnS, budgetWh } = request;
  const { grid } = map;
  const n = grid.cols * grid.rows;
  const perCell = perM2 * grid.cellM * grid.cellM;
  const state = createState(map, rule);
  const chanceBefore = meanWanted(state.chance, wanted);
  const wantedCells = wanted.reduce((sum, one) => sum + one, 0);
  const shown = request.candidates.map((line) => shownBy(request, line, n));
  const gainOf = (at: number): number => state.gain(shown[at]!) * perCell;
  const gains = Float64Array.from(shown, (_, at) => gainOf(at));
  const fresh = new Int32Array(shown.length);
  const open = new Set(shown.map((_, at) => at));
  const chosen: ChosenLine[] = [];
  let [x, y] = launch === null ? [NaN, NaN] : [launch.xM, launch.yM];
  let usedWh = 0;
  let usedS = 0;
  const homeM = (toX: number, toY: number): number => (launch === null ? 0 : Math.hypot(toX - launch.xM, toY - launch.yM));
  for (let round = 1; chosen.length < request.most; round++) {
    let best: { at: number; line: ChosenLine; worth: number } | null = null;
    for (;;) {
      best = null;
      for (const at of open) {
        if (!(gains[at]! > 1e-9)) continue;
        const line = directed(request.candidates[at]!, x, y);
        const wayM = Number.isNaN(x) ? 0 : Math.hypot(line.ax - x, line.ay - y);
        const lengthM = Math.hypot(line.bx - line.ax, line.by - line.ay);
        const wh = (wayM + lengthM) * whPerM + turnWh;
        if (usedWh + wh + homeM(line.bx, line.by) * whPerM > budgetWh) continue;
        const worth = gains[at]! / wh;
        if (best === null || worth > best.worth) best = { at, worth, line: { ...line, gain: gains[at]!, wh, s: (wayM + lengthM) * sPerM + turnS } };
      }
      if (best === null || fresh[best.at] === round) break;
      gains[best.at] = gainOf(best.at);
      fresh[best.at] = round;
    }
    if (best === null) break;
    state.take(shown[best.at]!);
    open.delete(best.at);
    chosen.push(best.line);
    usedWh += best.line.wh;
    usedS += best.line.s;
    [x, y] = [best.line.bx, best.line.by];
  }
  const backM = chosen.length === 0 ? 0 : homeM(x, y);
  const chanceAfter = meanWanted(state.chance, wanted);
  return {
    lines: chosen,
    totalWh: usedWh + backM * whPerM,
    totalS: usedS + backM * sPerM,
    before: perCell * wantedCells * (1 - chanceBefore),
    after: perCell * wantedCells * (1 - chanceAfter),
    chanceBefore,
    chanceAfter,
  };
}

/** Mean over the wanted cells; 0 where none is wanted. */
function meanWanted(chance: Float32Array, wanted: Uint8Array): number {
  let sum = 0;
  let count = 0;
  for (let cell = 0; cell < wanted.length; cell++) {
    if (wanted[cell] === 0) continue;
    sum += chance[cell]!;
    count++;
  }
  return count === 0 ? 0 : sum / count;
}

/** The line from its end nearer to a place. */
function directed(line: SearchLine, x: number, y: number): SearchLine {
  const { ax, ay, bx, by } = line;
  return Math.hypot(bx - x, by - y) < Math.hypot(ax - x, ay - y) ? { ax: bx, ay: by, bx: ax, by: ay } : line;
}

/** A line's look at each wanted cell to both sides, the best of its pings. */
function shownBy(request: NextLinesRequest, line: SearchLine, n: number): Shown {
  const { map, wanted, curve, nearM, farM } = request;
  const lengthM = Math.hypot(line.bx - line.ax, line.by - line.ay);
  const steps = Math.max(1, Math.round(lengthM / (map.grid.cellM / 2)));
  const courseDeg = (Math.atan2(line.bx - line.ax, line.by - line.ay) * 180) / Math.PI;
  const best = new Map<number, number>();
  for (const turn of [-90, 90]) {
    const bearingDeg = courseDeg + turn;
    const from = aspectOf(bearingDeg) * n;
    for (let k = 0; k < steps; k++) {
      const share = (k + 0.5) / steps;
      const xM = line.ax + (line.bx - line.ax) * share;
      const yM = line.ay + (line.by - line.ay) * share;
      const heightM = request.heightAtM(xM, yM);
      if (!(heightM > 0)) continue;
      eachCellLooked(map.grid, { xM, yM, bearingDeg, heightM, nearM, farM, pass: 0 }, curve, (cell, chance) => {
        if (wanted[cell] !== 0 && chance > (best.get(from + cell) ?? 0)) best.set(from + cell, chance);
      });
    }
  }
  const cells = Int32Array.from([...best.keys()], (key) => key % n);
  return { cells, chance: Float32Array.from(best.values()), aspect: Uint8Array.from([...best.keys()], (key) => Math.floor(key / n)) };
}

/** The chance map as lines are added to it. */
function createState(map: SearchMap, rule: LookRule): { chance: Float32Array; gain(shown: Shown): number; take(shown: Shown): void } {
  const n = map.looks.length;
  const chance = chanceMap(map, rule);
  const byAspect = rule === 'by-aspect' ? Float32Array.from(map.bestByAspect) : new Float32Array(0);
  /** Chance of a cell with one look more. */
  const after = (cell: number, aspect: number, look: number): number => {
    const now = chance[cell]!;
    if (rule === 'best') return Math.max(now, look);
    if (rule === 'independent') return 1 - (1 - now) * (1 - look);
    const had = byAspect[aspect * n + cell]!;
    if (look <= had) return now;
    if (had < 1 - 1e-6) return 1 - ((1 - now) * (1 - look)) / (1 - had);
    return now;
  };
  return {
    chance,
    gain({ cells, chance: looks, aspect }) {
      let sum = 0;
      for (let i = 0; i < cells.length; i++) sum += after(cells[i]!, aspect[i]!, looks[i]!) - chance[cells[i]!]!;
      return sum;
    },
    take({ cells, chance: looks, aspect }) {
      for (let i = 0; i < cells.length; i++) {
        const cell = cells[i]!;
        chance[cell] = after(cell, aspect[i]!, looks[i]!);
        if (rule === 'by-aspect') byAspect[aspect[i]! * n + cell] = Math.max(byAspect[aspect[i]! * n + cell]!, looks[i]!);
      }
    },
  };
}

/**
 * Parallel lines over a box at a spacing and a heading, uncut.
 * @param box [m]; headingDeg clockwise from grid north
 */
export function parallelLines(grid: RasterGrid, headingDeg: number, spacingM: number): SearchLine[] {
  if (!(spacingM > 0)) throw new RangeError(`spacingM ${spacingM}: expected more than 0`);
  const { westM, northM, cellM, cols, rows } = grid;
  const [x0, y0] = [westM + (cols * cellM) / 2, northM - (rows * cellM) / 2];
  const reachM = Math.hypot(cols, rows) * cellM * 0.5;
  const rad = (headingDeg * Math.PI) / 180;
  const [ux, uy] = [Math.sin(rad), Math.cos(rad)];
  const count = Math.floor(reachM / spacingM);
  return Array.from({ length: 2 * count + 1 }, (_, i) => {
    const off = (i - count) * spacingM;
    const [x, y] = [x0 + off * uy, y0 - off * ux];
    return { ax: x - reachM * ux, ay: y - reachM * uy, bx: x + reachM * ux, by: y + reachM * uy };
  });
}
