import type { Raster, RasterGrid } from '../geo/raster.js';

/** A floor with its 95 % uncertainty on one grid. NaN where there is none. */
export interface FloorRasters {
  readonly depth: Raster;
  readonly uncertainty: Raster;
}

/** What lies between a floor and a level or design. */
export interface Volumes {
  /** Floor above the level: what stands there [m3], the area it stands on [m2]. */
  readonly aboveM3: number;
  readonly aboveM2: number;
  /** Floor below the level: the room down to it, e.g. water [m3], its area [m2]. */
  readonly belowM3: number;
  readonly belowM2: number;
  /** Above less below, for a balance of cut and fill [m3]. */
  readonly netM3: number;
  /** Half widths that hold the truth with 95 % [m3]. */
  readonly aboveHalf95M3: number;
  readonly belowHalf95M3: number;
  readonly netHalf95M3: number;
  /** Asked for and known, and asked for where there is no depth or no design [m2]. */
  readonly knownM2: number;
  readonly unknownM2: number;
}

export interface VolumeOptions {
  /** How much of each cell counts, 0..1; `cellShares`. */
  readonly shares: ArrayLike<number>;
  /** Level or design depth of each cell, positive down [m], or one for all. NaN: no design there. */
  readonly levelM: number | ArrayLike<number>;
  /** Share of a cell's variance common to the whole survey (datum, draft, sound speed): it does not average out. 0.6 unless given. */
  readonly systematicShare?: number;
}

/** A cell the level cuts through is looked at in this many parts each way. */
const PARTS = 8;

/**
 * Volumes and areas between a floor and a level or a design surface.
 *
 * Each cell is a plane by its neighbours' depths; a cell that the level cuts is taken in 64 parts. The uncertainty has a part
 * that all cells share, which grows with the area, and one that each cell has for itself, which grows with its root; filled
 * cells share theirs with their neighbours, which this does not know: over filled floor the half width is somewhat small
 * on its second part, which is the lesser one.
 *
 * @throws RangeError for a share outside 0..1
 */
export function volumesAgainst(floor: FloorRasters, options: VolumeOptions): Volumes {
  const { shares, levelM, systematicShare = 0.6 } = options;
  if (!(systematicShare >= 0 && systematicShare <= 1)) throw new RangeError(`systematicShare ${systematicShare}: expected 0 to 1`);
  const { grid, values: depthM } = floor.depth;
  const { cols, rows, cellM } = grid;
  const cellM2 = cellM * cellM;
  const level = typeof levelM === 'number' ? () => levelM : (cell: number) => levelM[cell]!;
  const sums = { above: 0, aboveM2: 0, below: 0, belowM2: 0, known: 0, unknown: 0 };
  const common = { above: 0, below: 0, net: 0 };
  const own = { above: 0, below: 0, net: 0 };
  for (let row = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++) {
      const cell = row * cols + col;
      const share = shares[cell]!;
      if (!(share > 0)) continue;
      const area = share * cellM2;
      const rise = level(cell) - depthM[cell]!;
      if (rise !== rise) {
        sums.unknown += area;
        continue;
      }
      sums.known += area;
      const { up, upShare } = parts(depthM, grid, row, col, rise, level);
      const above = up * area;
      const below = (up - rise) * area;
      sums.above += above;
      sums.aboveM2 += upShare * area;
      sums.below += below;
      sums.belowM2 += (1 - upShare) * area;
      const sigma = floor.uncertainty.values[cell]! / 1.96 || 0;
      const shared = Math.sqrt(systematicShare) * sigma;
      const single2 = (1 - systematicShare) * sigma * sigma;
      common.above += upShare * area * shared;
      common.below += (1 - upShare) * area * shared;
      common.net += area * shared;
      own.above += (upShare * area) ** 2 * single2;
      own.below += ((1 - upShare) * area) ** 2 * single2;
      own.net += area * area * single2;
    }
  }
  const half = (part: 'above' | 'below' | 'net'): number => 1.96 * Math.hypot(common[part], Math.sqrt(own[part]));
  return {
    aboveM3: sums.above,
    aboveM2: sums.aboveM2,
    belowM3: sums.below,
    belowM2: sums.belowM2,
    netM3: sums.above - sums.below,
    aboveHalf95M3: half('above'),
    belowHalf95M3: half('below'),
    netHalf95M3: half('net'),
    knownM2: sums.known,
    unknownM2: sums.unknown,
  };
}

/** Mean height above the level where the floor is above it, taken over the whole cell, and the share of the cell where it is. */
function parts(depthM: Float32Array, grid: RasterGrid, row: number, col: number, rise: number, level: (cell: number) => number): { up: number; upShare: number } {
  const { cols, rows } = grid;
  const at = (r: number, c: number): number => {
    if (r < 0 || c < 0 || r >= rows || c >= cols) return NaN;
    return level(r * cols + c) - depthM[r * cols + c]!;
  };
  const slope = (before: number, after: number): number => (before === before && after === after ? (after - before) / 2 : before === before ? rise - before : after === after ? after - rise : 0);
  const east = slope(at(row, col - 1), at(row, col + 1));
  const south = slope(at(row - 1, col), at(row + 1, col));
  if (Math.abs(rise) >= (Math.abs(east) + Math.abs(south)) / 2) return rise > 0 ? { up: rise, upShare: 1 } : { up: 0, upShare: 0 };
  let up = 0;
  let count = 0;
  for (let i = 0; i < PARTS; i++) {
    for (let j = 0; j < PARTS; j++) {
      const here = rise + ((i + 0.5) / PARTS - 0.5) * east + ((j + 0.5) / PARTS - 0.5) * south;
      if (here > 0) {
        up += here;
        count++;
      }
    }
  }
  return { up: up / (PARTS * PARTS), upShare: count / (PARTS * PARTS) };
}

/** One step of a depth-area-volume table. */
export interface HypsometryRow {
  readonly levelM: number;
  /** Of the floor deeper than the level [m2], and the water below it [m3]. */
  readonly deeperM2: number;
  readonly belowM3: number;
  readonly belowHalf95M3: number;
}

/** Area and volume below each of a number of levels, from the shoalest depth down. @throws RangeError for an interval that is not positive, or more than 10 000 levels */
export function hypsometry(floor: FloorRasters, shares: ArrayLike<number>, intervalM: number): HypsometryRow[] {
  if (!(intervalM > 0)) throw new RangeError(`intervalM ${intervalM}: expected more than 0`);
  let low = Infinity;
  let high = -Infinity;
  floor.depth.values.forEach((depth, cell) => {
    if (depth !== depth || !(shares[cell]! > 0)) return;
    if (depth < low) low = depth;
    if (depth > high) high = depth;
  });
  if (!(high >= low)) return [];
  const first = Math.floor(low / intervalM);
  const last = Math.ceil(high / intervalM);
  if (last - first > 10_000) throw new RangeError(`intervalM ${intervalM}: ${last - first} levels; expected at most 10000: choose a larger interval`);
  return Array.from({ length: last - first + 1 }, (_, k) => {
    const levelM = (first + k) * intervalM;
    const { belowM2, belowM3, belowHalf95M3 } = volumesAgainst(floor, { shares, levelM });
    return { levelM, deeperM2: belowM2, belowM3, belowHalf95M3 };
  });
}
