import { describe, expect, it } from 'vitest';
import { peukertTimeH, usableEnergyWh } from '../../src/boat/battery.js';
import { makeCard } from '../../src/boat/make-card.js';

describe('peukertTimeH', () => {
  it('is the rated form: 100 Ah at 20 h and 5 A with k = 1.2 lasts 20.0 h, not the 14.5 h of C / I^k (trade sheet)', () => {
    expect(peukertTimeH(100, 20, 5, 1.2)).toBeCloseTo(20, 12);
    expect(100 / 5 ** 1.2).toBeCloseTo(14.5, 1);
  });

  it('is capacity over current for an ideal battery, and shorter at a higher current the larger the exponent', () => {
    expect(peukertTimeH(40, 20, 8, 1)).toBeCloseTo(5, 12);
    expect(peukertTimeH(40, 20, 8, 1.2)).toBeLessThan(5);
    expect(peukertTimeH(40, 20, 1, 1.2)).toBeGreaterThan(40);
    expect(peukertTimeH(40, 20, 0, 1.2)).toBe(Infinity);
  });

  it('refuses what is no battery', () => {
    expect(() => peukertTimeH(0, 20, 5, 1.2)).toThrow('capacityAh 0: expected more than 0');
    expect(() => peukertTimeH(100, 20, -5, 1.2)).toThrow(/currentA -5: expected 0 or more; discharge is positive/);
    expect(() => peukertTimeH(100, 20, 5, 0.9)).toThrow(RangeError);
    expect(() => usableEnergyWh({ capacityAh: 10, ratedHours: 20, exponent: 1.1, voltageV: 25, usableShare: 1.2 }, 10)).toThrow(/usableShare 1.2/);
  });
});

describe('usableEnergyWh', () => {
  it('is voltage x capacity x share at the rated current', () => {
    expect(usableEnergyWh({ capacityAh: 60, ratedHours: 20, exponent: 1.1, voltageV: 25, usableShare: 0.8 }, 75)).toBeCloseTo(60 * 25 * 0.8, 9);
  });

  it('stands on the card, marked as by hand, at the power of survey speed', () => {
    const battery = { capacityAh: 60, ratedHours: 20, exponent: 1.1, voltageV: 25, usableShare: 0.8 };
    const card = makeCard({ name: '', lengthM: 1.2, massKg: 18, hand: { hotelPower: { value: 8, uncertainty95: 1 }, powerCoefficient: { value: 20, uncertainty95: 1 }, powerExponent: { value: 3, uncertainty95: 0.1 } }, defaults: false, battery });
    const power = 8 + 20 * 1.5 ** 3;
    expect(card.figures.batteryEnergy?.value).toBeCloseTo(power * 20 * (60 / ((power / 25) * 20)) ** 1.1 * 0.8, 9);
    expect(card.figures.batteryEnergy).toMatchObject({ source: 'hand', note: expect.stringMatching(/at 76 W, the power at 1.5 m\/s/) });
  });
});
