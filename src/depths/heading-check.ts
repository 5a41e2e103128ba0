import { turnDeg } from '../base/interpolate.js';
import { combine, type Estimate } from '../boat/estimate.js';

/** One straight run: what the compass said, and where the boat went. */
export interface HeadingRun {
  /** Course made good over the whole run, true [deg]. */
  readonly courseDeg: number;
  /** Mean of heading less course made good along it [deg], with the standard error of that mean. */
  readonly offDeg: number;
  readonly offSigmaDeg: number;
  readonly lengthM: number;
}

/** What runs both ways say of the compass. */
export interface HeadingCheck {
  readonly runs: number;
  /** Directions that were run both ways. */
  readonly pairs: number;
  /** Heading less true, what is to be taken off [deg]. */
  readonly offsetDeg: Estimate;
  /** Half the difference between the ways: the angle the boat crabbed at, by current and wind [deg]; root mean square of pairs. */
  readonly crabDeg: number;
  readonly refused: string;
}

/** Runs whose courses differ by no more than this are of one way; reciprocal by as much [deg]. */
const SAME_WAY_DEG = 12;
/** A mean on one way is not believed better than this [deg]. */
const LEAST_SIGMA_DEG = 0.2;
/** The boat crabs by the angle of the current, which is not the same both ways where it is large [deg]. */
const MUCH_CRAB_DEG = 20;

/**
 * The compass's offset from runs both ways along the same lines.
 *
 * Along a line a boat in a current heads off its course by the crab angle, to one side on the way out and to the other on the
 * way back: half the sum of both is the compass's offset and the sensor's mounting, half the difference the crab angle.
 * Each way's offset weighs its runs alike.
 *
 * Source: IHO C-13 (2005), ch. 2 (heading alignment by reciprocal lines); common practice.
 */
export function headingCheck(runs: readonly HeadingRun[]): HeadingCheck {
  const ways: { courseDeg: number; runs: HeadingRun[] }[] = [];
  for (const run of [...runs].sort((a, b) => b.lengthM - a.lengthM)) {
    if (!Number.isFinite(run.courseDeg) || !Number.isFinite(run.offDeg)) continue;
    const way = ways.find(({ courseDeg }) => Math.abs(turnDeg(courseDeg, run.courseDeg)) <= SAME_WAY_DEG);
    if (way === undefined) ways.push({ courseDeg: run.courseDeg, runs: [run] });
    else way.runs.push(run);
  }
  const used = new Set<number>();
  const offsets: Estimate[] = [];
  const crabs: number[] = [];
  let count = 0;
  ways.forEach((way, i) => {
    if (used.has(i)) return;
    const back = ways.findIndex(({ courseDeg }, j) => j > i && !used.has(j) && Math.abs(turnDeg(courseDeg + 180, way.courseDeg)) <= SAME_WAY_DEG);
    if (back < 0) return;
    used.add(i).add(back);
    const [out, home] = [wayMean(way.runs), wayMean(ways[back]!.runs)];
    count += way.runs.length + ways[back]!.runs.length;
    const half = turnDeg(home.value, out.value) / 2;
    offsets.push({ value: out.value - half, sigma: Math.hypot(out.sigma, home.sigma) / 2, dof: out.dof + home.dof });
    crabs.push(half);
  });
  const crabDeg = Math.sqrt(crabs.reduce((sum, one) => sum + one * one, 0) / Math.max(1, crabs.length));
  const refused = ((): string => {
    if (offsets.length === 0) return runs.length === 0 ? 'no straight run with a heading from a compass: expected at least one line run both ways' : 'no line was run both ways: expected runs there and back along the same direction';
    if (crabDeg > MUCH_CRAB_DEG) return `the boat crabbed at ${crabDeg.toFixed(0)} degrees: expected ${MUCH_CRAB_DEG} or less; run it in less current, or along it`;
    return '';
  })();
  return { runs: count, pairs: offsets.length, offsetDeg: combine(offsets, 6), crabDeg: crabs.length === 0 ? NaN : crabDeg, refused };
}

/** Mean of a way's runs, about an angle near all of them, with their scatter. */
function wayMean(runs: readonly HeadingRun[]): Estimate {
  const first = runs[0]!.offDeg;
  const turned = runs.map(({ offDeg }) => first + turnDeg(first, offDeg));
  const value = turned.reduce((sum, one) => sum + one, 0) / turned.length;
  const own = Math.sqrt(runs.reduce((sum, { offSigmaDeg }) => sum + Math.max(LEAST_SIGMA_DEG, offSigmaDeg || 0) ** 2, 0)) / runs.length;
  const scatter = runs.length > 1 ? Math.sqrt(turned.reduce((sum, one) => sum + (one - value) ** 2, 0) / (runs.length - 1) / runs.length) : 0;
  return { value, sigma: Math.max(own, scatter), dof: Math.max(1, runs.length - 1) };
}
