import { formatUtcTime, NO_VALUE } from './figures.js';

/** How times stand on the field sheet: local time large, UTC beside it. */
export interface SheetClock {
  readonly offsetS: number;
  /** `UTC+1`, `UTC−3:30`; `UTC` where local time is UTC. */
  readonly zone: string;
  readonly isUtc: boolean;
  /** Local time of day, with `+1 d` where it is not of the sheet's day; a time not known is a dash. */
  local(timeS: number, rounding?: Rounding): string;
  utc(timeS: number, rounding?: Rounding): string;
  /** `10:14 (09:14 UTC)`. */
  both(timeS: number, rounding?: Rounding): string;
  /** Text with ISO times in it, each in local time with UTC beside. */
  inText(text: string): string;
  /** `Wednesday 13 May 2026`, of the sheet's day. */
  readonly day: string;
}

/** To whole minutes; by which way a time errs on the safe side. */
export type Rounding = 'nearest' | 'up' | 'down';

const ROUND = { nearest: Math.round, up: Math.ceil, down: Math.floor } as const;
const DAYS = ['Sunday', 'Monday', 'Tuesday', 'Wednesday', 'Thursday', 'Friday', 'Saturday'];
const MONTHS = ['January', 'February', 'March', 'April', 'May', 'June', 'July', 'August', 'September', 'October', 'November', 'December'];

/**
 * The clock of a sheet whose day is the local day of a time.
 * @throws RangeError for an offset outside -12 to 14 h, or a time that is not one
 */
export function sheetClock(utcOffsetH: number, dayS: number): SheetClock {
  if (!(utcOffsetH >= -12 && utcOffsetH <= 14)) throw new RangeError(`utcOffsetH ${utcOffsetH}: expected -12 to 14`);
  if (!Number.isFinite(dayS)) throw new RangeError(`start ${dayS}: expected a time`);
  const offsetS = Math.round(utcOffsetH * 60) * 60;
  const dayOf = (timeS: number): number => Math.floor((timeS + offsetS) / 86_400);
  const today = dayOf(dayS);
  const minute = (timeS: number, rounding: Rounding): number => ROUND[rounding](Number((timeS / 60).toFixed(3))) * 60;
  const local = (timeS: number, rounding: Rounding = 'nearest'): string => {
    if (!Number.isFinite(timeS)) return NO_VALUE;
    const whole = minute(timeS, rounding);
    const days = dayOf(whole) - today;
    return `${formatUtcTime(whole + offsetS)}${days === 0 ? '' : ` ${days > 0 ? '+' : '\u2212'}${Math.abs(days)} d`}`;
  };
  const utc = (timeS: number, rounding: Rounding = 'nearest'): string => (Number.isFinite(timeS) ? formatUtcTime(minute(timeS, rounding)) : NO_VALUE);
  const isUtc = offsetS === 0;
  const both = (timeS: number, rounding: Rounding = 'nearest'): string => (!Number.isFinite(timeS) ? NO_VALUE : isUtc ? `${local(timeS, rounding)} UTC` : `${local(timeS, rounding)} (${utc(timeS, rounding)} UTC)`);
  const size = Math.abs(offsetS / 60);
  const minutes = size % 60;
  const date = new Date((dayS + offsetS) * 1000);
  return {
    offsetS,
    zone: isUtc ? 'UTC' : `UTC${offsetS > 0 ? '+' : '\u2212'}${Math.floor(size / 60)}${minutes === 0 ? '' : `:${String(minutes).padStart(2, '0')}`}`,
    isUtc,
    local,
    utc,
    both,
    inText: (text) => text.replace(/\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d+)?Z/g, (stamp) => both(Date.parse(stamp) / 1000)),
    day: `${DAYS[date.getUTCDay()]} ${date.getUTCDate()} ${MONTHS[date.getUTCMonth()]} ${date.getUTCFullYear()}`,
  };
}
