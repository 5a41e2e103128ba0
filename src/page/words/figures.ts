/** Figures as the page prints them: thin spaces between thousands, a true minus sign, UTC times. NaN prints as a dash. */

const NONE = '–';

/** A whole number with thin spaces, e.g. 68 412. */
export function count(n: number): string {
  if (!Number.isFinite(n)) return NONE;
  return String(Math.round(Math.abs(n))).replace(/\B(?=(\d{3})+$)/g, '\u2009').replace(/^/, n < -0.5 ? '\u2212' : '');
}

/** A number with fixed decimals. */
export function fixed(value: number, decimals: number): string {
  if (!Number.isFinite(value)) return NONE;
  const text = Math.abs(value).toFixed(decimals);
  const sign = value < 0 && Number(text) !== 0 ? '\u2212' : '';
  const [whole, rest] = text.split('.') as [string, string | undefined];
  const grouped = whole.length > 4 ? whole.replace(/\B(?=(\d{3})+$)/g, '\u2009') : whole;
  return sign + grouped + (rest === undefined ? '' : `.${rest}`);
}

/** The same with a plus sign where it is above zero. */
export function signed(value: number, decimals: number): string {
  const text = fixed(value, decimals);
  return value > 0 && Number(value.toFixed(decimals)) !== 0 ? `+${text}` : text;
}

/** Metres, on one line with their unit. */
export function metres(value: number, decimals = 1): string {
  return Number.isFinite(value) ? `${fixed(value, decimals)}\u00a0m` : NONE;
}

/** A length: metres below 10 km, kilometres above. */
export function lengthText(valueM: number): string {
  if (!Number.isFinite(valueM)) return NONE;
  return valueM < 10_000 ? `${count(valueM)} m` : `${fixed(valueM / 1000, 1)} km`;
}

/** An area: square metres below a hectare, hectares below a square kilometre. */
export function areaText(valueM2: number): string {
  if (!Number.isFinite(valueM2)) return NONE;
  if (valueM2 < 10_000) return `${count(valueM2)} m²`;
  return valueM2 < 1e6 ? `${fixed(valueM2 / 10_000, 1)} ha` : `${fixed(valueM2 / 1e6, 2)} km²`;
}

/** A share as per cent, e.g. 1.9 %. Never rounds to 100 what is less. */
export function percent(share: number, decimals = 1): string {
  if (!Number.isFinite(share)) return NONE;
  const scale = 10 ** decimals;
  let scaled = Math.round(share * 100 * scale);
  if (share < 1 && scaled === 100 * scale) scaled -= 1;
  if (share > 0 && scaled === 0) return `under ${fixed(1 / scale, decimals)} %`;
  return `${fixed(scaled / scale, share === 1 ? 0 : decimals)} %`;
}

/** Time of day UTC, e.g. 10:27:41. */
export function clock(timeS: number, seconds = true): string {
  if (!Number.isFinite(timeS)) return NONE;
  return new Date(Math.floor(timeS * 1000 + 1e-6)).toISOString().slice(11, seconds ? 19 : 16);
}

const MONTHS = ['January', 'February', 'March', 'April', 'May', 'June', 'July', 'August', 'September', 'October', 'November', 'December'];

/** Date UTC, e.g. 13 May 2026. */
export function date(timeS: number): string {
  if (!Number.isFinite(timeS)) return NONE;
  const day = new Date(timeS * 1000);
  return `${day.getUTCDate()} ${MONTHS[day.getUTCMonth()]} ${day.getUTCFullYear()}`;
}

/** How long, e.g. 1 h 52 or 6 min or 40 s. */
export function duration(seconds: number): string {
  if (!Number.isFinite(seconds)) return NONE;
  if (seconds < 90) return `${Math.round(seconds)} s`;
  const minutes = Math.round(seconds / 60);
  if (minutes < 60) return `${minutes} min`;
  return `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, '0')}`;
}

export function bytes(n: number): string {
  if (!Number.isFinite(n)) return NONE;
  if (n < 1000) return `${n} B`;
  if (n < 1e6) return `${fixed(n / 1000, 1)} kB`;
  return n < 1e9 ? `${fixed(n / 1e6, 1)} MB` : `${fixed(n / 1e9, 2)} GB`;
}

/** One of something, or several: plural(2, 'log') is "2 logs". */
export function plural(n: number, word: string, many = `${word}s`): string {
  return `${count(n)} ${n === 1 ? word : many}`;
}

/** Knots beside metres per second. */
export function speed(mps: number): string {
  return Number.isFinite(mps) ? `${fixed(mps, 2)} m/s (${fixed(mps / 0.514444, 1)} kn)` : NONE;
}
