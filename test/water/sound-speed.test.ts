import { describe, expect, it } from 'vitest';
import { depthFromPressure, soundSpeedMackenzie, soundSpeedUnesco } from '../../src/water/sound-speed.js';
import { HAVE_SHARED, reference, SHARED_NOTE, sharedText } from './recorded.js';

const { teos10 } = reference('water/reference.json') as { teos10: { rows: [number, number, number, number][] } };

describe('sound speed', () => {
  it('soundSpeedUnesco: gives the check value printed in UNESCO TP 44', () => {
    expect(soundSpeedUnesco(40, 40, 10_000)).toBeCloseTo(1731.995, 3);
  });

  it('soundSpeedMackenzie: gives the check value printed in the paper', () => {
    expect(soundSpeedMackenzie(25, 35, 1000)).toBeCloseTo(1550.744, 3);
  });

  it('depthFromPressure: gives the check value printed in UNESCO TP 44', () => {
    expect(depthFromPressure(10_000, 30)).toBeCloseTo(9712.653, 3);
  });

  it('soundSpeedUnesco: agrees with TEOS-10 from fresh to ocean water, shallow', () => {
    // Both describe the same water from different measurements; 0.15 m/s is a hundredth of a per cent, 1 mm in 10 m.
    for (const [temperatureC, salinity, pressureDbar, speed] of teos10.rows) {
      expect(Math.abs(soundSpeedUnesco(temperatureC * 1.00024, salinity, pressureDbar) - speed)).toBeLessThan(0.15);
    }
  });

  it('soundSpeedMackenzie: agrees with TEOS-10 at ocean salinity', () => {
    // The paper's standard error is 0.070 m/s; twice that for a difference of two.
    const rows = teos10.rows.filter(([, salinity]) => salinity === 35);
    expect(rows.length).toBeGreaterThan(10);
    for (const [temperatureC, salinity, pressureDbar, speed] of rows) {
      expect(Math.abs(soundSpeedMackenzie(temperatureC, salinity, depthFromPressure(pressureDbar, 46)) - speed)).toBeLessThan(0.14);
    }
  });

  it('NaN in any argument gives NaN', () => {
    expect(soundSpeedUnesco(NaN, 35, 0)).toBeNaN();
    expect(soundSpeedUnesco(10, NaN, 0)).toBeNaN();
    expect(soundSpeedMackenzie(10, 35, NaN)).toBeNaN();
    expect(depthFromPressure(NaN, 0)).toBeNaN();
  });
});

describe.skipIf(!HAVE_SHARED)(`published tables${SHARED_NOTE}`, () => {
  const checks = HAVE_SHARED
    ? (JSON.parse(sharedText('checks/check-values.json')) as {
        sound_speed: { eq: string; S: number; rows_T?: number[]; cols_P_dbar?: number[]; c: number[][] }[];
        depth_from_pressure_TP44: { P_dbar: number[]; lat: number[]; z: number[][] };
      })
    : null;

  it('soundSpeedUnesco: gives every value of the tables in UNESCO TP 44 to the digit printed', () => {
    const tables = checks!.sound_speed.filter(({ eq }) => eq === 'UNESCO TP44 table');
    expect(tables.length).toBe(2);
    for (const { S, rows_T, cols_P_dbar, c } of tables) {
      rows_T!.forEach((t, row) => cols_P_dbar!.forEach((p, col) => expect(Math.abs(soundSpeedUnesco(t, S, p) - c[row]![col]!)).toBeLessThanOrEqual(0.0501)));
    }
  });

  it('depthFromPressure: gives every value of the table in UNESCO TP 44 to the digit printed', () => {
    const { P_dbar, lat, z } = checks!.depth_from_pressure_TP44;
    P_dbar.forEach((p, row) => lat.forEach((latDeg, col) => expect(Math.abs(depthFromPressure(p, latDeg) - z[row]![col]!)).toBeLessThanOrEqual(0.00501)));
  });
});
