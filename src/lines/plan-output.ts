import type { Frame } from '../geo/frame.js';
import type { GeoFeature, GeoRoute, LonLatLine, RoutePoint } from '../geo/features.js';
import { geodesicLengthM } from '../geo/geodesic.js';
import type { LineKind, SurveyLine, Transit } from './line-plan.js';
import { runEnds } from './line-plan.js';

/** What is handed over: a line plan or a fill-in plan. */
export interface RunnablePlan {
  readonly main: readonly SurveyLine[];
  readonly cross: readonly SurveyLine[];
  readonly order: readonly number[];
  readonly transits: readonly Transit[];
}

/** The lines of a plan, in the order they are run. */
export function linesInRunOrder(plan: RunnablePlan): SurveyLine[] {
  return [...plan.cross, ...plan.main].sort((a, b) => a.order - b.order);
}

/** Lines with their ends in degrees and their length on the ellipsoid, in run order: for `writeLinesCsv`. */
export function lonLatLines(plan: RunnablePlan, frame: Frame): LonLatLine[] {
  return linesInRunOrder(plan).map((line) => {
    const [startLatDeg, startLonDeg] = frame.toGeographic(line.startXM, line.startYM);
    const [endLatDeg, endLonDeg] = frame.toGeographic(line.endXM, line.endYM);
    return {
      number: line.number,
      kind: line.kind,
      order: line.order,
      startLatDeg,
      startLonDeg,
      endLatDeg,
      endLonDeg,
      headingDeg: line.headingDeg,
      lengthM: geodesicLengthM(startLatDeg, startLonDeg, endLatDeg, endLonDeg),
    };
  });
}

/**
 * Lines as features in run order, for `writeGeoJson` or `writeKml`: LineStrings from start to end as run, with number,
 * kind, order, headingDeg (0.01 deg), lengthM (on the ellipsoid, 0.01 m), runInM and runOutM (0.01 m).
 */
export function linesToGeoJson(plan: RunnablePlan, frame: Frame): GeoFeature[] {
  const runs = new Map(linesInRunOrder(plan).map(({ number, runInM, runOutM }) => [number, { runInM: Math.floor(runInM * 100) / 100, runOutM: Math.floor(runOutM * 100) / 100 }]));
  return lonLatLines(plan, frame).map((line) => ({
    shape: { kind: 'line', path: Float64Array.of(line.startLonDeg, line.startLatDeg, line.endLonDeg, line.endLatDeg) },
    properties: {
      number: line.number,
      kind: line.kind,
      order: line.order,
      headingDeg: Math.round(line.headingDeg * 100) / 100 === 360 ? 0 : Math.round(line.headingDeg * 100) / 100,
      lengthM: Math.round(line.lengthM * 100) / 100,
      ...runs.get(line.number)!,
    },
  }));
}

const PREFIX: Readonly<Record<LineKind, string>> = { main: '', cross: 'C', 'fill-in': 'F' };

/** A line's name on a route: its number, with C before a cross line's and F before a fill-in line's. */
export function lineName(line: Pick<SurveyLine, 'kind' | 'number'>): string {
  return `${PREFIX[line.kind]}${line.number}`;
}

/**
 * The whole run as one route, for `writeGpx`: for each line its run-in, start, end and run-out, between them the corners
 * of the transit where it goes around a keep-out, each with a name. Run-ins and run-outs of no length are left out.
 */
export function planToRoute(plan: RunnablePlan, frame: Frame, name: string): GeoRoute {
  const points: RoutePoint[] = [];
  const add = (xM: number, yM: number, pointName: string): void => {
    const [latDeg, lonDeg] = frame.toGeographic(xM, yM);
    points.push({ latDeg, lonDeg, name: pointName });
  };
  const corners = (transit: Transit, from: string, to: string): void => {
    for (let i = 2; i + 3 < transit.path.length; i += 2) add(transit.path[i]!, transit.path[i + 1]!, `${from} to ${to}, corner ${i / 2}`);
  };
  const lines = linesInRunOrder(plan);
  const names = new Map(lines.map((line) => [line.number, lineName(line)]));
  const nameOf = (number: number | null): string => (number === null ? 'launch' : (names.get(number) ?? String(number)));
  let next = 0;
  const transitTo = (number: number | null): void => {
    const transit = plan.transits[next];
    if (transit === undefined || transit.toLine !== number) return;
    next++;
    if (transit.fromLine === null && transit.path.length >= 2) add(transit.path[0]!, transit.path[1]!, 'launch');
    corners(transit, nameOf(transit.fromLine), nameOf(transit.toLine));
    if (transit.toLine === null && transit.path.length >= 2) add(transit.path[transit.path.length - 2]!, transit.path[transit.path.length - 1]!, 'launch');
  };
  for (const line of lines) {
    const own = lineName(line);
    const ends = runEnds(line);
    transitTo(line.number);
    if (line.runInM > 0) add(ends.fromXM, ends.fromYM, `${own} run-in`);
    add(line.startXM, line.startYM, `${own} start`);
    add(line.endXM, line.endYM, `${own} end`);
    if (line.runOutM > 0) add(ends.toXM, ends.toYM, `${own} run-out`);
  }
  transitTo(null);
  return { name, points };
}
