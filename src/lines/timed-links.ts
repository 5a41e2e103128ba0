import type { Polyline } from '../geo/shapes.js';
import type { CurrentField } from '../water/current-field.js';
import type { BoatTurns } from './boat-turns.js';
import { cornersAlongS } from './boat-turns.js';
import type { LegClock } from './leg-time.js';
import { createLegClock } from './leg-time.js';
import type { OrderCosts } from './run-order.js';
import type { TransitNetwork } from './transit-network.js';

/** Lines to be put in order by the time they take. States as in OrderProblem. */
export interface TimedProblem {
  /** [2 n * 4]: for each state where its run begins and ends. */
  readonly ends: Float64Array;
  readonly network: TransitNetwork;
  readonly start: readonly [number, number] | null;
  readonly finish: readonly [number, number] | null;
  /** Through the water [m/s]. */
  readonly speedMps: number;
  /** null: every change of lines costs `turnS`. */
  readonly turns: BoatTurns | null;
  readonly turnS: number;
  /** null: still water. */
  readonly current: CurrentField | null;
  /** UTC second the boat leaves, and how far ahead times are looked at [s]. */
  readonly startS: number;
  readonly horizonS: number;
}

/** Times from state to state, by when the boat leaves. START is 2 n, FINISH 2 n + 1. */
export interface TimedLinks {
  readonly n: number;
  readonly START: number;
  readonly FINISH: number;
  /** From the end of s to the beginning of t, the turn counted, leaving at a UTC second [s]. Infinity where there is no way or the current is never beaten. */
  linkS(s: number, t: number, departS: number): number;
  /** Along t. */
  runS(t: number, departS: number): number;
  /** From s along t: link and run. */
  stepS(s: number, t: number, departS: number): number;
  /** Never more than stepS, whenever the boat leaves. */
  leastS(s: number, t: number): number;
  /** Where state s ends and where t begins; NaN for anywhere. */
  place(s: number, end: 'from' | 'to'): readonly [number, number];
  /** Times that times are kept at: first, step and count. */
  readonly bins: { readonly startS: number; readonly stepS: number; readonly count: number };
  /** Whether times depend on when the boat leaves. */
  readonly varies: boolean;
  readonly problem: TimedProblem;
}

/** Times are reckoned at every so many seconds and taken straight between: a tidal stream changes little in a quarter of an hour. */
const BIN_S = 900;
const MOST_BINS = 160;
/** Up to this many states rows of times are looked up in a table, by place. */
const TABLE_WIDTH = 400;

/**
 * Times between lines in a current that changes, by boat's turns, around keep-outs; reckoned as they are asked for and kept.
 *
 * Straight between quarter hours, an arrival is never earlier for leaving later as long as it is not at those: who leaves first may wait.
 */
export function createTimedLinks(problem: TimedProblem): TimedLinks {
  const { ends, network, start, finish, speedMps, turns, turnS, current, startS } = problem;
  const n = ends.length / 8;
  const START = 2 * n;
  const FINISH = 2 * n + 1;
  const width = 2 * n + 2;
  const clock: LegClock | null = current === null || current.maxMps === 0 ? null : createLegClock(current);
  const varies = clock !== null && isChanging(current!, startS);
  const count = varies ? Math.min(MOST_BINS, Math.max(2, Math.ceil(problem.horizonS / BIN_S) + 1)) : 1;
  const stepS = varies ? Math.max(BIN_S, problem.horizonS / (count - 1)) : 1;
  const directions = new Float64Array(2 * n);
  for (let s = 0; s < 2 * n; s++) directions[s] = Math.atan2(ends[4 * s + 3]! - ends[4 * s + 1]!, ends[4 * s + 2]! - ends[4 * s]!);
  const from = (t: number): [number, number] => (t === FINISH ? ((finish ?? [NaN, NaN]) as [number, number]) : [ends[4 * t]!, ends[4 * t + 1]!]);
  const to = (s: number): [number, number] => (s === START ? ((start ?? [NaN, NaN]) as [number, number]) : [ends[4 * s + 2]!, ends[4 * s + 3]!]);
  const fastestMps = speedMps + (current?.maxMps ?? 0);

  interface Way {
    readonly path: Polyline;
    readonly lengthM: number;
    /** Time the turns add to the path's own [s]. */
    readonly extraS: number;
  }
  const ways = new Map<number, Way | null>();
  const wayOf = (s: number, t: number): Way | null => {
    const key = s * width + t;
    let way = ways.get(key);
    if (way === undefined) ways.set(key, (way = makeWay(s, t)));
    return way;
  };
  const makeWay = (s: number, t: number): Way | null => {
    const [ax, ay] = to(s);
    const [bx, by] = from(t);
    if (Number.isNaN(ax) || Number.isNaN(bx)) return { path: new Float64Array(0), lengthM: 0, extraS: 0 };
    const { path, lengthM } = network.way(ax, ay, bx, by);
    if (path.length === 0) return null;
    const between = s !== START && t !== FINISH;
    if (turns === null) return { path, lengthM, extraS: between ? turnS : 0 };
    if (between && path.length === 4) return { path, lengthM, extraS: Math.max(0, turns.between(bx - ax, by - ay, directions[s]!, directions[t]!).timeS - lengthM / speedMps) };
    const extraS = cornersAlongS(turns, path, s === START ? null : directions[s]!, t === FINISH ? null : directions[t]!);
    return { path, lengthM, extraS };
  };

  const table: (Float64Array | undefined)[] | null = width <= TABLE_WIDTH ? Array.from({ length: width * width + width }, () => undefined) : null;
  const kept = new Map<number, Float64Array>();
  const timeAt = (key: number, departS: number, make: (atS: number) => number): number => {
    let row = table === null ? kept.get(key) : table[key];
    if (row === undefined) {
      row = new Float64Array(count).fill(NaN);
      if (table === null) kept.set(key, row);
      else table[key] = row;
    }
    const binOf = (k: number): number => {
      let value = row[k]!;
      if (Number.isNaN(value)) {
        value = make(startS + k * stepS);
        row[k] = value;
      }
      return value;
    };
    if (count === 1) return binOf(0);
    const at = Math.min(count - 1, Math.max(0, (departS - startS) / stepS));
    const k = Math.min(count - 2, Math.floor(at));
    const share = at - k;
    const low = binOf(k);
    if (share === 0) return low;
    const high = binOf(k + 1);
    return low === Infinity || high === Infinity ? Infinity : low + share * (high - low);
  };
  const legS = (path: Polyline, departS: number): number => {
    const leg = clock!.leg(path, departS, speedMps);
    return leg.waitS + leg.runS;
  };
  const straights: (Polyline | undefined)[] = [];
  const runLengthM = (t: number): number => Math.hypot(ends[4 * t + 2]! - ends[4 * t]!, ends[4 * t + 3]! - ends[4 * t + 1]!);
  const linkS = (s: number, t: number, departS: number): number => {
    if (clock === null) {
      const way = wayOf(s, t);
      return way === null ? Infinity : way.lengthM / speedMps + way.extraS;
    }
    return timeAt(s * width + t, departS, (atS) => {
      const way = wayOf(s, t);
      return way === null ? Infinity : legS(way.path, atS) + way.extraS;
    });
  };
  const runS = (t: number, departS: number): number => {
    if (t === FINISH) return 0;
    if (clock === null) return runLengthM(t) / speedMps;
    return timeAt(width * width + t, departS, (atS) => legS((straights[t] ??= ends.slice(4 * t, 4 * t + 4)), atS));
  };
  return {
    n,
    START,
    FINISH,
    linkS,
    runS,
    stepS(s, t, departS) {
      const link = linkS(s, t, departS);
      return link === Infinity ? Infinity : link + runS(t, departS + link);
    },
    leastS(s, t) {
      const [ax, ay] = to(s);
      const [bx, by] = from(t);
      const straight = Math.hypot(bx - ax, by - ay);
      return ((Number.isNaN(straight) ? 0 : straight) + (t === FINISH ? 0 : runLengthM(t))) / fastestMps;
    },
    place: (s, end) => (end === 'from' ? from(s) : to(s)),
    bins: { startS, stepS, count },
    varies,
    problem,
  };
}

/** Whether a field is anything but the same always: told from the times it is known for, and from the two days about a time. */
export function isChanging(current: CurrentField, aboutS: number): boolean {
  return Number.isFinite(current.startS) || Number.isFinite(current.endS) || !isSteady(current, aboutS);
}

function isSteady(current: CurrentField, aboutS: number): boolean {
  const a = new Float64Array(3);
  const b = new Float64Array(3);
  current.at(0, 0, aboutS, a);
  for (let k = -24; k <= 24; k++) {
    current.at(0, 0, aboutS + k * 3600 + 137, b);
    if (a[0] !== b[0] || a[1] !== b[1]) return false;
  }
  return true;
}

/** The links as they are at one moment, for a search that does not know of time. */
export function costsAt(links: TimedLinks, timeS: number): OrderCosts {
  const { ends, current } = links.problem;
  let symmetric = current === null || current.maxMps === 0;
  for (let s = 0; s < 2 * links.n && symmetric; s++) symmetric = ends[4 * s] === ends[4 * (s ^ 1) + 2] && ends[4 * s + 1] === ends[4 * (s ^ 1) + 3];
  if (!symmetric) return { cost: (s, t) => links.stepS(s, t, timeS), least: links.leastS, symmetric };
  // Runs take the same either way and whenever: left out, so that the way back costs the same as the way there.
  const straightS = (s: number, t: number): number => {
    const [ax, ay] = links.place(s, 'to');
    const [bx, by] = links.place(t, 'from');
    const straight = Math.hypot(bx - ax, by - ay) / links.problem.speedMps;
    return Number.isNaN(straight) ? 0 : straight;
  };
  return { cost: (s, t) => links.linkS(s, t, timeS), least: straightS, symmetric };
}
