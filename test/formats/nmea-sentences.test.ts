import { describe, expect, it } from 'vitest';
import { DEPTH_FROM } from '../../src/base/observations.js';
import { clock, gga, read, rejects, sentence } from './nmea-log-text.js';

const KNOT = 1852 / 3600; // international nautical mile over an hour, exact

/** One value of a series from one sentence between two positions. */
async function seriesOf(body: string): Promise<Record<string, number[]>> {
  const { observations } = await read([gga(0), sentence(body), gga(1)]);
  return Object.fromEntries(Object.entries(observations.series).map(([name, columns]) => [name, [...columns.value]]));
}

describe('readLog: positions', () => {
  it('GGA: all of its fields, south and west negative', async () => {
    const { observations: { fixes } } = await read([sentence('GPGGA,172814.00,3723.46587704,S,12202.26957864,W,5,06,1.2,18.893,M,-25.669,M,2.0,0031')]);
    expect(fixes.n).toBe(1);
    expect(fixes.latDeg[0]).toBeCloseTo(-(37 + 23.46587704 / 60), 13);
    expect(fixes.lonDeg[0]).toBeCloseTo(-(122 + 2.26957864 / 60), 12);
    expect(fixes.quality[0]).toBe(5);
    expect(fixes.satellites[0]).toBe(6);
    expect(fixes.hdop[0]).toBe(Math.fround(1.2));
    expect(fixes.heightM[0]).toBe(Math.fround(18.893));
    expect(fixes.geoidM[0]).toBe(Math.fround(-25.669));
    expect(fixes.sigmaM[0]).toBeNaN();
    expect(fixes.timeS[0]).toBe(17 * 3600 + 28 * 60 + 14);
  });

  it('RMC: date, speed in knots, course; quality from its mode letter, 255 without one', async () => {
    const { observations: { fixes, series } } = await read([
      sentence('GPRMC,225446,A,4916.45,N,12311.12,W,000.5,054.7,191194,020.3,E'),
      sentence('GPRMC,225447,A,4916.45,N,12311.12,W,000.5,054.7,191194,020.3,E,D'),
    ]);
    expect(new Date((fixes.timeS[0] as number) * 1000).toISOString()).toBe('1994-11-19T22:54:46.000Z');
    expect(fixes.latDeg[0]).toBeCloseTo(49.27416667, 8); // worked by hand: 49 + 16.45/60
    expect(fixes.lonDeg[0]).toBeCloseTo(-123.18533333, 8);
    expect(fixes.speedMps[0]).toBeCloseTo(0.5 * KNOT, 7);
    expect(fixes.courseDeg[0]).toBe(Math.fround(54.7));
    expect([...fixes.quality]).toEqual([255, 2]);
    expect(series.variationDeg?.value[0]).toBe(20.3);
  });

  it('GLL, GNS: position, quality of the best system', async () => {
    const { observations: { fixes } } = await read([
      sentence('GPGLL,4610.0000,N,03000.0000,W,100000.00,A,A'),
      sentence('GNGNS,100001.00,4610.0100,N,03000.0000,W,ARN,14,0.8,3.5,57.1,,'),
    ]);
    expect(fixes.n).toBe(2);
    expect([...fixes.quality]).toEqual([1, 4]);
    expect(fixes.satellites[1]).toBe(14);
    expect(fixes.heightM[1]).toBe(3.5);
  });

  it('sentences of one epoch make one row: position of GGA over RMC over GLL in any order, speed, course, error and dilution of the others', async () => {
    const t = clock(36_000);
    const epoch = [
      sentence(`GPGLL,4610.0001,N,03000.0000,W,${t},A,A`),
      sentence(`GPRMC,${t},A,4610.0002,N,03000.0000,W,3.0,091.0,010526,,,A`),
      sentence(`GPGGA,${t},4610.0003,N,03000.0000,W,4,12,,1.0,M,57.0,M,,`),
    ];
    const others = [
      sentence(`GPGST,${t},0.9,0.03,0.02,45.0,0.030,0.040,0.05`),
      sentence('GPVTG,092.0,T,,M,4.0,N,7.4,K,A'),
      sentence('GPGSA,A,3,01,02,03,04,,,,,,,,,1.8,0.9,1.5'),
    ];
    for (const order of [[0, 1, 2], [2, 1, 0], [1, 2, 0], [0, 2, 1]]) {
      const { observations: { fixes } } = await read([...order.map((i) => epoch[i] as string), ...others]);
      expect(fixes.n).toBe(1);
      expect(fixes.latDeg[0]).toBeCloseTo(46 + 10.0003 / 60, 12);
      expect(fixes.quality[0]).toBe(4);
      expect(fixes.speedMps[0]).toBeCloseTo(4 * KNOT, 6);
      expect(fixes.courseDeg[0]).toBe(92);
      expect(fixes.hdop[0]).toBe(Math.fround(0.9));
      expect(fixes.sigmaM[0]).toBeCloseTo(Math.sqrt((0.03 ** 2 + 0.04 ** 2) / 2), 7);
      expect(fixes.record[0]).toBe(order.indexOf(2));
    }
  });

  it('no fix is no position: GGA quality 0, RMC and GLL status V, GNS mode N; counted', async () => {
    const { observations: { fixes }, summary } = await read([
      gga(0),
      sentence(`GPGGA,${clock(1)},4610.0,N,03000.0,W,0,00,,,M,,M,,`),
      sentence(`GPRMC,${clock(2)},V,4610.0,N,03000.0,W,,,010526,,,N`),
      sentence(`GPGLL,4610.0,N,03000.0,W,${clock(3)},V,N`),
      sentence(`GNGNS,${clock(4)},4610.0,N,03000.0,W,NN,00,,,,,`),
      sentence('GPGGA,,,,,,0,00,,,M,,M,,'),
      gga(5),
    ]);
    expect(fixes.n).toBe(2);
    expect(rejects(summary)).toEqual({ 'no-fix': 5 });
  });

  it('a position of exactly 0 N 0 E is rejected; one on the equator alone is not', async () => {
    const { observations: { fixes }, summary } = await read([
      sentence(`GPGGA,${clock(0)},0000.0000,N,00000.0000,E,1,09,0.9,1.5,M,57.0,M,,`),
      sentence(`GPGGA,${clock(1)},0000.0000,N,00010.0000,E,1,09,0.9,1.5,M,57.0,M,,`),
    ]);
    expect(fixes.n).toBe(1);
    expect(rejects(summary)).toEqual({ 'zero-position': 1 });
    expect(summary.rejects[0]?.firstLines).toEqual([1]);
  });

  it('a position out of range, without hemisphere or with 60 minutes is rejected', async () => {
    const position = (lat: string, lon: string): string => sentence(`GPGGA,${clock(0)},${lat},${lon},1,09,0.9,1.5,M,57.0,M,,`);
    for (const bad of [position('9100.0,N', '03000.0,W'), position('4610.0,N', '18100.0,W'), position('4660.0,N', '03000.0,W'), position('4610.0,', '03000.0,W'), position('4610.0,N', '03000.0,X')]) {
      const { summary } = await read([bad, gga(1)]);
      expect(rejects(summary), bad).toEqual({ 'position-range': 1 });
    }
  });
});

describe('readLog: depths', () => {
  const ping = async (body: string): Promise<{ depthM: number[]; offsetM: number[]; from: number[]; rejects: Record<string, number> }> => {
    const { observations: { pings }, summary } = await read([gga(0), sentence(body), gga(1)]);
    return { depthM: [...pings.depthM], offsetM: [...pings.offsetM], from: [...pings.from], rejects: rejects(summary) };
  };

  it('DPT: depth as given, offset kept apart', async () => {
    expect(await ping('SDDPT,12.34,0.40,100.0')).toEqual({ depthM: [Math.fround(12.34)], offsetM: [Math.fround(0.4)], from: [DEPTH_FROM.transducer], rejects: {} });
    expect((await ping('SDDPT,12.34,')).offsetM).toEqual([NaN]);
    expect((await ping('SDDPT,12.34')).depthM).toEqual([Math.fround(12.34)]);
  });

  it('DBT: metres first, else feet, else fathoms', async () => {
    expect((await ping('SDDBT,40.5,f,12.34,M,6.7,F')).depthM).toEqual([Math.fround(12.34)]);
    expect((await ping('SDDBT,40.0,f,,M,6.7,F')).depthM).toEqual([Math.fround(40 * 0.3048)]); // international foot
    expect((await ping('SDDBT,,f,,M,5.0,F')).depthM).toEqual([Math.fround(5 * 1.8288)]); // fathom of 6 feet
  });

  it('DBS and DBK: from surface and keel', async () => {
    expect((await ping('SDDBS,40.5,f,12.34,M,6.7,F')).from).toEqual([DEPTH_FROM.surface]);
    expect((await ping('SDDBK,40.5,f,12.34,M,6.7,F')).from).toEqual([DEPTH_FROM.keel]);
  });

  it('no depth, a wrong unit, a negative or absurd depth, and text are rejected and named', async () => {
    expect((await ping('SDDBT,,f,,M,,F')).rejects).toEqual({ 'depth-empty': 1 });
    expect((await ping('SDDPT,,0.4')).rejects).toEqual({ 'depth-empty': 1 });
    expect((await ping('SDDBT,40.5,f,12.34,F,6.7,F')).rejects).toEqual({ unit: 1 });
    expect((await ping('SDDPT,-1.0,0.4')).rejects).toEqual({ 'depth-range': 1 });
    expect((await ping('SDDPT,99999,0.4')).rejects).toEqual({ 'depth-range': 1 });
    expect((await ping('SDDPT,1a2,0.4')).rejects).toEqual({ 'bad-number': 1 });
  });

  it('DBT and DPT of one sounder are one ping; DPT is taken, the other counted', async () => {
    const lines = Array.from({ length: 20 }, (_, t) => [gga(t), sentence('SDDBT,40.5,f,12.3,M,6.7,F'), sentence('SDDPT,12.34,0.4')]).flat();
    const { observations: { pings }, summary } = await read(lines);
    expect(pings.n).toBe(20);
    expect(new Set(pings.depthM)).toEqual(new Set([Math.fround(12.34)]));
    expect(summary.counts).toEqual({ GGA: 20, DBT: 20, DPT: 20 });
    expect(summary.notes.join()).toContain('depths are taken from SDDPT; 20 of other sentences for the same pings are passed over');
  });

  it('the same kind from two talkers is one ping', async () => {
    const lines = Array.from({ length: 20 }, (_, t) => [gga(t), sentence('SDDPT,12.34,0.4'), sentence('IIDPT,12.3,0.0')]).flat();
    expect((await read(lines)).observations.pings.n).toBe(20);
  });

  it('where the chosen kind falls silent for more than 10 s the other is used', async () => {
    const lines = Array.from({ length: 100 }, (_, t) => [gga(t), sentence('SDDBT,40.5,f,12.3,M,6.7,F'), ...(t < 40 || t >= 80 ? [sentence('SDDPT,12.34,0.4')] : [])]).flat();
    const { observations: { pings }, summary } = await read(lines);
    // DPT to 39.5 s and from 80.5 s; DBT more than 10 s from either.
    expect([...pings.timeS].filter((t) => t > 40 && t < 80).every((t) => t > 49.5 && t < 70.5)).toBe(true);
    expect(pings.n).toBe(60 + 20);
    expect(summary.notes.join()).toContain('20 depths are from other sentences than SDDPT');
  });
});

describe('readLog: other values', () => {
  it('heading: HDT, THS, HDM, HDG with deviation and variation', async () => {
    expect(await seriesOf('HEHDT,123.4,T')).toEqual({ headingTrueDeg: [123.4] });
    expect(await seriesOf('GNTHS,123.4,A')).toEqual({ headingTrueDeg: [123.4] });
    expect(await seriesOf('GNTHS,123.4,V')).toEqual({});
    expect(await seriesOf('HCHDM,123.4,M')).toEqual({ headingMagneticDeg: [123.4] });
    expect(await seriesOf('HCHDG,358.0,3.0,E,12.5,W')).toEqual({ headingMagneticDeg: [1], variationDeg: [-12.5] });
    expect(await seriesOf('HCHDG,1.0,3.0,W,12.5,E')).toEqual({ headingMagneticDeg: [358], variationDeg: [12.5] });
  });

  it('water and wind: MTW, VHW, MWV apparent and true, in knots, m/s and km/h', async () => {
    expect(await seriesOf('SDMTW,12.4,C')).toEqual({ waterTemperatureC: [12.4] });
    expect(await seriesOf('VWVHW,,T,,M,6.0,N,11.1,K')).toEqual({ speedThroughWaterMps: [6 * KNOT] });
    expect(await seriesOf('VWVHW,,T,,M,,N,36.0,K')).toEqual({ speedThroughWaterMps: [10] });
    expect(await seriesOf('WIMWV,338.0,R,10.0,N,A')).toEqual({ windAngleDeg: [338], windSpeedMps: [10 * KNOT] });
    expect(await seriesOf('WIMWV,045.0,T,10.0,M,A')).toEqual({ trueWindAngleDeg: [45], trueWindSpeedMps: [10] });
    expect(await seriesOf('WIMWV,045.0,T,10.0,M,V')).toEqual({});
  });

  it('XDR: attitude, battery and thrusters by type, unit and name; others passed over', async () => {
    expect(await seriesOf('IIXDR,A,-1.5,D,PTCH,A,2.25,D,ROLL,D,0.12,M,HEAVE')).toEqual({ pitchDeg: [-1.5], rollDeg: [2.25], heaveM: [0.12] });
    expect(await seriesOf('IIXDR,U,24.31,V,BATT0,I,11.5,A,BATT0,U,12.0,V,AUX')).toEqual({ batteryVoltageV: [24.31], batteryCurrentA: [11.5] });
    expect(await seriesOf('IIXDR,G,40.0,P,THRP,G,45.5,P,THRS')).toEqual({ thrusterPortPct: [40], thrusterStarboardPct: [45.5] });
    expect(await seriesOf('IIXDR,C,19.5,C,AIRTEMP,P,1.01,B,BARO,A,,D,ROLL')).toEqual({});
  });

  it('a unit or value that cannot be is named, and not used', async () => {
    const rejected = async (body: string): Promise<Record<string, number>> => rejects((await read([gga(0), sentence(body), gga(1)])).summary);
    expect(await rejected('SDMTW,54.3,F')).toEqual({ unit: 1 });
    expect(await rejected('SDMTW,99.0,C')).toEqual({ 'value-range': 1 });
    expect(await rejected('HEHDT,400.0,T')).toEqual({ 'value-range': 1 });
    expect(await rejected('WIMWV,045.0,T,10.0,X,A')).toEqual({ unit: 1 });
  });
});

describe('readLog: counts', () => {
  it('any talker; proprietary and unknown sentences are counted, not rejected', async () => {
    const { summary } = await read([gga(0), sentence('PXYZA,1,2,3'), sentence('PXYZA,1,2,4'), sentence('GPXYZ,1'), sentence('ZZGGA,000001.00,4610.0,N,03000.0,W,1,09,0.9,1.5,M,57.0,M,,'), '!AIVDM,1,1,,A,14eG;o@034o8sd<L9i:a;WF>062D,0*7D']);
    expect(summary.counts).toEqual({ GGA: 2, PXYZA: 2, XYZ: 1, VDM: 1 });
    expect(summary.rejects).toEqual([]);
    expect(summary.notes.join()).toContain("2 sentences are of manufacturers' own types");
  });
});
