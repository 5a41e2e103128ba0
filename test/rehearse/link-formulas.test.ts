import fc from 'fast-check';
import { existsSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { breakDistanceM, curvatureLossDb, earthBulgeM, freeSpaceLossDb, fresnelRadiusM, knifeEdgeLossDb, knifeEdgeParameter, wavelengthM } from '../../src/rehearse/link-formulas.js';
import { reflectionCoefficient, roughnessFactor, twoRayLossDb, waterPermittivity, waterReflection } from '../../src/rehearse/link-two-ray.js';

const CHECKS = new URL('../../../shared/data/checks/check-values.json', import.meta.url);
const HAVE_CHECKS = existsSync(CHECKS);
const MHZ_OF_30_CM = 299.792458 / 0.3;
const total = (): readonly [number, number] => [-1, 0];
const SEA = { temperatureC: 15, salinity: 35, waveHeightM: 0 };

describe('radio formulas', () => {
  it('freeSpaceLossDb: meets ITU-R P.525 at 2400 MHz and 1 km, 915 MHz and 5 km', () => {
    // Source: ITU-R P.525-4, 2.3. Its constant 32.4 is rounded from 32.45: 0.05 dB.
    expect(Math.abs(freeSpaceLossDb(2400, 1000) - 100.0)).toBeLessThan(0.06);
    expect(Math.abs(freeSpaceLossDb(915, 5000) - 105.61)).toBeLessThan(0.06);
  });

  it('fresnelRadiusM: lies between the two published practical forms in the middle of 1 km at 2.4 GHz', () => {
    // Source: P.526 (550 sqrt) 5.61 m and P.530 (17.3 sqrt) 5.58 m: constants rounded either way.
    const radiusM = fresnelRadiusM(2400, 500, 500);
    expect(radiusM).toBeGreaterThan(5.58 - 0.005);
    expect(radiusM).toBeLessThan(5.61);
    expect(fresnelRadiusM(2400, 500, 500, 4)).toBeCloseTo(2 * radiusM, 12);
  });

  it('breakDistanceM: 26 m for a 2 m mast and a 0.4 m antenna at 2.4 GHz', () => {
    // Source: TRADE "Link".
    expect(Math.round(breakDistanceM(2400, 2, 0.4))).toBe(26);
  });

  it('earthBulgeM: 1.5 cm in the middle of 1 km, 0.37 m in the middle of 5 km', () => {
    // d^2 / (8 a) with a = 8500 km (ITU-R P.526, 1).
    expect(earthBulgeM(500, 500)).toBeCloseTo(1e6 / 8 / 8.5e6, 12);
    expect(earthBulgeM(2500, 2500)).toBeCloseTo(0.368, 3);
  });

  it('knifeEdgeLossDb: agrees with the Fresnel integrals it approximates', () => {
    // Source: ITU-R P.526-15, eq. 30: J = -20 log(sqrt((1 - C - S)^2 + (C - S)^2) / 2), integrated here by Simpson's rule.
    const exactDb = (v: number): number => {
      const n = 20_000;
      const h = v / n;
      let [c, s] = [0, 0];
      for (let i = 0; i <= n; i++) {
        const weight = i === 0 || i === n ? 1 : i % 2 === 1 ? 4 : 2;
        c += (weight * h * Math.cos((Math.PI * (i * h) ** 2) / 2)) / 3;
        s += (weight * h * Math.sin((Math.PI * (i * h) ** 2) / 2)) / 3;
      }
      return -20 * Math.log10(Math.hypot(1 - c - s, c - s) / 2);
    };
    expect(exactDb(0)).toBeCloseTo(6.0206, 4);
    // Eq. 31 is stated as an approximation; it stays within 0.25 dB of the integrals where v > -0.7.
    for (const v of [-0.7, -0.5, -0.25, 0, 0.5, 1, 1.5, 2.4, 4, 10]) expect(Math.abs(knifeEdgeLossDb(v) - exactDb(v)), `v ${v}`).toBeLessThan(0.25);
    expect(knifeEdgeLossDb(-0.78)).toBe(0);
    expect(knifeEdgeLossDb(-5)).toBe(0);
    expect(knifeEdgeLossDb(NaN)).toBeNaN();
    // Grazing over: v in terms of clearance and zone radius.
    expect(knifeEdgeParameter(2400, fresnelRadiusM(2400, 300, 700), 300, 700)).toBeCloseTo(Math.SQRT2, 10);
  });

  it('curvatureLossDb: starts at nothing, joins at X = 1.6, never falls', () => {
    const perM = Math.cbrt(Math.PI / (wavelengthM(2400) * 8_500_000 ** 2));
    expect(curvatureLossDb(2400, 0)).toBe(0);
    expect(curvatureLossDb(2400, 250)).toBeLessThan(0.03);
    // The two published branches, eq. 15, were fitted apart: they join within 0.1 dB.
    expect(Math.abs(curvatureLossDb(2400, 1.6 / perM - 0.01) - curvatureLossDb(2400, 1.6 / perM + 0.01))).toBeLessThan(0.1);
    let last = 0;
    for (let d = 10; d < 60_000; d *= 1.05) {
      const here = curvatureLossDb(2400, d);
      expect(here).toBeGreaterThanOrEqual(last - 0.1);
      last = here;
    }
  });
});

describe('two rays over water', () => {
  it('twoRayLossDb: meets the published table for total reflection, wavelength 0.3 m, both antennas 2 m', () => {
    // Source: the published two-ray table of checks/check-values.json (two_ray_JPL_lambda0.3_h2_2), gain against isotropic, two decimals.
    for (const [distanceM, gainDb] of [[100, -69.0], [1000, -107.97], [10_000, -147.96]] as const) {
      expect(Math.abs(-twoRayLossDb(MHZ_OF_30_CM, distanceM, 2, 2, total) - gainDb), `${distanceM} m`).toBeLessThan(0.01);
    }
  });

  it.skipIf(!HAVE_CHECKS)(`published radio values: those of check-values.json${HAVE_CHECKS ? '' : ' (SKIPPED: ../shared/data is not here)'}`, () => {
    const radio = (JSON.parse(readFileSync(CHECKS, 'utf8')) as { radio: { P525: { f_MHz: number; d_km: number; L: number }[]; 'two_ray_JPL_lambda0.3_h2_2': [number, number, number | null][] } }).radio;
    for (const { f_MHz, d_km, L } of radio.P525) expect(Math.abs(freeSpaceLossDb(f_MHz, d_km * 1000) - L)).toBeLessThan(0.06);
    for (const [distanceM, twoRay, free] of radio['two_ray_JPL_lambda0.3_h2_2']) {
      expect(Math.abs(-twoRayLossDb(MHZ_OF_30_CM, distanceM, 2, 2, total) - twoRay)).toBeLessThan(0.01);
      if (free !== null) expect(Math.abs(-freeSpaceLossDb(MHZ_OF_30_CM, distanceM) - free)).toBeLessThan(0.01);
    }
  });

  it('twoRayLossDb: far out is 40 log d - 20 log(h1 h2), whatever the frequency', () => {
    // Source: the plane-earth law (common practice).
    for (const mhz of [433, 915, 2400, 5800]) expect(twoRayLossDb(mhz, 50_000, 2, 0.4, total)).toBeCloseTo(40 * Math.log10(50_000) - 20 * Math.log10(0.8), 2);
  });

  it('twoRayLossDb: is the same both ways', () => {
    const reflection = waterReflection(2400, SEA, 'vertical');
    fc.assert(
      fc.property(fc.double({ min: 1, max: 5000, noNaN: true }), fc.double({ min: 0.1, max: 20, noNaN: true }), fc.double({ min: 0.1, max: 20, noNaN: true }), (d, a, b) => {
        expect(twoRayLossDb(2400, d, a, b, reflection)).toBeCloseTo(twoRayLossDb(2400, d, b, a, reflection), 9);
      }),
      { seed: 41, numRuns: 300 },
    );
  });

  it('twoRayLossDb: never falls with distance beyond the break distance', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(433, 915, 2400, 5800),
        fc.double({ min: 0.5, max: 10, noNaN: true }),
        fc.double({ min: 0.2, max: 2, noNaN: true }),
        fc.constantFrom('vertical' as const, 'horizontal' as const),
        (mhz, a, b, polarisation) => {
          const reflection = waterReflection(mhz, SEA, polarisation);
          // The law takes total reflection: grazing well below the Brewster angle of some 6 deg.
          const from = Math.max(breakDistanceM(mhz, a, b), 20 * (a + b));
          let last = -Infinity;
          for (let d = from; d < 100 * from; d *= 1.1) {
            const here = twoRayLossDb(mhz, d, a, b, reflection);
            expect(here).toBeGreaterThan(last);
            last = here;
          }
        },
      ),
      { seed: 42, numRuns: 100 },
    );
  });

  it('waterPermittivity: has the published conductivity of sea water and static permittivity of fresh water', () => {
    // Sources: C(35, 15, 0) = 4.2914 S/m (practical salinity scale, UNESCO TP 36/44); static permittivity of water 78.3 at
    // 25 deg C (Malmberg and Maryott 1956). Klein and Swift's fits are older: 1 %.
    const [, loss] = waterPermittivity(1, 15, 35);
    expect(Math.abs((-loss * 2e6 * Math.PI * 8.8541878e-12) / 4.2914 - 1)).toBeLessThan(0.01);
    expect(Math.abs(waterPermittivity(10, 25, 0)[0] / 78.3 - 1)).toBeLessThan(0.01);
    expect(waterPermittivity(10, 25, 0)[1]).toBeGreaterThan(-0.1);
  });

  it('reflectionCoefficient: tends to -1 at grazing incidence, is weakest in the vertical near the Brewster angle, is one of two with no water', () => {
    const sea = waterPermittivity(2400, 15, 35);
    for (const polarisation of ['vertical', 'horizontal'] as const) {
      const [re, im] = reflectionCoefficient(sea, 1e-6, polarisation);
      expect(Math.hypot(re + 1, im)).toBeLessThan(1e-4);
    }
    const size = (deg: number): number => Math.hypot(...reflectionCoefficient(sea, (deg * Math.PI) / 180, 'vertical'));
    const angles = Array.from({ length: 400 }, (_, i) => 0.05 * (i + 1));
    const weakest = angles.reduce((best, deg) => (size(deg) < size(best) ? deg : best));
    const brewster = (Math.atan(1 / Math.sqrt(Math.hypot(...sea))) * 180) / Math.PI;
    expect(Math.abs(weakest - brewster)).toBeLessThan(0.5);
    expect(Math.hypot(...reflectionCoefficient([1, 0], 0.3, 'horizontal'))).toBeCloseTo(0, 12);
    // At right angles both polarisations reflect alike but for the sign: (n - 1) / (n + 1).
    const [v] = reflectionCoefficient([81, 0], Math.PI / 2, 'vertical');
    const [h] = reflectionCoefficient([81, 0], Math.PI / 2, 'horizontal');
    expect(v).toBeCloseTo(8 / 10, 12);
    expect(h).toBeCloseTo(-8 / 10, 12);
  });

  it('roughnessFactor: 1 on flat water, less with waves and angle', () => {
    expect(roughnessFactor(2400, 0.05, 0)).toBe(1);
    expect(roughnessFactor(2400, 0.01, 0.3)).toBeGreaterThan(roughnessFactor(2400, 0.05, 0.3));
    // s = 0.075 m, psi = 0.05, lambda = 0.1249 m: phase 0.1885, exp(-0.0711).
    expect(roughnessFactor(2400, 0.05, 0.3)).toBeCloseTo(Math.exp(-2 * ((2 * Math.PI * 0.075 * Math.sin(0.05)) / (299.792458 / 2400)) ** 2), 12);
  });
});
