import { describe, expect, it } from 'vitest';
import { createTravelTime, hollinProfile, soundSpeedCsv } from '../../src/proving/sound-travel.js';

describe('sound travel time', () => {
  it('createTravelTime: ln(c2 / c1) / g in a constant gradient (integral of dz / c; IHO C-13 eq. 3.18)', () => {
    const time = createTravelTime({ depthM: Float64Array.of(0, 20), soundSpeedMps: Float64Array.of(1520, 1480) });
    expect(time(0, 20)).toBeCloseTo(Math.log(1480 / 1520) / -2, 12);
    // Between 5 m (1510 m/s) and 12 m (1496 m/s).
    expect(time(5, 12)).toBeCloseTo(Math.log(1496 / 1510) / -2, 12);
    expect(time(12, 5)).toBe(-time(5, 12));
  });

  it('createTravelTime: distance over speed in water of one speed, above and below the nodes too', () => {
    const time = createTravelTime({ depthM: Float64Array.of(1, 3), soundSpeedMps: Float64Array.of(1500, 1500) });
    expect(time(0, 15)).toBeCloseTo(0.01, 15);
    const one = createTravelTime({ depthM: Float64Array.of(0), soundSpeedMps: Float64Array.of(1480) });
    expect(one(1, 75)).toBeCloseTo(0.05, 15);
  });

  it('createTravelTime: agrees with a fine sum of dz / c over the profile of Hollin Sound', () => {
    const profile = hollinProfile(0.7);
    const time = createTravelTime(profile);
    const speedAt = (depth: number): number => {
      const i = Math.min(Math.floor(depth / 0.5), profile.depthM.length - 2);
      const share = (depth - profile.depthM[i]!) / 0.5;
      return profile.soundSpeedMps[i]! * (1 - share) + profile.soundSpeedMps[i + 1]! * share;
    };
    for (const [from, to] of [
      [0.16, 13.4],
      [0.2, 2.21],
      [4.05, 7.77],
    ] as const) {
      const n = 20_000;
      let sum = 0;
      for (let i = 0; i < n; i++) sum += (to - from) / n / speedAt(from + ((i + 0.5) * (to - from)) / n);
      expect(time(from, to)).toBeCloseTo(sum, 10);
    }
  });

  it('createTravelTime: refuses a profile that does not go down', () => {
    expect(() => createTravelTime({ depthM: Float64Array.of(0, 2, 2), soundSpeedMps: Float64Array.of(1500, 1500, 1500) })).toThrow(/depth 2 after 2/);
    expect(() => createTravelTime({ depthM: new Float64Array(0), soundSpeedMps: new Float64Array(0) })).toThrow(RangeError);
  });

  it('soundSpeedCsv: header with units, one row a node', () => {
    const rows = soundSpeedCsv(hollinProfile(0)).trimEnd().split('\n');
    expect(rows[0]).toBe('depthM,soundSpeedMps');
    expect(rows).toHaveLength(42);
    expect(rows[1]).toMatch(/^0\.0,1510\.\d\d$/);
    expect(Number(rows[20]!.split(',')[1])).toBeLessThan(1500);
  });
});
