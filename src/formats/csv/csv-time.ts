import { dayNumber } from '../nmea/fields.js';

/** Order of the parts of a date. */
export type DateOrder = 'ymd' | 'dmy' | 'mdy';

const MONTHS = ['jan', 'feb', 'mar', 'apr', 'may', 'jun', 'jul', 'aug', 'sep', 'oct', 'nov', 'dec'];

/**
 * Dates and times of day as spreadsheets and loggers write them, read from bytes.
 *
 * Date: three parts with `-`, `/` or `.` between them, year of four digits (or two: 80-99 are 19.., the rest 20..), month as
 * number or first three letters of its English name. Time of day: `h:mm`, `h:mm:ss`, `h:mm:ss.fff`, then `AM`/`PM`, then a zone
 * (`Z`, `UTC`, `GMT`, `+02:00`, `+0200`, `+02`). Between them `T`, a space, a comma or an underscore.
 */
export class CsvTimeReader {
  /** Where the last part read ended. */
  private at = 0;

  /**
   * Date and time. Without a time of day it is midnight.
   * @returns UTC seconds since 1970; NaN where it is not such a text
   */
  dateTime(bytes: Uint8Array, start: number, end: number, order: DateOrder): number {
    const day = this.date(bytes, start, end, order);
    if (day !== day) return NaN;
    let i = this.at;
    if (i === end) return day * 86_400;
    const separator = bytes[i] as number;
    if (separator !== 84 && separator !== 116 && separator !== 32 && separator !== 44 && separator !== 95) return NaN;
    i++;
    while (i < end && bytes[i] === 32) i++;
    return day * 86_400 + this.timeOfDay(bytes, i, end);
  }

  /** A date and nothing else. @returns days since 1970; NaN where it is none */
  dateOnly(bytes: Uint8Array, start: number, end: number, order: DateOrder): number {
    const day = this.date(bytes, start, end, order);
    return this.at === end ? day : NaN;
  }

  private date(bytes: Uint8Array, start: number, end: number, order: DateOrder): number {
    let i = start;
    const parts = [NaN, NaN, NaN];
    let digitsOfYear = 0;
    for (let part = 0; part < 3; part++) {
      if (part > 0) {
        const c = bytes[i] as number;
        if (i >= end || (c !== 45 && c !== 47 && c !== 46 && c !== 32)) return this.fail(i);
        i++;
      }
      const from = i;
      let value = 0;
      while (i < end && isDigit(bytes[i] as number)) value = value * 10 + (bytes[i++] as number) - 48;
      if (i === from && i + 3 <= end) {
        const name = String.fromCharCode((bytes[i] as number) | 32, (bytes[i + 1] as number) | 32, (bytes[i + 2] as number) | 32);
        value = MONTHS.indexOf(name) + 1;
        if (value === 0) return this.fail(i);
        i += 3;
      } else if (i === from || i - from > 4) return this.fail(i);
      parts[part] = value;
      if (order.charAt(part) === 'y') digitsOfYear = i - from;
    }
    this.at = i;
    let year = parts[order.indexOf('y')] as number;
    if (digitsOfYear === 2) year += year < 80 ? 2000 : 1900;
    else if (digitsOfYear !== 4) return this.fail(i);
    return dayNumber(year, parts[order.indexOf('m')] as number, parts[order.indexOf('d')] as number);
  }

  private fail(at: number): number {
    this.at = at;
    return NaN;
  }

  /** A time of day and nothing else. @returns seconds since midnight UTC, below 0 or above a day where the zone makes it so; NaN where it is none */
  timeOfDay(bytes: Uint8Array, start: number, end: number): number {
    let i = start;
    let h = 0;
    while (i < end && isDigit(bytes[i] as number)) h = h * 10 + (bytes[i++] as number) - 48;
    if (i === start || i - start > 2 || bytes[i] !== 58 || i >= end) return NaN;
    const minutesAt = ++i;
    let m = 0;
    while (i < end && isDigit(bytes[i] as number)) m = m * 10 + (bytes[i++] as number) - 48;
    if (i - minutesAt !== 2) return NaN;
    let s = 0;
    let fraction = 0;
    let scale = 1;
    if (i < end && bytes[i] === 58) {
      const secondsAt = ++i;
      while (i < end && isDigit(bytes[i] as number)) s = s * 10 + (bytes[i++] as number) - 48;
      if (i - secondsAt !== 2) return NaN;
      if (i < end && (bytes[i] === 46 || bytes[i] === 44)) {
        for (i++; i < end && isDigit(bytes[i] as number); i++) {
          if (scale >= 1e9) continue;
          fraction = fraction * 10 + (bytes[i] as number) - 48;
          scale *= 10;
        }
      }
    }
    while (i < end && bytes[i] === 32) i++;
    if (i + 2 <= end && ((bytes[i + 1] as number) | 32) === 109) {
      const half = (bytes[i] as number) | 32;
      if (half === 97 || half === 112) {
        if (h < 1 || h > 12) return NaN;
        h = (h % 12) + (half === 112 ? 12 : 0);
        i += 2;
        while (i < end && bytes[i] === 32) i++;
      }
    }
    if (!(h < 24 && m < 60 && s < 61)) return NaN;
    const seconds = ((h * 3600 + m * 60 + s) * scale + fraction) / scale;
    return i === end ? seconds : seconds - this.zone(bytes, i, end);
  }

  /** Seconds a zone is ahead of UTC; NaN where it is none. */
  private zone(bytes: Uint8Array, start: number, end: number): number {
    const c = bytes[start] as number;
    if (c === 90 || c === 122) return start + 1 === end ? 0 : NaN;
    if (c !== 43 && c !== 45) {
      const name = end - start === 3 ? String.fromCharCode(c, bytes[start + 1] as number, bytes[start + 2] as number) : '';
      return name === 'UTC' || name === 'GMT' ? 0 : NaN;
    }
    let value = 0;
    let digits = 0;
    for (let i = start + 1; i < end; i++) {
      if (isDigit(bytes[i] as number)) {
        value = value * 10 + (bytes[i] as number) - 48;
        digits++;
      } else if (bytes[i] !== 58 || digits === 0) return NaN;
    }
    if (digits !== 2 && digits !== 4) return NaN;
    const h = digits === 2 ? value : Math.floor(value / 100);
    const m = digits === 2 ? 0 : value % 100;
    return h < 15 && m < 60 ? (c === 43 ? 1 : -1) * (h * 3600 + m * 60) : NaN;
  }
}

function isDigit(c: number): boolean {
  return c >= 48 && c <= 57;
}
