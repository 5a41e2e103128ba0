import { UseError } from '../base/errors.js';
import { convergenceDeg, foldBearingDeg, wrap360Deg } from '../geo/bearing.js';
import type { Frame } from '../geo/frame.js';
import { minimumAreaRectangle } from '../geo/hull.js';
import { positionInWords } from '../geo/lon-lat.js';
import { checkedPolygon } from '../geo/polygon-check.js';
import { centroidM } from '../geo/ring.js';
import type { Polygon } from '../geo/shapes.js';
import { holesAsKeepouts, touchingGroups } from './area-groups.js';
import { candidateBearings, mainLinesAt, quickest, tryHeadings } from './best-heading.js';
import type { HeadingTrial } from './best-heading.js';
import { layCrossLines } from './cross-lines.js';
import type { LaidLine, LayingGround } from './lay-lines.js';
import { fullLineOptions, headingInWords, timeInWords } from './line-options.js';
import type { FullLineOptions } from './line-options.js';
import type { LinePlan, LineRequest } from './line-plan.js';
import { outsideNote, runInOrder } from './run-lines.js';
import { createTransitNetwork } from './transit-network.js';

/** Lines stop at least this short of a keep-out, so that which side of its edge they are on is never in doubt [m]. */
const KEEPOUT_TOUCH_M = 0.01;

/**
 * Lines over an area, and the order to run them in.
 *
 * Main lines lie at even spacing, the outer ones at most half a spacing from the edge (or from the inset), cut to the
 * area and around keep-outs; cross lines lie square to them. Without a heading the one with the least time is taken:
 * lines, transit and turns over the sides of the area's least rectangle, the edges of its hull and even steps between.
 * Cross lines are run first (IHO C-13), then main lines; within each the order has little transit (see orderRuns), and
 * transit goes around keep-outs (see createTransitNetwork). Synchronous and pure: the same request gives the same plan.
 *
 * @throws UseError where the area or a keep-out cannot be worked with, or where no line fits; says what to do
 * @throws RangeError for options out of their limits
 */
export function planLines(request: LineRequest): LinePlan {
  const { frame } = request;
  const options = fullLineOptions(request.options);
  if (request.area.length === 0) {
    throw new UseError('area: there is none: expected at least one polygon; draw the area or read it from a file', {
      expected: 'at least one polygon',
      found: 'none',
      fix: 'draw the area or read it from a file',
    });
  }
  const area = request.area.map((polygon, i) => checkedPolygon(polygon, request.area.length === 1 ? 'area' : `area, polygon ${i + 1}`, frame));
  const drawn = request.keepouts.map((polygon, i) => checkedPolygon(polygon, `keep-out ${i + 1}`, frame));
  const holes = holesAsKeepouts(area);
  const keepouts = [...drawn, ...holes];
  const network = createTransitNetwork(keepouts, options.clearanceM);
  checkLaunch(options, frame, network.isInside);

  const [originXM, originYM] = centroidM(area);
  const convergence = convergenceDeg(frame, originXM, originYM);
  const groups = touchingGroups(area);
  const grounds = groups.map(
    (group): LayingGround => ({
      group,
      keepouts,
      insetM: options.insetM,
      keepoutClearanceM: Math.max(options.insetM, KEEPOUT_TOUCH_M),
      minLengthM: options.minLengthM,
      runM: Math.max(options.runInM, options.runOutM),
    }),
  );

  const why: string[] = [];
  const notes: string[] = [];
  const chosen = chooseBearing(grounds, originXM, originYM, convergence, options);
  why.push(chosen.why);

  const laid = mainLinesAt(grounds, originXM, originYM, chosen.bearingDeg, options.spacingM);
  const main: LaidLine[] = [];
  const cross: LaidLine[] = [];
  let dropped = 0;
  let droppedM = 0;
  let shortRuns = 0;
  let crossed = 0;
  for (const group of laid) {
    main.push(...group.laid.lines);
    dropped += group.laid.dropped;
    droppedM += group.laid.droppedM;
    shortRuns += group.laid.shortRuns;
    const crossing = layCrossLines(group.swept, group.laid, options.crossShare);
    cross.push(...crossing.lines);
    crossed += crossing.crossed;
  }
  if (main.length === 0) throw nothingFits(area, dropped, options);

  const headingDeg = options.headingDeg ?? foldBearingDeg(chosen.bearingDeg + convergence);
  const run = runInOrder({ main, cross, frame, network, options });
  const { lengths, time } = run;

  if (cross.length > 0) {
    why.push(
      `${cross.length} cross ${cross.length === 1 ? 'line' : 'lines'}, ${(lengths.crossShare * 100).toFixed(1)} % of the main lines' length, ` +
        `${crossed === main.length ? 'over every main line' : `over ${crossed} of ${main.length} main lines`}; run first, at another state of tide than the main lines where possible (IHO C-13)`,
    );
    if (crossed < main.length) notes.push(`${main.length - crossed} main ${main.length - crossed === 1 ? 'line is' : 'lines are'} met by no cross line: check them against a neighbour`);
  }
  if (groups.length > 1) why.push(`the area is ${groups.length} separate parts; each has its own lines`);
  if (dropped > 0) notes.push(`${dropped} ${dropped === 1 ? 'stretch' : 'stretches'} shorter than ${options.minLengthM} m left out, ${droppedM.toFixed(0)} m in all`);
  if (shortRuns > 0) notes.push(`${shortRuns} ${shortRuns === 1 ? 'run-in or run-out is' : 'run-ins or run-outs are'} shortened by keep-outs`);
  if (holes.length > 0) notes.push(`${holes.length} ${holes.length === 1 ? 'hole' : 'holes'} in the area taken as keep-outs: lines and transit stay out of them`);
  if (keepouts.length > 0 && options.insetM === 0) notes.push('lines run right up to the keep-outs: set an inset to keep off them');
  const lost = run.transits.filter((transit) => transit.path.length === 0);
  if (lost.length > 0) {
    const names = lost.slice(0, 5).map((transit) => `${transit.fromLine ?? 'launch'} to ${transit.toLine ?? 'launch'}`);
    notes.push(`no way around the keep-outs from line ${names.join(', ')}: make the keep-outs smaller, or survey those parts as areas of their own`);
  }
  const outside = outsideNote(run.transits, area, Math.max(options.runInM, options.runOutM) + options.spacingM);
  if (outside !== null) notes.push(outside);

  return {
    main: run.main,
    cross: run.cross,
    order: run.order,
    transits: run.transits,
    headingDeg,
    spacingM: options.spacingM,
    lengths,
    time,
    why,
    notes,
  };
}

function checkLaunch(options: FullLineOptions, frame: Frame, isInside: (xM: number, yM: number) => boolean): void {
  const { launch } = options;
  if (launch === null || !isInside(launch.xM, launch.yM)) return;
  const place = positionInWords(...frame.toGeographic(launch.xM, launch.yM));
  throw new UseError(`launch point ${place}: lies in a keep-out: expected open water; move the launch point or the keep-out`, {
    expected: 'open water',
    found: 'a keep-out',
    fix: 'move the launch point or the keep-out',
  });
}

function nothingFits(area: readonly Polygon[], dropped: number, options: FullLineOptions): UseError {
  if (dropped > 0) {
    return new UseError(
      `lines: none fits: expected stretches of at least ${options.minLengthM} m, found ${dropped} shorter; lower the least length or turn the lines`,
      { expected: `stretches of at least ${options.minLengthM} m`, found: `${dropped} shorter`, fix: 'lower the least length or turn the lines' },
    );
  }
  const { widthM } = minimumAreaRectangle(Float64Array.from(area.flatMap((polygon) => [...polygon.outer])));
  return new UseError(
    `lines: none fits: expected room inside the area, found it ${widthM.toFixed(1)} m wide with an inset of ${options.insetM} m and its keep-outs; make the inset or the keep-outs smaller`,
    { expected: 'room inside the area', found: `${widthM.toFixed(1)} m wide, inset ${options.insetM} m`, fix: 'make the inset or the keep-outs smaller' },
  );
}

/** The grid bearing to lay main lines on, and why. */
function chooseBearing(
  grounds: readonly LayingGround[],
  originXM: number,
  originYM: number,
  convergence: number,
  options: FullLineOptions,
): { readonly bearingDeg: number; readonly why: string } {
  const name = (bearingDeg: number): string => headingInWords(foldBearingDeg(bearingDeg + convergence));
  if (options.headingDeg !== null) {
    const bearingDeg = wrap360Deg(options.headingDeg - convergence);
    const why = `heading ${headingInWords(options.headingDeg)}: as set`;
    if (options.effort === 'drag') return { bearingDeg, why };
    const trials = tryHeadings(grounds, originXM, originYM, [bearingDeg, ...candidateBearings(grounds, 'drag')], options);
    const best = quickest(trials);
    const asSet = trials[0]!;
    const savedS = asSet.timeS - best.timeS;
    if (!(savedS > 60) || !(savedS > 0.02 * asSet.timeS)) return { bearingDeg, why };
    return { bearingDeg, why: `${why}; heading ${name(best.bearingDeg)} would take about ${timeInWords(savedS)} less (${best.lines} lines instead of ${asSet.lines})` };
  }
  const bearings = candidateBearings(grounds, options.effort);
  const trials = tryHeadings(grounds, originXM, originYM, bearings, options);
  const best = quickest(trials);
  return { bearingDeg: best.bearingDeg, why: reasonFor(best, trials, name) };
}

/** Why a heading was taken, in plain words. `trials` start with the long and the short side. */
function reasonFor(best: HeadingTrial, trials: readonly HeadingTrial[], name: (bearingDeg: number) => string): string {
  const apart = (a: number, b: number): number => Math.min(Math.abs(a - b), 180 - Math.abs(a - b));
  const long = trials[0]!;
  const square = trials.reduce((nearest, trial) =>
    apart(trial.bearingDeg, best.bearingDeg + 90 >= 180 ? best.bearingDeg - 90 : best.bearingDeg + 90) <
    apart(nearest.bearingDeg, best.bearingDeg + 90 >= 180 ? best.bearingDeg - 90 : best.bearingDeg + 90)
      ? trial
      : nearest,
  );
  const head = `heading ${name(best.bearingDeg)}`;
  const lines = (trial: HeadingTrial): string => `${trial.lines} ${trial.lines === 1 ? 'line' : 'lines'}`;
  if (apart(best.bearingDeg, long.bearingDeg) < 1) {
    return `${head}: along the longer side, ${lines(best)} instead of ${square.lines} on heading ${name(square.bearingDeg)}`;
  }
  const saved = long.timeS - best.timeS;
  const than = Number.isFinite(saved) ? `about ${timeInWords(saved)} less than along the longer side (${name(long.bearingDeg)}, ${lines(long)})` : 'along the longer side no line fits';
  return `${head}: least time of ${trials.length} headings tried, ${lines(best)}, ${than}`;
}
