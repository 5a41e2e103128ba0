import { turnDeg } from '../base/interpolate.js';

/** A line of the plan as it was meant to be run. */
export interface PlannedLine {
  readonly number: number;
  /** Vertices [x0, y0, x1, y1, ...] in the frame [m]. */
  readonly path: ArrayLike<number>;
}

/** Points of a track in time order, soundings or fixes. NaN positions belong to no line. Shape of every column: [n]. */
export interface PlacedPoints {
  readonly n: number;
  readonly timeS: Float64Array;
  readonly xM: Float64Array;
  readonly yM: Float64Array;
}

export interface LineOptions {
  /** Farther than this from the line it is not being run [m]. */
  readonly corridorM: number;
  /** Course and line may differ by this much, either way along the line [deg]. */
  readonly headingDeg: number;
  /** A shorter stretch on a line is not a run of it [m]. */
  readonly minRunM: number;
}

/** Course of the points is taken over this much time to either side [s]. */
const COURSE_REACH_S = 3;
/** A silence longer than this ends a run [s]. */
const SILENCE_S = 30;
/** Away from the line for less than this does not end a run [m]. */
const BRIDGE_M = 3;

/**
 * Which line of the plan each point was run on: within the corridor, on a course near the line's or its opposite, for at
 * least the shortest run. Where lines cross or corridors overlap, the line already being run, else the nearest.
 *
 * @returns the line's number, -1 off any line. Shape [n]
 * @throws RangeError for options that are not positive
 */
export function assignLines(points: PlacedPoints, lines: readonly PlannedLine[], options: LineOptions): Int32Array {
  for (const name of ['corridorM', 'headingDeg'] as const) {
    if (!(options[name] > 0)) throw new RangeError(`${name} ${options[name]}: expected more than 0`);
  }
  const { n, xM, yM } = points;
  const result = new Int32Array(n).fill(-1);
  if (lines.length === 0) return result;
  const grid = corridorGrid(lines, options.corridorM);
  const course = pointCourses(points);
  /** Index of the line at each point before short runs are dropped. */
  const index = new Int32Array(n).fill(-1);
  let running = -1;
  for (let i = 0; i < n; i++) {
    if (Number.isNaN(xM[i]!) || Number.isNaN(course[i]!)) continue;
    let found = -1;
    let nearest = Infinity;
    for (const candidate of grid.near(xM[i]!, yM[i]!)) {
      const { line, x0, y0, x1, y1, bearing } = candidate;
      const off = Math.abs(turnDeg(bearing, course[i]!));
      if (Math.min(off, 180 - off) > options.headingDeg) continue;
      let distance = segmentDistance(xM[i]!, yM[i]!, x0, y0, x1, y1);
      if (distance > options.corridorM) continue;
      if (line === running) distance -= options.corridorM;
      if (distance < nearest) {
        nearest = distance;
        found = line;
      }
    }
    index[i] = found;
    if (found >= 0) running = found;
  }
  forEachRun(points, index, (line, start, end, lengthM) => {
    if (lengthM >= options.minRunM) result.fill(lines[line]!.number, start, end);
  });
  return result;
}

/** Straight runs found in a track without a plan. */
export interface StraightRuns {
  /** Number of the run from 0, -1 between runs. Shape [n]. */
  readonly run: Int32Array;
  readonly count: number;
}

/**
 * Splits a track into straight runs where there is no plan: as long as the course stays near that of the run so far.
 *
 * @param options headingDeg: a course further off ends the run; minRunM: a shorter run is none
 */
export function straightRuns(points: PlacedPoints, options: Pick<LineOptions, 'headingDeg' | 'minRunM'>): StraightRuns {
  const { n, timeS, xM, yM } = points;
  const course = pointCourses(points);
  const run = new Int32Array(n).fill(-1);
  let count = 0;
  let i = 0;
  while (i < n) {
    if (Number.isNaN(course[i]!)) {
      i++;
      continue;
    }
    // The run's course: the mean of unit vectors, so that a slow turn does not carry it along.
    let east = 0;
    let north = 0;
    let last = i;
    let end = i;
    for (; end < n; end++) {
      if (Number.isNaN(xM[end]!) || Number.isNaN(course[end]!)) continue;
      if (timeS[end]! - timeS[last]! > SILENCE_S) break;
      const rad = (course[end]! * Math.PI) / 180;
      if (end > i && Math.abs(turnDeg((Math.atan2(east, north) * 180) / Math.PI, course[end]!)) > options.headingDeg / 2) break;
      east += Math.sin(rad);
      north += Math.cos(rad);
      last = end;
    }
    const straightM = Math.hypot(xM[last]! - xM[i]!, yM[last]! - yM[i]!);
    if (straightM >= options.minRunM) {
      run.fill(count, i, last + 1);
      count++;
    }
    i = Math.max(last, i) + 1;
  }
  return { run, count };
}

/** Course over the ground of each point, grid [deg]: from 3 s before to 3 s after. NaN where it hardly moved or is alone. */
export function pointCourses(points: PlacedPoints): Float32Array {
  const { n, timeS, xM, yM } = points;
  const course = new Float32Array(n).fill(NaN);
  let from = 0;
  let to = 0;
  for (let i = 0; i < n; i++) {
    if (Number.isNaN(xM[i]!)) continue;
    while (from < i && (timeS[i]! - timeS[from]! > COURSE_REACH_S || Number.isNaN(xM[from]!))) from++;
    if (to < i) to = i;
    while (to + 1 < n && timeS[to + 1]! - timeS[i]! <= COURSE_REACH_S) to++;
    let end = to;
    while (end > i && Number.isNaN(xM[end]!)) end--;
    const east = xM[end]! - xM[from]!;
    const north = yM[end]! - yM[from]!;
    const spanS = timeS[end]! - timeS[from]!;
    if (spanS > 0 && Math.hypot(east, north) > Math.max(0.3, 0.2 * spanS)) course[i] = ((Math.atan2(east, north) * 180) / Math.PI + 360) % 360;
  }
  return course;
}

/** Calls back for each stretch on one line, bridging short lapses; positions without a place do not end it. */
function forEachRun(points: PlacedPoints, index: Int32Array, found: (line: number, start: number, end: number, lengthM: number) => void): void {
  const { n, timeS, xM, yM } = points;
  let line = -1;
  let start = 0;
  let last = -1;
  let lengthM = 0;
  for (let i = 0; i <= n; i++) {
    if (i < n && (Number.isNaN(xM[i]!) || (index[i] !== line && line >= 0 && index[i] === -1 && bridges(i)))) continue;
    if (i < n && index[i] === line && line >= 0 && timeS[i]! - timeS[last]! <= SILENCE_S) {
      lengthM += Math.hypot(xM[i]! - xM[last]!, yM[i]! - yM[last]!);
      last = i;
      continue;
    }
    if (line >= 0) found(line, start, last + 1, lengthM);
    line = i < n ? index[i]! : -1;
    start = i;
    last = i;
    lengthM = 0;
  }
  function bridges(i: number): boolean {
    return Math.hypot(xM[i]! - xM[last]!, yM[i]! - yM[last]!) <= BRIDGE_M && timeS[i]! - timeS[last]! <= SILENCE_S;
  }
}

interface LinePiece {
  readonly line: number;
  readonly x0: number;
  readonly y0: number;
  readonly x1: number;
  readonly y1: number;
  readonly bearing: number;
}

/** Pieces of lines by square cells, each piece in every cell its corridor may reach. */
function corridorGrid(lines: readonly PlannedLine[], corridorM: number): { near(x: number, y: number): readonly LinePiece[] } {
  const cellM = Math.max(4 * corridorM, 10);
  const cells = new Map<string, LinePiece[]>();
  lines.forEach(({ path }, line) => {
    for (let v = 0; v + 3 < path.length; v += 2) {
      const x0 = path[v]!;
      const y0 = path[v + 1]!;
      const x1 = path[v + 2]!;
      const y1 = path[v + 3]!;
      const lengthM = Math.hypot(x1 - x0, y1 - y0);
      if (lengthM === 0) continue;
      const piece = { line, x0, y0, x1, y1, bearing: (Math.atan2(x1 - x0, y1 - y0) * 180) / Math.PI };
      // Walk the piece in steps of half a cell and put it into the cells around: none its corridor touches is missed.
      const steps = Math.ceil(lengthM / (cellM / 2));
      const seen = new Set<string>();
      for (let step = 0; step <= steps; step++) {
        const col = Math.floor((x0 + ((x1 - x0) * step) / steps) / cellM);
        const row = Math.floor((y0 + ((y1 - y0) * step) / steps) / cellM);
        for (let dr = -1; dr <= 1; dr++) {
          for (let dc = -1; dc <= 1; dc++) seen.add(`${col + dc},${row + dr}`);
        }
      }
      for (const key of seen) {
        const held = cells.get(key);
        if (held === undefined) cells.set(key, [piece]);
        else held.push(piece);
      }
    }
  });
  const none: readonly LinePiece[] = [];
  let lastKey = '';
  let lastCol = NaN;
  let lastRow = NaN;
  let lastPieces = none;
  return {
    near(x, y) {
      const col = Math.floor(x / cellM);
      const row = Math.floor(y / cellM);
      if (col !== lastCol || row !== lastRow) {
        lastCol = col;
        lastRow = row;
        lastKey = `${col},${row}`;
        lastPieces = cells.get(lastKey) ?? none;
      }
      return lastPieces;
    },
  };
}

function segmentDistance(x: number, y: number, x0: number, y0: number, x1: number, y1: number): number {
  const dx = x1 - x0;
  const dy = y1 - y0;
  const share = Math.max(0, Math.min(1, ((x - x0) * dx + (y - y0) * dy) / (dx * dx + dy * dy)));
  return Math.hypot(x - x0 - share * dx, y - y0 - share * dy);
}
