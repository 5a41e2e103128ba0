import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { convergenceDeg, foldBearingDeg, gridBearingDeg, wrap360Deg } from '../../src/geo/bearing.js';
import { createFrame } from '../../src/geo/frame.js';
import { geodesicLeg } from '../../src/geo/geodesic.js';

interface Reference {
  readonly convergence: readonly { zone: number; hemisphere: 'north' | 'south'; latDeg: number; lonDeg: number; convergenceDeg: number }[];
}
const reference = JSON.parse(readFileSync(new URL('../reference/geo/reference.json', import.meta.url), 'utf8')) as Reference;

test('convergenceDeg: agrees with PROJ 9.1 over four zones (test/reference/geo/make.py)', () => {
  expect(reference.convergence.length).toBe(75);
  for (const row of reference.convergence) {
    const frame = createFrame({ kind: 'utm', zone: row.zone, hemisphere: row.hemisphere });
    const [xM, yM] = frame.toFrame(row.latDeg, row.lonDeg);
    // A line's heading is kept to a hundredth of a degree; a ten-thousandth here leaves it exact.
    expect(Math.abs(convergenceDeg(frame, xM, yM) - row.convergenceDeg)).toBeLessThan(1e-5);
  }
});

test('convergenceDeg: a true heading is the grid bearing plus it, against a geodesic', () => {
  const frame = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
  fc.assert(
    fc.property(fc.double({ min: -60, max: 70, noNaN: true }), fc.double({ min: -29.9, max: -24.1, noNaN: true }), fc.double({ min: 0, max: 359.9, noNaN: true }), (latDeg, lonDeg, bearing) => {
      const [xM, yM] = frame.toFrame(latDeg, lonDeg);
      const dx = 50 * Math.sin((bearing * Math.PI) / 180);
      const dy = 50 * Math.cos((bearing * Math.PI) / 180);
      const [lat1, lon1] = frame.toGeographic(xM - dx, yM - dy);
      const leg = geodesicLeg(latDeg, lonDeg, ...frame.toGeographic(xM + dx, yM + dy));
      const back = geodesicLeg(latDeg, lonDeg, lat1, lon1);
      const heading = wrap360Deg(bearing + convergenceDeg(frame, xM, yM));
      const apart = (a: number, b: number): number => Math.abs(((a - b + 540) % 360) - 180);
      // Both halves of the line, so that its bend cancels; a thousandth of a degree is 2 cm over a kilometre.
      expect(apart(heading, leg.startBearingDeg)).toBeLessThan(2e-3);
      expect(apart(heading, back.startBearingDeg + 180)).toBeLessThan(2e-3);
    }),
    { seed: 11, numRuns: 200 },
  );
});

test('bearings: the four winds, and angles wrapped and folded', () => {
  expect([gridBearingDeg(0, 0, 0, 1), gridBearingDeg(0, 0, 1, 0), gridBearingDeg(0, 0, 0, -1), gridBearingDeg(0, 0, -1, 0)]).toEqual([0, 90, 180, 270]);
  expect([wrap360Deg(-90), wrap360Deg(360), wrap360Deg(725), wrap360Deg(-1e-15)]).toEqual([270, 0, 5, 0]);
  expect([foldBearingDeg(180), foldBearingDeg(270), foldBearingDeg(-10), foldBearingDeg(179.5)]).toEqual([0, 90, 170, 179.5]);
  expect(wrap360Deg(NaN)).toBeNaN();
});
