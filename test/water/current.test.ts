import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { convergenceDeg as frameConvergenceDeg } from '../../src/geo/bearing.js';
import { createFrame } from '../../src/geo/frame.js';
import { currentFromConstituents, constituentFromEllipse } from '../../src/water/current-constituents.js';
import { constantCurrent, type CurrentField } from '../../src/water/current-field.js';
import { currentFromRaster } from '../../src/water/current-raster.js';
import { currentFromSeries } from '../../src/water/current-series.js';
import { currentFromStreamTable, highWatersOf, streamRateMps, type StreamTable } from '../../src/water/current-stream-table.js';
import { scaledCurrent, sumOfCurrents, whyNoCurrent } from '../../src/water/current-sum.js';
import { setAndSpeed, velocityFromEastNorth, velocityFromSet } from '../../src/water/current-vector.js';
import { constituentState, predictTide } from '../../src/water/tide.js';
import { tideTurns } from '../../src/water/tide-window-turns.js';

const KN = 1852 / 3600;
const RAD = Math.PI / 180;
const read = (field: CurrentField, timeS: number, xM = 0, yM = 0): [number, number, number] => {
  const out = new Float64Array(3);
  field.at(xM, yM, timeS, out);
  return [out[0]!, out[1]!, out[2]!];
};
const NOON = Date.UTC(2026, 4, 4, 12) / 1000;

describe('set and axes', () => {
  it('velocityFromSet: set is where it flows to, clockwise from north', () => {
    expect(velocityFromSet(2, 90, 0)[0]).toBeCloseTo(2, 12);
    expect(velocityFromSet(2, 180, 0)[1]).toBeCloseTo(-2, 12);
    expect(setAndSpeed(0, -1, 0)).toEqual({ speedMps: 1, setDeg: 180 });
    expect(setAndSpeed(0, 0, 5)).toEqual({ speedMps: 0, setDeg: 0 });
    expect(setAndSpeed(NaN, 0, 0).setDeg).toBeNaN();
  });

  it('velocityFromSet: water that sets true east in the frame stays on its parallel, as the projection has it', () => {
    const frame = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
    const [x, y] = frame.toFrame(46, -29.2);
    const convergence = frameConvergenceDeg(frame, x, y);
    // Sphere: tan(convergence) = tan(lon - lon0) sin(lat), 2.2 deg west of the central meridian (Snyder 1987, eq. 8-4 ff.).
    expect(convergence).toBeCloseTo((Math.atan(Math.tan(-2.2 * RAD) * Math.sin(46 * RAD)) * 180) / Math.PI, 2);
    const [vx, vy] = velocityFromSet(1, 90, convergence);
    const [latDeg, lonDeg] = frame.toGeographic(x + 500 * vx, y + 500 * vy);
    // 500 m along a great circle leave the parallel by 2 cm; a degree of latitude is 111 km. Without convergence: 10 m.
    expect(Math.abs(latDeg - 46) * 111_000).toBeLessThan(0.1);
    expect(lonDeg).toBeGreaterThan(-29.2);
    const [nx, ny] = velocityFromEastNorth(1, 0, convergence);
    expect(nx).toBeCloseTo(vx, 12);
    expect(ny).toBeCloseTo(vy, 12);
    expect(setAndSpeed(vx, vy, convergence).setDeg).toBeCloseTo(90, 9);
    // Parts and set are one velocity, whatever way it runs.
    for (const setDeg of [10, 130, 215, 300]) {
      const [ex, ey] = velocityFromSet(1.3, setDeg, convergence);
      const [px, py] = velocityFromEastNorth(1.3 * Math.sin(setDeg * RAD), 1.3 * Math.cos(setDeg * RAD), convergence);
      expect(px).toBeCloseTo(ex, 12);
      expect(py).toBeCloseTo(ey, 12);
    }
  });
});

describe('currentFromSeries', () => {
  const series = { timeS: Float64Array.of(3600, 0, 7200), velocity: { kind: 'set' as const, speedMps: Float64Array.of(1, 0.5, 0.5), setDeg: Float64Array.of(90, 90, 270) }, sigmaMps: null };

  it('currentFromSeries: meets its readings, goes through slack water, ends where they end', () => {
    const field = currentFromSeries(series, { convergenceDeg: 0 });
    expect(read(field, 0)[0]).toBeCloseTo(0.5, 12);
    expect(read(field, 3600)[0]).toBeCloseTo(1, 12);
    expect(read(field, 7200)[0]).toBeCloseTo(-0.5, 12);
    let slack = false;
    for (let t = 3600; t <= 7200; t += 10) slack ||= Math.hypot(read(field, t)[0], read(field, t)[1]) < 0.01;
    expect(slack).toBe(true);
    expect(read(field, -1).every(Number.isNaN)).toBe(true);
    expect(read(field, 7201).every(Number.isNaN)).toBe(true);
    expect([field.startS, field.endS]).toEqual([0, 7200]);
    // Default worth: 0.05 m/s and a tenth.
    expect(read(field, 3600)[2]).toBeCloseTo(Math.hypot(0.05, 0.1), 12);
  });

  it('currentFromSeries: keeps within 0.3 % of a semidiurnal stream read each hour', () => {
    const omega = (2 * Math.PI) / (12.42 * 3600);
    const timeS = Float64Array.from({ length: 50 }, (_, i) => i * 3600);
    const field = currentFromSeries(
      { timeS, velocity: { kind: 'parts', eastMps: timeS.map((t) => Math.cos(omega * t)), northMps: timeS.map((t) => 0.5 * Math.sin(omega * t)) }, sigmaMps: null },
      { convergenceDeg: 0 },
    );
    for (let t = 3600; t < 48 * 3600; t += 97) {
      const [x, y] = read(field, t);
      expect(Math.abs(x - Math.cos(omega * t))).toBeLessThan(0.003);
      expect(Math.abs(y - 0.5 * Math.sin(omega * t))).toBeLessThan(0.003);
      expect(Math.hypot(x, y)).toBeLessThanOrEqual(field.maxMps + 1e-12);
    }
    expect(field.maxMps).toBeLessThan(1.003);
  });

  it('currentFromSeries: takes the stated sigma, leaves gaps open, and is the same in any order of rows', () => {
    const timeS = Float64Array.of(0, 3600, 20_000, 23_600);
    const velocity = { kind: 'parts' as const, eastMps: Float64Array.of(0.1, 0.2, 0.3, 0.4), northMps: Float64Array.of(0, 0, 0, 0) };
    const field = currentFromSeries({ timeS, velocity, sigmaMps: Float64Array.of(0.02, NaN, 0.03, 0.04) }, { convergenceDeg: 0 });
    expect(read(field, 0)[2]).toBe(0.02);
    expect(read(field, 3600)[2]).toBeCloseTo(Math.hypot(0.05, 0.02), 12);
    expect(read(field, 10_000)[0]).toBeNaN();
    expect(whyNoCurrent(field, 0, 0, 10_000)).toContain('a gap in its times');
    const turned = currentFromSeries({ timeS: timeS.slice().reverse(), velocity: { ...velocity, eastMps: velocity.eastMps.slice().reverse() }, sigmaMps: null }, { convergenceDeg: 0 });
    for (let t = 0; t < 23_600; t += 311) expect(read(turned, t)[0]).toEqual(read(field, t)[0]);
  });

  it('maxMps: no speed of a series exceeds it', () => {
    const value = fc.double({ min: -3, max: 3, noNaN: true });
    fc.assert(
      fc.property(fc.array(fc.tuple(fc.integer({ min: 60, max: 7000 }), value, value), { minLength: 2, maxLength: 12 }), fc.double({ min: 0, max: 1, noNaN: true }), (rows, share) => {
        let t = 0;
        const timeS = Float64Array.from(rows, ([gap]) => (t += gap));
        const field = currentFromSeries({ timeS, velocity: { kind: 'parts', eastMps: Float64Array.from(rows, (row) => row[1]), northMps: Float64Array.from(rows, (row) => row[2]) }, sigmaMps: null }, { convergenceDeg: 1 });
        for (let k = 0; k <= 40; k++) {
          const [x, y] = read(field, timeS[0]! + ((k + share) / 41) * (t - timeS[0]!));
          expect(Math.hypot(x, y)).toBeLessThanOrEqual(field.maxMps + 1e-9);
        }
      }),
      { seed: 46, numRuns: 200 },
    );
  });

  it('currentFromSeries: refuses what is no series, by name', () => {
    expect(() => currentFromSeries({ ...series, timeS: Float64Array.of(0) }, { convergenceDeg: 0 })).toThrow('current series: 1 times, 3 and 3 values: expected columns of one length');
    expect(() => currentFromSeries({ timeS: Float64Array.of(0, 0), velocity: { kind: 'set', speedMps: Float64Array.of(1, 2), setDeg: Float64Array.of(0, 0) }, sigmaMps: null }, { convergenceDeg: 0 })).toThrow('two velocities at the same time 0');
    expect(() => currentFromSeries({ timeS: Float64Array.of(0), velocity: { kind: 'set', speedMps: Float64Array.of(-1), setDeg: Float64Array.of(0) }, sigmaMps: null }, { convergenceDeg: 0 })).toThrow('speed -1 at time 0: expected 0 or more');
    expect(() => currentFromSeries({ timeS: Float64Array.of(NaN), velocity: { kind: 'set', speedMps: Float64Array.of(1), setDeg: Float64Array.of(0) }, sigmaMps: null }, { convergenceDeg: 0 })).toThrow('no row with time and velocity');
  });
});

describe('currentFromStreamTable', () => {
  const table: StreamTable = {
    springRangeM: 4.6,
    neapRangeM: 2.2,
    rows: Array.from({ length: 13 }, (_, i) => ({ hour: i - 6, setDeg: i < 6 ? 60 : 240, springMps: [0.4, 1.1, 1.8, 2.1, 1.6, 0.7, 0.2, 1.0, 1.7, 2.0, 1.5, 0.8, 0.3][i]! * KN, neapMps: [0.2, 0.5, 0.9, 1.0, 0.8, 0.3, 0.1, 0.5, 0.8, 1.0, 0.7, 0.4, 0.2][i]! * KN })),
  };

  it('streamRateMps: interpolates between neap and spring rate by range, as worked by hand', () => {
    // By hand, 3 h before high water: neap 1.0 kn at 2.2 m, spring 2.1 kn at 4.6 m; on a day of 3.4 m halfway, 1.55 kn; of 5.2 m, 2.375 kn.
    expect(streamRateMps(2.1, 1.0, 3.4, 4.6, 2.2)).toBeCloseTo(1.55, 12);
    expect(streamRateMps(2.1, 1.0, 5.2, 4.6, 2.2)).toBeCloseTo(2.375, 12);
    expect(streamRateMps(2.1, 1.0, 2.2, 4.6, 2.2)).toBe(1.0);
    expect(streamRateMps(2.1, 0.1, 0.1, 4.6, 2.2)).toBe(0);
  });

  it('currentFromStreamTable: meets the table at its hours, with the rate of the day', () => {
    const field = currentFromStreamTable(table, [{ timeS: NOON, rangeM: 3.4 }, { timeS: NOON + 12.42 * 3600, rangeM: 4.6 }], { convergenceDeg: 0 });
    const three = setAndSpeed(...(read(field, NOON - 3 * 3600).slice(0, 2) as [number, number]), 0);
    expect(three.setDeg).toBeCloseTo(60, 6);
    expect(three.speedMps / KN).toBeCloseTo(1.55, 9);
    const spring = setAndSpeed(...(read(field, NOON + (12.42 + 3) * 3600).slice(0, 2) as [number, number]), 0);
    expect(spring.setDeg).toBeCloseTo(240, 6);
    expect(spring.speedMps / KN).toBeCloseTo(2.0, 9);
    expect(read(field, NOON - 3 * 3600)[2]).toBeCloseTo(Math.hypot(0.1, 0.15 * 1.55 * KN), 9);
    // Joined between the tides, ended at the first and last hours of the tables.
    for (let t = NOON - 6 * 3600; t <= NOON + 18.42 * 3600; t += 300) expect(read(field, t)[0]).not.toBeNaN();
    expect(read(field, NOON - 6 * 3600 - 1)[0]).toBeNaN();
    expect(field.startS).toBe(NOON - 6 * 3600);
    expect(whyNoCurrent(field, 0, 0, NOON - 7 * 3600)).toBe('current (tidal stream table): known from 2026-05-04T06:00:00Z, asked for 2026-05-04T05:00:00Z; give a source that covers it, or start later');
  });

  it('currentFromStreamTable: where two tables overlap the nearer high water counts', () => {
    const field = currentFromStreamTable(table, [{ timeS: NOON, rangeM: 2.2 }, { timeS: NOON + 11 * 3600, rangeM: 4.6 }], { convergenceDeg: 0 });
    // 5 h after the first is 6 before the second; 6 h after the first is 5 before the second.
    const five = setAndSpeed(...(read(field, NOON + 5 * 3600).slice(0, 2) as [number, number]), 0);
    expect(five.speedMps / KN).toBeCloseTo(0.4, 9);
    expect(five.setDeg).toBeCloseTo(240, 6);
    const six = setAndSpeed(...(read(field, NOON + 6 * 3600).slice(0, 2) as [number, number]), 0);
    expect(six.speedMps / KN).toBeCloseTo(1.1, 9);
    expect(six.setDeg).toBeCloseTo(60, 6);
  });

  it('currentFromStreamTable: has no current where a high water is missing', () => {
    const field = currentFromStreamTable(table, [{ timeS: NOON, rangeM: 3 }, { timeS: NOON + 2 * 12.42 * 3600, rangeM: 3 }], { convergenceDeg: 0 });
    expect(read(field, NOON + 12 * 3600)[0]).toBeNaN();
    expect(whyNoCurrent(field, 0, 0, NOON + 12 * 3600)).toContain('a gap in its times');
  });

  it('currentFromStreamTable: is worth less where the range is not known', () => {
    const known = currentFromStreamTable(table, [{ timeS: NOON, rangeM: 3.4 }], { convergenceDeg: 0 });
    const unknown = currentFromStreamTable(table, [{ timeS: NOON, rangeM: NaN }], { convergenceDeg: 0 });
    expect(read(unknown, NOON)[0]).toBeCloseTo(read(known, NOON)[0], 12);
    expect(read(unknown, NOON)[2]).toBeGreaterThan(read(known, NOON)[2]);
  });

  it('currentFromStreamTable: gives back the stream its table was made from', () => {
    // Tide and stream of M2 and S2 alone: the table is what the stream is around a spring and a neap high water.
    const tide = predictTide([{ name: 'M2', amplitudeM: 1.6, phaseDeg: 40 }, { name: 'S2', amplitudeM: 0.5, phaseDeg: 70 }]);
    const turns = tideTurns(tide, NOON - 16 * 86_400, NOON + 16 * 86_400);
    const highs = highWatersOf(turns).filter((one) => Number.isFinite(one.rangeM));
    expect(highs.length).toBeGreaterThan(55);
    const stream = currentFromConstituents(
      { meanEastMps: 0, meanNorthMps: 0, constituents: [{ name: 'M2', eastMps: 0.8, eastPhaseDeg: 100, northMps: 0.3, northPhaseDeg: 120 }, { name: 'S2', eastMps: 0.25, eastPhaseDeg: 130, northMps: 0.094, northPhaseDeg: 150 }] },
      { convergenceDeg: 0 },
    );
    const spring = highs.reduce((a, b) => (b.rangeM > a.rangeM ? b : a));
    const neap = highs.reduce((a, b) => (b.rangeM < a.rangeM ? b : a));
    const rows = Array.from({ length: 13 }, (_, i) => {
      const at = (high: { timeS: number }): { speedMps: number; setDeg: number } => setAndSpeed(...(read(stream, high.timeS + (i - 6) * 3600).slice(0, 2) as [number, number]), 0);
      return { hour: i - 6, setDeg: at(spring).setDeg, springMps: at(spring).speedMps, neapMps: at(neap).speedMps };
    });
    const field = currentFromStreamTable({ springRangeM: spring.rangeM, neapRangeM: neap.rangeM, rows }, highs, { convergenceDeg: 0 });
    let squares = 0;
    let count = 0;
    for (let t = field.startS; t < field.endS; t += 1800) {
      const [x, y] = read(field, t);
      const [sx, sy] = read(stream, t);
      squares += (x - sx) ** 2 + (y - sy) ** 2;
      count++;
    }
    // One set a row and one straight line between spring and neap cannot follow the day's inequality: 8 % of the greatest rate, RMS.
    expect(Math.sqrt(squares / count)).toBeLessThan(0.08 * stream.maxMps);
  });

  it('currentFromStreamTable: refuses what is no table, by name', () => {
    expect(() => currentFromStreamTable({ ...table, neapRangeM: 5 }, [{ timeS: 0, rangeM: 3 }], { convergenceDeg: 0 })).toThrow('expected spring above neap above 0');
    expect(() => currentFromStreamTable({ ...table, rows: [table.rows[0]!, table.rows[0]!] }, [{ timeS: 0, rangeM: 3 }], { convergenceDeg: 0 })).toThrow('hour -6: given twice');
    expect(() => currentFromStreamTable(table, [], { convergenceDeg: 0 })).toThrow('no high water');
  });
});

describe('currentFromConstituents', () => {
  it('currentFromConstituents: is the sum of its parts, f A cos(V + u - g), on either axis', () => {
    const constituents = [{ name: 'M2', eastMps: 0.8, eastPhaseDeg: 100, northMps: 0.3, northPhaseDeg: 20 }, { name: 'K1', eastMps: 0.1, eastPhaseDeg: 200, northMps: 0.2, northPhaseDeg: 310 }];
    const field = currentFromConstituents({ meanEastMps: 0.05, meanNorthMps: -0.02, constituents }, { convergenceDeg: 0 });
    for (let t = NOON; t < NOON + 86_400; t += 1234) {
      const parts = constituents.map((one) => ({ one, state: constituentState(one.name, t) }));
      const east = parts.reduce((sum, { one, state }) => sum + state.factor * one.eastMps * Math.cos((state.argumentDeg - one.eastPhaseDeg) * RAD), 0.05);
      const north = parts.reduce((sum, { one, state }) => sum + state.factor * one.northMps * Math.cos((state.argumentDeg - one.northPhaseDeg) * RAD), -0.02);
      const [x, y] = read(field, t);
      // Node corrections run straight from midnight to midnight: 1e-5 of the amplitude.
      expect(Math.abs(x - east)).toBeLessThan(2e-5);
      expect(Math.abs(y - north)).toBeLessThan(2e-5);
      expect(Math.hypot(x, y)).toBeLessThanOrEqual(field.maxMps);
    }
    expect(field.startS).toBe(-Infinity);
    expect(read(field, NaN)[0]).toBeNaN();
  });

  it('constituentFromEllipse: has its greatest stream along the major axis at its phase, the least a quarter later', () => {
    const one = constituentFromEllipse('S2', 1.2, 0.3, 60, 0);
    const field = currentFromConstituents({ meanEastMps: 0, meanNorthMps: 0, constituents: [one] }, { convergenceDeg: 0 });
    // S2 has no node factor and its argument is twice the hour angle: 0 at midnight and noon UTC, phase 0.
    const greatest = setAndSpeed(...(read(field, NOON).slice(0, 2) as [number, number]), 0);
    expect(greatest.speedMps).toBeCloseTo(1.2, 6);
    expect(greatest.setDeg).toBeCloseTo(60, 4);
    const quarter = setAndSpeed(...(read(field, NOON + 3 * 3600).slice(0, 2) as [number, number]), 0);
    expect(quarter.speedMps).toBeCloseTo(0.3, 6);
    // Anticlockwise: from 60 to -30.
    expect(quarter.setDeg).toBeCloseTo(330, 4);
    expect(field.maxMps).toBeCloseTo(1.2, 2);
  });
});

describe('currentFromRaster', () => {
  const grid = { westM: 0, northM: 30, cellM: 10, cols: 3, rows: 3 };
  const plane = (timeS: number | null, a: number): { timeS: number | null; eastMps: Float32Array; northMps: Float32Array } => ({
    timeS,
    eastMps: Float32Array.from({ length: 9 }, (_, i) => a + 0.1 * (i % 3) - 0.05 * Math.floor(i / 3)),
    northMps: new Float32Array(9).fill(0.2),
  });

  it('currentFromRaster: is linear between cell centres and between frames', () => {
    const field = currentFromRaster({ grid, axes: 'grid', frames: [plane(3600, 0.5), plane(0, 0.1)] }, { convergenceDeg: 0 });
    // Centre of row 1, column 1; halfway to column 2; a quarter of the time.
    expect(read(field, 0, 15, 15)[0]).toBeCloseTo(0.15, 6);
    expect(read(field, 0, 20, 15)[0]).toBeCloseTo(0.2, 6);
    expect(read(field, 900, 15, 15)[0]).toBeCloseTo(0.25, 6);
    expect(read(field, 900, 15, 15)[1]).toBeCloseTo(0.2, 6);
    expect(read(field, 3600, 15, 15)[0]).toBeCloseTo(0.55, 6);
    expect(read(field, 3601, 15, 15)[0]).toBeNaN();
    expect(read(field, 0, -0.1, 15)[0]).toBeNaN();
    expect(whyNoCurrent(field, -1, 15, 0)).toContain('outside its raster');
    // In the outer half cell the edge value holds.
    expect(read(field, 0, 0, 15)[0]).toBeCloseTo(0.05, 6);
  });

  it('currentFromRaster: cells without data take no part and have no current', () => {
    const frame = plane(null, 0.1);
    frame.eastMps[5] = NaN;
    const field = currentFromRaster({ grid, axes: 'grid', frames: [frame] }, { convergenceDeg: 0 });
    expect(read(field, 0, 25, 15)[0]).toBeNaN();
    expect(read(field, 0, 19, 15)[0]).toBeCloseTo(0.15, 6);
    expect(field.startS).toBe(-Infinity);
  });

  it('currentFromRaster: turns true parts into the frame', () => {
    const frame = { timeS: null, eastMps: new Float32Array(9).fill(1), northMps: new Float32Array(9) };
    const field = currentFromRaster({ grid, axes: 'true', frames: [frame] }, { convergenceDeg: 2 });
    const [x, y] = read(field, 0, 15, 15);
    expect(setAndSpeed(x, y, 2).setDeg).toBeCloseTo(90, 4);
    expect(field.maxMps).toBeCloseTo(1, 6);
  });

  it('currentFromRaster: refuses frames that do not fit, by name', () => {
    expect(() => currentFromRaster({ grid, axes: 'grid', frames: [] }, { convergenceDeg: 0 })).toThrow('no frame');
    expect(() => currentFromRaster({ grid, axes: 'grid', frames: [{ timeS: 0, eastMps: new Float32Array(4), northMps: new Float32Array(9) }] }, { convergenceDeg: 0 })).toThrow('frame 0: 4 and 9 values: expected 9');
    expect(() => currentFromRaster({ grid, axes: 'grid', frames: [plane(null, 0), plane(5, 0)] }, { convergenceDeg: 0 })).toThrow('no time: expected one for each');
  });
});

describe('sums and scales', () => {
  it('sumOfCurrents, scaledCurrent: scaled currents add', () => {
    const part = fc.double({ min: -3, max: 3, noNaN: true });
    fc.assert(
      fc.property(part, part, part, part, (a, b, x, y) => {
        const field = constantCurrent(x, y, 0.1);
        const [sx, sy, sigma] = read(sumOfCurrents([scaledCurrent(field, a), scaledCurrent(field, b)]), 0);
        const [tx, ty] = read(scaledCurrent(field, a + b), 0);
        expect(sx).toBeCloseTo(tx, 9);
        expect(sy).toBeCloseTo(ty, 9);
        expect(sigma).toBeCloseTo(0.1 * Math.hypot(a, b), 9);
      }),
      { seed: 47, numRuns: 200 },
    );
  });

  it('scaledCurrent: a current turned about is worth as much', () => {
    expect(read(scaledCurrent(constantCurrent(1, -2, 0.1), -2), 0)).toEqual([-2, 4, 0.2]);
    expect(scaledCurrent(constantCurrent(3, 4, 0), -2).maxMps).toBe(10);
  });

  it('sumOfCurrents: is known where all are, and refuses what never meets', () => {
    const early = currentFromSeries({ timeS: Float64Array.of(0, 3600), velocity: { kind: 'parts', eastMps: Float64Array.of(1, 1), northMps: Float64Array.of(0, 0) }, sigmaMps: null }, { convergenceDeg: 0 });
    const late = currentFromSeries({ timeS: Float64Array.of(1800, 7200), velocity: { kind: 'parts', eastMps: Float64Array.of(1, 1), northMps: Float64Array.of(0, 0) }, sigmaMps: null }, { convergenceDeg: 0 });
    const both = sumOfCurrents([early, late]);
    expect([both.startS, both.endS, both.maxMps]).toEqual([1800, 3600, 2]);
    expect(read(both, 2000)[0]).toBe(2);
    expect(read(both, 1000)[0]).toBeNaN();
    const never = currentFromSeries({ timeS: Float64Array.of(8000, 9000), velocity: { kind: 'parts', eastMps: Float64Array.of(1, 1), northMps: Float64Array.of(0, 0) }, sigmaMps: null }, { convergenceDeg: 0 });
    expect(() => sumOfCurrents([early, never])).toThrow('currents with no time in common');
    expect(whyNoCurrent(both, 0, 0, 2000)).toBeNull();
  });
});
