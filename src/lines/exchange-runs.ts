import type { Run } from './sortie-run.js';
import type { SplitProblem, Trip } from './split-runs.js';
import { reversedRun, tripFrom } from './split-runs.js';
import { emptyTally } from './sortie-tally.js';

/** Times of legs are kept by this much of when they are begun [s]: a tidal stream changes little in it. */
const BIN_S = 1800;
/** A change must save this much [s]. */
const GAIN_S = 1;
/** Looks at a changed trip, at most: what bounds the time this takes. */
const MOST_LOOKS = 400_000;
/** Changed trips reckoned leg by leg, times their runs, at most. */
const MOST_STEPS = 60_000;

/**
 * Trips made shorter: runs turned round, parts of a trip turned round or moved within it, runs moved to another trip, runs of
 * two trips exchanged, as long as that saves time. Each trip keeps the rule of the battery: home from the end of each of its
 * runs with the reserve untouched, by the sigmas asked for. Trips that leave later are reckoned for then.
 *
 * Changes are weighed by times of single legs first, and those that promise something by the trips as they would be run.
 * Source: exchanges of Or (1976) and Croes (1958), between trips of Savelsbergh (1992), ORSA J. Computing 4(2), 146-154.
 *
 * @returns trips, none empty, that end no later than those given
 */
export function exchangeRuns(problem: SplitProblem, given: readonly Trip[]): readonly Trip[] {
  const { runner, startS, swapS } = problem;
  if (given.length === 0) return given;
  let looks = MOST_LOOKS;
  let steps = MOST_STEPS;
  const ids = new Map<Run | null, number>([[null, 0]]);
  const turned = new Map<Run, Run>();
  const idOf = (run: Run | null): number => {
    let id = ids.get(run);
    if (id === undefined) ids.set(run, (id = ids.size));
    return id;
  };
  const turn = (run: Run): Run => {
    let other = turned.get(run);
    if (other === undefined) {
      other = reversedRun(run);
      turned.set(run, other);
      turned.set(other, run);
    }
    return other;
  };
  const kept = new Map<number, number>();
  /** From the one along the next, begun about then [s]; Infinity where it cannot be. */
  const legS = (before: Run | null, next: Run | null, atS: number): number => {
    const bin = problem.varies ? Math.floor((atS - startS) / BIN_S) : 0;
    const key = (bin * 65_536 + idOf(before)) * 65_536 + idOf(next);
    let value = kept.get(key);
    if (value === undefined) {
      const tally = emptyTally();
      const stop = runner.go(tally, problem.varies ? startS + (bin + 0.5) * BIN_S : startS, before, next);
      kept.set(key, (value = stop === null ? tally.timeS : Infinity));
    }
    return value;
  };
  /** How long a trip takes by single legs; Infinity as soon as it is more than mostS. */
  const aboutS = (runs: readonly Run[], departS: number, mostS: number): number => {
    looks--;
    if (runs.length === 0) return -swapS;
    if (!problem.varies) {
      // By the straight ways first: never more than the truth.
      let least = 0;
      for (let i = 0; i <= runs.length; i++) least += runner.leastS(i > 0 ? runs[i - 1]! : null, runs[i] ?? null);
      if (least > mostS) return Infinity;
    }
    let timeS = 0;
    for (let i = 0; i <= runs.length && timeS <= mostS; i++) timeS += legS(i > 0 ? runs[i - 1]! : null, runs[i] ?? null, departS + timeS);
    return timeS <= mostS ? timeS : Infinity;
  };

  let trips = given.slice();
  /** The trips with some of them changed, all reckoned anew from the first changed on; null where one does not go. */
  const remade = (changes: ReadonlyMap<number, readonly Run[]>): Trip[] | null => {
    const first = Math.min(...changes.keys());
    const out = trips.slice(0, first);
    let readyS = first === 0 ? startS : out[first - 1]!.departS + out[first - 1]!.tally.timeS + swapS;
    for (let k = first; k < trips.length; k++) {
      const trip = trips[k]!;
      const runs = changes.get(k) ?? trip.runs;
      if (runs.length === 0) continue;
      // One that waits for the current or the tide waits on; unchanged ones that do not hang on the time stay as they are.
      const departS = trip.waited === null ? readyS : Math.max(readyS, trip.departS);
      if (!problem.varies && !changes.has(k)) out.push({ ...trip, departS });
      else {
        steps -= runs.length + 1;
        const tally = tripFrom(problem, runs, departS);
        if (tally === null) return null;
        out.push({ ...trip, runs, departS, tally });
      }
      const last = out[out.length - 1]!;
      readyS = last.departS + last.tally.timeS + swapS;
    }
    return out;
  };
  const endOf = (list: readonly Trip[]): number => (list.length === 0 ? startS : list[list.length - 1]!.departS + list[list.length - 1]!.tally.timeS);
  const underWay = (list: readonly Trip[]): number => list.reduce((sum, trip) => sum + trip.tally.timeS, 0);
  const accept = (changes: ReadonlyMap<number, readonly Run[]>): boolean => {
    const made = remade(changes);
    if (made === null || !(endOf(made) <= endOf(trips) + 1e-6) || !(underWay(made) + swapS * made.length < underWay(trips) + swapS * trips.length - GAIN_S)) return false;
    trips = made;
    return true;
  };
  const busy = (): boolean => looks > 0 && steps > 0;

  /** Parts of one trip turned round, and up to three runs moved elsewhere in it. */
  const within = (k: number): boolean => {
    for (let i = 0; i < trips[k]!.runs.length && busy(); i++) {
      for (let j = i; j < trips[k]!.runs.length && busy(); j++) {
        const { runs, departS, tally } = trips[k]!;
        const part = runs.slice(i, j + 1).reverse().map(turn);
        const changed = [...runs.slice(0, i), ...part, ...runs.slice(j + 1)];
        if (aboutS(changed, departS, tally.timeS - GAIN_S) < Infinity && accept(new Map([[k, changed]]))) return true;
        if (j - i > 2) continue;
        const rest = [...runs.slice(0, i), ...runs.slice(j + 1)];
        const own = runs.slice(i, j + 1);
        for (let at = 0; at <= rest.length && busy(); at++) {
          for (const placed of [own, part]) {
            if (at === i && placed === own) continue;
            const moved = [...rest.slice(0, at), ...placed, ...rest.slice(at)];
            if (aboutS(moved, departS, tally.timeS - GAIN_S) < Infinity && accept(new Map([[k, moved]]))) return true;
          }
        }
      }
    }
    return false;
  };
  /** A run, or two, moved from one trip to another; or one of each exchanged. */
  const between = (a: number, b: number): boolean => {
    const mostS = (): number => trips[a]!.tally.timeS + trips[b]!.tally.timeS - GAIN_S;
    const promises = (inA: readonly Run[], inB: readonly Run[]): boolean => {
      const first = aboutS(inA, trips[a]!.departS, mostS());
      return first < Infinity && aboutS(inB, trips[b]!.departS, mostS() - first) < Infinity;
    };
    for (let size = 1; size <= 2; size++) {
      for (let i = 0; i + size <= trips[a]!.runs.length && busy(); i++) {
        const [from, to] = [trips[a]!.runs, trips[b]!.runs];
        const own = from.slice(i, i + size);
        const rest = [...from.slice(0, i), ...from.slice(i + size)];
        for (let at = 0; at <= to.length && busy(); at++) {
          for (const placed of [own, own.slice().reverse().map(turn)]) {
            const into = [...to.slice(0, at), ...placed, ...to.slice(at)];
            if (promises(rest, into) && accept(new Map([[a, rest], [b, into]]))) return true;
          }
        }
      }
    }
    if (a > b) return false;
    for (let i = 0; i < trips[a]!.runs.length && busy(); i++) {
      for (let j = 0; j < trips[b]!.runs.length && busy(); j++) {
        const [inA, inB] = [trips[a]!.runs, trips[b]!.runs];
        for (const toA of [inB[j]!, turn(inB[j]!)]) {
          for (const toB of [inA[i]!, turn(inA[i]!)]) {
            const changedA = [...inA.slice(0, i), toA, ...inA.slice(i + 1)];
            const changedB = [...inB.slice(0, j), toB, ...inB.slice(j + 1)];
            if (promises(changedA, changedB) && accept(new Map([[a, changedA], [b, changedB]]))) return true;
          }
        }
      }
    }
    return false;
  };

  for (let improved = true; improved && busy(); ) {
    improved = false;
    for (let a = 0; a < trips.length && busy(); a++) {
      while (a < trips.length && busy() && within(a)) improved = true;
      for (let b = 0; b < trips.length && busy(); b++) {
        if (a === b || a >= trips.length) continue;
        while (a < trips.length && b < trips.length && busy() && between(a, b)) improved = true;
      }
    }
  }
  return trips;
}
