import { findRuns, seriesOf, type FoundWindow } from './find-runs.js';
import { trialSignals } from './find-signals.js';
import { findSpeedChanges } from './find-speed-changes.js';
import { findTurns } from './find-turns.js';
import { trialOfRows } from './find-window.js';
import type { Trial, TrialKind, TrialLog } from './trial-log.js';

export { trialWindow } from './find-window.js';

/**
 * The trials in a log, found without being told anything: steady straight runs and the series they form, straight legs about
 * them, standing starts, coast-downs, stops astern, turning circles, spins, zig-zags.
 *
 * Orders to the thrusters are used where they are logged, the heading where it is; positions and time alone give all but
 * spins, which leave the positions where they are. A straight stretch at one command is a steady run and, with the settling
 * before it, a straight leg: whether a line was kept on purpose the log does not say. Windows of one kind do not overlap. A
 * gap in the positions ends what it falls into: a run's longer pieces are found, a manoeuvre across a gap is not.
 *
 * One pass of each kind over the rows: time grows with their number.
 *
 * @returns in order of start; none of an empty log, of one without positions or without motion
 */
export function findTrials(log: TrialLog): Trial[] {
  const signals = trialSignals(log);
  if (signals.n < 3) return [];
  const trials: Trial[] = [];
  const add = (kind: TrialKind, { start, end }: FoundWindow, series = -1): void => {
    if (end - start >= 2) trials.push(trialOfRows(log, kind, signals.row[start]!, signals.row[end - 1]! + 1, 'found', series));
  };
  const { circles, spins, zigZags } = findTurns(signals);
  const runs = findRuns(signals, [...circles, ...spins, ...zigZags]);
  const series = seriesOf(signals, runs);
  runs.forEach((run, i) => {
    add('steady-run', run, series[i]);
    if (run.leg !== null) add('straight-leg', run.leg);
  });
  const { starts, coasts, stops } = findSpeedChanges(signals);
  for (const window of apart(starts)) add('standing-start', window);
  for (const window of apart(coasts)) add('coast-down', window);
  for (const window of apart(stops)) add('stop-astern', window);
  for (const window of apart(circles)) add('turning-circle', window);
  for (const window of apart(spins)) add('spin', window);
  for (const window of apart(zigZags)) add('zig-zag', window);
  return trials.sort((a, b) => a.rowStart - b.rowStart || a.kind.localeCompare(b.kind));
}

/** Windows of one kind in order, each begun no earlier than the one before ends. */
function apart(windows: readonly FoundWindow[]): FoundWindow[] {
  const kept: FoundWindow[] = [];
  for (const window of windows.slice().sort((a, b) => a.start - b.start)) {
    const last = kept[kept.length - 1];
    const start = last === undefined ? window.start : Math.max(window.start, last.end);
    if (window.end - start >= 2) kept.push({ start, end: window.end });
  }
  return kept;
}
