import { getPosition, getTimes } from 'suncalc';

/** Where the sun stands. */
export interface SunPosition {
  /** Above the horizon, lifted by refraction as it is seen [deg]. */
  readonly altitudeDeg: number;
  /** Of its centre without refraction: what sunrise (-0.833) and twilight (-6) are told by [deg]. */
  readonly geometricDeg: number;
  /** Clockwise from true north, 0 to 360 [deg]. */
  readonly azimuthDeg: number;
}

/** The sun's times of one solar day [UTC s]; NaN for what does not happen that day. */
export interface SunTimes {
  readonly noonS: number;
  /** Upper limb on the horizon: centre at -0.833 deg. */
  readonly sunriseS: number;
  readonly sunsetS: number;
  /** Civil twilight: centre at -6 deg. */
  readonly dawnS: number;
  readonly duskS: number;
  /** The sun stays up, or stays down, all that day; null where it rises and sets. */
  readonly allDay: 'up' | 'down' | null;
}

/** A stretch of time [UTC s]. */
export interface TimeSpan {
  readonly startS: number;
  readonly endS: number;
}

/** What counts as light: the sun above the horizon, or enough light to work by (civil twilight). */
export type Light = 'sun' | 'civil';

const DAY_S = 86_400;
/** Geometric altitude of the centre at the edge of the light [deg]. */
const EDGE_DEG: Record<Light, number> = { sun: -0.833, civil: -6 };

/**
 * Altitude and azimuth of the sun.
 *
 * @param latDeg -90 to 90, north positive; @param lonDeg -180 to 180, east positive
 * @returns NaN for NaN
 * @throws RangeError for a latitude or longitude out of range
 *
 * Source: Meeus (1998), Astronomical Algorithms, ch. 25 (0.01 deg) and 16.4 (refraction), by the suncalc library.
 */
export function sunPosition(timeS: number, latDeg: number, lonDeg: number): SunPosition {
  checkPlace(latDeg, lonDeg);
  if (!Number.isFinite(timeS)) return { altitudeDeg: NaN, geometricDeg: NaN, azimuthDeg: NaN };
  const { altitude, azimuth } = getPosition(new Date(timeS * 1000), latDeg, lonDeg);
  return { altitudeDeg: altitude, geometricDeg: unrefractedDeg(altitude), azimuthDeg: ((azimuth % 360) + 360) % 360 };
}

/** What the library adds for refraction at a geometric altitude, below the horizon as on it [deg]; Meeus 16.4. */
function refractionDeg(geometricDeg: number): number {
  const h = Math.max(0, (geometricDeg * Math.PI) / 180);
  return (0.0002967 / Math.tan(h + 0.00312536 / (h + 0.08901179)) / Math.PI) * 180;
}

function unrefractedDeg(apparentDeg: number): number {
  let geometric = apparentDeg;
  // It changes by under a fifth of the altitude's change: each turn leaves a fifth of the error.
  for (let turn = 0; turn < 12; turn++) geometric = apparentDeg - refractionDeg(geometric);
  return geometric;
}

/**
 * Sunrise, sunset and civil twilight of the solar day whose noon is nearest to the noon (at the place) of a time's UTC date.
 *
 * At sea level with a clear horizon; a hill to the west is not known of. Good to about a minute up to 65 deg of latitude, where
 * refraction rather than astronomy decides; worse where the sun only grazes the horizon.
 *
 * @throws RangeError for a time, latitude or longitude that is not one
 * Source: as `sunPosition`; Meeus ch. 15.
 */
export function sunTimes(timeS: number, latDeg: number, lonDeg: number): SunTimes {
  checkPlace(latDeg, lonDeg);
  if (!Number.isFinite(timeS)) throw new RangeError(`timeS ${timeS}: expected a time`);
  const times = getTimes(new Date(timeS * 1000), latDeg, lonDeg);
  const seconds = (date: Date | null): number => (date === null ? NaN : date.valueOf() / 1000);
  const happens = times.sunrise !== null || times.sunset !== null;
  return {
    noonS: seconds(times.solarNoon),
    sunriseS: seconds(times.sunrise),
    sunsetS: seconds(times.sunset),
    dawnS: seconds(times.dawn),
    duskS: seconds(times.dusk),
    allDay: happens ? null : isAbove(seconds(times.solarNoon), latDeg, lonDeg, 'sun') ? 'up' : 'down',
  };
}

/**
 * When there is light, within a span: rising stretches, apart from each other.
 * @throws RangeError unless startS < endS, less than ten years apart
 */
export function lightSpans(startS: number, endS: number, latDeg: number, lonDeg: number, light: Light): TimeSpan[] {
  if (!(endS > startS && endS - startS < 10 * 366 * DAY_S)) throw new RangeError(`span ${startS} to ${endS}: expected a start before the end, at most 10 years apart`);
  const spans: { startS: number; endS: number }[] = [];
  for (let dayS = startS - DAY_S; dayS <= endS + DAY_S; dayS += DAY_S) {
    const times = sunTimes(dayS, latDeg, lonDeg);
    const [rise, set] = light === 'sun' ? [times.sunriseS, times.sunsetS] : [times.dawnS, times.duskS];
    const whole = Number.isNaN(rise) && Number.isNaN(set) && isAbove(times.noonS, latDeg, lonDeg, light);
    // The solar day runs from midnight to midnight of the sun; half a minute over joins whole days.
    const from = whole ? times.noonS - DAY_S / 2 - 30 : rise;
    const to = whole ? times.noonS + DAY_S / 2 + 30 : set;
    const span = { startS: Math.max(startS, from), endS: Math.min(endS, to) };
    if (!(span.endS > span.startS)) continue;
    const last = spans[spans.length - 1];
    if (last !== undefined && span.startS <= last.endS) last.endS = Math.max(last.endS, span.endS);
    else spans.push(span);
  }
  return spans;
}

/** Whether the sun's centre stands above the edge of the light; refraction taken off the altitude as it is seen. */
function isAbove(timeS: number, latDeg: number, lonDeg: number, light: Light): boolean {
  const { altitudeDeg } = sunPosition(timeS, latDeg, lonDeg);
  // Below the horizon the library lifts by the refraction at the horizon, 0.483 deg: Meeus 16.4 at 0 deg.
  return altitudeDeg - 0.483 > EDGE_DEG[light];
}

function checkPlace(latDeg: number, lonDeg: number): void {
  if (!(latDeg >= -90 && latDeg <= 90)) throw new RangeError(`latDeg ${latDeg}: expected -90 to 90`);
  if (!(lonDeg >= -180 && lonDeg <= 180)) throw new RangeError(`lonDeg ${lonDeg}: expected -180 to 180`);
}
