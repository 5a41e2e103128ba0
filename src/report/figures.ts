/**
 * Figures with their units, as the command line prints them and the report sets them in type.
 * Ordinary spaces throughout (grep finds them); the report swaps in no-break spaces. A value that is not finite is `NO_VALUE`.
 */

/** What stands where there is no value. */
export const NO_VALUE = '–';

const MINUS = '\u2212';

/** A number with a fixed count of decimals, thousands apart by a space: `68 412.50`. Minus is U+2212; never `-0`. */
export function formatNumber(value: number, decimals = 0): string {
  if (!Number.isFinite(value)) return NO_VALUE;
  const [whole = '0', part] = Math.abs(value).toFixed(decimals).split('.');
  if (whole.includes('e')) return value.toExponential(2).replace('-', MINUS);
  const grouped = whole.length > 4 || decimals === 0 ? whole.replace(/\B(?=(\d{3})+$)/g, ' ') : whole;
  const text = part === undefined ? grouped : `${grouped}.${part}`;
  return value < 0 && /[1-9]/.test(text) ? MINUS + text : text;
}

/** A whole count: `68 412`. */
export function formatCount(count: number): string {
  return formatNumber(count, 0);
}

/** A count with its noun: `1 gap`, `3 gaps`. */
export function formatCounted(count: number, one: string, many = `${one}s`): string {
  return `${formatCount(count)} ${count === 1 ? one : many}`;
}

/** Metres with a fixed count of decimals: `12.34 m`. */
export function formatMetres(valueM: number, decimals = 2): string {
  return Number.isFinite(valueM) ? `${formatNumber(valueM, decimals)} m` : NO_VALUE;
}

/** A depth, positive down [m]: `12.34 m`. */
export function formatDepth(depthM: number, decimals = 2): string {
  return formatMetres(depthM, decimals);
}

/** Two depths [m]: `0.81 to 13.10 m`. */
export function formatDepthRange(minM: number, maxM: number, decimals = 2): string {
  if (!Number.isFinite(minM) || !Number.isFinite(maxM)) return NO_VALUE;
  return `${formatNumber(minM, decimals)} to ${formatNumber(maxM, decimals)} m`;
}

/** A half-width [m]: `±0.14 m`. */
export function formatUncertainty(valueM: number, decimals = 2): string {
  return Number.isFinite(valueM) ? `±${formatNumber(Math.abs(valueM), decimals)} m` : NO_VALUE;
}

/** A difference with its sign, metres: `+0.02 m`, `−0.02 m`, `0.00 m`. */
export function formatDifference(valueM: number, decimals = 2): string {
  const text = formatMetres(valueM, decimals);
  return valueM > 0 && /[1-9]/.test(text) ? `+${text}` : text;
}

/** A length along the ground: `8.5 m`, `310 m`, `12.34 km`. */
export function formatLength(lengthM: number): string {
  if (!Number.isFinite(lengthM)) return NO_VALUE;
  const size = Math.abs(lengthM);
  if (size < 9.95) return `${formatNumber(lengthM, 1)} m`;
  if (size < 999.5) return `${formatNumber(lengthM, 0)} m`;
  return `${formatNumber(lengthM / 1000, size < 99_995 ? 2 : 0)} km`;
}

/** An area: `310 m²`, `2.43 ha` from 10 000 m², `1.23 km²` from a million. */
export function formatArea(areaM2: number): string {
  if (!Number.isFinite(areaM2)) return NO_VALUE;
  const size = Math.abs(areaM2);
  if (size < 9.95) return `${formatNumber(areaM2, 1)} m²`;
  if (size < 9_999.5) return `${formatNumber(areaM2, 0)} m²`;
  if (size < 999_500) return `${formatNumber(areaM2 / 1e4, size < 99_500 ? 2 : 1)} ha`;
  return `${formatNumber(areaM2 / 1e6, size < 99_500_000 ? 2 : 0)} km²`;
}

/** A length of time: `4.2 s`, `12 min 05 s`, `1 h 52 min`, `2 d 03 h`. */
export function formatDuration(durationS: number): string {
  if (!Number.isFinite(durationS)) return NO_VALUE;
  if (durationS < 0) return MINUS + formatDuration(-durationS);
  if (durationS < 59.95) return `${formatNumber(durationS, 1)} s`;
  const seconds = Math.round(durationS);
  if (seconds < 3600) return `${Math.floor(seconds / 60)} min ${two(seconds % 60)} s`;
  const minutes = Math.round(durationS / 60);
  if (minutes < 48 * 60) return `${Math.floor(minutes / 60)} h ${two(minutes % 60)} min`;
  const hours = Math.round(durationS / 3600);
  return `${Math.floor(hours / 24)} d ${two(hours % 24)} h`;
}

/** UTC date and time: `2026-05-13 09:14:02 UTC`. @param timeS UTC seconds since 1970 */
export function formatUtc(timeS: number): string {
  const iso = isoOf(timeS);
  return iso === null ? NO_VALUE : `${iso.slice(0, 10)} ${iso.slice(11, 19)} UTC`;
}

/** UTC date: `2026-05-13`. */
export function formatUtcDate(timeS: number): string {
  return isoOf(timeS)?.slice(0, 10) ?? NO_VALUE;
}

/** UTC time of day: `09:14`, or `09:14:02` with seconds. */
export function formatUtcTime(timeS: number, seconds = false): string {
  return isoOf(timeS)?.slice(11, seconds ? 19 : 16) ?? NO_VALUE;
}

/** From when to when: `2026-05-13 09:14 to 11:12 UTC`; both dates where they differ. */
export function formatUtcSpan(startS: number, endS: number): string {
  if (isoOf(startS) === null || isoOf(endS) === null) return NO_VALUE;
  const endDate = formatUtcDate(endS);
  const start = `${formatUtcDate(startS)} ${formatUtcTime(startS)}`;
  const end = formatUtcDate(startS) === endDate ? formatUtcTime(endS) : `${endDate} ${formatUtcTime(endS)}`;
  return `${start} to ${end} UTC`;
}

/** Days of a survey: `13 May 2026`, `13 to 15 May 2026`, `30 May to 2 June 2026`. */
export function formatDays(startS: number, endS: number): string {
  if (isoOf(startS) === null || isoOf(endS) === null) return NO_VALUE;
  const a = new Date(startS * 1000);
  const b = new Date(endS * 1000);
  const [ay, am, ad] = [a.getUTCFullYear(), a.getUTCMonth(), a.getUTCDate()];
  const [by, bm, bd] = [b.getUTCFullYear(), b.getUTCMonth(), b.getUTCDate()];
  const end = `${bd} ${MONTHS[bm]} ${by}`;
  if (ay !== by) return `${ad} ${MONTHS[am]} ${ay} to ${end}`;
  if (am !== bm) return `${ad} ${MONTHS[am]} to ${end}`;
  return ad === bd ? end : `${ad} to ${end}`;
}

const MONTHS = ['January', 'February', 'March', 'April', 'May', 'June', 'July', 'August', 'September', 'October', 'November', 'December'];

/**
 * A share of a whole as per cent: `99.2 %`. Only the whole is `100 %` and only nothing is `0 %`:
 * what rounds to them is `over 99.9 %` and `under 0.1 %`.
 * @param share 0..1
 */
export function formatShare(share: number, decimals = 1): string {
  if (!Number.isFinite(share)) return NO_VALUE;
  if (share === 0) return '0 %';
  if (share === 1) return '100 %';
  const step = 10 ** -decimals;
  if (share > 0 && share * 100 < step / 2) return `under ${step.toFixed(decimals)} %`;
  if (share < 1 && share * 100 > 100 - step / 2) return `over ${(100 - step).toFixed(decimals)} %`;
  return `${formatNumber(share * 100, decimals)} %`;
}

/** A direction, clockwise from true north: `007.5°`. */
export function formatDirection(directionDeg: number, decimals = 1): string {
  if (!Number.isFinite(directionDeg)) return NO_VALUE;
  let turned = ((directionDeg % 360) + 360) % 360;
  if (Number(turned.toFixed(decimals)) >= 360) turned = 0;
  return `${turned.toFixed(decimals).padStart(decimals > 0 ? decimals + 4 : 3, '0')}°`;
}

/** Magnetic variation, east positive: `9.1° W`. */
export function formatVariation(variationDeg: number): string {
  if (!Number.isFinite(variationDeg)) return NO_VALUE;
  const size = Math.abs(variationDeg).toFixed(1);
  return size === '0.0' ? '0.0°' : `${size}° ${variationDeg < 0 ? 'W' : 'E'}`;
}

/** A speed, with knots beside: `1.50 m/s (2.9 kn)`. */
export function formatSpeed(speedMps: number): string {
  return Number.isFinite(speedMps) ? `${formatNumber(speedMps, 2)} m/s (${formatNumber((speedMps * 3600) / 1852, 1)} kn)` : NO_VALUE;
}

/** A latitude in degrees and minutes: `46°02.200′ N`. */
export function formatLatitude(latDeg: number, decimals = 3): string {
  return degreesMinutes(latDeg, decimals, 2, latDeg < 0 ? 'S' : 'N');
}

/** A longitude in degrees and minutes: `029°57.800′ W`. */
export function formatLongitude(lonDeg: number, decimals = 3): string {
  return degreesMinutes(lonDeg, decimals, 3, lonDeg < 0 ? 'W' : 'E');
}

/** A position, WGS 84: `46°02.200′ N 029°57.800′ W`. */
export function formatPosition(latDeg: number, lonDeg: number): string {
  if (!Number.isFinite(latDeg) || !Number.isFinite(lonDeg)) return NO_VALUE;
  return `${formatLatitude(latDeg)} ${formatLongitude(lonDeg)}`;
}

/** Bytes in decimal units: `812 B`, `12.3 kB`, `1.20 GB`. */
export function formatBytes(bytes: number): string {
  if (!Number.isFinite(bytes)) return NO_VALUE;
  if (bytes < 1000) return `${formatNumber(bytes)} B`;
  const units = ['kB', 'MB', 'GB', 'TB'];
  let value = bytes / 1000;
  let at = 0;
  while (value >= 999.5 && at < units.length - 1) {
    value /= 1000;
    at += 1;
  }
  return `${formatNumber(value, value < 9.995 ? 2 : value < 99.95 ? 1 : 0)} ${units[at]}`;
}

/** A scale: `1:2 500`. */
export function formatScale(scale: number): string {
  return Number.isFinite(scale) ? `1:${formatNumber(Math.round(scale))}` : NO_VALUE;
}

/** The name of an IHO S-44 order: `Order 1a`, `Special Order`. */
export function formatOrder(order: string): string {
  if (order === 'exclusive') return 'Exclusive Order';
  if (order === 'special') return 'Special Order';
  return `Order ${order}`;
}

/** The first 12 digits of a hash, enough to tell files of one survey apart. */
export function shortHash(sha256: string): string {
  return sha256.slice(0, 12);
}

function two(value: number): string {
  return String(value).padStart(2, '0');
}

/** Years outside 0..9999 have no ISO form of fixed width: no value. */
function isoOf(timeS: number): string | null {
  if (!Number.isFinite(timeS) || timeS < -62_167_219_200 || timeS >= 253_402_300_800) return null;
  return new Date(Math.floor(timeS) * 1000).toISOString();
}

function degreesMinutes(angleDeg: number, decimals: number, digits: number, side: string): string {
  if (!Number.isFinite(angleDeg)) return NO_VALUE;
  const scale = 10 ** decimals;
  const total = Math.round(Math.abs(angleDeg) * 60 * scale);
  const degrees = Math.floor(total / (60 * scale));
  const minutes = (total - degrees * 60 * scale) / scale;
  const width = decimals > 0 ? decimals + 3 : 2;
  return `${String(degrees).padStart(digits, '0')}°${minutes.toFixed(decimals).padStart(width, '0')}′ ${side}`;
}
