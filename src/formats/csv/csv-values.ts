import { decimalCommaField, decimalField, textOf } from '../nmea/fields.js';

/** Whether a field stands for "no value": empty, `-`, `--`, `NaN`, `NA`, `N/A`, `null`, `none`. */
export function isNoValue(bytes: Uint8Array, start: number, end: number): boolean {
  const length = end - start;
  if (length === 0) return true;
  if (length > 4) return false;
  const c = bytes[start] as number;
  if (c >= 48 && c <= 57) return false;
  return /^(-{1,4}|nan|n\/?a|null|none|\.)$/i.test(textOf(bytes, start, end));
}

/** A number with point or comma, plain or with an exponent; NaN where it is none. */
export function csvNumber(bytes: Uint8Array, start: number, end: number, comma: boolean): number {
  const value = comma ? decimalCommaField(bytes, start, end) : decimalField(bytes, start, end);
  if (value === value || end - start < 3) return value;
  const text = textOf(bytes, start, end);
  return /^[+-]?(\d+[.,]?\d*|[.,]\d+)e[+-]?\d{1,3}$/i.test(text) ? Number(text.replace(',', '.')) : NaN;
}

/**
 * An angle of position in degrees, north and east positive.
 *
 * `deg`: a number, a hemisphere letter before or after it allowed. `deg min`: degrees, minutes and perhaps seconds, parted by
 * anything that is not a digit, with a hemisphere letter or a sign. `ddmm`: `4612.345`, degrees and minutes run together.
 * `deg 1e7`: an integer of 1e-7 degrees.
 *
 * @returns NaN where it is none of these
 */
export function csvAngle(bytes: Uint8Array, start: number, end: number, unit: string, comma: boolean): number {
  let sign = 1;
  let from = start;
  let to = end;
  const first = hemisphere(bytes[from] as number);
  const last = to > from ? hemisphere(bytes[to - 1] as number) : 0;
  if (first !== 0) {
    sign = first;
    from++;
  } else if (last !== 0) {
    sign = last;
    to--;
  }
  while (from < to && bytes[from] === 32) from++;
  while (to > from && (bytes[to - 1] === 32 || bytes[to - 1] === 0xb0 || bytes[to - 1] === 0xc2)) to--;
  if (unit !== 'deg min') {
    const value = csvNumber(bytes, from, to, comma);
    if (unit === 'deg') return sign * value;
    if (unit === 'deg 1e7') return sign * value * 1e-7;
    const size = Math.abs(value);
    const degrees = Math.floor(size / 100);
    const minutes = size - degrees * 100;
    return minutes < 60 ? sign * Math.sign(value) * (degrees + minutes / 60) : NaN;
  }
  const text = textOf(bytes, from, to);
  if (!/^[-+]?\d/.test(text)) return NaN;
  const parts = (comma ? text.replace(/,/g, '.') : text).match(/\d+(\.\d+)?/g) ?? [];
  if (parts.length < 1 || parts.length > 3) return NaN;
  const [degrees, minutes, seconds] = [Number(parts[0]), Number(parts[1] ?? 0), Number(parts[2] ?? 0)];
  if (minutes >= 60 || seconds >= 60) return NaN;
  return sign * (text.startsWith('-') ? -1 : 1) * (degrees + minutes / 60 + seconds / 3600);
}

function hemisphere(c: number): number {
  const upper = c & 0xdf;
  return upper === 78 || upper === 69 ? 1 : upper === 83 || upper === 87 ? -1 : 0;
}
