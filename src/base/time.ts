/**
 * UTC and the civil calendar. A time is a number of seconds since 1970-01-01T00:00:00Z without leap seconds, as POSIX
 * counts them. The calendar is the proleptic Gregorian one.
 */

export const DAY_S = 86_400;

/** A date of the civil calendar: month 1..12, day 1..31. */
export interface CivilDate {
  readonly year: number;
  readonly month: number;
  readonly day: number;
}

/**
 * Days since 1970-01-01 of a civil date.
 *
 * @throws RangeError for a month or day that the calendar does not have
 *
 * Source: the 400-year era method, common practice; held against the platform's own calendar in the tests.
 */
export function daysFromCivil(year: number, month: number, day: number): number {
  if (!isCivilDate(year, month, day)) throw new RangeError(`date ${year}-${month}-${day}: expected a day of the calendar`);
  return countDays(year, month, day);
}

/** Whether the calendar has this date. */
export function isCivilDate(year: number, month: number, day: number): boolean {
  return (
    Number.isInteger(year) &&
    Number.isInteger(month) &&
    Number.isInteger(day) &&
    month >= 1 &&
    month <= 12 &&
    day >= 1 &&
    day <= daysInMonth(year, month)
  );
}

/** How many days a month has; month 1..12. */
export function daysInMonth(year: number, month: number): number {
  if (month === 2) return (year % 4 === 0 && year % 100 !== 0) || year % 400 === 0 ? 29 : 28;
  return month === 4 || month === 6 || month === 9 || month === 11 ? 30 : 31;
}

/**
 * The civil date of a number of days since 1970-01-01.
 * @throws RangeError unless days is a whole number
 */
export function civilFromDays(days: number): CivilDate {
  if (!Number.isInteger(days)) throw new RangeError(`days ${days}: expected a whole number`);
  // The year of the method starts on 1 March, so that the leap day is the last of a year. 719 468 days lie before 1970.
  const shifted = days + 719_468;
  const era = Math.floor(shifted / 146_097);
  const dayOfEra = shifted - era * 146_097;
  const yearOfEra = Math.floor(
    (dayOfEra - Math.floor(dayOfEra / 1460) + Math.floor(dayOfEra / 36_524) - Math.floor(dayOfEra / 146_096)) / 365,
  );
  const dayOfYear = dayOfEra - (365 * yearOfEra + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100));
  const marchMonth = Math.floor((5 * dayOfYear + 2) / 153);
  const month = marchMonth < 10 ? marchMonth + 3 : marchMonth - 9;
  return {
    year: yearOfEra + era * 400 + (month <= 2 ? 1 : 0),
    month,
    day: dayOfYear - Math.floor((153 * marchMonth + 2) / 5) + 1,
  };
}

/** UTC seconds of a civil date and a time of day in seconds. Throws as `daysFromCivil`. */
export function utcSeconds(year: number, month: number, day: number, secondOfDay = 0): number {
  return daysFromCivil(year, month, day) * DAY_S + secondOfDay;
}

const EXTENDED =
  /^([+-]?\d{4})-(\d{2})-(\d{2})(?:[Tt ](\d{2}):(\d{2})(?::(\d{2})(?:[.,](\d+))?)?\s?(Z|z|[+-]\d{2}(?::?\d{2})?)?)?$/;
const BASIC = /^(\d{4})(\d{2})(\d{2})(?:[Tt](\d{2})(\d{2})(?:(\d{2})(?:[.,](\d+))?)?(Z|z|[+-]\d{2}(?::?\d{2})?)?)?$/;

/**
 * Reads an ISO 8601 date and time, extended (`2026-05-04T09:14:02.5Z`) or basic (`20260504T091402Z`).
 *
 * A space may stand for the `T`; seconds may be absent; the fraction may follow a point or a comma; a date alone is its
 * midnight. A zone offset is taken off; without one the time is UTC, as all times are here.
 *
 * @returns UTC seconds since 1970; NaN where the text is not such a time or the calendar does not have it. 24:00:00 is the
 *   next midnight; a 60th second is the first of the next minute.
 *
 * Source: ISO 8601-1:2019, 5.2 to 5.4.
 */
export function parseUtc(text: string): number {
  const trimmed = text.trim();
  const match = EXTENDED.exec(trimmed) ?? BASIC.exec(trimmed);
  if (match === null) return NaN;
  const year = Number(match[1]);
  const month = Number(match[2]);
  const day = Number(match[3]);
  if (!isCivilDate(year, month, day)) return NaN;
  const hour = Number(match[4] ?? 0);
  const minute = Number(match[5] ?? 0);
  const second = Number(match[6] ?? 0);
  const fraction = match[7] === undefined ? 0 : Number(`0.${match[7]}`);
  if (minute > 59 || second > 60 || hour > 24 || (hour === 24 && minute + second + fraction > 0)) return NaN;
  const offsetS = zoneOffsetS(match[8]);
  return countDays(year, month, day) * DAY_S + hour * 3600 + minute * 60 + second - offsetS + fraction;
}

/**
 * Writes a time as ISO 8601 in UTC, e.g. `2026-05-04T09:14:02Z`.
 *
 * @param timeS UTC seconds since 1970
 * @param decimals digits of the second after the point, 0..6; rounded to nearest, carried into the minute and the day
 * @returns the text; empty for NaN
 * @throws RangeError outside years 0..9999 or for other decimals
 */
export function formatUtc(timeS: number, decimals = 0): string {
  if (Number.isNaN(timeS)) return '';
  if (!Number.isInteger(decimals) || decimals < 0 || decimals > 6) throw new RangeError(`decimals ${decimals}: expected 0 to 6`);
  const unit = 10 ** decimals;
  // Whole seconds and the fraction are rounded apart: timeS * 1e6 would lose the last digits.
  let wholeS = Math.floor(timeS);
  let units = Math.round((timeS - wholeS) * unit);
  if (units === unit) {
    wholeS += 1;
    units = 0;
  }
  if (wholeS !== heldSecondS) {
    heldSecond = secondText(wholeS, timeS);
    heldSecondS = wholeS;
  }
  const fraction = decimals === 0 ? '' : `.${String(units).padStart(decimals, '0')}`;
  return `${heldSecond}${fraction}Z`;
}

/** The second written last: long columns of times stay within one for many rows. */
let heldSecondS = NaN;
let heldSecond = '';

function secondText(wholeS: number, timeS: number): string {
  const days = Math.floor(wholeS / DAY_S);
  if (!(days >= -719_528 && days <= 2_932_896)) throw new RangeError(`timeS ${timeS}: expected a time in years 0 to 9999`);
  const { year, month, day } = civilFromDays(days);
  const secondOfDay = wholeS - days * DAY_S;
  const two = (value: number): string => String(value).padStart(2, '0');
  const clock = `${two(Math.floor(secondOfDay / 3600))}:${two(Math.floor(secondOfDay / 60) % 60)}:${two(secondOfDay % 60)}`;
  return `${String(year).padStart(4, '0')}-${two(month)}-${two(day)}T${clock}`;
}

/** Writes the UTC date alone, e.g. `2026-05-04`; empty for NaN. Throws as `formatUtc`. */
export function formatUtcDate(timeS: number): string {
  return formatUtc(Number.isNaN(timeS) ? timeS : Math.floor(timeS)).slice(0, 10);
}

function zoneOffsetS(zone: string | undefined): number {
  if (zone === undefined || zone === 'Z' || zone === 'z') return 0;
  const sign = zone.startsWith('-') ? -1 : 1;
  const hours = Number(zone.slice(1, 3));
  const minutes = zone.length > 3 ? Number(zone.slice(-2)) : 0;
  return hours > 23 || minutes > 59 ? NaN : sign * (hours * 3600 + minutes * 60);
}

function countDays(year: number, month: number, day: number): number {
  const marchYear = month <= 2 ? year - 1 : year;
  const era = Math.floor(marchYear / 400);
  const yearOfEra = marchYear - era * 400;
  const dayOfYear = Math.floor((153 * (month > 2 ? month - 3 : month + 9) + 2) / 5) + day - 1;
  const dayOfEra = yearOfEra * 365 + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100) + dayOfYear;
  return era * 146_097 + dayOfEra - 719_468;
}
