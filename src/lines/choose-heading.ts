import { foldBearingDeg, wrap360Deg } from '../geo/bearing.js';
import { minimumAreaRectangle } from '../geo/hull.js';
import { polygonAreaM2 } from '../geo/ring.js';
import type { HeadingTrial } from './best-heading.js';
import { candidateBearings, quickest, SMALL_PLAN_LINES, tryHeadings } from './best-heading.js';
import { layPlan, onOneBearing } from './lay-plan.js';
import type { PlanGround } from './lay-plan.js';
import type { FullLineOptions } from './line-options.js';
import { headingInWords, timeInWords } from './line-options.js';
import { runInOrder } from './run-lines.js';

/** Headings whose lines are put in order to compare them: few lines are quick to compare, and their estimates are rough. */
const COMPARED = 4;
const COMPARED_SMALL = 24;
const COMPARED_LINES = 500;
/** Even steps tried: while dragging, else, and where there are few lines. */
const STEPS_DRAG = 12;
const STEPS = 36;
const STEPS_SMALL = 90;
/** The longer side is left only for a heading that saves this share of its time: lines along the area are simpler to run. */
const WORTH_LEAVING = 0.01;
/** The same by the quick estimate, which is off by some per cent: so that a plan does not jump as its area is dragged. */
const WORTH_LEAVING_QUICK = 0.03;

/** A bearing to lay main lines on, and why. */
export interface ChosenHeading {
  /** Grid [deg]. */
  readonly bearingDeg: number;
  readonly why: string;
}

/**
 * The bearing for main lines: as set, or the one that takes least time.
 *
 * Tried are both sides of the least rectangle around the area, the edges of its hull and even steps from the longer side
 * (every 5 degrees; every 2 where there are few lines, every 15 while dragging): each by an estimate of lines, transit and turns. The few best are then laid with their
 * cross lines and put in order, and the quickest is taken; the longer side stays unless another saves 1 %. On an area that is
 * nearly a rectangle each is weighed with lines that cover it to its edges, however they are cut in the end.
 */
export function chooseHeading(given: PlanGround, options: FullLineOptions): ChosenHeading {
  const ground = isRectangle(given) ? covering(given, options.spacingM) : given;
  const name = (bearingDeg: number): string => headingInWords(foldBearingDeg(bearingDeg + ground.convergenceDeg));
  const { grounds, originXM, originYM } = ground;
  if (options.headingDeg !== null) {
    const bearingDeg = wrap360Deg(options.headingDeg - ground.convergenceDeg);
    const why = `heading ${headingInWords(options.headingDeg)}: as set`;
    if (options.effort === 'drag') return { bearingDeg, why };
    const trials = tryHeadings(grounds, originXM, originYM, [bearingDeg, ...candidateBearings(grounds, STEPS_DRAG)], options);
    const best = quickest(trials);
    const asSet = trials[0]!;
    const savedS = asSet.timeS - best.timeS;
    if (!(savedS > 60) || !(savedS > WORTH_LEAVING_QUICK * asSet.timeS) || !Number.isFinite(savedS)) return { bearingDeg, why };
    return { bearingDeg, why: `${why}; heading ${name(best.bearingDeg)} would take about ${timeInWords(savedS)} less (${best.lines} lines instead of ${asSet.lines})` };
  }
  const tryWith = (steps: number): HeadingTrial[] => tryHeadings(grounds, originXM, originYM, candidateBearings(grounds, steps), options);
  let trials = tryWith(options.effort === 'drag' ? STEPS_DRAG : STEPS);
  const small = options.effort !== 'drag' && trials.every((trial) => trial.lines <= SMALL_PLAN_LINES);
  if (small) trials = tryWith(STEPS_SMALL);
  if (options.effort === 'drag' || trials.some((trial) => trial.lines > COMPARED_LINES)) {
    const best = quickest(trials);
    const long = trials[0]!;
    const chosen = best.timeS < long.timeS * (1 - WORTH_LEAVING_QUICK) ? best : long;
    return { bearingDeg: chosen.bearingDeg, why: reasonFor(chosen, trials, name) };
  }
  const promising = trials.slice(1).sort((a, b) => a.timeS - b.timeS).slice(0, small ? COMPARED_SMALL : COMPARED);
  const settled = (trial: HeadingTrial): HeadingTrial => {
    const { main, cross } = layPlan(ground, onOneBearing(ground, trial.bearingDeg), options);
    const run = runInOrder({ main, cross, frame: ground.frame, network: ground.network, options, effort: 'settle' });
    return { ...trial, lines: main.length, timeS: main.length > 0 ? run.time.totalS : Infinity };
  };
  const compared = [trials[0]!, ...promising].filter((trial) => trial.lines > 0).map(settled);
  if (small && compared.length > 0) {
    // Where a line more or less counts, look closer about the best.
    for (const stepDeg of [1, 0.5]) {
      const about = quickest(compared);
      for (const side of [-1, 1]) compared.push(settled({ ...about, bearingDeg: foldBearingDeg(about.bearingDeg + side * stepDeg) }));
    }
  }
  if (compared.length === 0) return { bearingDeg: trials[0]!.bearingDeg, why: `heading ${name(trials[0]!.bearingDeg)}: along the longer side` };
  const best = quickest(compared);
  const long = compared[0]!;
  const isLong = long.bearingDeg === trials[0]!.bearingDeg;
  const chosen = !isLong || best.timeS < long.timeS * (1 - WORTH_LEAVING) ? best : long;
  return { bearingDeg: chosen.bearingDeg, why: reasonFor(chosen, [isLong ? long : trials[0]!, ...trials.slice(1)], name) };
}

/** An area that fills so much of the least rectangle about it is one. */
const RECTANGLE_SHARE = 0.97;

function isRectangle({ grounds }: PlanGround): boolean {
  const polygons = grounds.flatMap(({ group }) => group);
  if (polygons.length !== 1) return false;
  const { lengthM, widthM } = minimumAreaRectangle(polygons[0]!.outer);
  return polygonAreaM2({ outer: polygons[0]!.outer, holes: [] }) > RECTANGLE_SHARE * lengthM * widthM;
}

/** Lines a few degrees off a rectangle's sides, cut where they leave it, are shorter for the wedges they leave out, and have stubs at both sides. */
function covering(ground: PlanGround, spacingM: number): PlanGround {
  return { ...ground, grounds: ground.grounds.map((one) => ({ ...one, bandM: spacingM / 2 })) };
}

/** Why a heading was taken, in plain words. `trials` begin with the longer side. */
function reasonFor(best: HeadingTrial, trials: readonly HeadingTrial[], name: (bearingDeg: number) => string): string {
  const apart = (a: number, b: number): number => Math.min(Math.abs(a - b), 180 - Math.abs(a - b));
  const long = trials[0]!;
  const head = `heading ${name(best.bearingDeg)}`;
  const lines = (trial: HeadingTrial): string => `${trial.lines} ${trial.lines === 1 ? 'line' : 'lines'}`;
  if (apart(best.bearingDeg, long.bearingDeg) < 1e-9) {
    const squareDeg = foldBearingDeg(best.bearingDeg + 90);
    const square = trials.reduce((nearest, trial) => (apart(trial.bearingDeg, squareDeg) < apart(nearest.bearingDeg, squareDeg) ? trial : nearest));
    return square.lines >= best.lines
      ? `${head}: along the longer side, ${lines(best)} instead of ${square.lines} on heading ${name(square.bearingDeg)}`
      : `${head}: along the longer side, ${lines(best)}; no heading saves 1 % of the time`;
  }
  const savedS = long.timeS - best.timeS;
  const than = Number.isFinite(savedS)
    ? `about ${timeInWords(savedS)} less than along the longer side (${name(long.bearingDeg)}, ${lines(long)})`
    : `along the longer side (${name(long.bearingDeg)}) no line fits`;
  return `${head}: least time of ${trials.length} headings tried, ${lines(best)}, ${than}`;
}
