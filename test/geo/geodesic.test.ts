import { existsSync, readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { createFrame } from '../../src/geo/frame.js';
import { geodesicDestination, geodesicLeg } from '../../src/geo/geodesic.js';

const FILE = new URL('../../../shared/data/checks/check-values.json', import.meta.url);
const HAVE = existsSync(FILE);

describe.skipIf(!HAVE)(`published check values${HAVE ? '' : ' (SKIPPED: ../shared/data/checks is not here)'}`, () => {
  interface Values {
    readonly geodesic_first_case: { lat1: number; lon1: number; azi1: number; lat2: number; lon2: number; azi2: number; s12: number };
    readonly utm32: { lon: number; lat: number; E: number; N: number };
  }
  const values = HAVE ? (JSON.parse(readFileSync(FILE, 'utf8')) as Values) : null;

  test('geodesicLeg: first case of the GeographicLib tests (Karney)', () => {
    const { lat1, lon1, azi1, lat2, lon2, azi2, s12 } = values!.geodesic_first_case;
    const leg = geodesicLeg(lat1, lon1, lat2, lon2);
    // The library states some nanometres; the printed value has 1e-8 m, angles 1e-13 deg.
    expect(Math.abs(leg.lengthM - s12)).toBeLessThan(1e-7);
    expect(Math.abs(leg.startBearingDeg - azi1)).toBeLessThan(1e-11);
    expect(Math.abs(leg.endBearingDeg - azi2)).toBeLessThan(1e-11);
    const [lat, lon] = geodesicDestination(lat1, lon1, azi1, s12);
    expect(Math.abs(lat - lat2)).toBeLessThan(1e-12);
    expect(Math.abs(lon - lon2)).toBeLessThan(1e-12);
  });

  test('createFrame: UTM 32 N of 12 E 56 N', () => {
    const { lon, lat, E, N } = values!.utm32;
    const [xM, yM] = createFrame({ kind: 'utm', zone: 32, hemisphere: 'north' }).toFrame(lat, lon);
    // The printed northing is of an older series, 0.12 mm from PROJ 9.1 (6210141.326872105), which we meet to a micrometre.
    expect(Math.abs(xM - E)).toBeLessThan(1e-3);
    expect(Math.abs(yM - N)).toBeLessThan(1e-3);
    expect(Math.abs(xM - 687071.439107327)).toBeLessThan(1e-6);
    expect(Math.abs(yM - 6210141.326872105)).toBeLessThan(1e-6);
  });
});

test('geodesicLeg: a degree of longitude on the equator is its share of the circle, and no leg is no length', () => {
  expect(geodesicLeg(0, -30, 0, -29).lengthM).toBeCloseTo((2 * Math.PI * 6_378_137) / 360, 6);
  expect(geodesicLeg(46, -30, 46, -30).lengthM).toBe(0);
  expect(geodesicLeg(NaN, 0, 1, 1).lengthM).toBeNaN();
});
