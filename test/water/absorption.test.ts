import { describe, expect, it } from 'vitest';
import { absorptionDbPerKm } from '../../src/water/absorption.js';

/** Ainslie & McColm (1998), J. Acoust. Soc. Am. 103(3), 1671-1672: simpler, fitted to the same data; z in km. */
function ainslieMcColm(f: number, t: number, s: number, z: number, pH: number): number {
  const f1 = 0.78 * Math.sqrt(s / 35) * Math.exp(t / 26);
  const f2 = 42 * Math.exp(t / 17);
  return (
    0.106 * ((f1 * f * f) / (f * f + f1 * f1)) * Math.exp((pH - 8) / 0.56) +
    0.52 * (1 + t / 43) * (s / 35) * ((f2 * f * f) / (f * f + f2 * f2)) * Math.exp(-z / 6) +
    0.00049 * f * f * Math.exp(-(t / 27 + z / 17))
  );
}

describe('absorptionDbPerKm', () => {
  it('absorptionDbPerKm: the check values of Francois & Garrison (1982)', () => {
    expect(absorptionDbPerKm(100, 10, 35, 0)).toBeCloseTo(33.63, 1);
    expect(absorptionDbPerKm(450, 10, 35, 0)).toBeCloseTo(109.7, 0);
  });
  it('absorptionDbPerKm: within 10 % of Ainslie & McColm (1998) over sea water, 10 to 1000 kHz', () => {
    expect(ainslieMcColm(100, 10, 35, 0, 8)).toBeCloseTo(34.34, 1);
    for (const f of [10, 30, 100, 300, 450, 900]) for (const t of [0, 5, 10, 20]) for (const s of [30, 35]) for (const z of [0, 100]) {
      expect(Math.abs(absorptionDbPerKm(f, t, s, z) / ainslieMcColm(f, t, s, z / 1000, 8) - 1), `${f} kHz ${t} C ${s}`).toBeLessThan(0.1);
    }
  });
  it('absorptionDbPerKm: water alone when it is fresh; NaN in, NaN out', () => {
    expect(absorptionDbPerKm(450, 10, 0, 0)).toBeCloseTo((4.937e-4 - 2.59e-4 + 9.11e-5 - 1.5e-5) * 450 * 450, 6);
    expect(absorptionDbPerKm(NaN, 10, 35, 0)).toBeNaN();
  });
});
