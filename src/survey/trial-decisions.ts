import { UseError } from '../base/errors.js';
import { trialWindow } from '../boat/find-window.js';
import { TRIAL_KINDS, type Trial, type TrialLog } from '../boat/trial-log.js';
import type { JournalEntry, TrialDecision } from './summary.js';

export { TRIAL_KINDS };

/** Ids are a kind and a start second. */
const ID = /^[a-z-]+@-?\d{1,12}$/;

/** @throws UseError naming the field */
export function checkTrialDecision(decision: TrialDecision): void {
  const { change, trial, trialKind, startS, endS } = decision;
  if (!['move', 'add', 'drop'].includes(change)) throw new UseError(`change: expected move, add or drop, found ${JSON.stringify(change)}`, { path: 'change' });
  if (typeof trial !== 'string' || !ID.test(trial)) throw new UseError(`trial: expected a kind and a start second, such as spin@1781685123, found ${JSON.stringify(trial)}`, { path: 'trial' });
  if (!TRIAL_KINDS.includes(trialKind)) throw new UseError(`trialKind: expected ${TRIAL_KINDS.join(', ')}, found ${JSON.stringify(trialKind)}`, { path: 'trialKind' });
  if (!(Number.isFinite(startS) && Number.isFinite(endS) && endS > startS)) throw new UseError(`startS and endS: expected UTC seconds, the end after the start, found ${startS} and ${endS}`, { path: 'startS' });
}

/** Trials as they stand: those found with the user's changes. */
export interface DecidedTrials {
  /** In order of start. */
  readonly trials: readonly Trial[];
  /** Found but dropped. */
  readonly dropped: readonly Trial[];
  /** What could not be done as decided, in plain words. */
  readonly notes: readonly string[];
}

/**
 * Found trials with the user's decisions on them, in the order they were made.
 *
 * A moved trial keeps its id, so that a later move finds it and what was said of it holds. A move of a trial that is no longer
 * found stands as one added by hand; a drop of one that is not there does nothing.
 */
export function decideTrials(log: TrialLog, found: readonly Trial[], decisions: readonly JournalEntry[]): DecidedTrials {
  const standing = new Map<string, Trial>();
  for (const trial of found) {
    let { id } = trial;
    // Two of a kind within one second cannot be told apart by the second alone.
    for (let twin = 1; standing.has(id); twin++) id = `${trial.kind}@${Math.floor(trial.startS) + twin}`;
    standing.set(id, { ...trial, id });
  }
  const dropped = new Map<string, Trial>();
  const notes: string[] = [];
  for (const entry of decisions) {
    if (entry.kind !== 'trial') continue;
    const before = standing.get(entry.trial) ?? dropped.get(entry.trial);
    if (entry.change === 'drop') {
      if (before !== undefined) {
        standing.delete(entry.trial);
        dropped.set(entry.trial, before);
      }
      continue;
    }
    try {
      const window = trialWindow(log, entry.trialKind, entry.startS, entry.endS, 'hand');
      standing.set(entry.trial, { ...window, id: entry.trial, series: before?.kind === entry.trialKind ? before.series : window.series });
      dropped.delete(entry.trial);
    } catch (error) {
      if (!(error instanceof RangeError)) throw error;
      notes.push(`trial ${entry.trial}, as drawn in decision ${entry.number}: ${error.message}: left as it was found`);
    }
  }
  const byStart = (trials: Iterable<Trial>): Trial[] => [...trials].sort((a, b) => a.startS - b.startS || a.kind.localeCompare(b.kind) || a.id.localeCompare(b.id));
  return { trials: byStart(standing.values()), dropped: byStart(dropped.values()), notes };
}
