/**
 * Fields of a sentence, read straight from the bytes: no string is made on the way.
 */

const POW10 = Float64Array.from({ length: 23 }, (_, k) => Number(`1e${k}`));

/**
 * A decimal number without exponent, as NMEA 0183 writes numbers (IEC 61162-1, variable numbers "x.x").
 *
 * Up to 15 digits are gathered as an integer below 2^53 and divided by an exact power of ten: one rounding, so
 * the result is the double that `Number(text)` gives (Clinger 1990, "How to read floating point numbers accurately").
 * Longer ones go through `Number`. Spaces around it are passed over.
 *
 * @returns the number; NaN for an empty field or anything that is not such a number
 */
export function decimalField(bytes: Uint8Array, start: number, end: number): number {
  return decimalText(bytes, start, end, -2);
}

/** As `decimalField`, with a comma for a decimal point. */
export function decimalCommaField(bytes: Uint8Array, start: number, end: number): number {
  return decimalText(bytes, start, end, -4);
}

/** @param pointCode the code of the decimal point less that of `0` */
function decimalText(bytes: Uint8Array, start: number, end: number, pointCode: number): number {
  let i = start;
  let c = i < end ? (bytes[i] as number) : 0;
  const negative = c === 45;
  if (negative || c === 43) i++;
  let point = -1;
  let value: number;
  const first = i;
  if (end - i <= 10) {
    // At most nine digits and a point: 32-bit integers do.
    let mantissa = 0;
    for (; i < end; i++) {
      c = (bytes[i] as number) - 48;
      if (c >= 0 && c <= 9) mantissa = (mantissa * 10 + c) | 0;
      else if (c === pointCode && point < 0) point = i;
      else return spacedText(bytes, start, end, pointCode);
    }
    if (point < 0 && end - first === 10) return Number(textOf(bytes, start, end));
    value = mantissa;
  } else {
    let mantissa = 0;
    for (; i < end; i++) {
      c = (bytes[i] as number) - 48;
      if (c >= 0 && c <= 9) mantissa = mantissa * 10 + c;
      else if (c === pointCode && point < 0) point = i;
      else return spacedText(bytes, start, end, pointCode);
    }
    if (end - first - (point < 0 ? 0 : 1) > 15) return Number(textOf(bytes, start, end).replace(',', '.'));
    value = mantissa;
  }
  if (point >= 0) {
    if (end - first === 1) return NaN;
    value /= POW10[end - point - 1] as number;
  } else if (end === first) return NaN;
  return negative ? -value : value;
}

/** A number with spaces around it, or none at all. */
function spacedText(bytes: Uint8Array, start: number, end: number, pointCode: number): number {
  let from = start;
  let to = end;
  while (from < to && bytes[from] === 32) from++;
  while (to > from && bytes[to - 1] === 32) to--;
  return from === start && to === end ? NaN : decimalText(bytes, from, to, pointCode);
}

/**
 * Time of day, `hhmmss` or `hhmmss.s...` (IEC 61162-1), in seconds since midnight.
 *
 * @returns [0, 86401) (a leap second is 86400 and more); NaN where the field is empty or not such a time
 */
export function timeOfDayField(bytes: Uint8Array, start: number, end: number): number {
  if (end - start < 6) return NaN;
  const hours = twoDigits(bytes, start);
  const minutes = twoDigits(bytes, start + 2);
  const seconds = twoDigits(bytes, start + 4);
  if (!(hours < 24 && minutes < 60 && seconds < 61) || (seconds === 60 && (minutes !== 59 || hours !== 23))) return NaN;
  const whole = hours * 3600 + minutes * 60 + seconds;
  let i = start + 6;
  if (i === end) return whole;
  if (bytes[i++] !== 46) return NaN;
  let fraction = 0;
  let scale = 1;
  for (; i < end; i++) {
    const c = (bytes[i] as number) - 48;
    if (c < 0 || c > 9) return NaN;
    if (scale < 1e9) {
      fraction = fraction * 10 + c;
      scale *= 10;
    }
  }
  return (whole * scale + fraction) / scale;
}

/** Two digits as a number; NaN where they are not digits. */
export function twoDigits(bytes: Uint8Array, at: number): number {
  const tens = (bytes[at] as number) - 48;
  const ones = (bytes[at + 1] as number) - 48;
  return tens >= 0 && tens <= 9 && ones >= 0 && ones <= 9 ? tens * 10 + ones : NaN;
}

/**
 * An angle written `dddmm.mmm` (IEC 61162-1: degrees and minutes run together), in degrees, unsigned.
 *
 * Degrees and minutes are parted as integers, so that only the division by 60 and the sum round.
 *
 * @returns degrees; NaN where the field is empty, not a number, has not three to five digits before the point, or 60 minutes or more
 */
export function angleField(bytes: Uint8Array, start: number, end: number): number {
  let i = start;
  let whole = 0;
  let c = 0;
  for (; i < end; i++) {
    c = (bytes[i] as number) - 48;
    if (c < 0 || c > 9) break;
    whole = (whole * 10 + c) | 0;
  }
  if (i - start < 3 || i - start > 5) return NaN;
  let fraction = 0;
  let scale = 1;
  if (i < end) {
    if (c !== -2) return NaN;
    for (i++; i < end; i++) {
      c = (bytes[i] as number) - 48;
      if (c < 0 || c > 9) return NaN;
      if (scale >= 1e10) continue; // beyond 1e-10 of a minute
      fraction = fraction * 10 + c;
      scale *= 10;
    }
  }
  const degrees = (whole / 100) | 0;
  const minutes = ((whole - degrees * 100) * scale + fraction) / scale;
  return minutes < 60 ? degrees + minutes / 60 : NaN;
}

const DAYS_IN_MONTH = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
const DAYS_BEFORE = [0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334];

/** Days from 1970-01-01 to a date of the Gregorian calendar; NaN where there is no such day. */
export function dayNumber(year: number, month: number, day: number): number {
  if (!(month >= 1 && month <= 12 && day >= 1 && day <= 31 && year >= 1900 && year <= 2200)) return NaN;
  const leap = year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0);
  if (day > (month === 2 ? (leap ? 29 : 28) : (DAYS_IN_MONTH[month - 1] as number))) return NaN;
  const before = year - 1;
  const leapDays = Math.floor(before / 4) - Math.floor(before / 100) + Math.floor(before / 400) - 477; // 477 up to 1969
  return (year - 1970) * 365 + leapDays + (DAYS_BEFORE[month - 1] as number) + (leap && month > 2 ? 1 : 0) + day - 1;
}

/** A value of a hexadecimal digit; -1 where it is none. */
export function hexDigit(c: number): number {
  if (c >= 48 && c <= 57) return c - 48;
  if (c >= 65 && c <= 70) return c - 55;
  if (c >= 97 && c <= 102) return c - 87;
  return -1;
}

/** The bytes as text, one character a byte. For rare sentences and messages, not for the hot path. */
export function textOf(bytes: Uint8Array, start: number, end: number): string {
  let text = '';
  for (let i = start; i < end; i++) text += String.fromCharCode(bytes[i] as number);
  return text;
}
