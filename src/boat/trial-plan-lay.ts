import type { Polyline } from '../geo/shapes.js';
import { wrap360Deg } from '../geo/bearing.js';
import type { PlanBoat } from './trial-plan-boat.js';
import type { PlannedTrial, TrialAim, TrialPlanRequest } from './trial-plan-shape.js';
import type { Straight, TrialWater } from './trial-plan-water.js';

/** What the laying of trials works with and adds to. */
export interface TrialWork {
  readonly request: TrialPlanRequest;
  readonly boat: PlanBoat;
  readonly water: TrialWater;
  readonly positionSigmaM: number;
  readonly clearanceM: number;
  /** Known current: grid direction it sets towards [deg], drift [m/s]. */
  readonly current: { readonly gridDeg: number; readonly speedMps: number } | null;
  /** Drift that room is kept for [m/s]. */
  readonly driftMps: number;
  /** What to add to a grid bearing to get a true one [deg]. */
  readonly convergenceDeg: number;
  readonly wanted: (aim: TrialAim) => number;
  /** The straight that reciprocal runs are made on; others are laid on it where they fit. */
  main: Straight | null;
  readonly trials: Omit<PlannedTrial, 'number'>[];
  readonly shortfalls: { what: string; why: string; remedy: string }[];
  readonly notes: string[];
}

/** Known current below this is none [m/s]. */
export const SLACK_MPS = 0.05;
/** Runs within this of the current's line count as along it: 2 % of it is across [deg]. */
const ALONG_DEG = 10;
/** A straight on the runs' own line is good enough where it is this share of what is needed. */
const GOOD_SHARE = 0.999;

/** Headings along the current [deg]. */
export function alongCurrent(gridDeg: number): number[] {
  return Array.from({ length: 2 * (ALONG_DEG / 2) + 1 }, (_, i) => (((gridDeg - ALONG_DEG + 2 * i) % 180) + 180) % 180);
}

/**
 * A straight for one kind of trial: on the line of the reciprocal runs, else at its heading, else along the current, else
 * anywhere. @returns the longest there is where none is as long as needed; null where nothing is free
 */
export function straightFor(work: TrialWork, neededM: number, roomM: number): Straight | null {
  const { water, main, current } = work;
  if (main !== null) {
    const on = onLine(work, main, neededM, roomM);
    if (on !== null && on.lengthM >= GOOD_SHARE * neededM) return on;
    const beside = water.straight([main.gridDeg], neededM, roomM);
    if (beside !== null && beside.lengthM >= GOOD_SHARE * neededM) return beside;
  }
  if (current !== null) {
    const along = water.straight(alongCurrent(current.gridDeg), neededM, roomM);
    if (along !== null && along.lengthM >= GOOD_SHARE * neededM) return along;
  }
  return water.longest(neededM, roomM);
}

/** The piece of a straight with so much room that is nearest home and as long as needed; else its longest. */
function onLine(work: TrialWork, line: Straight, neededM: number, roomM: number): Straight | null {
  const free = work.water.stretches(line.fromXM, line.fromYM, line.toXM, line.toYM, roomM);
  const ux = (line.toXM - line.fromXM) / line.lengthM;
  const uy = (line.toYM - line.fromYM) / line.lengthM;
  const home = (work.water.homeXM - line.fromXM) * ux + (work.water.homeYM - line.fromYM) * uy;
  let best: { start: number; length: number; away: number } | null = null;
  for (let i = 0; i < free.length; i += 2) {
    const length = Math.min(neededM, free[i + 1]! - free[i]!);
    const start = Math.min(free[i + 1]! - length, Math.max(free[i]!, home - length / 2));
    const away = Math.abs(start + length / 2 - home);
    if (best === null || length > best.length + 1e-6 || (length > best.length - 1e-6 && away < best.away)) best = { start, length, away };
  }
  if (best === null) return null;
  const at = (along: number): [number, number] => [line.fromXM + along * ux, line.fromYM + along * uy];
  const [fromXM, fromYM] = at(best.start);
  const [toXM, toYM] = at(best.start + best.length);
  return { fromXM, fromYM, toXM, toYM, lengthM: best.length, gridDeg: line.gridDeg };
}

/** The straight as a path from the end nearer home. */
export function pathFromHome(work: TrialWork, straight: Straight): Polyline {
  const { homeXM, homeYM } = work.water;
  const { fromXM, fromYM, toXM, toYM } = straight;
  const turned = Math.hypot(toXM - homeXM, toYM - homeYM) < Math.hypot(fromXM - homeXM, fromYM - homeYM) - 1e-9;
  return turned ? Float64Array.of(toXM, toYM, fromXM, fromYM) : Float64Array.of(fromXM, fromYM, toXM, toYM);
}

/** True heading from the first to the second vertex of a path [deg]. */
export function trueHeadingDeg(work: TrialWork, path: Polyline): number {
  return wrap360Deg((Math.atan2(path[2]! - path[0]!, path[3]! - path[1]!) * 180) / Math.PI + work.convergenceDeg);
}

/** Turning about at the end of a pass, by spinning, and lining up again [s]. */
export function aboutS(work: TrialWork): number {
  return 180 / work.boat.spinDegps + 15;
}

/** Energy over a time at a speed [Wh]. */
export function energyWh(work: TrialWork, speedMps: number, durationS: number): number {
  return (work.boat.powerW(speedMps) * durationS) / 3600;
}

export function percent(share: number): string {
  return `${(100 * share).toFixed(share < 0.0995 ? 1 : 0)} %`;
}

/** A manoeuvre with the usual values where it has none of its own. */
export function planned(fields: Pick<PlannedTrial, 'kind' | 'title' | 'command' | 'passes' | 'how' | 'log' | 'why' | 'durationS' | 'energyWh'> & Partial<PlannedTrial>): Omit<PlannedTrial, 'number'> {
  return {
    commandPct: 0,
    speedMps: 0,
    headingDeg: NaN,
    reciprocal: false,
    side: null,
    runUpM: 0,
    lengthM: 0,
    runOutM: 0,
    path: new Float64Array(0),
    centreXM: NaN,
    centreYM: NaN,
    radiusM: NaN,
    roomM: 0,
    wanted95: NaN,
    expected95: NaN,
    ...fields,
  };
}

/** Says so where the accuracy wanted is not to be had with what was laid. */
export function sayIfShort(work: TrialWork, what: string, expected95: number, wanted95: number, remedy: string): void {
  if (expected95 > wanted95 * (1 + 1e-9)) work.shortfalls.push({ what, why: `±${percent(expected95)} is to be expected where ±${percent(wanted95)} is wanted`, remedy });
}
