import type { RasterGrid } from '../geo/raster.js';
import type { Polyline } from '../geo/shapes.js';
import type { Gaps } from './gaps.js';

export interface FillOptions {
  /** No two lines of a gap lie further apart [m]. */
  readonly spacingM: number;
  /** Direction of the lines, true in the frame's north [deg]. */
  readonly headingDeg: number;
  /** A line serves what lies within this of it; lines are no more than twice this apart [m]. */
  readonly reachM: number;
  /** Straight run before and after the gap; 0 unless given [m]. */
  readonly runInM?: number;
  readonly runOutM?: number;
  /** Parts of a strip no further apart than this are run as one line; run-in and run-out together unless given [m]. */
  readonly joinM?: number;
  /** Cells the boat may be on [rows * cols] of the gaps' grid, non-zero; everywhere unless given. Lines are cut to them. */
  readonly navigable?: Uint8Array;
}

/** A line that helps to fill a gap. */
export interface FillLine {
  /** Which gap, as an index of `gaps.gaps`. */
  readonly gap: number;
  /** From start to end, run-in and run-out included, in frame metres [x0, y0, x1, y1]. */
  readonly line: Polyline;
  readonly lengthM: number;
}

/**
 * Lines that would fill each gap: parallel to a heading, evenly spread over the gap's width.
 *
 * The gap's width across the heading is cut into the fewest strips of equal width no wider than the spacing and twice the
 * reach; a line runs down the middle of each, as far as the gap reaches in that strip. Every point of the gap is then
 * within half a strip's width of a line that passes beside it. Parts of a strip further apart than `joinM` become lines of
 * their own. Lines alternate in direction; their order between gaps is left to route planning.
 *
 * With `navigable` a line is cut where it leaves the cells it may use: parts of a gap that only a cut line would have
 * reached stay open, and a piece that passes no part of the gap is dropped.
 *
 * @throws RangeError for a spacing or reach that is not positive, a negative run, a mask that does not fit the grid
 */
export function fillInLines(gaps: Gaps, options: FillOptions): FillLine[] {
  const { spacingM, headingDeg, reachM, runInM = 0, runOutM = 0, joinM = runInM + runOutM, navigable } = options;
  if (!(spacingM > 0)) throw new RangeError(`spacingM ${spacingM}: expected more than 0`);
  if (!(reachM > 0)) throw new RangeError(`reachM ${reachM}: expected more than 0`);
  if (!(runInM >= 0 && runOutM >= 0)) throw new RangeError(`runInM ${runInM}, runOutM ${runOutM}: expected 0 or more`);
  if (!(joinM >= 0)) throw new RangeError(`joinM ${joinM}: expected 0 or more`);
  if (!Number.isFinite(headingDeg)) throw new RangeError(`headingDeg ${headingDeg}: expected a finite number`);
  const { grid } = gaps;
  if (navigable && navigable.length !== grid.cols * grid.rows) {
    throw new RangeError(`navigable: length ${navigable.length}, expected ${grid.cols} x ${grid.rows}`);
  }
  const step = Math.min(spacingM, 2 * reachM);
  const axes = lineAxes(headingDeg);
  const lines: FillLine[] = [];
  gaps.gaps.forEach((gap, index) => {
    const strips = stripsOf(gap.cells, grid, axes, step);
    strips.forEach(({ acrossM, intervals }, number) => {
      const forward = number % 2 === 0;
      const [before, after] = forward ? [runInM, runOutM] : [runOutM, runInM];
      for (const [startM, endM] of joined(intervals, joinM)) {
        const whole: [number, number] = [startM - before, endM + after];
        const pieces = navigable ? navigablePieces(whole, intervals, acrossM, axes, grid, navigable) : [whole];
        for (const [a, b] of pieces) lines.push(fillLine(index, axes, acrossM, forward ? a : b, forward ? b : a));
      }
    });
  });
  return lines;
}

/** Unit vectors along the lines and to their right. */
interface Axes {
  readonly alongX: number;
  readonly alongY: number;
  readonly rightX: number;
  readonly rightY: number;
}

function lineAxes(headingDeg: number): Axes {
  const heading = (headingDeg * Math.PI) / 180;
  const sin = Math.sin(heading);
  const cos = Math.cos(heading);
  return { alongX: sin, alongY: cos, rightX: cos, rightY: -sin };
}

function fillLine(gap: number, axes: Axes, acrossM: number, startM: number, endM: number): FillLine {
  const at = (alongM: number) => [alongM * axes.alongX + acrossM * axes.rightX, alongM * axes.alongY + acrossM * axes.rightY];
  return { gap, line: Float64Array.from([...at(startM), ...at(endM)]), lengthM: Math.abs(endM - startM) };
}

type Interval = [number, number];

/** The strips of a gap from left to right: the middle of each and the stretches along it that its cells take. */
function stripsOf(cells: Uint32Array, grid: RasterGrid, axes: Axes, step: number): { acrossM: number; intervals: Interval[] }[] {
  const half = (grid.cellM / 2) * (Math.abs(axes.alongX) + Math.abs(axes.alongY)); // of a cell's square, seen along either axis
  const across = new Float64Array(cells.length);
  const along = new Float64Array(cells.length);
  let left = Infinity;
  let right = -Infinity;
  cells.forEach((cell, i) => {
    const row = Math.floor(cell / grid.cols);
    const x = grid.westM + (cell - row * grid.cols + 0.5) * grid.cellM;
    const y = grid.northM - (row + 0.5) * grid.cellM;
    across[i] = x * axes.rightX + y * axes.rightY;
    along[i] = x * axes.alongX + y * axes.alongY;
    left = Math.min(left, across[i]! - half);
    right = Math.max(right, across[i]! + half);
  });
  const count = Math.max(1, Math.ceil((right - left) / step - 1e-9));
  const width = (right - left) / count;
  const raw: Interval[][] = Array.from({ length: count }, () => []);
  for (let i = 0; i < cells.length; i++) {
    const from = Math.max(0, Math.floor((across[i]! - half - left) / width + 1e-9));
    const to = Math.min(count - 1, Math.ceil((across[i]! + half - left) / width - 1e-9) - 1);
    for (let strip = from; strip <= to; strip++) raw[strip]!.push([along[i]! - half, along[i]! + half]);
  }
  return raw.map((intervals, strip) => ({ acrossM: left + (strip + 0.5) * width, intervals: joined(intervals, 0) }));
}

/** Intervals in order, those that overlap or lie within a distance of each other made one. */
function joined(intervals: readonly Interval[], withinM: number): Interval[] {
  const out: Interval[] = [];
  for (const [start, end] of [...intervals].sort((a, b) => a[0] - b[0])) {
    const last = out.at(-1);
    if (last && start <= last[1] + withinM + 1e-9) last[1] = Math.max(last[1], end);
    else out.push([start, end]);
  }
  return out;
}

/** The parts of a line on navigable cells that pass some of the gap; looked at every quarter of a cell. */
function navigablePieces(whole: Interval, intervals: readonly Interval[], acrossM: number, axes: Axes, grid: RasterGrid, navigable: Uint8Array): Interval[] {
  const count = Math.max(1, Math.ceil(((whole[1] - whole[0]) / grid.cellM) * 4));
  const pieces: Interval[] = [];
  let open: Interval | null = null;
  for (let i = 0; i <= count; i++) {
    const along = whole[0] + ((whole[1] - whole[0]) * i) / count;
    const col = Math.floor((along * axes.alongX + acrossM * axes.rightX - grid.westM) / grid.cellM);
    const row = Math.floor((grid.northM - along * axes.alongY - acrossM * axes.rightY) / grid.cellM);
    const allowed = col >= 0 && col < grid.cols && row >= 0 && row < grid.rows && navigable[row * grid.cols + col] !== 0;
    if (allowed) {
      if (open) open[1] = along;
      else pieces.push((open = [along, along]));
    } else open = null;
  }
  return pieces.filter(([a, b]) => b > a && intervals.some(([start, end]) => a < end && b > start));
}
