import { parseUtc } from '../../base/time.js';

/** A time as typed: `2026-06-17 08:00`, with or without seconds, UTC; null where it is none. */
export function typedUtc(text: string): string | null {
  const match = /^(\d{4}-\d{2}-\d{2})[T ](\d{1,2}:\d{2})(:\d{2})?\s*Z?$/i.exec(text.trim());
  if (match === null) return null;
  const utc = `${match[1]}T${match[2]!.padStart(5, '0')}${match[3] ?? ':00'}Z`;
  return Number.isNaN(parseUtc(utc)) ? null : utc;
}

/** A place as typed, `46.01, -30.02`; null where it is none. */
export function typedPlace(text: string): { readonly latDeg: number; readonly lonDeg: number } | null {
  const match = /^([+-]?\d+(?:\.\d+)?)\s*[,; ]\s*([+-]?\d+(?:\.\d+)?)$/.exec(text.trim());
  if (match === null) return null;
  const [latDeg, lonDeg] = [Number(match[1]), Number(match[2])];
  return Math.abs(latDeg) <= 90 && Math.abs(lonDeg) <= 180 ? { latDeg, lonDeg } : null;
}
