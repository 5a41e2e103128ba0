import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { correctForSoundSpeed, createSoundProfile, uniformSoundProfile } from '../../src/water/sound-profile.js';
import { reference } from './recorded.js';

const table = reference('water/reference.json') as {
  profile: { depthM: number[]; soundSpeedMps: number[] };
  travel: { from: number; to: number; timeS: number }[];
  inverse: { from: number; timeS: number; depthM: number }[];
};
const profile = createSoundProfile(table.profile.depthM, table.profile.soundSpeedMps);

describe('sound profile', () => {
  it.each(table.travel)('travelTimeS: equals the integral of 1/c from $from to $to m', ({ from, to, timeS }) => {
    // Source: scipy.integrate.quad, test/reference/water/make.py. 1e-12 s is 2 nm.
    expect(Math.abs(profile.travelTimeS(from, to) - timeS)).toBeLessThan(1e-12);
    expect(profile.harmonicMeanMps(from, to)).toBeCloseTo((to - from) / timeS, 6);
    expect(profile.travelTimeS(to, from)).toBeCloseTo(-timeS, 12);
  });

  it.each(table.inverse)('depthAfter: reaches the depth found by root search after $timeS s', ({ from, timeS, depthM }) => {
    expect(Math.abs(profile.depthAfter(from, timeS) - depthM)).toBeLessThan(1e-8);
  });

  it('harmonicMeanMps: one layer of linear gradient gives g (z2 - z1) / ln(c2/c1)', () => {
    // Source: IHO C-13 (2005), eq. 3.18 for one layer.
    const layer = createSoundProfile([0, 10], [1480, 1520]);
    expect(layer.harmonicMeanMps(0, 10)).toBeCloseTo(40 / Math.log(1520 / 1480), 9);
  });

  it('harmonicMeanMps: at one depth is the speed there, and never outside the speeds passed', () => {
    expect(profile.harmonicMeanMps(4.75, 4.75)).toBe(profile.speedAt(4.75));
    fc.assert(
      fc.property(fc.double({ min: -1, max: 50, noNaN: true }), fc.double({ min: 0.001, max: 50, noNaN: true }), (from, way) => {
        const mean = profile.harmonicMeanMps(from, from + way);
        expect(mean).toBeGreaterThanOrEqual(1495 - 1e-6);
        expect(mean).toBeLessThanOrEqual(1510 + 1e-6);
      }),
      { seed: 11 },
    );
  });

  it('depthAfter: undoes travelTimeS anywhere', () => {
    fc.assert(
      fc.property(fc.double({ min: -2, max: 60, noNaN: true }), fc.double({ min: -2, max: 60, noNaN: true }), (from, to) => {
        expect(profile.depthAfter(from, profile.travelTimeS(from, to))).toBeCloseTo(to, 8);
      }),
      { seed: 12 },
    );
  });

  it('speedAt: is constant above the first depth and below the last', () => {
    expect(profile.speedAt(-3)).toBe(1510);
    expect(profile.speedAt(100)).toBe(1502);
    expect(profile.speedAt(NaN)).toBeNaN();
    expect(profile.depthAfter(0, NaN)).toBeNaN();
  });

  it('correctForSoundSpeed: scales by c/set in uniform water, and uses only the water below the transducer', () => {
    expect(correctForSoundSpeed(10, 1500, 0.3, uniformSoundProfile(1470))).toBeCloseTo(9.8, 12);
    expect(correctForSoundSpeed(9.8, 1470, 0.3, uniformSoundProfile(1500))).toBeCloseTo(10, 12);
    // Above the transducer anything may be: here a skin of warm water.
    const skin = createSoundProfile([0, 0.49, 0.5, 20], [1600, 1600, 1500, 1500]);
    expect(correctForSoundSpeed(8, 1500, 0.5, skin)).toBeCloseTo(8, 12);
    expect(correctForSoundSpeed(8, 1500, 0, skin)).toBeGreaterThan(8.02);
    expect(correctForSoundSpeed(NaN, 1500, 0, skin)).toBeNaN();
  });

  it('createSoundProfile: refuses depths that do not rise, speeds that are no water, and empty columns', () => {
    expect(() => createSoundProfile([0, 2, 2], [1500, 1500, 1500])).toThrow('profile depth 3: 2 m after 2 m: expected deeper');
    expect(() => createSoundProfile([0], [4900])).toThrow('profile speed 1: 4900: expected 1300 to 1800 m/s');
    expect(() => createSoundProfile([], [])).toThrow(RangeError);
    expect(() => createSoundProfile([0, 1], [1500])).toThrow(RangeError);
    expect(() => createSoundProfile([NaN], [1500])).toThrow(RangeError);
  });
});
