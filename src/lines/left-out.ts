import type { CurrentField } from '../water/current-field.js';
import type { LeftOutLine } from './sortie.js';
import type { Run, Stop } from './sortie-run.js';
import type { Refused, SplitProblem } from './split-runs.js';

/** The current is looked at in so many places of a line. */
const LOOKS = 20;

/** The strongest current along a run at a time [m/s]. */
export function strongestAlongMps(run: Run, current: CurrentField, timeS: number): number {
  const sample = new Float64Array(3);
  const atS = Math.min(current.endS, Math.max(current.startS, timeS));
  let most = 0;
  for (let k = 0; k <= LOOKS; k++) {
    current.at(run.at[0]! + ((run.at[6]! - run.at[0]!) * k) / LOOKS, run.at[1]! + ((run.at[7]! - run.at[1]!) * k) / LOOKS, atS, sample);
    const speed = Math.hypot(sample[0]!, sample[1]!);
    if (speed > most) most = speed;
  }
  return most;
}

/** What holds a sortie back, in words. */
export function stopWords(stop: Stop, run: Run, current: CurrentField, boatMps: number, timeS: number): string {
  if (stop.kind === 'tide') return `a keep-out by tide on line ${run.number} is closed`;
  return `the current on line ${run.number} or the way to it and back, up to ${strongestAlongMps(run, current, timeS).toFixed(2)} m/s, is more than the boat beats at ${boatMps.toFixed(2)} m/s`;
}

/** A run no sortie makes, as it is told. */
export function leftOutLine({ run, stop }: Refused, problem: SplitProblem, current: CurrentField, boatMps: number): LeftOutLine {
  const of = run.piece === undefined ? '' : `${run.lengthM.toFixed(0)} m of it: `;
  const path = run.at.slice(2, 6);
  const plain = (kind: LeftOutLine['kind'], why: string): LeftOutLine => ({ line: run.number, kind, why: `${of}${why}`, path, boatMps: NaN, currentMps: NaN });
  switch (stop.kind) {
    case 'no-way':
      return plain('no-way', 'no way leads from the launch point to it and back around the keep-outs; make the keep-outs smaller or move the launch point');
    case 'keep-out':
      return plain('keep-out', 'it leads into a keep-out; plan the lines again');
    case 'tide':
      return plain('tide', `it leads over a keep-out by tide that is not open for the ${(stop.passageS / 60).toFixed(0)} min it takes within 25 h; leave the lines out there, or plan a start at high water`);
    case 'charge':
      return plain('charge', `the way there and back takes more than one charge: ${stop.needWh.toFixed(0)} Wh with its margin, ${problem.usableWh.toFixed(0)} Wh above the reserve; launch nearer, go slower or take a larger battery`);
    case 'current': {
      const currentMps = strongestAlongMps(run, current, problem.startS);
      const when = problem.varies ? 'and it does not slacken enough within 25 h of the start' : 'and it does not change';
      return { ...plain('current', `the current, up to ${currentMps.toFixed(2)} m/s, is stronger than the boat at ${boatMps.toFixed(2)} m/s on it or on the way there and back, ${when}; plan with more speed, or on another day`), boatMps, currentMps };
    }
  }
}

/** Left-out lines in sentences: those with one reason together, the most lines first. */
export function told(leftOut: readonly LeftOutLine[]): string[] {
  const groups = new Map<string, LeftOutLine[]>();
  for (const one of leftOut) {
    // Figures differ a little from line to line: one sentence with those of the first will do.
    const key = one.kind;
    groups.set(key, [...(groups.get(key) ?? []), one]);
  }
  return [...groups.values()]
    .sort((a, b) => b.length - a.length)
    .map((list) => {
      const numbers = [...new Set(list.map(({ line }) => line))].sort((a, b) => a - b);
      const names = numbers.length > 12 ? `${numbers.slice(0, 12).join(', ')} and ${numbers.length - 12} more` : numbers.join(', ');
      const worst = list.reduce((most, one) => (one.currentMps > most.currentMps ? one : most));
      return `${numbers.length === 1 ? 'line' : 'lines'} ${names} ${numbers.length === 1 ? 'is' : 'are'} left out: ${worst.why}`;
    });
}
