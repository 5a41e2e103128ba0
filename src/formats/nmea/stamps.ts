import { dayNumber, twoDigits } from './fields.js';

/** What a stamp before a sentence counts from. */
export const STAMP = {
  /** Not a time. */
  none: 0,
  /** Date and time, or seconds or milliseconds since 1970. */
  absolute: 1,
  /** A time of day without a date. */
  timeOfDay: 2,
  /** Seconds since the logger started, or anything else that runs evenly. */
  running: 3,
} as const;

/**
 * Reads the stamp that a logger has put before a sentence.
 *
 * Understood, with brackets, quotes and a separator (space, comma, semicolon, tab) around or after it:
 * - `2024-05-01T12:34:56.789Z`, `2024-05-01 12:34:56`, `2024/05/01,12:34:56,789`, `20240501T123456`, with a zone
 *   (`Z`, `UTC`, `+02:00`, `+0200`, `-05`) or without (taken as UTC; a constant difference is found later against the GNSS time);
 * - `12:34:56`, `12:34:56.789`;
 * - seconds since 1970 (9 to 11 digits before the point), milliseconds (12 to 14), microseconds (15 to 17);
 * - any smaller number: seconds of a running clock.
 */
export class StampReader {
  /** One of STAMP, of the stamp last read. */
  kind: number = STAMP.none;
  /** Whether the stamp last read has a fraction of a second. */
  fine = false;

  /** The stamp in bytes [start, end) in seconds; NaN (and kind none) where it is not a time. */
  read(bytes: Uint8Array, start: number, end: number): number {
    this.kind = STAMP.none;
    this.fine = false;
    while (start < end && isPadding(bytes[start] as number)) start++;
    while (end > start && isPadding(bytes[end - 1] as number)) end--;
    if (end - start < 1 || end - start > 40) return NaN;
    let i = start;
    while (i < end && isDigit(bytes[i] as number)) i++;
    const leading = i - start;
    if (leading === 0) return NaN;
    const next = i < end ? (bytes[i] as number) : 0;
    if (next === 58 && leading <= 2) return this.timeOfDay(bytes, start, end);
    if ((next === 45 || next === 47) && leading === 4) return this.calendar(bytes, start, end);
    if (leading === 8 && (next === 84 || next === 95 || next === 45 || next === 32)) return this.compact(bytes, start, end, i + 1);
    if (leading === 14) {
      const compact = this.compact(bytes, start, end, start + 8);
      if (compact === compact) return compact;
    }
    if (i === end || next === 46) return this.plain(bytes, start, end, leading);
    return NaN;
  }

  /** A TAG block's `c:` value: seconds, or milliseconds where it has more than 11 digits (NMEA 0183 4.10, TAG block UNIX time). */
  readTag(bytes: Uint8Array, start: number, end: number): number {
    this.kind = STAMP.none;
    this.fine = false;
    let i = start;
    while (i < end && isDigit(bytes[i] as number)) i++;
    return i > start && (i === end || bytes[i] === 46) ? this.plain(bytes, start, end, i - start) : NaN;
  }

  private plain(bytes: Uint8Array, start: number, end: number, leading: number): number {
    let value = 0;
    let scale = 0;
    for (let i = start; i < end; i++) {
      const c = bytes[i] as number;
      if (c === 46 && scale === 0) scale = 1;
      else if (isDigit(c)) {
        if (scale >= 1e6) continue;
        value = value * 10 + (c - 48);
        if (scale > 0) scale *= 10;
      } else return NaN;
    }
    if (leading > 17) return NaN;
    const unit = leading <= 11 ? 1 : leading <= 14 ? 1e3 : 1e6;
    this.kind = leading >= 9 ? STAMP.absolute : STAMP.running;
    this.fine = unit > 1 || scale > 1;
    return value / ((scale || 1) * unit);
  }

  private timeOfDay(bytes: Uint8Array, start: number, end: number): number {
    const seconds = this.clock(bytes, start, end);
    if (seconds === seconds) this.kind = STAMP.timeOfDay;
    return seconds;
  }

  private calendar(bytes: Uint8Array, start: number, end: number): number {
    const separator = bytes[start + 4] as number;
    if (end - start < 19 || bytes[start + 7] !== separator) return NaN;
    const day = dayNumber(
      twoDigits(bytes, start) * 100 + twoDigits(bytes, start + 2),
      twoDigits(bytes, start + 5),
      twoDigits(bytes, start + 8),
    );
    let i = start + 10;
    while (i < end && (bytes[i] === 84 || bytes[i] === 32 || bytes[i] === 44 || bytes[i] === 95 || bytes[i] === 9)) i++;
    return this.dated(day, this.clock(bytes, i, end));
  }

  /** `yyyymmdd`, then `hhmmss` from `timeStart` on. */
  private compact(bytes: Uint8Array, start: number, end: number, timeStart: number): number {
    const day = dayNumber(
      twoDigits(bytes, start) * 100 + twoDigits(bytes, start + 2),
      twoDigits(bytes, start + 4),
      twoDigits(bytes, start + 6),
    );
    if (end - timeStart < 6) return NaN;
    const h = twoDigits(bytes, timeStart);
    const m = twoDigits(bytes, timeStart + 2);
    const s = twoDigits(bytes, timeStart + 4);
    if (!(h < 24 && m < 60 && s < 61)) return NaN;
    return this.dated(day, h * 3600 + m * 60 + s + this.tail(bytes, timeStart + 6, end));
  }

  private dated(day: number, seconds: number): number {
    const value = day * 86_400 + seconds;
    if (value === value) this.kind = STAMP.absolute;
    return value;
  }

  /** `h:mm:ss`, then a fraction and a zone. */
  private clock(bytes: Uint8Array, start: number, end: number): number {
    let i = start;
    let h = 0;
    while (i < end && isDigit(bytes[i] as number) && i - start < 2) h = h * 10 + (bytes[i++] as number) - 48;
    if (i === start || end - i < 6 || bytes[i] !== 58 || bytes[i + 3] !== 58) return NaN;
    const m = twoDigits(bytes, i + 1);
    const s = twoDigits(bytes, i + 4);
    if (!(h < 24 && m < 60 && s < 61)) return NaN;
    return h * 3600 + m * 60 + s + this.tail(bytes, i + 6, end);
  }

  /** Fraction and zone after the seconds: the seconds to add; NaN where it is neither. */
  private tail(bytes: Uint8Array, start: number, end: number): number {
    let i = start;
    let add = 0;
    if (i < end && (bytes[i] === 46 || bytes[i] === 44 || bytes[i] === 58) && i + 1 < end && isDigit(bytes[i + 1] as number)) {
      let fraction = 0;
      let scale = 1;
      for (i++; i < end && isDigit(bytes[i] as number); i++) {
        if (scale >= 1e9) continue;
        fraction = fraction * 10 + (bytes[i] as number) - 48;
        scale *= 10;
      }
      add = fraction / scale;
      this.fine = true;
    }
    while (i < end && bytes[i] === 32) i++;
    if (i === end) return add;
    const c = bytes[i] as number;
    if (c === 90 && i + 1 === end) return add;
    if (c === 85 && end - i === 3 && bytes[i + 1] === 84 && bytes[i + 2] === 67) return add;
    if (c !== 43 && c !== 45) return NaN;
    const h = twoDigits(bytes, i + 1);
    let m = 0;
    i += 3;
    if (i < end) {
      if (bytes[i] === 58) i++;
      m = twoDigits(bytes, i);
      i += 2;
    }
    if (i !== end || !(h < 15 && m < 60)) return NaN;
    return add - (c === 43 ? 1 : -1) * (h * 3600 + m * 60);
  }
}

function isDigit(c: number): boolean {
  return c >= 48 && c <= 57;
}

/** Space, tab, brackets, quotes, comma, semicolon, bar, angle brackets. */
function isPadding(c: number): boolean {
  return (
    c === 32 || c === 9 || c === 91 || c === 93 || c === 40 || c === 41 || c === 123 || c === 125 ||
    c === 34 || c === 39 || c === 44 || c === 59 || c === 124 || c === 60 || c === 62
  );
}
