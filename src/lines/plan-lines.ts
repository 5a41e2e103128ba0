import { UseError } from '../base/errors.js';
import { convergenceDeg, foldBearingDeg } from '../geo/bearing.js';
import type { Frame } from '../geo/frame.js';
import { minimumAreaRectangle } from '../geo/hull.js';
import { keepOutLike, type KeepOut } from '../geo/keep-out.js';
import { positionInWords } from '../geo/lon-lat.js';
import { checkedPolygon } from '../geo/polygon-check.js';
import { centroidM, pointInPolygon } from '../geo/ring.js';
import type { Polygon } from '../geo/shapes.js';
import { holesAsKeepouts, touchingGroups } from './area-groups.js';
import { chooseHeading } from './choose-heading.js';
import { coveredByDepth } from './depth-levels.js';
import type { LaidLine, LayingGround } from './lay-lines.js';
import { chooseParts } from './choose-parts.js';
import { layPlan, type PlanGround } from './lay-plan.js';
import { edgeRuns } from './edge-runs.js';
import { fullLineOptions } from './line-options.js';
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
 * lines, transit and turns, see chooseHeading.
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
  const drawn = request.keepouts.map((keepout, i) => keepOutLike(checkedPolygon(keepout, `keep-out ${i + 1}`, frame), keepout));
  const holes = holesAsKeepouts(area);
  const keepouts: readonly KeepOut[] = [...drawn, ...holes];
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
      keepoutClearanceM: Math.max(options.insetM, options.keepoutM, KEEPOUT_TOUCH_M),
      minLengthM: options.minLengthM,
      runM: Math.max(options.runInM, options.runOutM),
      bandM: options.edges === 'cover' ? options.spacingM / 2 : 0,
    }),
  );

  const why: string[] = [];
  const notes: string[] = [];
  const ground: PlanGround = { grounds, originXM, originYM, convergenceDeg: convergence, frame, network };
  const chosen = chooseHeading(ground, options);
  why.push(chosen.why);

  const parts = chooseParts(ground, chosen.bearingDeg, options);
  if (parts.why !== null) why.push(parts.why);
  const { cross, dropped, droppedM, shortRuns, crossed } = parts.laid;
  if (parts.laid.main.length === 0) throw swallowed(area, keepouts, drawn.length) ?? nothingFits(area, dropped, options);
  const offM = Math.max(options.insetM, options.keepoutM, KEEPOUT_TOUCH_M, Math.min(options.clearanceM, options.spacingM / 4)) + KEEPOUT_TOUCH_M;
  const edges = options.edges === 'cover' && options.effort === 'full' && options.spacingAtM === null ? grounds.flatMap((one) => edgeRuns(one, parts.laid.main, options.spacingM, offM)) : [];
  const main = [...parts.laid.main, ...edges];
  if (edges.length > 0) why.push(`${edges.length} short ${edges.length === 1 ? 'line' : 'lines'} along keep-outs, ${edges.reduce((sum, line) => sum + line.lengthM, 0).toFixed(0)} m in all, where bands that end at them leave corners out`);

  if (options.spacingAtM !== null && options.effort !== 'drag') {
    const even = layPlan(ground, parts.parts, { spacingM: options.spacingM, crossShare: 0 }).main;
    const km = (lines: readonly LaidLine[]): string => (lines.reduce((sum, line) => sum + line.lengthM, 0) / 1000).toFixed(1);
    const share = coveredByDepth(area, keepouts, parts.laid.main, options.spacingAtM, options.spacingM);
    why.push(
      `spacing follows the depth, ${options.spacingM} m where it is narrowest: ${parts.laid.main.length} lines, ${km(parts.laid.main)} km, instead of ${even.length}, ${km(even)} km, at that spacing throughout; ` +
        `${(Math.floor(share * 10_000) / 100).toFixed(2)} % of the water is within half its own spacing of a line`,
    );
  }

  const headingDeg = options.headingDeg ?? foldBearingDeg(parts.bearingDeg + convergence);
  const run = runInOrder({ main, cross, frame, network, options, effort: options.effort });
  const { lengths, time } = run;

  if (cross.length > 0) {
    const lines = parts.laid.main.length;
    why.push(
      `${cross.length} cross ${cross.length === 1 ? 'line' : 'lines'}, ${(lengths.crossShare * 100).toFixed(1)} % of the main lines' length, ` +
        `${crossed === lines ? 'over every main line' : `over ${crossed} of ${lines} main lines`}; run first, at another state of tide than the main lines where possible (IHO C-13)`,
    );
    if (crossed < lines) notes.push(`${lines - crossed} main ${lines - crossed === 1 ? 'line is' : 'lines are'} met by no cross line: check them against a neighbour`);
  }
  if (groups.length > 1) why.push(`the area is ${groups.length} separate parts; each has its own lines`);
  if (dropped > 0) notes.push(`${dropped} ${dropped === 1 ? 'stretch' : 'stretches'} shorter than ${options.minLengthM} m left out, ${droppedM.toFixed(0)} m in all`);
  if (shortRuns > 0) notes.push(`${shortRuns} ${shortRuns === 1 ? 'run-in or run-out is' : 'run-ins or run-outs are'} shortened by keep-outs`);
  if (holes.length > 0) notes.push(`${holes.length} ${holes.length === 1 ? 'hole' : 'holes'} in the area taken as keep-outs: lines and transit stay out of them`);
  if (options.insetM > 0 && groups.some((group) => group.length > 1)) {
    notes.push('where parts of the area touch, the inset is kept on both sides of the shared edge: join them into one polygon to have lines across it');
  }
  if (keepouts.length > 0 && Math.max(options.insetM, options.keepoutM) === 0) notes.push('lines run right up to the keep-outs: set how far they stop short of them (lines.keepoutM)');
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
    where: [Float64Array.of(launch.xM, launch.yM)],
  });
}

/** Where one keep-out holds the whole area. */
function swallowed(area: readonly Polygon[], keepouts: readonly Polygon[], drawn: number): UseError | null {
  const i = keepouts.findIndex((keepout) =>
    area.every((polygon) => {
      for (let k = 0; k < polygon.outer.length; k += 2) if (!pointInPolygon(keepout, polygon.outer[k]!, polygon.outer[k + 1]!)) return false;
      return true;
    }),
  );
  if (i < 0 || i >= drawn) return null;
  return new UseError(`keep-out ${i + 1}: covers the whole area: expected water to survey outside it; make it smaller, or delete it if it was meant as the area`, {
    expected: 'water to survey outside it',
    found: 'the whole area in it',
    fix: 'make it smaller, or delete it if it was meant as the area',
    where: [keepouts[i]!.outer, ...area.map((polygon) => polygon.outer)],
  });
}

function nothingFits(area: readonly Polygon[], dropped: number, options: FullLineOptions): UseError {
  if (dropped > 0) {
    return new UseError(
      `lines: none fits: expected stretches of at least ${options.minLengthM} m, found ${dropped} shorter; lower the least length or turn the lines`,
      { expected: `stretches of at least ${options.minLengthM} m`, found: `${dropped} shorter`, fix: 'lower the least length or turn the lines', where: area.map((polygon) => polygon.outer) },
    );
  }
  const { widthM } = minimumAreaRectangle(Float64Array.from(area.flatMap((polygon) => [...polygon.outer])));
  return new UseError(
    `lines: none fits: expected room inside the area, found it ${widthM.toFixed(1)} m wide with an inset of ${options.insetM} m and its keep-outs; make the inset or the keep-outs smaller`,
    { expected: 'room inside the area', found: `${widthM.toFixed(1)} m wide, inset ${options.insetM} m`, fix: 'make the inset or the keep-outs smaller', where: area.map((polygon) => polygon.outer) },
  );
}
