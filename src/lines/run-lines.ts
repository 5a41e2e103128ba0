import { convergenceDeg, gridBearingDeg, wrap360Deg } from '../geo/bearing.js';
import { clipSegmentToPolygons } from '../geo/clip-line.js';
import type { Frame } from '../geo/frame.js';
import { pointPolygonDistanceM } from '../geo/segment.js';
import type { Polygon } from '../geo/shapes.js';
import { constantCurrent } from '../water/current-field.js';
import type { BoatTurns } from './boat-turns.js';
import { boatTurns, cornersAlongS } from './boat-turns.js';
import type { LaidLine } from './lay-lines.js';
import { createLegClock } from './leg-time.js';
import type { FullLineOptions } from './line-options.js';
import type { LineKind, LinePlan, SurveyLine, Transit } from './line-plan.js';
import { runEnds } from './line-plan.js';
import type { OrderEffort } from './run-order.js';
import { orderRuns } from './run-order.js';
import type { TimedProblem } from './timed-links.js';
import { createTimedLinks } from './timed-links.js';
import { orderInTime } from './timed-order.js';
import type { TransitNetwork } from './transit-network.js';

/** Lines to be run, cross lines before main ones. */
export interface RunRequest {
  readonly main: readonly LaidLine[];
  readonly cross: readonly LaidLine[];
  readonly frame: Frame;
  readonly network: TransitNetwork;
  readonly options: Pick<FullLineOptions, 'runInM' | 'runOutM' | 'speedMps' | 'turnS' | 'launch' | 'boat' | 'current' | 'startS'>;
  readonly effort: OrderEffort;
  /** What `main` are: `main` unless said otherwise. */
  readonly kind?: LineKind;
}

/** Lines in order, with their directions, transits, lengths and time. */
export type RunPlan = Pick<LinePlan, 'main' | 'cross' | 'order' | 'transits' | 'lengths' | 'time'>;

/** Where the run of a line begins and ends, for both directions: [fromX, fromY, toX, toY] twice. */
function statesOf(line: LaidLine, runInM: number, runOutM: number): number[] {
  const ux = line.lengthM > 0 ? (line.bx - line.ax) / line.lengthM : 0;
  const uy = line.lengthM > 0 ? (line.by - line.ay) / line.lengthM : 0;
  const inA = Math.min(runInM, line.roomAM);
  const outA = Math.min(runOutM, line.roomAM);
  const inB = Math.min(runInM, line.roomBM);
  const outB = Math.min(runOutM, line.roomBM);
  return [
    line.ax - ux * inA, line.ay - uy * inA, line.bx + ux * outB, line.by + uy * outB,
    line.bx + ux * inB, line.by + uy * inB, line.ax - ux * outA, line.ay - uy * outA,
  ];
}

/** Puts lines in order and counts what that takes. */
export function runInOrder(request: RunRequest): RunPlan {
  const { main, cross, frame, network, options, effort } = request;
  const { launch } = options;
  const home: [number, number] | null = launch === null ? null : [launch.xM, launch.yM];
  const endsOf = (lines: readonly LaidLine[]): Float64Array => Float64Array.from(lines.flatMap((line) => statesOf(line, options.runInM, options.runOutM)));
  const mainEnds = endsOf(main);
  const crossEnds = endsOf(cross);
  const from = (ends: Float64Array, state: number): [number, number] => [ends[4 * state]!, ends[4 * state + 1]!];
  const to = (ends: Float64Array, state: number): [number, number] => [ends[4 * state + 2]!, ends[4 * state + 3]!];

  // Cross lines come first; they should end where the main lines begin, and those begin where they end. So both are put
  // in order once to find that place, and then for good.
  const lastOf = (states: readonly number[], ends: Float64Array): [number, number] | null => (states.length > 0 ? to(ends, states[states.length - 1]!) : home);
  const timing = timingOf(request, main, cross);
  const inOrder = (ends: Float64Array, start: [number, number] | null, finish: [number, number] | null, how: OrderEffort, departS: number): { states: readonly number[]; timeS: number } => {
    if (timing === null) return { states: orderRuns({ ends, network, start, finish, effort: how }).states, timeS: 0 };
    return orderInTime(createTimedLinks({ ends, network, start, finish, ...timing, startS: departS }), how);
  };
  const { startS } = options;
  let crossRun = inOrder(crossEnds, home, null, effort, startS);
  if (crossRun.states.length > 0 && main.length > 0 && effort !== 'drag') {
    const draft = inOrder(mainEnds, lastOf(crossRun.states, crossEnds), home, 'settle', startS + crossRun.timeS).states;
    crossRun = inOrder(crossEnds, home, from(mainEnds, draft[0]!), effort, startS);
  }
  const crossOrder = crossRun.states;
  const mainOrder = inOrder(mainEnds, lastOf(crossOrder, crossEnds), home, effort, startS + crossRun.timeS).states;

  const lines: SurveyLine[] = [];
  const make = (laid: readonly LaidLine[], states: readonly number[], firstNumber: number, firstOrder: number, kind: LineKind): SurveyLine[] => {
    const made = states.map((state, k): SurveyLine => {
      const line = laid[state >> 1]!;
      const forward = (state & 1) === 0;
      const startXM = forward ? line.ax : line.bx;
      const startYM = forward ? line.ay : line.by;
      const endXM = forward ? line.bx : line.ax;
      const endYM = forward ? line.by : line.ay;
      const bearing = gridBearingDeg(startXM, startYM, endXM, endYM);
      return {
        number: firstNumber + (state >> 1),
        kind,
        order: firstOrder + k,
        startXM,
        startYM,
        endXM,
        endYM,
        headingDeg: wrap360Deg(bearing + convergenceDeg(frame, (startXM + endXM) / 2, (startYM + endYM) / 2)),
        lengthM: line.lengthM,
        runInM: Math.min(options.runInM, forward ? line.roomAM : line.roomBM),
        runOutM: Math.min(options.runOutM, forward ? line.roomBM : line.roomAM),
      };
    });
    lines.push(...made);
    return made.slice().sort((a, b) => a.number - b.number);
  };
  const crossLines = make(cross, crossOrder, main.length + 1, 1, 'cross');
  const mainLines = make(main, mainOrder, 1, cross.length + 1, request.kind ?? 'main');

  const transits = transitsBetween(lines, network, launch);
  const sum = (list: readonly SurveyLine[], value: (line: SurveyLine) => number): number => list.reduce((total, line) => total + value(line), 0);
  const mainM = sum(mainLines, (line) => line.lengthM);
  const crossM = sum(crossLines, (line) => line.lengthM);
  const runInOutM = sum(lines, (line) => line.runInM + line.runOutM);
  const transitM = transits.reduce((total, transit) => total + (transit.path.length > 0 ? transit.lengthM : 0), 0);
  const lengths = { mainM, crossM, runInOutM, transitM, totalM: mainM + crossM + runInOutM + transitM, crossShare: mainM > 0 ? crossM / mainM : NaN };
  const made = { main: mainLines, cross: crossLines, order: lines.map((line) => line.number), transits, lengths };
  if (timing !== null) return { ...made, time: timeInCurrent(lines, transits, timing, options.startS) };
  const turns = Math.max(0, lines.length - 1);
  const turnsS = turns * options.turnS;
  return {
    ...made,
    time: {
      mainS: mainM / options.speedMps,
      crossS: crossM / options.speedMps,
      transitS: (runInOutM + transitM) / options.speedMps,
      turns,
      turnsS,
      totalS: (mainM + crossM + runInOutM + transitM) / options.speedMps + turnsS,
    },
  };
}

/** Times are looked at this far ahead: some times what still water takes, at least a tide's half, at most two days [s]. */
const HORIZON_SHARE = 2.5;
const LEAST_HORIZON_S = 2 * 3600;
const MOST_HORIZON_S = 48 * 3600;

/** What times are reckoned with; null where every metre and every turn costs the same, and lengths say it all. */
function timingOf(request: RunRequest, main: readonly LaidLine[], cross: readonly LaidLine[]): RunTiming | null {
  const { boat, current, speedMps, turnS } = request.options;
  const moving = current !== null && current.maxMps > 0 ? current : null;
  if (boat === null && moving === null) return null;
  const lengthM = [...main, ...cross].reduce((sum, line) => sum + line.lengthM + line.roomAM + line.roomBM, 0);
  const stillS = lengthM / speedMps + (main.length + cross.length) * (turnS + 30);
  const horizonS = Math.min(MOST_HORIZON_S, Math.max(LEAST_HORIZON_S, HORIZON_SHARE * stillS));
  return { speedMps, turns: boat === null ? null : boatTurns(boat, speedMps), turnS, current: moving, horizonS };
}

type RunTiming = Pick<TimedProblem, 'speedMps' | 'turns' | 'turnS' | 'current' | 'horizonS'>;

/** The time of lines as they are run from a UTC second on: by the legs themselves, not by quarter hours. */
function timeInCurrent(lines: readonly SurveyLine[], transits: readonly Transit[], timing: RunTiming, startS: number): LinePlan['time'] {
  const { speedMps, turns, turnS } = timing;
  const clock = createLegClock(timing.current ?? constantCurrent(0, 0, 0));
  let timeS = startS;
  const go = (...path: number[]): number => {
    const leg = clock.leg(Float64Array.from(path), timeS, speedMps);
    timeS += leg.waitS + leg.runS;
    return leg.waitS + leg.runS;
  };
  const time = { mainS: 0, crossS: 0, transitS: 0, turns: Math.max(0, lines.length - 1), turnsS: 0, totalS: 0 };
  const directionOf = (line: SurveyLine): number => Math.atan2(line.endYM - line.startYM, line.endXM - line.startXM);
  let next = 0;
  const transitTo = (before: SurveyLine | null, to: SurveyLine | null): void => {
    const transit = transits[next];
    if (transit === undefined || transit.toLine !== (to?.number ?? null)) return;
    next++;
    if (transit.path.length === 0) return;
    time.transitS += go(...transit.path);
    let extraS = before !== null && to !== null ? turnS : 0;
    if (turns !== null) extraS = turnsAlong(turns, transit, before === null ? null : directionOf(before), to === null ? null : directionOf(to), speedMps);
    time.turnsS += extraS;
    timeS += extraS;
  };
  let before: SurveyLine | null = null;
  for (const line of lines) {
    transitTo(before, line);
    const ends = runEnds(line);
    time.transitS += go(ends.fromXM, ends.fromYM, line.startXM, line.startYM);
    const alongS = go(line.startXM, line.startYM, line.endXM, line.endYM);
    if (line.kind === 'cross') time.crossS += alongS;
    else time.mainS += alongS;
    time.transitS += go(line.endXM, line.endYM, ends.toXM, ends.toYM);
    before = line;
  }
  transitTo(before, null);
  time.totalS = timeS - startS;
  return time;
}

/** Time the turns of a transit add to its path [s]. */
function turnsAlong(turns: BoatTurns, transit: Transit, fromRad: number | null, toRad: number | null, speedMps: number): number {
  const { path } = transit;
  if (fromRad !== null && toRad !== null && path.length === 4) {
    return Math.max(0, turns.between(path[2]! - path[0]!, path[3]! - path[1]!, fromRad, toRad).timeS - transit.lengthM / speedMps);
  }
  return cornersAlongS(turns, path, fromRad, toRad);
}

/** The ways from each run to the next, from the launch point and back to it. */
function transitsBetween(lines: readonly SurveyLine[], network: TransitNetwork, launch: { readonly xM: number; readonly yM: number } | null): Transit[] {
  const out: Transit[] = [];
  const add = (fromLine: number | null, toLine: number | null, ax: number, ay: number, bx: number, by: number): void => {
    const way = network.way(ax, ay, bx, by);
    out.push({ fromLine, toLine, path: way.path, lengthM: way.lengthM });
  };
  lines.forEach((line, i) => {
    const ends = runEnds(line);
    if (i === 0) {
      if (launch !== null) add(null, line.number, launch.xM, launch.yM, ends.fromXM, ends.fromYM);
      return;
    }
    const before = lines[i - 1]!;
    const last = runEnds(before);
    add(before.number, line.number, last.toXM, last.toYM, ends.fromXM, ends.fromYM);
  });
  const final = lines[lines.length - 1];
  if (final !== undefined && launch !== null) {
    const ends = runEnds(final);
    add(final.number, null, ends.toXM, ends.toYM, launch.xM, launch.yM);
  }
  return out;
}

/**
 * A note on transit that leaves the area by more than a distance: what lies there is for the crew to know. Null where
 * none does. Looked at in the middle of each stretch outside.
 */
export function outsideNote(transits: readonly Transit[], area: readonly Polygon[], mostM: number): string | null {
  let count = 0;
  let lengthM = 0;
  for (const transit of transits) {
    if (transit.fromLine === null || transit.toLine === null) continue;
    let outsideM = 0;
    for (let i = 0; i + 3 < transit.path.length; i += 2) {
      const ax = transit.path[i]!;
      const ay = transit.path[i + 1]!;
      const bx = transit.path[i + 2]!;
      const by = transit.path[i + 3]!;
      const legM = Math.hypot(bx - ax, by - ay);
      if (!(legM > 0)) continue;
      const inside = clipSegmentToPolygons(area, ax, ay, bx, by);
      const edges = [0, ...inside, legM];
      for (let k = 0; k < edges.length; k += 2) {
        const start = edges[k]!;
        const end = edges[k + 1]!;
        const middle = (start + end) / 2 / legM;
        const x = ax + middle * (bx - ax);
        const y = ay + middle * (by - ay);
        if (end - start > 1e-6 && area.every((polygon) => pointPolygonDistanceM(polygon, x, y) > mostM)) outsideM += end - start;
      }
    }
    if (outsideM > 0) {
      count++;
      lengthM += outsideM;
    }
  }
  if (count === 0) return null;
  return `${count} ${count === 1 ? 'transit leaves' : 'transits leave'} the area by more than ${mostM.toFixed(0)} m, over ${lengthM.toFixed(0)} m in all: see that the water there is clear, or mark it as a keep-out`;
}
