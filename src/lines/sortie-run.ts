import type { KeepOut } from '../geo/keep-out.js';
import type { Polyline } from '../geo/shapes.js';
import type { BoatTurns } from './boat-turns.js';
import { cornersAlongS } from './boat-turns.js';
import { dubinsPath } from './dubins.js';
import type { LegClock } from './leg-time.js';
import type { LineKind } from './line-plan.js';
import type { Leg } from './sortie.js';
import type { SortieTally, TallyRules } from './sortie-tally.js';
import { emptyTally } from './sortie-tally.js';
import type { TidalNetwork } from './tidal-network.js';
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
  /** Which piece of its line it is, where that is cut. */
  readonly piece?: number;
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
  readonly network: TidalNetwork;
  readonly clock: LegClock;
  readonly turns: BoatTurns;
  readonly rules: TallyRules;
  readonly launch: { readonly xM: number; readonly yM: number };
  readonly lineMps: number;
  readonly transitMps: number;
}

/** Why the boat cannot go on: no way around the keep-outs, a current it cannot beat at that time, a keep-out that is closed then. */
export type Stop = { readonly kind: 'no-way' } | { readonly kind: 'current' } | { readonly kind: 'tide'; readonly keepout: KeepOut; readonly passageS: number } | { readonly kind: 'keep-out' };

/** Adds runs to a tally and makes their legs; links are kept, since they hang on the time only by the keep-outs that are open. */
export interface SortieRunner {
  /** Goes from the launch point (before null) or from the end of a run along the next, or home (next null). Null where that goes; the tally is then more than it was. */
  go(tally: SortieTally, departS: number, before: Run | null, next: Run | null): Stop | null;
  /** The least time from the one along the next can take: straight, in no current [s]. */
  leastS(before: Run | null, next: Run | null): number;
  legs(runs: readonly Run[], departS: number): Leg[];
}

/** Keep-outs by tide that a way leads over stay open for this many times what it takes, and so much more [1], [s]. */
const PASSAGE_TIMES = 1.3;
const PASSAGE_MORE_S = 120;

export function createSortieRunner(ground: SortieGround): SortieRunner {
  const { network: tidal, clock, turns, rules, launch, lineMps, transitMps } = ground;
  const networks = new Map<TransitNetwork, Map<Run | null, Map<Run | null, Link | null>>>();
  const make = (network: TransitNetwork, before: Run | null, next: Run | null): Link | null => {
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
  const linkIn = (network: TransitNetwork, before: Run | null, next: Run | null): Link | null => {
    let links = networks.get(network);
    if (links === undefined) networks.set(network, (links = new Map<Run | null, Map<Run | null, Link | null>>()));
    let row = links.get(before);
    if (row === undefined) links.set(before, (row = new Map<Run | null, Link | null>()));
    let link = row.get(next);
    if (link === undefined) row.set(next, (link = make(network, before, next)));
    return link;
  };
  /** The way at a time: over keep-outs by tide where they stay open until it is surely done, and it is then done in time. */
  const linkAt = (before: Run | null, next: Run | null, departS: number): Link | null => {
    const around = linkIn(tidal.closed, before, next);
    // As long as the straight way takes in still water, and again for as long as the way found takes.
    let lengthS = PASSAGE_TIMES * (straightM(before, next) / transitMps) + PASSAGE_MORE_S;
    for (let tries = 0; tries < 2; tries++) {
      const network = tidal.during(departS, departS + lengthS);
      if (network === tidal.closed) return around;
      const over = linkIn(network, before, next);
      if (over === null || (around !== null && around.lengthM <= over.lengthM + 1e-9)) return around;
      const leg = clock.leg(over.path, departS, transitMps);
      const takesS = leg.waitS + leg.runS + over.turnS;
      if (takesS <= lengthS) return over;
      lengthS = takesS + PASSAGE_MORE_S;
    }
    return around;
  };
  const straightM = (before: Run | null, next: Run | null): number =>
    Math.hypot((next === null ? launch.xM : next.at[0]!) - (before === null ? launch.xM : before.at[6]!), (next === null ? launch.yM : next.at[1]!) - (before === null ? launch.yM : before.at[7]!));
  const wholes = new Map<Run, { readonly path: Polyline; readonly meets: boolean; readonly tidal: boolean }>();
  const wholeOf = (run: Run): { readonly path: Polyline; readonly meets: boolean; readonly tidal: boolean } => {
    let whole = wholes.get(run);
    if (whole === undefined) {
      const path = Float64Array.of(run.at[0]!, run.at[1]!, run.at[6]!, run.at[7]!);
      const isTidal = tidal.shutOn(path, -Infinity, Infinity) !== null;
      const meets = !isTidal && tidal.closed.meets(path[0]!, path[1]!, path[2]!, path[3]!);
      wholes.set(run, (whole = { path, meets, tidal: isTidal }));
    }
    return whole;
  };
  const straight = (run: Run, from: number): Polyline => Float64Array.of(run.at[2 * from]!, run.at[2 * from + 1]!, run.at[2 * from + 2]!, run.at[2 * from + 3]!);
  const parts = (run: Run): [Leg['kind'], Polyline, number][] => [
    ['run-in', straight(run, 0), run.runInM],
    ['line', straight(run, 1), run.lengthM],
    ['run-out', straight(run, 2), run.runOutM],
  ];
  return {
    leastS: (before, next) => straightM(before, next) / transitMps + (next === null ? 0 : (next.runInM + next.lengthM + next.runOutM) / lineMps),
    go(tally, departS, before, next) {
      const link = linkAt(before, next, departS + tally.timeS);
      if (link === null) return { kind: 'no-way' };
      const waitedS = tally.waitS;
      const add = (path: Polyline, lengthM: number, speedMps: number): void => {
        if (lengthM > 0) rules.addLeg(tally, clock.leg(path, departS + tally.timeS, speedMps), lengthM, speedMps);
      };
      add(link.path, link.lengthM, transitMps);
      if (link.turnS > 0) rules.addTurn(tally, link.turnS, transitMps);
      if (next !== null) {
        const whole = wholeOf(next);
        if (whole.meets) return { kind: 'keep-out' };
        const beganS = departS + tally.timeS;
        for (const [, path, lengthM] of parts(next)) add(path, lengthM, lineMps);
        if (whole.tidal && tally.timeS < Infinity) {
          const keepout = tidal.shutOn(whole.path, beganS, departS + tally.timeS);
          if (keepout !== null) return { kind: 'tide', keepout, passageS: departS + tally.timeS - beganS };
        }
      }
      // A boat that cannot beat the current cannot hold against it either: it does not wait under way.
      return tally.timeS < Infinity && tally.waitS === waitedS ? null : { kind: 'current' };
    },
    legs(runs, departS) {
      const out: Leg[] = [];
      const tally = emptyTally();
      const push = (kind: Leg['kind'], line: number | null, path: Polyline, lengthM: number, speedMps: number): void => {
        if (lengthM > 0) out.push({ kind, line, path, lengthM, speedMps });
      };
      let before: Run | null = null;
      for (const run of runs) {
        const link = linkAt(before, run, departS + tally.timeS);
        if (link !== null) push(before === null ? 'launch' : link.kind, run.number, link.path, link.lengthM, transitMps);
        for (const [kind, path, lengthM] of parts(run)) push(kind, run.number, path, lengthM, lineMps);
        this.go(tally, departS, before, run);
        before = run;
      }
      const home = before === null ? null : linkAt(before, null, departS + tally.timeS);
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
