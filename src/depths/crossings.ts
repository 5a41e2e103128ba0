import { quantile } from '../base/statistics.js';
import { pointCourses } from './line-of.js';

/** Soundings in time order with the line or run each belongs to. Only those with reason 0 and a run take part. */
export interface CrossingInput {
  readonly n: number;
  readonly timeS: Float64Array;
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  readonly depthM: ArrayLike<number>;
  readonly reason: Uint8Array;
  /** Number of the line or run, -1 for none. */
  readonly line: Int32Array;
}

export interface CrossingOptions {
  /** Two tracks that meet at less than this do not cross for this purpose; 45 unless there is a reason [deg]. */
  readonly minAngleDeg: number;
  /** Two soundings further apart than this are not joined [m]. */
  readonly maxStepM: number;
}

/** Where two tracks cross. Columns, one row a crossing. Shape [count]. */
export interface Crossings {
  readonly count: number;
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** Lines that cross: the one run first, then the other. */
  readonly lineA: Int32Array;
  readonly lineB: Int32Array;
  readonly depthAM: Float64Array;
  readonly depthBM: Float64Array;
  /** Depth of the second run less that of the first [m]. */
  readonly differenceM: Float64Array;
  /** The sounding before the crossing on either run, as a row of the input. */
  readonly rowA: Uint32Array;
  readonly rowB: Uint32Array;
  /** Mean difference, and the size below which 95 % of differences lie without regard to sign [m]; NaN of none. */
  readonly meanM: number;
  readonly p95M: number;
}

/**
 * Differences where runs cross: how well a survey agrees with itself.
 *
 * Consecutive good soundings of a run are joined by straight steps; where steps of two runs cross at a large enough angle,
 * both depths are read off their steps at that place. Each crossing of two steps counts, so lines crossed twice count twice.
 *
 * @throws RangeError for options outside their domain
 *
 * Source: cross-line comparison of IHO C-13 (2005), ch. 3, and S-44 ed. 6.1.0.
 */
export function findCrossings(input: CrossingInput, options: CrossingOptions): Crossings {
  const { minAngleDeg, maxStepM } = options;
  if (!(minAngleDeg > 0 && minAngleDeg <= 90)) throw new RangeError(`minAngleDeg ${minAngleDeg}: expected more than 0, at most 90`);
  if (!(maxStepM > 0)) throw new RangeError(`maxStepM ${maxStepM}: expected more than 0`);
  const { n, xM, yM, depthM, reason, line } = input;
  const course = pointCourses(input);

  const from = new Uint32Array(n);
  const to = new Uint32Array(n);
  let steps = 0;
  let last = -1;
  let longest = 0;
  for (let i = 0; i < n; i++) {
    if (line[i]! < 0) {
      last = -1;
      continue;
    }
    if (reason[i] !== 0 || Number.isNaN(xM[i]!)) continue;
    if (last >= 0 && line[last] === line[i]) {
      const stepM = Math.hypot(xM[i]! - xM[last]!, yM[i]! - yM[last]!);
      if (stepM > 0 && stepM <= maxStepM) {
        from[steps] = last;
        to[steps] = i;
        steps++;
        if (stepM > longest) longest = stepM;
      }
    }
    last = i;
  }

  const found: { x: number; y: number; a: number; b: number; depthA: number; depthB: number }[] = [];
  const cosLimit = Math.cos((minAngleDeg * Math.PI) / 180);
  const headingEast = (row: number): number => Math.sin((course[row]! * Math.PI) / 180);
  const headingNorth = (row: number): number => Math.cos((course[row]! * Math.PI) / 180);
  const grid = stepGrid(input, from, to, steps, longest);
  grid((s, t) => {
    const a0 = from[s]!;
    const a1 = to[s]!;
    const b0 = from[t]!;
    const b1 = to[t]!;
    if (line[a0] === line[b0]) return;
    const ax = xM[a1]! - xM[a0]!;
    const ay = yM[a1]! - yM[a0]!;
    const bx = xM[b1]! - xM[b0]!;
    const by = yM[b1]! - yM[b0]!;
    const cross = ax * by - ay * bx;
    if (cross === 0) return;
    const dx = xM[b0]! - xM[a0]!;
    const dy = yM[b0]! - yM[a0]!;
    const shareA = (dx * by - dy * bx) / cross;
    const shareB = (dx * ay - dy * ax) / cross;
    // Half open, so that a crossing at a shared end of two steps counts once.
    if (!(shareA >= 0 && shareA < 1 && shareB >= 0 && shareB < 1)) return;
    // Courses over some seconds, not the steps: positions a few decimetres apart point anywhere.
    const cosAngle = Math.abs(headingEast(a0) * headingEast(b0) + headingNorth(a0) * headingNorth(b0));
    if (!(cosAngle <= cosLimit + 1e-12)) return;
    found.push({
      x: xM[a0]! + shareA * ax,
      y: yM[a0]! + shareA * ay,
      a: a0,
      b: b0,
      depthA: depthM[a0]! + shareA * (depthM[a1]! - depthM[a0]!),
      depthB: depthM[b0]! + shareB * (depthM[b1]! - depthM[b0]!),
    });
  });
  found.sort((p, q) => p.a - q.a || p.b - q.b);
  const differenceM = Float64Array.from(found, (one) => one.depthB - one.depthA);
  return {
    count: found.length,
    xM: Float64Array.from(found, (one) => one.x),
    yM: Float64Array.from(found, (one) => one.y),
    lineA: Int32Array.from(found, (one) => line[one.a]!),
    lineB: Int32Array.from(found, (one) => line[one.b]!),
    depthAM: Float64Array.from(found, (one) => one.depthA),
    depthBM: Float64Array.from(found, (one) => one.depthB),
    differenceM,
    rowA: Uint32Array.from(found, (one) => one.a),
    rowB: Uint32Array.from(found, (one) => one.b),
    meanM: found.length === 0 ? NaN : differenceM.reduce((sum, one) => sum + one, 0) / found.length,
    p95M: quantile(differenceM.map(Math.abs), 0.95),
  };
}

/** What the crossings of two lines come to. */
export interface CrossingPair {
  readonly lineA: number;
  readonly lineB: number;
  readonly count: number;
  /** Mean of B less A, A the lower number [m]. */
  readonly meanM: number;
}

/** Crossings by pair of lines, the lower number first. */
export function crossingPairs(crossings: Crossings): CrossingPair[] {
  const pairs = new Map<string, { lineA: number; lineB: number; count: number; sum: number }>();
  for (let i = 0; i < crossings.count; i++) {
    const inOrder = crossings.lineA[i]! <= crossings.lineB[i]!;
    const lineA = inOrder ? crossings.lineA[i]! : crossings.lineB[i]!;
    const lineB = inOrder ? crossings.lineB[i]! : crossings.lineA[i]!;
    const key = `${lineA},${lineB}`;
    const pair = pairs.get(key) ?? { lineA, lineB, count: 0, sum: 0 };
    pair.count++;
    pair.sum += inOrder ? crossings.differenceM[i]! : -crossings.differenceM[i]!;
    pairs.set(key, pair);
  }
  return [...pairs.values()]
    .map(({ lineA, lineB, count, sum }) => ({ lineA, lineB, count, meanM: sum / count }))
    .sort((p, q) => p.lineA - q.lineA || p.lineB - q.lineB);
}

/**
 * Calls back for every two steps that share a cell of a grid and might cross, the earlier first, each two once.
 * Cells are a little longer than the longest step, so that a step lies in at most four.
 */
function stepGrid(
  input: CrossingInput,
  from: Uint32Array,
  to: Uint32Array,
  steps: number,
  longestM: number,
): (pair: (s: number, t: number) => void) => void {
  const { xM, yM, line } = input;
  let westM = Infinity;
  let southM = Infinity;
  let eastM = -Infinity;
  let northM = -Infinity;
  for (let s = 0; s < steps; s++) {
    for (const row of [from[s]!, to[s]!]) {
      westM = Math.min(westM, xM[row]!);
      eastM = Math.max(eastM, xM[row]!);
      southM = Math.min(southM, yM[row]!);
      northM = Math.max(northM, yM[row]!);
    }
  }
  if (steps === 0) return () => undefined;
  // No more cells than eight a step.
  const cellM = Math.max(longestM * 1.01, Math.sqrt(((eastM - westM + 1) * (northM - southM + 1)) / (8 * steps + 64)), 1e-6);
  const cols = Math.floor((eastM - westM) / cellM) + 1;
  const rows = Math.floor((northM - southM) / cellM) + 1;
  const colOf = (x: number): number => Math.floor((x - westM) / cellM);
  const rowOf = (y: number): number => Math.floor((y - southM) / cellM);
  const starts = new Uint32Array(cols * rows + 1);
  const eachCell = (s: number, visit: (cell: number) => void): void => {
    const a = from[s]!;
    const b = to[s]!;
    const colStart = Math.min(colOf(xM[a]!), colOf(xM[b]!));
    const colEnd = Math.max(colOf(xM[a]!), colOf(xM[b]!));
    const rowStart = Math.min(rowOf(yM[a]!), rowOf(yM[b]!));
    const rowEnd = Math.max(rowOf(yM[a]!), rowOf(yM[b]!));
    for (let row = rowStart; row <= rowEnd; row++) {
      for (let col = colStart; col <= colEnd; col++) visit(row * cols + col);
    }
  };
  for (let s = 0; s < steps; s++) eachCell(s, (cell) => starts[cell + 1]!++);
  for (let cell = 0; cell < cols * rows; cell++) starts[cell + 1]! += starts[cell]!;
  const fill = starts.slice();
  const members = new Uint32Array(starts[cols * rows]!);
  for (let s = 0; s < steps; s++) eachCell(s, (cell) => (members[fill[cell]!++] = s));

  return (pair) => {
    for (let cell = 0; cell < cols * rows; cell++) {
      const start = starts[cell]!;
      const end = starts[cell + 1]!;
      if (end - start < 2) continue;
      const firstLine = line[from[members[start]!]!]!;
      let mixed = false;
      for (let i = start + 1; i < end && !mixed; i++) mixed = line[from[members[i]!]!] !== firstLine;
      if (!mixed) continue;
      for (let i = start; i < end; i++) {
        const s = members[i]!;
        for (let j = i + 1; j < end; j++) {
          const t = members[j]!;
          if (line[from[s]!] === line[from[t]!]) continue;
          // Two steps may share several cells: they are looked at in the one that holds the south-west corner of what they share.
          const col = Math.max(Math.min(colOf(xM[from[s]!]!), colOf(xM[to[s]!]!)), Math.min(colOf(xM[from[t]!]!), colOf(xM[to[t]!]!)));
          const row = Math.max(Math.min(rowOf(yM[from[s]!]!), rowOf(yM[to[s]!]!)), Math.min(rowOf(yM[from[t]!]!), rowOf(yM[to[t]!]!)));
          if (row * cols + col === cell) pair(s, t);
        }
      }
    }
  };
}
