import { UseError } from '../base/errors.js';

/** `46.0432,-29.9591`: latitude and longitude in degrees. @throws UseError naming the option */
export function placeOption(text: string | undefined, option: string): { latDeg: number; lonDeg: number } | undefined {
  if (text === undefined) return undefined;
  const parts = text.split(',').map((part) => (part.trim() === '' ? NaN : Number(part)));
  const [latDeg, lonDeg] = parts;
  if (parts.length !== 2 || latDeg === undefined || lonDeg === undefined || Number.isNaN(latDeg) || Number.isNaN(lonDeg)) {
    throw new UseError(`--${option}: expected LAT,LON in degrees, found ${JSON.stringify(text)}; for example --${option}=46.0432,-29.9591`);
  }
  if (Math.abs(latDeg) > 90) throw new UseError(`--${option}: latitude ${latDeg}: expected -90 to 90${Math.abs(lonDeg) <= 90 ? '; latitude comes first' : ''}`);
  if (Math.abs(lonDeg) > 180) throw new UseError(`--${option}: longitude ${lonDeg}: expected -180 to 180`);
  return { latDeg, lonDeg };
}
