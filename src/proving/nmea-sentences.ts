import { civilFromDays, DAY_S } from '../base/time.js';

/**
 * Sentence bodies of IEC 61162-1 (NMEA 0183): what stands between `$` and `*`. Written here for the proving ground alone,
 * so that a reader is not tested against its own idea of the format.
 */

/** XOR of the body's characters as two upper-case hexadecimal digits (IEC 61162-1 7.2.3.4). */
export function checksumText(body: string): string {
  let sum = 0;
  for (let i = 0; i < body.length; i++) sum ^= body.charCodeAt(i);
  return HEX[sum & 0xff]!;
}

const HEX = Array.from({ length: 256 }, (_, i) => i.toString(16).toUpperCase().padStart(2, '0'));
const TWO = Array.from({ length: 100 }, (_, i) => String(i).padStart(2, '0'));

/** One epoch of a GNSS receiver. */
export interface FixValues {
  timeS: number;
  latDeg: number;
  lonDeg: number;
  /** Antenna above the geoid, geoid above the ellipsoid [m]. */
  heightM: number;
  geoidM: number;
  sigmaM: number;
  satellites: number;
  hdop: number;
  courseDeg: number;
  speedMps: number;
  /** false: no fix; the position fields are empty. */
  valid: boolean;
  /** GGA's number; 2 differential, 4 RTK fixed. */
  quality: number;
}

const KNOT_MPS = 1852 / 3600;

export function gga(fix: FixValues): string {
  if (!fix.valid) return `GNGGA,${clockText(fix.timeS)},,,,,0,00,99.99,,,,,,`;
  return `GNGGA,${clockText(fix.timeS)},${positionText(fix)},${fix.quality},${TWO[fix.satellites]!},${fix.hdop.toFixed(2)},${fix.heightM.toFixed(3)},M,${fix.geoidM.toFixed(1)},M,1.0,0120`;
}

export function rmc(fix: FixValues): string {
  const { year, month, day } = civilFromDays(Math.floor((fix.timeS + 0.0005) / DAY_S));
  const date = `${TWO[day]!}${TWO[month]!}${TWO[year % 100]!}`;
  if (!fix.valid) return `GNRMC,${clockText(fix.timeS)},V,,,,,,,${date},,,N,V`;
  return `GNRMC,${clockText(fix.timeS)},A,${positionText(fix)},${(fix.speedMps / KNOT_MPS).toFixed(3)},${fix.courseDeg.toFixed(2)},${date},,,D,V`;
}

export function vtg(fix: FixValues): string {
  if (!fix.valid) return 'GNVTG,,T,,M,,N,,K,N';
  return `GNVTG,${fix.courseDeg.toFixed(2)},T,,M,${(fix.speedMps / KNOT_MPS).toFixed(3)},N,${(fix.speedMps * 3.6).toFixed(3)},K,D`;
}

/** One-sigma errors of latitude, longitude and height; a round error ellipse. */
export function gst(fix: FixValues): string {
  if (!fix.valid) return `GNGST,${clockText(fix.timeS)},,,,,,,`;
  const sigma = fix.sigmaM.toFixed(3);
  return `GNGST,${clockText(fix.timeS)},${(fix.sigmaM * 2).toFixed(3)},${sigma},${sigma},0.0,${sigma},${sigma},${(fix.sigmaM * 1.6).toFixed(3)}`;
}

export function zda(timeS: number): string {
  const { year, month, day } = civilFromDays(Math.floor((timeS + 0.0005) / DAY_S));
  return `GNZDA,${clockText(timeS)},${TWO[day]!},${TWO[month]!},${year},00,00`;
}

export function hdt(headingDeg: number): string {
  const rounded = headingDeg.toFixed(1);
  return `HEHDT,${rounded === '360.0' ? '0.0' : rounded},T`;
}

/** Depth below the transducer in feet, metres and fathoms; NaN: empty fields. */
export function dbt(depthM: number): string {
  if (Number.isNaN(depthM)) return 'SDDBT,,f,,M,,F';
  return `SDDBT,${(depthM / 0.3048).toFixed(1)},f,${depthM.toFixed(2)},M,${(depthM / 1.8288).toFixed(1)},F`;
}

/** Depth below the transducer with its offset from the surface and the range scale. */
export function dpt(depthM: number, offsetM: number): string {
  return `SDDPT,${Number.isNaN(depthM) ? '' : depthM.toFixed(2)},${offsetM.toFixed(2)},100.0`;
}

export function mtw(temperatureC: number): string {
  return `SDMTW,${temperatureC.toFixed(1)},C`;
}

/** Roll (starboard down positive), pitch (bow up positive) and heave (up positive) of a motion sensor. */
export function xdrMotion(rollDeg: number, pitchDeg: number, heaveM: number): string {
  return `YXXDR,A,${rollDeg.toFixed(2)},D,ROLL,A,${pitchDeg.toFixed(2)},D,PITCH,D,${heaveM.toFixed(3)},M,HEAVE`;
}

/** `hhmmss.ss` */
function clockText(timeS: number): string {
  const hundredths = Math.round((timeS - Math.floor(timeS / DAY_S) * DAY_S) * 100) % (DAY_S * 100);
  const s = Math.floor(hundredths / 100);
  return `${TWO[Math.floor(s / 3600)]!}${TWO[Math.floor(s / 60) % 60]!}${TWO[s % 60]!}.${TWO[hundredths % 100]!}`;
}

/** `ddmm.mmmmmm,N,dddmm.mmmmmm,W`: a millionth of a minute is 1.9 mm. */
function positionText(fix: FixValues): string {
  return `${degreesText(fix.latDeg, 2)},${fix.latDeg < 0 ? 'S' : 'N'},${degreesText(fix.lonDeg, 3)},${fix.lonDeg < 0 ? 'W' : 'E'}`;
}

function degreesText(angleDeg: number, digits: number): string {
  const millionths = Math.round(Math.abs(angleDeg) * 60e6);
  const degrees = Math.floor(millionths / 60e6);
  const rest = millionths - degrees * 60e6;
  const minutes = Math.floor(rest / 1e6);
  return `${String(degrees).padStart(digits, '0')}${TWO[minutes]!}.${String(rest - minutes * 1e6).padStart(6, '0')}`;
}
