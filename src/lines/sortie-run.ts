import type { Polyline } from '../geo/shapes.js';
import type { BoatTurns } from './boat-turns.js';
import { cornersAlongS } from './boat-turns.js';
import { dubinsPath } from './dubins.js';
import type { LegClock } from './leg-time.js';
import type { LineKind } from './line-plan.js';
import type { Leg } from './sortie.js';
import type { SortieTally, TallyRules } from './sortie-tally.js';
import type { TransitNetwork } from './transit-network.js';

/** A line with its run-in and run-out, in one direction. */
export interface Run {
  readonly number: number;
  readonly kind: LineKind;
  /** Start of the run-in, start and end of the line, end of the run-out: [8], in the frame [m]. */
  readonly at: readonly number[];
  /** Counter-clockwise from east [rad]. */
  readonly directionRad: number;
  readonly lengthM: number;
  readonly runInM: number;
  readonly runOutM: number;
}

/** From one place to the next: a way, and what turning at its ends adds. */
interface Link {
  readonly kind: 'turn' | 'transit';
  readonly path: Polyline;
  readonly lengthM: number;
  /** Over the time of the path at the transit speed [s]. */
  readonly turnS: number;
}

/** What sorties are reckoned with. */
export interface SortieGround {
  readonly network: TransitNetwork;
  readonly clock: LegClock;
  readonly turns: BoatTurns;
  readonly rules: TallyRules;
  readonly launch: { readonly xM: number; readonly yM: number };
  readonly lineMps: number;
  readonly transitMps: number;
}

/** Adds runs to a tally and makes their legs; links are kept, since they do not hang on the time. */
export interface SortieRunner {
  /** Goes from the launch point (before null) or from the end of a run along the next, or home (next null). False where there is no way. */
  go(tally: SortieTally, departS: number, before: Run | null, next: Run | null): boolean;
  legs(runs: readonly Run[]): Leg[];
  /** Way from the launch point to a run or from it back, [m]; Infinity where there is none. */
  awayM(run: Run): number;
}

export function createSortieRunner(ground: SortieGround): SortieRunner {
  const { network, clock, turns, rules, launch, lineMps, transitMps } = ground;
  const links = new Map<Run | null, Map<Run | null, Link | null>>();
  const make = (before: Run | null, next: Run | null): Link | null => {
    const ax = before === null ? launch.xM : before.at[6]!;
    const ay = before === null ? launch.yM : before.at[7]!;
    const bx = next === null ? launch.xM : next.at[0]!;
    const by = next === null ? launch.yM : next.at[1]!;
    const way = network.way(ax, ay, bx, by);
    if (way.path.length === 0) return null;
    const path = way.path;
    const n = path.length;
    if (before !== null && next !== null && n === 4) {
      const turn = turns.between(bx - ax, by - ay, before.directionRad, next.directionRad);
      const near = way.lengthM <= 6 * turns.radiusM;
      if (turn.way !== null && near) {
        const curve = dubinsPath(ax, ay, bx, by, before.directionRad, turn.way, turns.radiusM);
        if (isClear(network, curve)) return { kind: 'turn', path: curve, lengthM: turn.way.lengthM, turnS: Math.max(0, turn.timeS - turn.way.lengthM / transitMps) };
        const spin = way.lengthM / transitMps + cornersS(turns, path, before, next);
        return { kind: 'turn', path, lengthM: way.lengthM, turnS: Math.max(0, spin - way.lengthM / transitMps) };
      }
      return { kind: near ? 'turn' : 'transit', path, lengthM: way.lengthM, turnS: Math.max(0, turn.timeS - way.lengthM / transitMps) };
    }
    return { kind: 'transit', path, lengthM: way.lengthM, turnS: cornersS(turns, path, before, next) };
  };
  const linkOf = (before: Run | null, next: Run | null): Link | null => {
    let row = links.get(before);
    if (row === undefined) links.set(before, (row = new Map<Run | null, Link | null>()));
    let link = row.get(next);
    if (link === undefined) row.set(next, (link = make(before, next)));
    return link;
  };
  const straight = (run: Run, from: number): Polyline => Float64Array.of(run.at[2 * from]!, run.at[2 * from + 1]!, run.at[2 * from + 2]!, run.at[2 * from + 3]!);
  const parts = (run: Run): [Leg['kind'], Polyline, number][] => [
    ['run-in', straight(run, 0), run.runInM],
    ['line', straight(run, 1), run.lengthM],
    ['run-out', straight(run, 2), run.runOutM],
  ];
  return {
    awayM: (run) => Math.max(linkOf(null, run)?.lengthM ?? Infinity, linkOf(run, null)?.lengthM ?? Infinity),
    go(tally, departS, before, next) {
      const link = linkOf(before, next);
      if (link === null) return false;
      const add = (path: Polyline, lengthM: number, speedMps: number): void => {
        if (lengthM > 0) rules.addLeg(tally, clock.leg(path, departS + tally.timeS, speedMps), lengthM, speedMps);
      };
      add(link.path, link.lengthM, transitMps);
      if (link.turnS > 0) rules.addTurn(tally, link.turnS, transitMps);
      if (next !== null) for (const [, path, lengthM] of parts(next)) add(path, lengthM, lineMps);
      return tally.timeS < Infinity;
    },
    legs(runs) {
      const out: Leg[] = [];
      const push = (kind: Leg['kind'], line: number | null, path: Polyline, lengthM: number, speedMps: number): void => {
        if (lengthM > 0) out.push({ kind, line, path, lengthM, speedMps });
      };
      let before: Run | null = null;
      for (const run of runs) {
        const link = linkOf(before, run);
        if (link !== null) push(before === null ? 'launch' : link.kind, run.number, link.path, link.lengthM, transitMps);
        for (const [kind, path, lengthM] of parts(run)) push(kind, run.number, path, lengthM, lineMps);
        before = run;
      }
      const home = before === null ? null : linkOf(before, null);
      if (home !== null) push('home', null, home.path, home.lengthM, transitMps);
      return out;
    },
  };
}

function cornersS(turns: BoatTurns, path: Polyline, before: Run | null, next: Run | null): number {
  return cornersAlongS(turns, path, before === null ? null : before.directionRad, next === null ? null : next.directionRad);
}

/** Whether no part of a path meets a keep-out. */
function isClear(network: TransitNetwork, path: Polyline): boolean {
  for (let i = 0; i + 3 < path.length; i += 2) if (network.meets(path[i]!, path[i + 1]!, path[i + 2]!, path[i + 3]!)) return false;
  return true;
}
