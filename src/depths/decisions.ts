import { reasonCode, REASONS } from './soundings.js';
import type { Soundings } from './soundings.js';

/** A decision by hand over the records [recordStart, recordEnd) of one log. */
export interface SoundingDecision {
  /** Index of the log in the manifest. */
  readonly log: number;
  readonly recordStart: number;
  readonly recordEnd: number;
  readonly outcome: 'set-aside' | 'restore';
}

const BY_HAND = reasonCode('by-hand');
/** What no decision can bring back: a sounding without a place, a depth or a datum. */
const CANNOT_RESTORE = new Set(['no-position', 'position-jump', 'no-depth', 'no-water-level'].map((name) => REASONS.findIndex((reason) => reason.name === name)));

/**
 * What decisions by hand make of the rules' reasons: a later decision overrides an earlier one.
 *
 * Set aside: reason by-hand, whatever the rules said. Restored: good, whatever the rules said, except where the sounding
 * has no position, depth or water level; those keep the rules' reason.
 *
 * @returns the new column `reason`; nothing is changed in place. Shape [n]
 * @throws RangeError for a range that ends before it starts
 */
export function applyDecisions(
  soundings: Pick<Soundings, 'n' | 'log' | 'record' | 'ruleReason'>,
  decisions: readonly SoundingDecision[],
): Uint8Array {
  const { n, log, record, ruleReason } = soundings;
  const reason = Uint8Array.from(ruleReason);
  if (decisions.length === 0) return reason;
  // Rows by log and record, so that a decision touches only its own.
  const rows = Uint32Array.from({ length: n }, (_, i) => i).sort((a, b) => log[a]! - log[b]! || record[a]! - record[b]!);
  const firstRow = (wantedLog: number, wantedRecord: number): number => {
    let low = 0;
    let high = n;
    while (low < high) {
      const middle = (low + high) >> 1;
      const row = rows[middle]!;
      if (log[row]! < wantedLog || (log[row]! === wantedLog && record[row]! < wantedRecord)) low = middle + 1;
      else high = middle;
    }
    return low;
  };
  for (const decision of decisions) {
    if (!(decision.recordEnd >= decision.recordStart)) {
      throw new RangeError(`decision: records ${decision.recordStart} to ${decision.recordEnd}: expected an end not before the start`);
    }
    const end = firstRow(decision.log, decision.recordEnd);
    for (let at = firstRow(decision.log, decision.recordStart); at < end; at++) {
      const row = rows[at]!;
      if (decision.outcome === 'set-aside') reason[row] = BY_HAND;
      else reason[row] = CANNOT_RESTORE.has(ruleReason[row]!) ? ruleReason[row]! : 0;
    }
  }
  return reason;
}
