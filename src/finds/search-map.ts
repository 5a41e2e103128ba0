import type { RasterGrid } from '../geo/raster.js';
import { ASPECTS, aspectOf, type LookRule } from './search-chance.js';
import { chanceInPass, type LateralRangeCurve } from './lateral-range.js';

/** What was looked at, cell by cell. Shape of the columns by cell: [rows * cols], row 0 = north. */
export interface SearchMap {
  readonly grid: RasterGrid;
  /** Passes that looked at the cell: one side of one line counts once. */
  readonly looks: Uint16Array;
  /** The pass that looked at it last; -1 none. */
  readonly lastPass: Int32Array;
  /** Best chance of a look by aspect: [ASPECTS * rows * cols], aspect by aspect. */
  readonly bestByAspect: Float32Array;
  /** Product of the misses of all passes, the best look of each; the pass under way is in `passBest`. */
  readonly missed: Float64Array;
  readonly passBest: Float32Array;
}

export function createSearchMap(grid: RasterGrid): SearchMap {
  const n = grid.cols * grid.rows;
  return {
    grid,
    looks: new Uint16Array(n),
    lastPass: new Int32Array(n).fill(-1),
    bestByAspect: new Float32Array(ASPECTS * n),
    missed: new Float64Array(n).fill(1),
    passBest: new Float32Array(n),
  };
}

/** One ping to one side: from where, in which direction it looks, and between which ground ranges it saw the floor. */
export interface Look {
  readonly xM: number;
  readonly yM: number;
  /** Direction of looking, clockwise from grid north [deg]. */
  readonly bearingDeg: number;
  readonly heightM: number;
  readonly nearM: number;
  readonly farM: number;
  /** A number of its own for each side of each line; passes may be told one after the other only. */
  readonly pass: number;
}

/** Chances of a curve, so that a ping costs no search in it: ground range over height in steps. */
const STEP = 1 / 64;
const tables = new WeakMap<LateralRangeCurve, Float32Array>();

function tableOf(curve: LateralRangeCurve): Float32Array {
  let table = tables.get(curve);
  if (table === undefined) {
    const end = curve.rangeByHeight[curve.rangeByHeight.length - 1]!;
    table = Float32Array.from({ length: Math.ceil(end / STEP) + 1 }, (_, i) => chanceInPass(curve, i * STEP, 1));
    tables.set(curve, table);
  }
  return table;
}

/** Calls back for each cell a look crosses whose centre lies within its ranges, with the chance at its centre. */
export function eachCellLooked(grid: RasterGrid, look: Look, curve: LateralRangeCurve, take: (cell: number, chance: number) => void): void {
  const { westM, northM, cellM, cols, rows } = grid;
  const rad = (look.bearingDeg * Math.PI) / 180;
  const [east, north] = [Math.sin(rad), Math.cos(rad)];
  const table = tableOf(curve);
  const end = Math.min(look.farM, (table.length - 1) * STEP * look.heightM);
  const stepM = cellM / 2;
  let before = -1;
  // Beyond the end by what a cell's centre can lie before the place where it is crossed.
  for (let groundM = Math.max(0, look.nearM - cellM); groundM <= end + cellM; groundM += stepM) {
    const col = Math.floor((look.xM + groundM * east - westM) / cellM);
    const row = Math.floor((northM - look.yM - groundM * north) / cellM);
    if (col < 0 || row < 0 || col >= cols || row >= rows) continue;
    const cell = row * cols + col;
    if (cell === before) continue;
    before = cell;
    const centreM = (westM + (col + 0.5) * cellM - look.xM) * east + (northM - (row + 0.5) * cellM - look.yM) * north;
    if (centreM >= look.nearM && centreM >= 0 && centreM <= end) take(cell, table[Math.round(centreM / look.heightM / STEP)]!);
  }
}

/** Adds one look. */
export function addLook(map: SearchMap, look: Look, curve: LateralRangeCurve): void {
  const n = map.looks.length;
  const from = aspectOf(look.bearingDeg) * n;
  eachCellLooked(map.grid, look, curve, (cell, chance) => {
    if (map.lastPass[cell] !== look.pass) {
      map.missed[cell]! *= 1 - map.passBest[cell]!;
      map.passBest[cell] = 0;
      map.lastPass[cell] = look.pass;
      map.looks[cell]!++;
    }
    if (chance > map.passBest[cell]!) map.passBest[cell] = chance;
    if (chance > map.bestByAspect[from + cell]!) map.bestByAspect[from + cell] = chance;
  });
}

/** Chance of having found an object in each cell, by how looks add up; 0 where nobody looked. Shape [rows * cols]. */
export function chanceMap(map: SearchMap, rule: LookRule): Float32Array {
  const n = map.looks.length;
  return Float32Array.from({ length: n }, (_, cell) => {
    if (rule === 'independent') return 1 - map.missed[cell]! * (1 - map.passBest[cell]!);
    let missed = 1;
    let best = 0;
    for (let aspect = 0; aspect < ASPECTS; aspect++) {
      const chance = map.bestByAspect[aspect * n + cell]!;
      missed *= 1 - chance;
      if (chance > best) best = chance;
    }
    return rule === 'best' ? best : 1 - missed;
  });
}
