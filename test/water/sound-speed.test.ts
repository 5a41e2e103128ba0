import { describe, expect, it } from 'vitest';
import { absoluteSalinity, depthFromPressure, soundSpeedMackenzie, soundSpeedTeos10, soundSpeedUnesco } from '../../src/water/sound-speed.js';
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

describe('soundSpeedTeos10', () => {
  // Source: python3-gsw, sound_speed_t_exact; test/reference/teos10/make.py.
  const { rows } = reference('teos10/reference.json') as { rows: [number, number, number, number][] };

  it('gives what the reference program gives, from fresh water to brine and 0 to 8000 dbar, within a millionth of a m/s', () => {
    expect(rows.length).toBe(150);
    for (const [t, sa, p, speed] of rows) expect(Math.abs(soundSpeedTeos10(t, sa, p) - speed)).toBeLessThan(1e-6);
  });

  it('Absolute Salinity of standard sea water is 35.16504 g/kg, and of fresh water 0', () => {
    expect(absoluteSalinity(35)).toBeCloseTo(35.16504, 12);
    expect(absoluteSalinity(0)).toBe(0);
  });

  it('NaN in or a salinity below 0, NaN out', () => {
    expect(soundSpeedTeos10(NaN, 35, 0)).toBeNaN();
    expect(soundSpeedTeos10(10, -1, 0)).toBeNaN();
  });
});
