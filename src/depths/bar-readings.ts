import { formatUtc } from '../base/time.js';

/** One bar check as the settings hold it. */
export interface HeldBarCheck {
  /** UTC of its first reading; null where none was written. */
  readonly whenUtc: string | null;
  /** Where its readings count from. */
  readonly from: 'transducer' | 'surface';
  /** One sigma of a plate's depth [m]. */
  readonly sigmaM: number;
  readonly readings: readonly { readonly barM: number; readonly readM: number }[];
}

/** Readings further apart in time than this are of another check [s]. */
const ANOTHER_CHECK_S = 3600;

/**
 * The checks that readings belong to, in the order they were written: one, or one for every hour without a reading.
 *
 * @param rows plate and reading [m]; timeS UTC [s], NaN where none was written
 * @param sigmaM one sigma of a plate's depth [m]
 */
export function barChecksOf(rows: readonly { readonly barM: number; readonly readM: number; readonly timeS: number }[], from: HeldBarCheck['from'], sigmaM: number): HeldBarCheck[] {
  const checks: { whenUtc: string | null; from: HeldBarCheck['from']; sigmaM: number; readings: { barM: number; readM: number }[] }[] = [];
  let lastS = NaN;
  for (const { barM, readM, timeS } of rows) {
    if (checks.length === 0 || timeS - lastS > ANOTHER_CHECK_S) checks.push({ whenUtc: Number.isNaN(timeS) ? null : formatUtc(timeS), from, sigmaM, readings: [] });
    checks[checks.length - 1]!.readings.push({ barM, readM });
    lastS = timeS;
  }
  return checks;
}

/** The checks held with new ones beside them, in the order of time: one given again, by its time, takes the place of the earlier. */
export function withBarChecks(held: readonly HeldBarCheck[], fresh: readonly HeldBarCheck[]): HeldBarCheck[] {
  const kept = held.filter((one) => !fresh.some(({ whenUtc }) => whenUtc === one.whenUtc));
  return [...kept, ...fresh].sort((a, b) => (a.whenUtc ?? '').localeCompare(b.whenUtc ?? ''));
}
