import { describe, expect, it } from 'vitest';
import { parseUtc } from '../../src/base/time.js';
import { lightSpans, sunPosition, sunTimes } from '../../src/water/sun.js';

const RAD = Math.PI / 180;

/** An independent sun: the general solar position equations of NOAA (Spencer 1971). Good to a minute or two. */
function noaaTimesS(dayS: number, latDeg: number, lonDeg: number, zenithDeg: number): { riseS: number; setS: number; noonS: number } {
  const year = new Date(dayS * 1000).getUTCFullYear();
  const dayOfYear = (dayS - Date.UTC(year, 0, 1) / 1000) / 86_400 + 1;
  const y = ((2 * Math.PI) / 365) * (dayOfYear - 1 - lonDeg / 360);
  const equationMin = 229.18 * (0.000075 + 0.001868 * Math.cos(y) - 0.032077 * Math.sin(y) - 0.014615 * Math.cos(2 * y) - 0.040849 * Math.sin(2 * y));
  const declination = 0.006918 - 0.399912 * Math.cos(y) + 0.070257 * Math.sin(y) - 0.006758 * Math.cos(2 * y) + 0.000907 * Math.sin(2 * y) - 0.002697 * Math.cos(3 * y) + 0.00148 * Math.sin(3 * y);
  const cosHour = Math.cos(zenithDeg * RAD) / (Math.cos(latDeg * RAD) * Math.cos(declination)) - Math.tan(latDeg * RAD) * Math.tan(declination);
  const hourMin = (4 * Math.acos(cosHour)) / RAD;
  const noonMin = 720 - 4 * lonDeg - equationMin;
  return { riseS: dayS + 60 * (noonMin - hourMin), setS: dayS + 60 * (noonMin + hourMin), noonS: dayS + 60 * noonMin };
}

describe('sun', () => {
  it('sunPosition, sunTimes: meet the worked example of the solar position algorithm', () => {
    // Source: Reda and Andreas, NREL/TP-560-34302, table A5.1: 2003-10-17 12:30:30 at UTC-7, 39.742476 N 105.1786 W:
    // geometric elevation 39.872046, azimuth 194.340241, sunrise 06:12:43, sunset 17:20:19.
    const at = sunPosition(parseUtc('2003-10-17T19:30:30Z'), 39.742476, -105.1786);
    // Refraction at sea level lifts 39.87 deg by 1.02 / tan(40.10 deg) = 1.21 minutes (Meeus 16.4). The sun's own series: 0.01 deg.
    expect(Math.abs(at.altitudeDeg - (39.872046 + 1.21 / 60))).toBeLessThan(0.01);
    expect(Math.abs(at.azimuthDeg - 194.340241)).toBeLessThan(0.015);
    const times = sunTimes(parseUtc('2003-10-17T19:30:30Z'), 39.742476, -105.1786);
    expect(Math.abs(times.sunriseS - parseUtc('2003-10-17T13:12:43Z'))).toBeLessThan(10);
    // The algorithm gives the events of the UT day: its sunset of the 17th falls at 00:20:19 UT, the evening of the 16th on the spot.
    const evening = sunTimes(parseUtc('2003-10-16T19:30:30Z'), 39.742476, -105.1786);
    expect(Math.abs(evening.sunsetS - parseUtc('2003-10-17T00:20:19Z'))).toBeLessThan(10);
    expect(times.allDay).toBeNull();
  });

  it('sunTimes: meets the Nautical Almanac Office example of 25 June 1990', () => {
    // Source: Almanac for Computers 1990, US Naval Observatory, worked example, 40.9 N 74.3 W: sunrise 9.441 h UT; its method is
    // good to a minute or so.
    const times = sunTimes(parseUtc('1990-06-25T12:00:00Z'), 40.9, -74.3);
    expect(Math.abs(times.sunriseS - (parseUtc('1990-06-25T00:00:00Z') + 9.441 * 3600))).toBeLessThan(90);
  });

  it('sunTimes: agrees with the NOAA equations through the year, 60 S to 60 N', () => {
    let seen = 0;
    for (const latDeg of [-60, -35, 0, 46, 60]) {
      for (const lonDeg of [-170, -30, 0, 100, 179]) {
        for (let month = 0; month < 12; month++) {
          const dayS = Date.UTC(2026, month, 15) / 1000;
          const noaa = noaaTimesS(dayS, latDeg, lonDeg, 90.833);
          const twilight = noaaTimesS(dayS, latDeg, lonDeg, 96);
          const ours = sunTimes(noaa.noonS, latDeg, lonDeg);
          // Its declination is good to some 0.2 deg at worst, which is 3 min of sunrise at 60 deg of latitude.
          const limitS = Math.abs(latDeg) === 60 ? 360 : 150;
          // The solar day may be counted from the UTC day before or after.
          const apart = (a: number, b: number): number => Math.abs(((((a - b) % 86_400) + 129_600) % 86_400) - 43_200);
          expect(apart(ours.noonS, noaa.noonS), 'noon').toBeLessThan(60);
          expect(apart(ours.sunriseS, noaa.riseS), `sunrise ${latDeg} ${lonDeg} ${month}`).toBeLessThan(limitS);
          expect(apart(ours.sunsetS, noaa.setS), 'sunset').toBeLessThan(limitS);
          if (!Number.isNaN(twilight.riseS)) {
            expect(apart(ours.dawnS, twilight.riseS), `dawn ${latDeg} ${lonDeg} ${month}`).toBeLessThan(2 * limitS);
            expect(ours.dawnS).toBeLessThan(ours.sunriseS);
            expect(ours.duskS).toBeGreaterThan(ours.sunsetS);
          }
          seen++;
        }
      }
    }
    expect(seen).toBe(300);
  });

  it('sunTimes: has no sunrise in the polar day and night, and says which', () => {
    const day = sunTimes(parseUtc('2026-06-21T12:00:00Z'), 78, 15);
    expect(day.sunriseS).toBeNaN();
    expect(day.allDay).toBe('up');
    const night = sunTimes(parseUtc('2026-12-21T12:00:00Z'), 78, 15);
    expect(night.sunsetS).toBeNaN();
    expect(night.allDay).toBe('down');
    // Noon 1 deg below the horizon, 90 - 67.56 - 23.44: no upper limb, though refraction lifts what is seen to -0.5 deg.
    expect(sunTimes(parseUtc('2026-12-21T12:00:00Z'), 67.56, 0).allDay).toBe('down');
    // Noon 3.4 deg below: no sunrise, but a civil day.
    const dim = sunTimes(parseUtc('2026-12-21T12:00:00Z'), 70, 0);
    expect(dim.allDay).toBe('down');
    expect(dim.dawnS).toBeLessThan(dim.noonS);
    // Midnight 1.6 deg below: a sunset, but light to work by all night.
    const june = parseUtc('2026-06-21T00:00:00Z');
    expect(lightSpans(june, june + 86_400, 65, 0, 'civil')).toEqual([{ startS: june, endS: june + 86_400 }]);
    expect(lightSpans(june, june + 86_400, 65, 0, 'sun')[0]!.endS).toBeLessThan(june + 86_400);
  });

  it('lightSpans: one a day at 46 N, all of it in the polar day, none in the polar night', () => {
    const start = parseUtc('2026-05-04T00:00:00Z');
    const spans = lightSpans(start, start + 3 * 86_400, 46, -30, 'sun');
    expect(spans.length).toBe(3);
    for (const span of spans) {
      for (const edge of [span.startS, span.endS]) {
        // Seen altitude of the centre at the edge: -0.833 deg and the library's refraction at the horizon, 0.483.
        expect(Math.abs(sunPosition(edge, 46, -30).altitudeDeg + 0.35)).toBeLessThan(0.02);
      }
      expect(sunPosition((span.startS + span.endS) / 2, 46, -30).altitudeDeg).toBeGreaterThan(50);
    }
    const civil = lightSpans(start, start + 86_400, 46, -30, 'civil');
    expect(civil[0]!.startS).toBeLessThan(spans[0]!.startS);
    const june = parseUtc('2026-06-20T00:00:00Z');
    expect(lightSpans(june, june + 3 * 86_400, 78, 15, 'sun')).toEqual([{ startS: june, endS: june + 3 * 86_400 }]);
    const december = parseUtc('2026-12-20T00:00:00Z');
    expect(lightSpans(december, december + 3 * 86_400, 78, 15, 'civil')).toEqual([]);
  });

  it('lightSpans: every minute is in it or out of it as the sun stands, also across midnight UTC', () => {
    const start = parseUtc('2026-03-10T05:00:00Z');
    for (const lonDeg of [-175, -90, 0, 90, 175]) {
      const spans = lightSpans(start, start + 2 * 86_400, -40, lonDeg, 'sun');
      for (let t = start; t <= start + 2 * 86_400; t += 600) {
        const altitude = sunPosition(t, -40, lonDeg).altitudeDeg;
        if (Math.abs(altitude + 0.35) < 0.2) continue;
        expect(spans.some((span) => t >= span.startS && t <= span.endS), `${lonDeg} ${t}`).toBe(altitude > -0.35);
      }
    }
  });

  it('sunPosition: NaN for NaN, and refuses what is no place', () => {
    expect(sunPosition(NaN, 0, 0).altitudeDeg).toBeNaN();
    expect(() => sunPosition(0, 91, 0)).toThrow('latDeg 91: expected -90 to 90');
    expect(() => sunTimes(NaN, 0, 0)).toThrow('timeS NaN: expected a time');
    expect(() => lightSpans(1, 0, 0, 0, 'sun')).toThrow('span 1 to 0: expected a start before the end');
  });
});

describe('sunPosition, geometric', () => {
  it('is -0.833 at sunrise and sunset and -6 at dawn and dusk, as those are defined', () => {
    for (const [lat, lon] of [[46.04, -29.96], [-33.9, 18.4], [0, 100], [60, 5]] as const) {
      const day = Date.UTC(2026, 5, 17, 12) / 1000;
      const { sunriseS, sunsetS, dawnS, duskS } = sunTimes(day, lat, lon);
      for (const timeS of [sunriseS, sunsetS]) expect(Math.abs(sunPosition(timeS, lat, lon).geometricDeg + 0.833)).toBeLessThan(0.05);
      for (const timeS of [dawnS, duskS]) expect(Math.abs(sunPosition(timeS, lat, lon).geometricDeg + 6)).toBeLessThan(0.05);
    }
  });
});
