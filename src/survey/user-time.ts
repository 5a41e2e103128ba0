import { UseError } from '../base/errors.js';
import { formatUtc, parseUtc } from '../base/time.js';

/** A time as the user gave it. */
export interface UserTime {
  readonly timeS: number;
  /** What it was taken for, where the text did not say; null where it did. */
  readonly said: string | null;
}

const ZONED = /\d\d:?\d\d(?::?\d\d(?:[.,]\d+)?)?\s*(?:Z|[+-]\d\d(?::?\d\d)?)$/i;

/** `UTC+1`, `UTC-3:30`, `UTC`. */
export function zoneName(utcOffsetH: number): string {
  const minutes = Math.round(Math.abs(utcOffsetH) * 60);
  return minutes === 0 ? 'UTC' : `UTC${utcOffsetH > 0 ? '+' : '-'}${Math.floor(minutes / 60)}${minutes % 60 === 0 ? '' : `:${String(minutes % 60).padStart(2, '0')}`}`;
}

/**
 * A time that says which zone it is in: `Z` for UTC, or an offset; without either it is local time where `brief.utcOffsetH` says
 * what that is, and refused where it does not, for a start an hour off can be a different tide.
 * @throws UseError saying what was expected
 */
export function userTime(text: string, option: string, utcOffsetH: number): UserTime {
  const timeS = parseUtc(text.trim());
  if (!Number.isFinite(timeS)) throw new UseError(`${option}: expected a time such as 2026-06-17T08:00Z, found ${JSON.stringify(text)}`, { path: option, expected: 'a time', found: text });
  if (ZONED.test(text.trim())) return { timeS, said: null };
  if (utcOffsetH === 0) {
    throw new UseError(`${option}: ${JSON.stringify(text)} does not say which time it is: add Z for UTC (${formatUtc(timeS).slice(0, 16)}Z) or the zone (${formatUtc(timeS).slice(0, 16)}+01:00), or set brief.utcOffsetH, and times without a zone are local time`, { path: option, fix: `${option} ${formatUtc(timeS).slice(0, 16)}Z` });
  }
  const utcS = timeS - utcOffsetH * 3600;
  return { timeS: utcS, said: `${formatUtc(timeS).slice(0, 16).replace('T', ' ')} is taken as local time, ${zoneName(utcOffsetH)} (brief.utcOffsetH): ${formatUtc(utcS).slice(0, 16).replace('T', ' ')} UTC` };
}
