import { foldBearingDeg } from '../geo/bearing.js';
import { convexHull, minimumAreaRectangle } from '../geo/hull.js';
import type { LaidLine, LayingGround } from './lay-lines.js';
import { mainLinesAt } from './lay-plan.js';

/** What main lines on one bearing would take. */
export interface HeadingTrial {
  /** Clockwise from grid north, 0 <= bearing < 180 [deg]. */
  readonly bearingDeg: number;
  readonly lines: number;
  readonly mainM: number;
  /** Lines, straight transit from each to the nearest next, and turns [s]; an estimate, to compare bearings by. */
  readonly timeS: number;
}

/** What trials are weighed with. */
export interface HeadingCosts {
  readonly spacingM: number;
  readonly speedMps: number;
  readonly turnS: number;
  readonly effort: 'drag' | 'full';
}

/** Above this many lines the transit of a trial is taken as one spacing a line. */
const GREEDY_LINES = 400;
/** Up to this many lines an area is small: each line more or less counts, and steps are finer. */
export const SMALL_PLAN_LINES = 60;

/**
 * Bearings worth trying: the long and short side of the least rectangle around the area, the longest edges of its hull,
 * and even steps from the long side, so that turning the area turns them with it. Without repeats; grid, 0..180 [deg].
 */
export function candidateBearings(grounds: readonly LayingGround[], steps: number): number[] {
  const points = Float64Array.from(grounds.flatMap((ground) => ground.group.flatMap((polygon) => [...polygon.outer])));
  const long = minimumAreaRectangle(points).bearingDeg;
  const hull = convexHull(points);
  const n = hull.length / 2;
  const edges: { bearingDeg: number; lengthM: number }[] = [];
  let around = 0;
  for (let i = 0; i < n; i++) {
    const j = (i + 1) % n;
    const dx = hull[2 * j]! - hull[2 * i]!;
    const dy = hull[2 * j + 1]! - hull[2 * i + 1]!;
    const lengthM = Math.hypot(dx, dy);
    around += lengthM;
    edges.push({ bearingDeg: foldBearingDeg((Math.atan2(dx, dy) * 180) / Math.PI), lengthM });
  }
  edges.sort((a, b) => b.lengthM - a.lengthM);
  const wanted = [
    long,
    foldBearingDeg(long + 90),
    ...edges.slice(0, Math.ceil(steps / 2)).filter((edge) => edge.lengthM > 0.02 * around).map((edge) => edge.bearingDeg),
    ...Array.from({ length: steps }, (_, k) => foldBearingDeg(long + (k * 180) / steps)),
  ];
  const kept: number[] = [];
  for (const bearing of wanted) {
    const isNew = kept.every((other) => {
      const apart = Math.abs(other - bearing);
      return Math.min(apart, 180 - apart) > 0.25;
    });
    if (isNew) kept.push(bearing);
  }
  return kept;
}

/** Tries bearings, in the order given. A bearing without a single line takes infinite time. */
export function tryHeadings(
  grounds: readonly LayingGround[],
  originXM: number,
  originYM: number,
  bearings: readonly number[],
  costs: HeadingCosts,
): HeadingTrial[] {
  const laid = bearings.map((bearing) =>
    mainLinesAt(grounds, originXM, originYM, bearing, costs.spacingM).flatMap((group) => group.laid.lines),
  );
  const all = laid.every((lines) => lines.length <= GREEDY_LINES);
  return laid.map((lines, i) => {
    let mainM = 0;
    let runM = 0;
    for (const line of lines) {
      mainM += line.lengthM;
      runM += line.roomAM + line.roomBM;
    }
    const transitM = all ? leastNextM(lines) : costs.spacingM * Math.max(0, lines.length - 1);
    const timeS = (mainM + runM + transitM) / costs.speedMps + costs.turnS * Math.max(0, lines.length - 1);
    return { bearingDeg: bearings[i]!, lines: lines.length, mainM, timeS: lines.length > 0 ? timeS : Infinity };
  });
}

/** The trial with the least time; of equals the first. */
export function quickest(trials: readonly HeadingTrial[]): HeadingTrial {
  let best = trials[0]!;
  for (const trial of trials) if (trial.timeS < best.timeS * (1 - 1e-9)) best = trial;
  return best;
}

/** Straight transit from line to nearest line, begun at either end of the first or of the last: the least of the four [m]. */
function leastNextM(lines: readonly LaidLine[]): number {
  if (lines.length < 2) return 0;
  const few = lines.length <= SMALL_PLAN_LINES;
  let least = nearestNextM(lines, 0, true);
  if (few) {
    least = Math.min(least, nearestNextM(lines, 0, false));
    for (const fromA of [true, false]) least = Math.min(least, nearestNextM(lines, lines.length - 1, fromA));
  }
  return least;
}

/** Straight transit from a line, run from its a or its b, always to the nearest end of a line not yet run [m]. */
function nearestNextM(lines: readonly LaidLine[], first: number, firstFromA: boolean): number {
  const left = lines.slice();
  left[first] = left[left.length - 1]!;
  left.pop();
  let x = firstFromA ? lines[first]!.bx : lines[first]!.ax;
  let y = firstFromA ? lines[first]!.by : lines[first]!.ay;
  let sum = 0;
  while (left.length > 0) {
    let at = 0;
    let least = Infinity;
    let fromA = true;
    for (let i = 0; i < left.length; i++) {
      const line = left[i]!;
      const toA = (line.ax - x) * (line.ax - x) + (line.ay - y) * (line.ay - y);
      const toB = (line.bx - x) * (line.bx - x) + (line.by - y) * (line.by - y);
      if (toA < least) {
        least = toA;
        at = i;
        fromA = true;
      }
      if (toB < least) {
        least = toB;
        at = i;
        fromA = false;
      }
    }
    const line = left[at]!;
    sum += Math.sqrt(least);
    x = fromA ? line.bx : line.ax;
    y = fromA ? line.by : line.ay;
    left[at] = left[left.length - 1]!;
    left.pop();
  }
  return sum;
}
