import type { Run, SortieRunner, Stop } from './sortie-run.js';
import type { SortieTally, TallyRules } from './sortie-tally.js';
import { emptyTally } from './sortie-tally.js';

/** Runs in the order they are to be made, and what one charge gives. */
export interface SplitProblem {
  readonly runs: readonly Run[];
  readonly runner: SortieRunner;
  readonly rules: TallyRules;
  readonly startS: number;
  readonly swapS: number;
  /** Energy a sortie may take, reserve off [Wh], with its own sigma; and how many sigmas to keep clear. */
  readonly usableWh: number;
  readonly batterySigmaWh: number;
  readonly quantile: number;
  /** Whether anything hangs on when the boat leaves: a current that changes, keep-outs by tide. */
  readonly varies: boolean;
}

/** One trip: its runs, and when it leaves, UTC [s]. */
export interface Trip {
  readonly runs: readonly Run[];
  readonly departS: number;
  /** It could have left earlier but for a current or the tide. */
  readonly waited: Stop | null;
  readonly tally: SortieTally;
}

/** A run no trip can make, by itself, whenever it leaves; `needWh` with its margin, for kind `charge`. */
export interface Refused {
  readonly run: Run;
  readonly stop: Stop | { readonly kind: 'charge'; readonly needWh: number };
}

/** Trips that make the runs, a run that is cut or left out told apart. */
export interface SplitRuns {
  readonly trips: readonly Trip[];
  readonly refused: readonly Refused[];
  /** Lines cut, and into how many pieces each. */
  readonly cut: readonly { readonly line: number; readonly pieces: number }[];
}

/** A departure at which a run can be made is looked for so far ahead, by steps [s]: two tides. */
const AHEAD_S = 25 * 3600;
const AHEAD_STEP_S = 600;
/** Pieces of a line are at least so long [m]; more of one line than this are not worth a trip each. */
const LEAST_PIECE_M = 25;
const MOST_PIECES = 60;

/** What a trip needs, with its margin [Wh]. */
export function needWh(problem: Pick<SplitProblem, 'rules' | 'batterySigmaWh' | 'quantile'>, tally: SortieTally): number {
  return tally.energyWh + problem.quantile * Math.hypot(problem.rules.sigmas(tally).energyWh, problem.batterySigmaWh);
}

/** Whether what a tally takes leaves the reserve alone, by the sigmas asked for. */
export function affords(problem: Pick<SplitProblem, 'rules' | 'usableWh' | 'batterySigmaWh' | 'quantile'>, tally: SortieTally): boolean {
  return needWh(problem, tally) <= problem.usableWh;
}

/** A trip that makes runs in order from a time on; null where it cannot, or cannot afford the way home from each of them. */
export function tripFrom(problem: SplitProblem, runs: readonly Run[], departS: number): SortieTally | null {
  const tally = emptyTally();
  let before: Run | null = null;
  let home = tally;
  for (const run of runs) {
    if (problem.runner.go(tally, departS, before, run) !== null) return null;
    home = { ...tally };
    if (problem.runner.go(home, departS, run, null) !== null || !affords(problem, home)) return null;
    before = run;
  }
  return home;
}

/** A trip for one run alone. */
function alone(problem: SplitProblem, run: Run, departS: number): { readonly stop: Refused['stop'] | null; readonly home: SortieTally } {
  const tally = emptyTally();
  const stop = problem.runner.go(tally, departS, null, run) ?? problem.runner.go(tally, departS, run, null);
  if (stop !== null) return { stop, home: tally };
  return { stop: affords(problem, tally) ? null : { kind: 'charge', needWh: needWh(problem, tally) }, home: tally };
}

/** The first departure from a time on at which a run can be made alone, by the current and the tide; NaN where none comes. */
function departureFor(problem: SplitProblem, run: Run, fromS: number): number {
  if (!problem.varies) return NaN;
  for (let s = AHEAD_STEP_S; s <= AHEAD_S; s += AHEAD_STEP_S) {
    const { stop } = alone(problem, run, fromS + s);
    if (stop === null || stop.kind === 'charge') return fromS + s;
  }
  return NaN;
}

/** A run the other way. */
export function reversedRun(run: Run): Run {
  const at = [run.at[6]!, run.at[7]!, run.at[4]!, run.at[5]!, run.at[2]!, run.at[3]!, run.at[0]!, run.at[1]!];
  return { ...run, at, directionRad: run.directionRad + Math.PI, runInM: run.runOutM, runOutM: run.runInM };
}

/**
 * Cuts an order of runs into trips: the fewest there can be in this order, then those that end first.
 *
 * Dynamic programming over where a cut may lie (Beasley 1983, Omega 11, 403-408). A trip's time hangs on when it leaves; of ways
 * to the same cut with as many trips the one that gets there first is kept, which is exact as long as leaving earlier
 * never means arriving later. A trip never waits under way: one whose first run meets a current it cannot beat, or a closed
 * keep-out by tide, leaves later. A run that one charge does not make is cut into pieces that it does; one that cannot be
 * made at all is left out and the rest is planned without it.
 */
export function splitRuns(problem: SplitProblem): SplitRuns {
  const { runner, startS, swapS } = problem;
  const runs: Run[] = [];
  const refused: Refused[] = [];
  const cut: { line: number; pieces: number }[] = [];
  /** Puts a run into the order: as it is, turned, in pieces, or not at all. */
  const settle = (run: Run, departS: number, into: Run[]): void => {
    let one = run;
    let { stop } = alone(problem, one, departS);
    if (stop?.kind === 'current') {
      const other = reversedRun(run);
      const turned = alone(problem, other, departS).stop;
      if (turned === null || turned.kind === 'charge') [one, stop] = [other, turned];
    }
    let atS = departS;
    if (stop?.kind === 'current' || stop?.kind === 'tide') {
      atS = departureFor(problem, one, departS);
      if (Number.isNaN(atS)) {
        refused.push({ run, stop });
        return;
      }
      stop = alone(problem, one, atS).stop;
    }
    if (stop === null) into.push(one);
    else if (stop.kind === 'charge') {
      const { pieces, left } = piecesOf(problem, one, atS);
      for (const piece of left) refused.push({ run: piece, stop });
      if (pieces.length > 0) {
        cut.push({ line: run.number, pieces: pieces.length });
        into.push(...pieces);
      }
    } else refused.push({ run, stop });
  };
  for (const run of problem.runs) settle(run, startS, runs);

  for (;;) {
    const n = runs.length;
    const count = new Int32Array(n + 1).fill(n + 1);
    const readyS = new Float64Array(n + 1).fill(Infinity);
    const from = new Int32Array(n + 1).fill(-1);
    const leavesS = new Float64Array(n + 1).fill(NaN);
    const waited: (Stop | null)[] = Array.from({ length: n + 1 }, () => null);
    const tallies: SortieTally[] = [];
    count[0] = 0;
    readyS[0] = startS;
    let failed = -1;
    for (let i = 0; i < n && failed < 0; i++) {
      if (count[i]! > n) continue;
      let departS = readyS[i]!;
      let held: Stop | null = null;
      const first = alone(problem, runs[i]!, departS).stop;
      if (first !== null) {
        const laterS = first.kind === 'current' || first.kind === 'tide' ? departureFor(problem, runs[i]!, departS) : NaN;
        if (Number.isNaN(laterS) || alone(problem, runs[i]!, laterS).stop !== null) {
          failed = i;
          break;
        }
        held = first as Stop;
        departS = laterS;
      }
      const tally = emptyTally();
      let before: Run | null = null;
      for (let j = i; j < n; j++) {
        const run = runs[j]!;
        if (runner.go(tally, departS, before, run) !== null) break;
        before = run;
        const home = { ...tally };
        if (runner.go(home, departS, run, null) !== null || !affords(problem, home)) break;
        const done = departS + home.timeS + swapS;
        if (count[i]! + 1 < count[j + 1]! || (count[i]! + 1 === count[j + 1]! && done < readyS[j + 1]! - 1e-9)) {
          count[j + 1] = count[i]! + 1;
          readyS[j + 1] = done;
          from[j + 1] = i;
          leavesS[j + 1] = departS;
          waited[j + 1] = held;
          tallies[j + 1] = home;
        }
      }
    }
    if (failed < 0) {
      const trips: Trip[] = [];
      for (let end = n; end > 0; end = from[end]!) trips.unshift({ runs: runs.slice(from[end]!, end), departS: leavesS[end]!, waited: waited[end]!, tally: tallies[end]! });
      return { trips, refused, cut };
    }
    // It could be made from the start, but not when its turn comes: settled anew for then.
    const again: Run[] = [];
    const run = runs[failed]!;
    const stop = alone(problem, run, readyS[failed]!).stop;
    if (run.piece === undefined) settle(run, readyS[failed]!, again);
    else if (stop !== null) refused.push({ run, stop });
    if (again.length === 1 && again[0]!.at.every((value, k) => value === run.at[k])) {
      if (stop !== null) refused.push({ run, stop });
      again.length = 0;
    }
    runs.splice(failed, 1, ...again);
  }
}

/**
 * Pieces of a line, each as long as one charge makes with the way there and back, in the line's own direction; what no charge
 * reaches is left over. Each has a run-in and a run-out as the line has: they lie on the line itself.
 */
function piecesOf(problem: SplitProblem, run: Run, departS: number): { readonly pieces: Run[]; readonly left: Run[] } {
  const [, , startX, startY, endX, endY] = run.at as [number, number, number, number, number, number];
  const ux = Math.cos(run.directionRad);
  const uy = Math.sin(run.directionRad);
  const stretch = (fromM: number, toM: number, piece: number): Run => {
    const [ax, ay] = fromM <= 0 ? [startX, startY] : [startX + ux * fromM, startY + uy * fromM];
    const [bx, by] = toM >= run.lengthM ? [endX, endY] : [startX + ux * toM, startY + uy * toM];
    return { ...run, piece, lengthM: toM - fromM, at: [ax - ux * run.runInM, ay - uy * run.runInM, ax, ay, bx, by, bx + ux * run.runOutM, by + uy * run.runOutM] };
  };
  const can = (fromM: number, toM: number): boolean => alone(problem, stretch(fromM, toM, 0), departS).stop === null;
  const leastM = Math.max(LEAST_PIECE_M, run.lengthM / MOST_PIECES);
  const pieces: Run[] = [];
  const left: Run[] = [];
  let leftFromM = NaN;
  const leave = (toM: number): void => {
    if (!Number.isNaN(leftFromM) && toM > leftFromM) left.push(stretch(leftFromM, toM, 0));
    leftFromM = NaN;
  };
  for (let atM = 0; atM < run.lengthM - 1e-6; ) {
    const soonM = Math.min(run.lengthM, atM + leastM);
    if (!can(atM, soonM)) {
      if (Number.isNaN(leftFromM)) leftFromM = atM;
      atM = soonM;
      continue;
    }
    leave(atM);
    let lo = soonM;
    let hi = run.lengthM;
    if (can(atM, hi)) lo = hi;
    while (hi - lo > 1) {
      const middle = (lo + hi) / 2;
      if (can(atM, middle)) lo = middle;
      else hi = middle;
    }
    // No sliver at the end: the last two share what is left.
    if (lo < run.lengthM && run.lengthM - lo < leastM) lo = Math.max(soonM, run.lengthM - leastM);
    pieces.push(stretch(atM, lo, pieces.length + 1));
    atM = lo;
  }
  leave(run.lengthM);
  return { pieces, left };
}
