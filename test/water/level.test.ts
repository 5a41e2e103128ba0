import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { constantLevel, seriesLevel } from '../../src/water/level.js';

const HOUR = 3600;
/** A metre of semidiurnal tide. */
const tide = (timeS: number): number => Math.cos((2 * Math.PI * timeS) / (12.4206 * HOUR));
const steps = (count: number, stepS: number): number[] => Array.from({ length: count }, (_, i) => i * stepS);
const at = (...times: number[]): Float64Array => Float64Array.from(times);

describe('water level', () => {
  it('seriesLevel: hourly readings of a metre of tide are joined to 2.3 mm, where straight lines miss 30 mm', () => {
    const times = steps(30, HOUR);
    const level = seriesLevel(times, times.map(tide), 2 * HOUR);
    const wanted = Float64Array.from({ length: 2000 }, (_, i) => 2 * HOUR + (i * 26 * HOUR) / 2000);
    const worst = Math.max(...level.levelsAt(wanted).map((value, i) => Math.abs(value - tide(wanted[i]!))));
    expect(worst).toBeLessThan(0.0023);
    const straight = Math.max(...steps(29, HOUR).map((t) => Math.abs((tide(t) + tide(t + HOUR)) / 2 - tide(t + HOUR / 2))));
    expect(straight).toBeGreaterThan(0.03);
  });

  it('seriesLevel: gives the readings themselves at their times, in any order of times asked', () => {
    const times = steps(20, 360);
    const level = seriesLevel(times, times.map(tide), HOUR);
    const wanted = Float64Array.from([...times].reverse());
    expect([...level.levelsAt(wanted)]).toEqual([...wanted].map(tide));
  });

  it('seriesLevel: NaN before the first reading, after the last, and inside a gap; not beside it', () => {
    const level = seriesLevel([0, 600, 1200, 9000, 9600], [1, 1.1, 1.2, 2, 2.1], 900);
    const [before, inside, gap, gapEnd, after, last, nan] = level.levelsAt(at(-1, 900, 5000, 9000, 9601, 9600, NaN));
    expect(before).toBeNaN();
    expect(inside).toBeCloseTo(1.15, 12);
    expect(gap).toBeNaN();
    expect(gapEnd).toBe(2);
    expect(after).toBeNaN();
    expect(last).toBe(2.1);
    expect(nan).toBeNaN();
  });

  it('seriesLevel: follows a straight line exactly, however unevenly it was read', () => {
    fc.assert(
      fc.property(fc.uniqueArray(fc.integer({ min: 0, max: 5000 }), { minLength: 2, maxLength: 40 }), fc.double({ min: 0, max: 1, noNaN: true }), (times, share) => {
        times.sort((a, b) => a - b);
        const level = seriesLevel(times, times.map((t) => 1 + 0.001 * t), 1e6);
        const wanted = times[0]! + share * (times.at(-1)! - times[0]!);
        expect(level.levelsAt(at(wanted))[0]).toBeCloseTo(1 + 0.001 * wanted, 9);
      }),
      { seed: 21 },
    );
  });

  it('seriesLevel: follows a parabola exactly between unevenly spaced readings that have one on either side', () => {
    const parabola = (t: number): number => 1 + 2e-4 * t - 3e-8 * t * t;
    const times = [0, 500, 1300, 1900, 3000, 3700];
    const level = seriesLevel(times, times.map(parabola), 4000);
    const wanted = Float64Array.from(steps(250, 10), (t) => 500 + t);
    level.levelsAt(wanted).forEach((value, i) => expect(value).toBeCloseTo(parabola(wanted[i]!), 12));
  });

  it('seriesLevel: readings every minute with 110 min missing are bridged to 6 mm for a metre of tide, where a straight line misses 100 mm', () => {
    const gap = [6 * HOUR, 6 * HOUR + 110 * 60] as const;
    for (let phase = 0; phase < 12; phase++) {
      const shifted = (t: number): number => tide(t + phase * 3727);
      const times = steps(900, 60).filter((t) => t <= gap[0] || t >= gap[1]);
      const wanted = Float64Array.from({ length: 200 }, (_, i) => gap[0] + (i * (gap[1] - gap[0])) / 199);
      const missed = (readings: readonly number[]): number => Math.max(...seriesLevel(times, readings, 2 * HOUR).levelsAt(wanted).map((value, i) => Math.abs(value - shifted(wanted[i]!))));
      expect(missed(times.map(shifted))).toBeLessThan(0.006);
      // Noise of 1 cm at the gap's edges stays noise of that size.
      expect(missed(times.map((t, i) => shifted(t) + (i % 2 === 0 ? 0.01 : -0.01)))).toBeLessThan(0.03);
    }
    expect(1 - Math.cos((Math.PI * 110 * 60) / (12.4206 * HOUR))).toBeGreaterThan(0.1);
  });

  it('seriesLevel: two readings a second apart cannot throw the curve about in the interval beside them', () => {
    const level = seriesLevel([0, 600, 601, 1200, 1800], [1, 1, 1.02, 1, 1], 900);
    for (const value of level.levelsAt(Float64Array.from(steps(1800, 1)))) {
      expect(value).toBeGreaterThan(0.99);
      expect(value).toBeLessThan(1.03);
    }
  });

  it('seriesLevel: passes over NaN rows and sorts; refuses two levels at one time', () => {
    const level = seriesLevel([600, NaN, 0, 300], [2, 5, 1, NaN], 900);
    expect(level.levelsAt(at(300))[0]).toBeCloseTo(1.5, 12);
    expect(() => seriesLevel([0, 0], [1, 2], 900)).toThrow('1 m and 2 m at the same time');
    expect(seriesLevel([0, 0, 600], [1, 1, 2], 900).levelsAt(at(0))[0]).toBe(1);
    expect(() => seriesLevel([0], [1], 0)).toThrow(RangeError);
    expect(seriesLevel([], [], 900).levelsAt(at(0))[0]).toBeNaN();
  });

  it('constantLevel: the same at every time, NaN at none', () => {
    expect([...constantLevel(1.5).levelsAt(at(0, NaN))]).toEqual([1.5, NaN]);
    expect(() => constantLevel(NaN)).toThrow(RangeError);
  });
});
