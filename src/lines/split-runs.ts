import { UseError } from '../base/errors.js';
import type { Run, SortieRunner } from './sortie-run.js';
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
}

/** Whether what a tally takes leaves the reserve alone, by the sigmas asked for. */
export function affords(problem: Pick<SplitProblem, 'rules' | 'usableWh' | 'batterySigmaWh' | 'quantile'>, tally: SortieTally): boolean {
  const sigma = Math.hypot(problem.rules.sigmas(tally).energyWh, problem.batterySigmaWh);
  return tally.energyWh + problem.quantile * sigma <= problem.usableWh;
}

/**
 * Cuts an order of runs into sorties: the fewest there can be in this order, then those that end first.
 *
 * Dynamic programming over where a cut may lie (Beasley 1983, Omega 11, 403-408). A sortie's time hangs on when it leaves; of ways
 * to the same cut with as many sorties the one that gets there first is kept, which is exact as long as leaving earlier
 * never means arriving later.
 *
 * @throws UseError for a run that one charge does not reach and return from, or that no way leads to
 */
export function splitRuns(problem: SplitProblem): Run[][] {
  const { runs, runner, startS, swapS } = problem;
  const n = runs.length;
  const count = new Int32Array(n + 1).fill(n + 1);
  const readyS = new Float64Array(n + 1).fill(Infinity);
  const from = new Int32Array(n + 1).fill(-1);
  count[0] = 0;
  readyS[0] = startS;
  for (let i = 0; i < n; i++) {
    if (count[i]! > n) continue;
    const departS = readyS[i]!;
    const tally = emptyTally();
    let before: Run | null = null;
    for (let j = i; j < n; j++) {
      const run = runs[j]!;
      const reached = runner.go(tally, departS, before, run);
      before = run;
      const home = { ...tally };
      const back = reached && runner.go(home, departS, run, null);
      if (!back || !affords(problem, home)) {
        if (j === i) throw tooFar(problem, run, home, back);
        break;
      }
      const done = departS + home.timeS + swapS;
      if (count[i]! + 1 < count[j + 1]! || (count[i]! + 1 === count[j + 1]! && done < readyS[j + 1]! - 1e-9)) {
        count[j + 1] = count[i]! + 1;
        readyS[j + 1] = done;
        from[j + 1] = i;
      }
    }
  }
  const blocks: Run[][] = [];
  for (let end = n; end > 0; end = from[end]!) blocks.unshift(runs.slice(from[end]!, end));
  return blocks;
}

function tooFar(problem: SplitProblem, run: Run, tally: SortieTally, back: boolean): UseError {
  const where = [Float64Array.from(run.at.slice(2, 6))];
  if (!back) {
    if (!(tally.timeS < Infinity)) {
      return new UseError(`line ${run.number}: the current on the way is never one the boat can beat: expected slack enough within a day; plan with more speed, or leave the line out`, {
        expected: 'a current the boat can beat', found: 'none within a day', fix: 'plan with more speed, or leave the line out', where,
      });
    }
    return new UseError(`line ${run.number}: no way leads from the launch point to it and back: expected one around the keep-outs; make the keep-outs smaller or move the launch point`, {
      expected: 'a way around the keep-outs', found: 'none', fix: 'make the keep-outs smaller or move the launch point', where,
    });
  }
  const needWh = tally.energyWh + problem.quantile * Math.hypot(problem.rules.sigmas(tally).energyWh, problem.batterySigmaWh);
  return new UseError(
    `line ${run.number}: one charge does not run it and come home: expected at most ${problem.usableWh.toFixed(0)} Wh above the reserve, found ${needWh.toFixed(0)} Wh with its margin; cut the line, launch nearer, go slower or take a larger battery`,
    { expected: `at most ${problem.usableWh.toFixed(0)} Wh`, found: `${needWh.toFixed(0)} Wh`, fix: 'cut the line, launch nearer, go slower or take a larger battery', where },
  );
}
