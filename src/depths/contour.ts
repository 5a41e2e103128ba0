import type { Raster, RasterGrid } from '../geo/raster.js';
import type { Polyline } from '../geo/shapes.js';
import { contourLevels, levelsPassed } from './contour-levels.js';
import { smoothTowardsShoal } from './contour-smooth.js';

export interface ContourOptions {
  /** A contour at every multiple of this; or give levels [m]. */
  readonly intervalM?: number;
  /** Ascending depths to draw [m]. */
  readonly levels?: ArrayLike<number>;
  /** Smooth the surface first, never deeper than it is: see `contourLines`. */
  readonly smooth?: boolean;
  /** Leave out shorter lines, but never a ring round a shoal [m]. */
  readonly minLengthM?: number;
}

/** Contours as columns, by ascending level. */
export interface Contours {
  readonly n: number;
  /** Depth of each [n], positive down [m]. */
  readonly levelM: Float64Array;
  /** 1 for a ring [n]: its first vertex is repeated at its end. */
  readonly closed: Uint8Array;
  /** [n] [m] */
  readonly lengthM: Float64Array;
  /** Vertices in frame metres [n], deeper water on the right hand. */
  readonly lines: readonly Polyline[];
}

/**
 * Depth contours of a surface, joined into whole lines and rings.
 *
 * The depth between four neighbouring cell centres runs linearly along the sides of their square; each contour crosses
 * the square in straight pieces between exact crossings of its sides. A square with a corner without depth is left out:
 * contours end there and at the grid's border.
 *
 * **Direction.** Deeper water is on the right hand: a ring round a shoal runs counter-clockwise, round a deep clockwise.
 * A depth equal to the level is on the deeper side.
 *
 * **Saddles.** Where opposite corners are on the same side the mean of the four decides: if it is at least as deep as the
 * level the deeper corners are joined, otherwise the shoaler ones. The mean does not depend on the level, so contours of
 * different levels never cross.
 *
 * **Smoothing** smooths the surface, not the lines, so contours stay the level lines of one surface and cannot cross. The
 * smoothed surface is nowhere deeper than the surface and shoaler by at most half the interval (half the smallest
 * difference of the levels; unlimited for a single level): a smoothed contour lies where the surface is at its level or
 * deeper by no more than that, so never beyond the next contour, and no shoal loses water it has not. Chart contours are
 * shoal-biased in the same way [common practice]. For areas and volumes use contours without smoothing.
 *
 * @param raster depths at cell centres, NaN is no data
 * @returns contours; none for a flat or empty surface
 * @throws RangeError unless exactly one of intervalM and levels is given, the levels ascend and the depths are not infinite
 *
 * Source: Lorensen & Cline (1987), Marching cubes, Computer Graphics 21(4), 163-169, in two dimensions (from memory).
 */
export function contourLines(raster: Raster, options: ContourOptions): Contours {
  const { intervalM, levels: given, smooth = false, minLengthM = 0 } = options;
  if ((intervalM === undefined) === (given === undefined)) throw new RangeError('contourLines: give either intervalM or levels');
  if (!(minLengthM >= 0)) throw new RangeError(`minLengthM ${minLengthM}: expected 0 or more`);
  if (raster.values.length !== raster.grid.cols * raster.grid.rows) {
    throw new RangeError(`raster: ${raster.values.length} values for ${raster.grid.cols} x ${raster.grid.rows} cells`);
  }
  const levels = given === undefined ? contourLevels(raster.values, intervalM!) : checkLevels(given);
  const surface = smooth ? smoothTowardsShoal(raster, halfSpacing(levels, intervalM)) : raster;
  const lines = new LineCollector(minLengthM);
  // Smoothing may have lifted a depth above the first level of the surface as it was.
  const drawn = smooth && given === undefined ? contourLevels(surface.values, intervalM!) : levels;
  traceLevels(surface, drawn, lines);
  return lines.contours();
}

function checkLevels(given: ArrayLike<number>): Float64Array {
  const levels = Float64Array.from(given);
  levels.forEach((level, k) => {
    if (!Number.isFinite(level) || (k > 0 && !(level > levels[k - 1]!))) {
      throw new RangeError(`levels[${k}] ${level}: expected a finite depth greater than the one before`);
    }
  });
  return levels;
}

function halfSpacing(levels: Float64Array, intervalM: number | undefined): number {
  let least = intervalM ?? Infinity;
  for (let k = 1; k < levels.length; k++) least = Math.min(least, levels[k]! - levels[k - 1]!);
  return least / 2;
}

/*
 * Sides of a square: 0 north, 1 east, 2 south, 3 west. Corners clockwise from the north-west: bits 1, 2, 4, 8, set where
 * deep. Walking round the square clockwise, a piece of contour starts on a side that goes from deep to shoal and ends on
 * one that goes from shoal to deep; deep water is then on its right. Cases 5 and 10 are saddles with a shoal middle, 16
 * and 17 the same corners with a deep one.
 */
const ENDS = buildEnds();

function buildEnds(): Int8Array {
  const ends = new Int8Array(18 * 4).fill(-1);
  for (let corners = 1; corners < 15; corners++) {
    const deep = (corner: number) => ((corners >> (corner % 4)) & 1) === 1;
    const starts = [0, 1, 2, 3].filter((side) => deep(side) && !deep(side + 1));
    const stops = [0, 1, 2, 3].filter((side) => !deep(side) && deep(side + 1));
    for (const start of starts) {
      if (starts.length === 1) ends[corners * 4 + start] = stops[0]!;
      else {
        ends[corners * 4 + start] = (start + 3) % 4; // round the deep corner before it
        ends[(corners === 5 ? 16 : 17) * 4 + start] = (start + 1) % 4; // round the shoal corner after it
      }
    }
  }
  return ends;
}

function traceLevels(raster: Raster, levels: Float64Array, lines: LineCollector): void {
  const { grid, values } = raster;
  const { cols, rows } = grid;
  if (cols < 2 || rows < 2 || levels.length === 0) return;
  const passed = levelsPassed(values, levels);
  const { first, squares } = squaresByLevel(passed, cols, rows, levels.length);
  const done = new Uint8Array(cols * rows);
  const walk = new Walk(grid, values, passed, done, lines);
  for (let k = 0; k < levels.length; k++) {
    const start = first[k]!;
    const end = first[k + 1]!;
    walk.level(levels[k]!, k);
    // Lines that begin where the surface ends come first; what is left then is rings.
    for (let i = start; i < end; i++) walk.from(squares[i]!, true);
    for (let i = start; i < end; i++) walk.from(squares[i]!, false);
    for (let i = start; i < end; i++) done[squares[i]!] = 0;
  }
}

/** The squares each level crosses, named by their north-west cell: those of level k at squares[first[k] .. first[k + 1]). */
function squaresByLevel(passed: Int32Array, cols: number, rows: number, n: number): { first: Uint32Array; squares: Uint32Array } {
  const first = new Uint32Array(n + 1);
  let next: Uint32Array | null = null;
  let squares = new Uint32Array(0);
  for (let pass = 0; pass < 2; pass++) {
    for (let row = 0; row + 1 < rows; row++) {
      for (let col = 0, at = row * cols; col + 1 < cols; col++, at++) {
        const a = passed[at]!;
        const b = passed[at + 1]!;
        const c = passed[at + cols]!;
        const d = passed[at + cols + 1]!;
        if (a === b && c === d && a === c) continue;
        let low = a < b ? a : b;
        if (c < low) low = c;
        if (d < low) low = d;
        if (low < 0) continue;
        let high = a > b ? a : b;
        if (c > high) high = c;
        if (d > high) high = d;
        if (next === null) for (let k = low; k < high; k++) first[k + 1]!++;
        else for (let k = low; k < high; k++) squares[next[k]!++] = at;
      }
    }
    if (next === null) {
      for (let k = 0; k < n; k++) first[k + 1]! += first[k]!;
      next = first.slice();
      squares = new Uint32Array(first[n]!);
    }
  }
  return { first, squares };
}

/** Follows one level from square to square. */
class Walk {
  private levelM = 0;
  private k = 0;
  private readonly cols: number;
  private readonly rows: number;

  constructor(
    private readonly grid: RasterGrid,
    private readonly values: Float32Array,
    private readonly passed: Int32Array,
    private readonly done: Uint8Array,
    private readonly lines: LineCollector,
  ) {
    this.cols = grid.cols;
    this.rows = grid.rows;
  }

  level(levelM: number, k: number): void {
    this.levelM = levelM;
    this.k = k;
  }

  /** Walks every piece of a square not walked yet; with `open`, only those that start where no square is before them. */
  from(square: number, open: boolean): void {
    const shape = this.shape(square);
    for (let side = 0; side < 4; side++) {
      if (ENDS[shape * 4 + side]! < 0 || (this.done[square]! & (1 << side)) !== 0) continue;
      if (open && this.beyond(square, side) >= 0) continue;
      this.follow(square, side);
    }
  }

  private follow(startSquare: number, startSide: number): void {
    const { done, lines, levelM } = this;
    let square = startSquare;
    let side = startSide;
    lines.begin();
    this.crossing(square, side);
    let closed = false;
    for (;;) {
      done[square]! |= 1 << side;
      const end = ENDS[this.shape(square) * 4 + side]!;
      this.crossing(square, end);
      square = this.beyond(square, end);
      side = (end + 2) & 3;
      if (square < 0) break;
      if (square === startSquare && side === startSide) {
        closed = true;
        break;
      }
    }
    lines.end(levelM, closed);
  }

  /** The case of a square at this level, 0..17. */
  private shape(square: number): number {
    const { passed, values, k, cols } = this;
    const northWest = square;
    const southWest = square + cols;
    const shape =
      (passed[northWest]! > k ? 1 : 0) | (passed[northWest + 1]! > k ? 2 : 0) | (passed[southWest + 1]! > k ? 4 : 0) | (passed[southWest]! > k ? 8 : 0);
    if (shape !== 5 && shape !== 10) return shape;
    const mean = (values[northWest]! + values[northWest + 1]! + (values[southWest]! + values[southWest + 1]!)) / 4;
    return mean >= this.levelM ? (shape === 5 ? 16 : 17) : shape;
  }

  /** The square on the other side, or -1 where there is none with four depths. */
  private beyond(square: number, side: number): number {
    const { passed, cols, rows } = this;
    const row = Math.floor(square / cols);
    const col = square - row * cols;
    let other = square;
    if (side === 0) {
      if (row === 0) return -1;
      other -= cols;
    } else if (side === 1) {
      if (col + 2 >= cols) return -1;
      other += 1;
    } else if (side === 2) {
      if (row + 2 >= rows) return -1;
      other += cols;
    } else {
      if (col === 0) return -1;
      other -= 1;
    }
    return passed[other]! < 0 || passed[other + 1]! < 0 || passed[other + cols]! < 0 || passed[other + cols + 1]! < 0 ? -1 : other;
  }

  /** Adds the place where the level crosses a side: always reckoned from its western or northern end, so that both squares agree. */
  private crossing(square: number, side: number): void {
    const { cols, values, grid, levelM, lines } = this;
    const across = side === 0 || side === 2;
    const node = side === 1 ? square + 1 : side === 2 ? square + cols : square;
    const row = Math.floor(node / cols);
    const col = node - row * cols;
    const from = values[node]!;
    const to = values[across ? node + 1 : node + cols]!;
    const share = (levelM - from) / (to - from);
    lines.add(
      grid.westM + (col + 0.5 + (across ? share : 0)) * grid.cellM,
      grid.northM - (row + 0.5 + (across ? 0 : share)) * grid.cellM,
    );
  }
}

/** Grows one long column of vertices, and cuts it into lines. */
class LineCollector {
  private xy = new Float64Array(1 << 12);
  private length = 0;
  private start = 0;
  private readonly starts: number[] = [];
  private readonly levels: number[] = [];
  private readonly rings: number[] = [];
  private readonly lengths: number[] = [];

  constructor(private readonly minLengthM: number) {}

  begin(): void {
    this.start = this.length;
  }

  add(x: number, y: number): void {
    const { xy, length } = this;
    // A level that passes through a cell centre crosses several sides there.
    if (length > this.start && xy[length - 2] === x && xy[length - 1] === y) return;
    if (length + 2 > xy.length) {
      this.xy = new Float64Array(2 * xy.length);
      this.xy.set(xy);
    }
    this.xy[length] = x;
    this.xy[length + 1] = y;
    this.length += 2;
  }

  end(levelM: number, closed: boolean): void {
    const { xy, start, length } = this;
    let lengthM = 0;
    let twiceAreaM2 = 0;
    const x0 = xy[start]!;
    const y0 = xy[start + 1]!;
    for (let i = start + 2; i < length; i += 2) {
      lengthM += Math.hypot(xy[i]! - xy[i - 2]!, xy[i + 1]! - xy[i - 1]!);
      twiceAreaM2 += (xy[i - 2]! - x0) * (xy[i + 1]! - y0) - (xy[i]! - x0) * (xy[i - 1]! - y0);
    }
    // A single centre exactly at the level is a ring without length; a row of them, one without area.
    const nothing = lengthM === 0 || (closed && length - start < 8);
    const roundShoal = closed && twiceAreaM2 > 0;
    if (nothing || (lengthM < this.minLengthM && !roundShoal)) {
      this.length = start;
      return;
    }
    this.starts.push(start);
    this.levels.push(levelM);
    this.rings.push(closed ? 1 : 0);
    this.lengths.push(lengthM);
  }

  contours(): Contours {
    const xy = this.xy.slice(0, this.length);
    return {
      n: this.starts.length,
      levelM: Float64Array.from(this.levels),
      closed: Uint8Array.from(this.rings),
      lengthM: Float64Array.from(this.lengths),
      lines: this.starts.map((start, i) => xy.subarray(start, this.starts[i + 1] ?? this.length)),
    };
  }
}
