import type { SoundingRef } from '../../survey/summary.js';

/** The columns that say where a sounding came from. Shape of each: [n]. */
export interface Provenance {
  readonly n: number;
  readonly log: ArrayLike<number>;
  readonly record: ArrayLike<number>;
}

/**
 * The selected soundings as ranges of records of their logs: neighbours in a log become one range, and no range covers
 * a sounding that was not selected.
 *
 * @param selected indices of soundings, any order, without repeats
 * @param logIds first 16 hex digits of each log's sha-256, by the number in `log`
 * @throws RangeError where a sounding's log is not known
 */
export function recordRanges(from: Provenance, selected: ArrayLike<number>, logIds: readonly string[]): SoundingRef[] {
  const chosen = new Uint8Array(from.n);
  const touched = new Set<number>();
  for (let k = 0; k < selected.length; k++) {
    const i = selected[k] as number;
    chosen[i] = 1;
    touched.add(from.log[i] as number);
  }
  const ranges: SoundingRef[] = [];
  for (const log of [...touched].sort((a, b) => a - b)) {
    const id = logIds[log];
    if (id === undefined) throw new RangeError(`log ${log}: the manifest lists ${logIds.length} logs`);
    const rows: number[] = [];
    let inOrder = true;
    for (let i = 0; i < from.n; i++) {
      if (from.log[i] !== log) continue;
      const before = rows[rows.length - 1];
      if (before !== undefined && (from.record[before] as number) > (from.record[i] as number)) inOrder = false;
      rows.push(i);
    }
    if (!inOrder) rows.sort((a, b) => (from.record[a] as number) - (from.record[b] as number));
    let start = -1;
    let end = -1;
    for (const i of rows) {
      if (chosen[i] === 1) {
        if (start < 0) start = from.record[i] as number;
        end = (from.record[i] as number) + 1;
      } else if (start >= 0) {
        ranges.push({ log: id, recordStart: start, recordEnd: end });
        start = -1;
      }
    }
    if (start >= 0) ranges.push({ log: id, recordStart: start, recordEnd: end });
  }
  return ranges;
}
