import { existsSync, readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { FormatError } from '../../src/base/errors.js';
import { CsvLog } from '../../src/formats/csv/csv-log.js';
import type { CsvColumn, CsvMapping } from '../../src/formats/csv/csv-mapping.js';
import { guessCsvMapping } from '../../src/formats/csv/csv-mapping.js';
import { CsvTimeReader } from '../../src/formats/csv/csv-time.js';
import { csvAngle, csvNumber } from '../../src/formats/csv/csv-values.js';
import { ObservationRows } from '../../src/formats/log-columns.js';
import { LogTally } from '../../src/formats/log-tally.js';
import { iso, read, rejects } from './nmea-log-text.js';

const KNOT = 1852 / 3600;
const rows = (make: (i: number) => string, n = 12): string => Array.from({ length: n }, (_, i) => make(i)).join('\n') + '\n';
const at = (i: number): string => new Date(Date.UTC(2026, 4, 1, 10, 0, 0) + i * 1000).toISOString();

async function refusal(text: string, csvMapping: CsvMapping | null = null): Promise<FormatError> {
  try {
    await read(text, { csvMapping });
  } catch (error) {
    expect(error).toBeInstanceOf(FormatError);
    expect((error as Error).message).not.toContain('\n');
    return error as FormatError;
  }
  throw new Error('it was read');
}

/** The guess with some columns changed. */
function corrected(text: string, change: Partial<Record<number, Partial<CsvColumn>>>): CsvMapping {
  const guess = guessCsvMapping(text) as CsvMapping;
  return { ...guess, columns: guess.columns.map((column, k) => ({ ...column, ...change[k] })) };
}

describe('readLog: CSV', () => {
  it('gives fixes, pings and series, in the units kept', async () => {
    const text = `time,lat,lon,depth_ft,sog_kn,cog,heading,battery voltage (mV),water temp (F),hdop,sats\n${rows((i) => `${at(i)},46.1000${10 + i},-30.2,${10 + i},3.0,1.0,90.5,24100,50,0.9,12`)}`;
    const { observations, summary } = await read(text);
    const { fixes, pings, series } = observations;
    expect(summary.kind).toBe('csv');
    expect(summary.lines).toBe(13);
    expect(summary.counts).toEqual({ row: 12 });
    expect([fixes.n, pings.n]).toEqual([12, 12]);
    expect(iso(fixes.timeS[0])).toBe('2026-05-01T10:00:00.000Z');
    expect(fixes.latDeg[3]).toBe(46.100013);
    expect(fixes.lonDeg[3]).toBe(-30.2);
    expect(fixes.record[3]).toBe(4);
    expect(fixes.speedMps[0]).toBeCloseTo(3 * KNOT, 6);
    expect(fixes.courseDeg[0]).toBe(1);
    expect(fixes.satellites[0]).toBe(12);
    expect(pings.depthM[2]).toBeCloseTo(12 * 0.3048, 6);
    expect(series.headingTrueDeg?.value[0]).toBe(90.5);
    expect(series.batteryVoltageV?.value[0]).toBeCloseTo(24.1, 12);
    expect(series.waterTemperatureC?.value[0]).toBeCloseTo(10, 12);
  });

  it('elevation of the bottom is depth with the other sign', async () => {
    const { observations } = await read(`time,elevation_m\n${rows((i) => `${at(i)},${-2.5 - i}`)}`);
    expect([...observations.pings.depthM].slice(0, 2)).toEqual([2.5, 3.5]);
  });

  it('rows of one whole second are spread over it; a position repeated in it is one', async () => {
    const text = `time,lat,lon,depth\n${rows((i) => `10:00:${10 + Math.floor(i / 4)},46.${Math.floor(i / 4)},-30.0,${i}.5`)}`;
    const { observations } = await read(text, { noDate: '2026-05-01' });
    expect(observations.fixes.n).toBe(3);
    expect([...observations.pings.timeS].slice(0, 6).map((t) => t % 60)).toEqual([10, 10.25, 10.5, 10.75, 11, 11.25]);
  });

  it('times without date roll over at midnight', async () => {
    const { observations } = await read(`time,depth\n23:59:58,1.5\n23:59:59,2.5\n00:00:00,3.5\n00:00:01,4.5\n`, { noDate: '2026-12-31' });
    expect([...observations.pings.timeS].map(iso)).toEqual(['2026-12-31T23:59:58.000Z', '2026-12-31T23:59:59.000Z', '2027-01-01T00:00:00.000Z', '2027-01-01T00:00:01.000Z']);
  });

  it('a stopped clock is noticed', async () => {
    const { summary } = await read(`time,depth\n${rows((i) => `10:00:00,${i % 7}.5`, 700)}`);
    expect(summary.notes.join()).toContain('the clock stands still from about line 2 on');
  });

  it('bad rows are counted by reason with their line; the rest is read', async () => {
    const good = (i: number): string => `${at(i)},46.1,-30.0000${i},5.5`;
    const text = ['time,lat,lon,depth', good(0), good(1), 'yesterday,46.1,-30.2,5.5', `${at(2)},46.1`, good(3), good(1), `${at(4)},0,0,5.5`, `${at(5)},95.0,-30.0,5.5`, `${at(6)},46.1,-30.0,-9999`, `${at(7)},46.1,-30.0,deep`, `${at(8)},46.1,-30.0,`, '# remark', ...Array.from({ length: 20 }, (_, i) => good(10 + i))].join('\r\n');
    const { observations, summary } = await read(text);
    expect(rejects(summary)).toEqual({ 'bad-time': 1, 'bad-row': 1, 'time-backwards': 1, 'zero-position': 1, 'position-range': 1, 'depth-range': 1, 'bad-number': 1 });
    expect(summary.rejects.find((reject) => reject.code === 'time-backwards')?.firstLines).toEqual([7]);
    expect(observations.pings.n).toBe(2 + 1 + 2 + 20);
    expect(observations.fixes.n).toBe(2 + 1 + 3 + 20);
  });

  it('a clock set back for good is believed after 60 rows, and noted', async () => {
    const text = `time,depth\n${rows((i) => `${at(i < 100 ? 5000 + i : i)},5.5`, 300)}`;
    const { observations, summary } = await read(text);
    expect(rejects(summary)).toEqual({ 'time-backwards': 60 });
    expect(observations.pings.n).toBe(240);
    expect(summary.notes.join()).toContain('the clock was set back');
  });

  it('longitudes from 0 to 360 are taken as west beyond 180', async () => {
    const { observations } = await read(`time,lat,lon\n${rows((i) => `${at(i)},46.1,329.0000${i}`)}`);
    expect(observations.fixes.lonDeg[0]).toBeCloseTo(-31, 9);
  });

  it('a corrected mapping is followed', async () => {
    const text = `a,b,c\n${rows((i) => `${at(i)},10.5,7`)}`;
    const { observations } = await read(text, { csvMapping: corrected(text, { 1: { quantity: 'depth', unit: 'fathom' }, 2: { quantity: 'waterTemperature', unit: 'deg C' } }) });
    expect(observations.pings.depthM[0]).toBeCloseTo(10.5 * 1.8288, 5);
    expect(observations.series.waterTemperatureC?.n).toBe(12);
  });
});

describe('readLog: CSV that is not what it says', () => {
  it('no time, no second half of a position, nothing of use', async () => {
    const noTime = await refusal(`lat,lon,depth\n${rows((i) => `46.1,-30.2,5.${i}`)}`);
    expect(noTime.code).toBe('missing-column');
    expect(noTime.message).toBe('trial.log: no column tells the time: expected a date and time or a time of day, found lat, lon, depth; name the column in the mapping');
    expect((await refusal(`time,lat,depth\n${rows((i) => `${at(i)},46.1,5.${i}`)}`)).message).toContain('latitude without longitude');
    expect((await refusal(`time,serial\n${rows((i) => `${at(i)},77${i}`)}`)).message).toContain('no column that can be used');
  });

  it('a unit that contradicts the header, unless it is confirmed', async () => {
    const text = `time,depth_ft\n${rows((i) => `${at(i)},1${i}.5`)}`;
    const error = await refusal(text, corrected(text, { 1: { unit: 'm' } }));
    expect(error.code).toBe('wrong-unit');
    expect(error.message).toBe('trial.log: column "depth_ft" says ft but is mapped as m: expected the same; correct the mapping, or confirm the column if its header is wrong');
    const { observations } = await read(text, { csvMapping: corrected(text, { 1: { unit: 'm', confirmed: true } }) });
    expect(observations.pings.depthM[0]).toBe(10.5);
  });

  it('two columns of one depth whose units cannot both be true', async () => {
    const text = (ratio: number): string => `time,depth_m,depth_ft\n${rows((i) => `${at(i)},${(5 + i / 10).toFixed(2)},${((5 + i / 10) * ratio).toFixed(2)}`)}`;
    expect((await read(text(3.2808))).observations.pings.n).toBe(12);
    const error = await refusal(text(1));
    expect(error.code).toBe('wrong-unit');
    expect(error.message).toContain('should be 3.28 by their units, found 1.00');
  });

  it('depths no sea has, and depths that are all negative by mistake', async () => {
    expect((await refusal(`time,depth_m\n${rows((i) => `${at(i)},${15_000 + i}`)}`)).code).toBe('wrong-unit');
    const text = `time,depth_m\n${rows((i) => `${at(i)},-${5 + i}.5`)}`;
    expect((await refusal(text, corrected(text, { 1: { quantity: 'depth' } }))).message).toContain('map the column as elevation');
  });

  it('latitude and longitude swapped: seen by their range', async () => {
    const error = await refusal(`time,lat,lon\n${rows((i) => `${at(i)},-130.2,46.${i}`)}`);
    expect(error.code).toBe('swapped-lat-lon');
    expect(error.message).toContain('latitudes in "lat" go beyond 90 degrees while longitudes in "lon" do not');
  });

  it('latitude and longitude swapped: seen by a mapping against the names', async () => {
    const text = `time,lat,lon\n${rows((i) => `${at(i)},46.${i},-30.2`)}`;
    expect((await refusal(text, corrected(text, { 1: { quantity: 'lon' }, 2: { quantity: 'lat' } }))).code).toBe('swapped-lat-lon');
  });

  it('latitude and longitude swapped: seen by the course of the track', async () => {
    // Eastward at 1.5 m/s along 46 N: the change is in longitude; in the file the columns stand under the wrong names.
    const make = (names: string): string => `time,${names},cog\n${rows((i) => `${at(i)},${(-30.2 + i * 1.94e-5).toFixed(7)},46.1000000,90.0`, 60)}`;
    expect((await refusal(make('lat,lon'))).code).toBe('swapped-lat-lon');
    expect((await read(make('lon,lat'))).observations.fixes.n).toBe(60);
  });

  it('a track no boat can run', async () => {
    const error = await refusal(`time,lat,lon\n${rows((i) => `${at(i)},${46 + i * 0.01},-30.2`)}`);
    expect(error.code).toBe('implausible-track');
    expect(error.message).toContain('steps of the track need 1112 m/s'); // 0.01 degrees of a meridian on a sphere of 6371 km
  });

  it('a mapping that names what does not exist', async () => {
    const text = `time,depth_m\n${rows((i) => `${at(i)},5.${i}`)}`;
    expect((await refusal(text, corrected(text, { 1: { unit: 'furlong' } }))).code).toBe('bad-mapping');
    expect((await refusal(text, corrected(text, { 1: { quantity: 'colour' as never } }))).code).toBe('bad-mapping');
    expect((await refusal(text, corrected(text, { 1: { quantity: 'time', unit: 'iso' } }))).code).toBe('bad-mapping');
  });
});

describe('readLog: CSV in pieces and damaged', () => {
  const text = `\ufefftime,lat,lon,"depth, m"\r\n${rows((i) => `"${at(i)}",46.1,-30.0000${10 + i}, 5.${i} `, 40).replace(/\n/g, '\r\n')}"stray,1,2,3\n\n${at(50)},46.1,-30.1,9.5`;
  const bytes = new TextEncoder().encode(text);
  const mapping = guessCsvMapping(bytes) as CsvMapping;
  const inPieces = (ends: readonly number[]): unknown => {
    const tally = new LogTally();
    const log = new CsvLog(tally, { mapping, noDate: null, chunkRows: 10 });
    let from = 0;
    for (const end of [...ends, bytes.length]) {
      log.feed(bytes.subarray(from, end));
      from = end;
    }
    log.finish();
    const all = new ObservationRows();
    log.ready.forEach((chunk) => all.append(chunk));
    return { observations: all.takeObservations(), summary: tally.summary('csv'), chunks: log.ready.length };
  };

  it('any division into pieces gives the same', () => {
    const whole = inPieces([]) as { observations: { pings: { n: number } }; chunks: number };
    expect(whole.observations.pings.n).toBe(41);
    expect(whole.chunks).toBeGreaterThan(3);
    for (let i = 1; i < bytes.length; i++) expect(inPieces([i])).toEqual(whole);
    expect(inPieces(Array.from({ length: bytes.length - 1 }, (_, i) => i + 1))).toEqual(whole);
  });

  it('truncated anywhere and with anything overwritten: a summary or a FormatError', async () => {
    const survives = async (data: Uint8Array): Promise<void> => {
      try {
        await read(data);
      } catch (error) {
        if (!(error instanceof FormatError)) throw error;
      }
    };
    for (let i = 0; i <= bytes.length; i += 3) await survives(bytes.slice(0, i));
    await fc.assert(
      fc.asyncProperty(fc.array(fc.record({ at: fc.nat(bytes.length - 1), value: fc.nat(255) }), { maxLength: 30 }), async (edits) => {
        const data = bytes.slice();
        for (const edit of edits) data[edit.at] = edit.value;
        await survives(data);
      }),
      { seed: 20260506, numRuns: 300 },
    );
  });

  it('rows without end do not fill memory', async () => {
    const long = `time,depth\n${rows((i) => `${at(i)},5.${i}`)}${'9'.repeat(3_000_000)},1\n${at(20)},7.5\n`;
    const { observations, summary } = await read(long);
    expect(observations.pings.n).toBe(13);
    expect(summary.notes.join()).toContain('1 rows are longer than 16 384 bytes');
  });
});

describe('CsvTimeReader', () => {
  const reader = new CsvTimeReader();
  const whole = (text: string, order: 'ymd' | 'dmy' | 'mdy' = 'ymd'): string | number => {
    const bytes = new TextEncoder().encode(text);
    const t = reader.dateTime(bytes, 0, bytes.length, order);
    return t === t ? iso(t) : NaN;
  };

  it('reads what Date.parse reads of ISO 8601, and the usual other forms', () => {
    for (const text of ['2026-05-01T10:11:12Z', '2026-05-01T10:11:12.345Z', '2026-05-01T10:11:12+02:00', '2026-05-01T10:11:12.5-03:30', '2024-02-29T23:59:59Z']) expect(whole(text)).toBe(new Date(Date.parse(text)).toISOString());
    expect(whole('2026-05-01 10:11')).toBe('2026-05-01T10:11:00.000Z');
    expect(whole('2026/05/01, 10:11:12,25')).toBe('2026-05-01T10:11:12.250Z');
    expect(whole('1.5.2026 10:11:12', 'dmy')).toBe('2026-05-01T10:11:12.000Z');
    expect(whole('05/01/26 1:11:12 PM', 'mdy')).toBe('2026-05-01T13:11:12.000Z');
    expect(whole('01-May-2026 12:00:00 AM', 'dmy')).toBe('2026-05-01T00:00:00.000Z');
    expect(whole('2026-05-01')).toBe('2026-05-01T00:00:00.000Z');
    expect(whole('2026-05-01T10:11:12+0200')).toBe('2026-05-01T08:11:12.000Z');
    expect(whole('2026-05-01 10:11:12 UTC')).toBe('2026-05-01T10:11:12.000Z');
  });

  it('gives NaN for what is none', () => {
    for (const text of ['', '2026', '2026-13-01', '2026-02-30', '2026-05-01T25:00', '2026-05-01T10:61', '2026-05-01T10:1', '2026-05-01x10:11', '26-05-01-02', '2026-05-01T10:11:12 CET', '13:00 PM']) expect(whole(text), text).toBeNaN();
  });
});

describe('csvAngle and csvNumber', () => {
  const angle = (text: string, unit: string, comma = false): number => {
    const bytes = new TextEncoder().encode(text);
    return csvAngle(bytes, 0, bytes.length, unit, comma);
  };
  it('read degrees in every form, hemisphere letters on either side', () => {
    expect(angle('46.5', 'deg')).toBe(46.5);
    expect(angle('S 46.5', 'deg')).toBe(-46.5);
    expect(angle('46,5W', 'deg', true)).toBe(-46.5);
    expect(angle('46 30.0 N', 'deg min')).toBe(46.5);
    expect(angle("30°15'36\"W", 'deg min')).toBeCloseTo(-30.26, 12);
    expect(angle('-30 15.6', 'deg min')).toBeCloseTo(-30.26, 12);
    expect(angle('4630.0', 'ddmm')).toBe(46.5);
    expect(angle('-3015.6', 'ddmm')).toBeCloseTo(-30.26, 12);
    expect(angle('465000000', 'deg 1e7')).toBeCloseTo(46.5, 12);
    for (const [text, unit] of [['46 60 N', 'deg min'], ['4660', 'ddmm'], ['north', 'deg'], ['', 'deg']] as const) expect(angle(text, unit), text).toBeNaN();
  });

  it('read numbers with point, comma and exponent', () => {
    const number = (text: string, comma: boolean): number => {
      const bytes = new TextEncoder().encode(text);
      return csvNumber(bytes, 0, bytes.length, comma);
    };
    fc.assert(
      fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), (value) => {
        const text = String(value);
        expect(Object.is(number(text, false), Number(text))).toBe(true);
        expect(Object.is(number(text.replace('.', ','), true), Number(text))).toBe(true);
      }),
      { seed: 20260507, numRuns: 2000 },
    );
  });
});

const SHARED = new URL('../../../shared/data/', import.meta.url);

describe.skipIf(!existsSync(SHARED))('readLog: recorded CSV', () => {
  it('lake-line.csv: every row a depth, counted by hand', async () => {
    const text = readFileSync(new URL('sonar/lake-line.csv', SHARED), 'utf8');
    const { observations, summary } = await read(text, { noDate: '2020-01-01' });
    const cells = text.trim().split('\n').slice(1).map((row) => row.split(','));
    expect(summary.pings).toBe(cells.length);
    expect(summary.depthMinM).toBeCloseTo(Math.min(...cells.map((row) => Number(row[3]))), 5);
    expect(summary.depthMaxM).toBeCloseTo(Math.max(...cells.map((row) => Number(row[3]))), 5);
    expect(observations.fixes.latDeg[0]).toBe(Number(cells[0]?.[1]));
  });
});
