import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { FormatError, UseError } from '../../src/base/errors.js';
import { parseUtc } from '../../src/base/time.js';
import { parseCurrentCsv, parseHighWatersCsv } from '../../src/formats/current-csv.js';
import { parseCurrentJson } from '../../src/formats/current-json.js';
import { currentFromParsed, type ParsedCurrent } from '../../src/water/current-parsed.js';
import { setAndSpeed } from '../../src/water/current-vector.js';
import { predictTide } from '../../src/water/tide.js';

const KN = 1852 / 3600;
const START = parseUtc('2026-05-04T12:00:00Z');
const WANTED = { convergenceDeg: 0, startS: START, endS: START + 6 * 3600, source: 'current' };
const at = (parsed: ParsedCurrent, timeS: number, more: Partial<Parameters<typeof currentFromParsed>[1]> = {}): { speedMps: number; setDeg: number } => {
  const out = new Float64Array(3);
  currentFromParsed(parsed, { ...WANTED, ...more }).at(0, 0, timeS, out);
  return setAndSpeed(out[0]!, out[1]!, 0);
};
const SERIES = 'timeUtc,speedKn,setDeg\n2026-05-04T12:00:00Z,1.0,75\n2026-05-04T13:00:00Z,0.5,80\n';
const TABLE = '# springRangeM: 4.6\n# neapRangeM: 2.2\nhour,setDeg,springKn,neapKn\n-1,60,2.0,1.0\n0,,0,0\n1,240,1.5,0.8\n';

describe('parseCurrentCsv', () => {
  it('parseCurrentCsv: reads a series in the unit of its header', () => {
    for (const [header, row] of [['timeUtc,speedKn,setDeg', '1.0,75'], ['Time (UTC),Speed (m/s),Direction (deg)', `${KN},75`], ['time,current speed [cm/s],set', `${KN * 100},75`], ['time,rate_kmh,set', `1.852,75`]] as const) {
      const read = at(parseCurrentCsv(`${header}\n2026-05-04T12:00:00Z,${row}\n2026-05-04 13:00,${row}\n`, 'current.csv'), START);
      expect(read.speedMps, header).toBeCloseTo(KN, 9);
      expect(read.setDeg).toBeCloseTo(75, 9);
    }
  });

  it('parseCurrentCsv: reads parts, sigma, date and time apart, seconds since 1970, and a decimal comma', () => {
    const parts = parseCurrentCsv('date;time;eastMps;northMps;sigmaMps\n2026-05-04;12:00:00;0,3;-0,4;0,05\n2026-05-04;13:00:00;;;\n', 'a.csv');
    expect(at(parts, START).speedMps).toBeCloseTo(0.5, 9);
    expect(parts.kind === 'series' && parts.series.sigmaMps?.[0]).toBe(0.05);
    expect(parts.kind === 'series' && parts.series.timeS[1]).toBe(START + 3600);
    expect(at(parseCurrentCsv(`time,u (m/s),v (m/s)\r\n${START},0.3,-0.4\r\n`, 'b.csv'), START).setDeg).toBeCloseTo(180 - (Math.atan2(3, 4) * 180) / Math.PI, 9);
  });

  it('parseCurrentCsv: reads a tidal stream table and its ranges; slack water needs no set', () => {
    const parsed = parseCurrentCsv(TABLE, 'stream.csv');
    expect(parsed).toMatchObject({ kind: 'stream-table', springRangeM: 4.6, neapRangeM: 2.2, reference: null });
    const level = predictTide([{ name: 'S2', amplitudeM: 1.7, phaseDeg: 0 }]);
    // High water of S2 at noon and midnight UTC, range 3.4 m: halfway between neaps and springs.
    const read = at(parsed, START - 3600, { level });
    expect(read.speedMps / KN).toBeCloseTo(1.5, 2);
    expect(read.setDeg).toBeCloseTo(60, 1);
    expect(() => at(parsed, START)).toThrow(UseError);
    expect(() => at(parseCurrentCsv(TABLE.replace(/#.*\n/g, ''), 'stream.csv'), START, { level })).toThrow('needs the mean spring and neap range of its reference port');
    expect(at(parseCurrentCsv(TABLE.replace(/#.*\n/g, ''), 'stream.csv'), START - 3600, { level, springRangeM: 4.6, neapRangeM: 2.2 }).speedMps).toBeCloseTo(read.speedMps, 12);
  });

  it('parseCurrentCsv: reads constituents by parts and by ellipse', () => {
    const parts = parseCurrentCsv('# meanEastMps: 0.1\nconstituent,eastMps,eastPhaseDeg,northMps,northPhaseDeg\nS2,0.6,0,0,0\n', 'c.csv');
    expect(at(parts, START).speedMps).toBeCloseTo(0.7, 6);
    const ellipse = parseCurrentCsv('name,majorKn,minorKn,majorSetDeg,phaseDeg\nS2,1,0.1,60,0\n', 'c.csv');
    expect(at(ellipse, START).speedMps).toBeCloseTo(KN, 6);
    expect(at(ellipse, START).setDeg).toBeCloseTo(60, 4);
  });

  it('parseCurrentCsv: says line, expected, found and what to do', () => {
    const said = (text: string): string => {
      try {
        parseCurrentCsv(text, 'x.csv');
      } catch (error) {
        expect(error).toBeInstanceOf(FormatError);
        return (error as Error).message;
      }
      return 'nothing wrong';
    };
    expect(said('')).toBe('x.csv line 1: expected a header with units in its names, found nothing; give the file a header, e.g. timeUtc,speedKn,setDeg');
    expect(said('timeUtc,speedKn,setDeg\n')).toBe('x.csv line 1: expected one row or more after the header, found none; give the file its rows');
    expect(said('timeUtc,speed,setDeg\n2026-05-04T12:00:00Z,1,75\n')).toBe('x.csv line 1: expected the unit of speed in its name (m/s, kn, km/h, ft/s, cm/s), found none; write e.g. "speed (kn)"');
    expect(said(`${SERIES}2026-05-04T14:00:00Z,fast,80\n`)).toBe('x.csv line 4: expected a number in speedKn, found "fast"; correct it, or leave the cell empty');
    expect(said(`${SERIES}04/05/2026 14:00,1,80\n`)).toBe('x.csv line 4: expected a UTC time, e.g. 2026-05-04T12:00:00Z, found "04/05/2026 14:00"; write it year first');
    expect(said(`${SERIES}2026-05-04T14:00:00Z,-1,80\n`)).toBe('x.csv line 4: expected 0 or more in speedKn, found -1; turn the set about instead');
    expect(said(`${SERIES}2026-05-04T14:00:00Z,1\n`)).toBe('x.csv line 4: expected 3 fields as in the header, found 2; correct the row or take it out');
    expect(said('time (UTC+1),speedKn,setDeg\n1,1,1\n')).toContain('expected times in UTC, found time (UTC+1)');
    expect(said('time,speedKn,direction from\n1,1,1\n')).toContain('expected a set: the direction it flows towards, true, found direction from');
    expect(said('time,speedKn,set magnetic\n1,1,1\n')).toContain('found set magnetic');
    expect(said('a,b\n1,2\n')).toBe('x.csv line 1: expected columns for a time, an hour from high water, or a constituent, found a, b; name the columns, e.g. timeUtc,speedKn,setDeg');
    expect(said('time,speedKn\n2026-05-04,2\n')).toContain('expected columns for speed and set, or east and north, found time, speedKn');
    expect(said('hour,setDeg,springKn,neapKn\n1,60,1,1\n1,60,1,1\n')).toBe('x.csv line 3: expected each hour once, found hour 1 again, as in line 2; take one out');
    expect(said('hour,setDeg,springKn,neapKn\n1,,1,1\n2,60,1,1\n')).toContain('line 2: expected a set where there is a rate, found none');
    expect(said('hour,setDeg,springKn\n1,60,1\n')).toContain('columns for a neap rate');
    expect(said('time,speedKn,speed (m/s),set\n1,1,1,1\n')).toContain('expected one column of speed, found speedKn and speed (m/s)');
    expect(said('# springRangeM: high\nhour,setDeg,springKn,neapKn\n1,60,1,1\n2,60,1,1\n')).toContain('x.csv line 1: expected a number after the colon, found "high"');
  });

  it('parseCurrentCsv: no text brings anything but a current or a FormatError', () => {
    const piece = fc.constantFrom('timeUtc', 'speedKn', 'setDeg', 'hour', 'springKn', 'neapKn', 'name', 'eastMps', '1', '-6', '2026-05-04T12:00:00Z', 'x', ',', ';', '\n', '\n', ',', '"', '#', ' ', '# springRangeM: 1');
    fc.assert(
      fc.property(fc.oneof(fc.array(piece, { maxLength: 40 }).map((all) => all.join('')), fc.string(), fc.tuple(fc.constantFrom(SERIES, TABLE), fc.nat(200), fc.string({ maxLength: 3 })).map(([text, place, put]) => text.slice(0, place) + put + text.slice(place + put.length))), (text) => {
        for (const parse of [parseCurrentCsv, parseHighWatersCsv, parseCurrentJson]) {
          try {
            parse(text, 'f');
          } catch (error) {
            if (!(error instanceof FormatError)) throw error;
            expect(error.message).toContain('expected');
          }
        }
      }),
      { seed: 48, numRuns: 2000 },
    );
  });
});

describe('parseHighWatersCsv', () => {
  it('parseHighWatersCsv: reads turns of the tide, and high waters with ranges', () => {
    const turns = parseHighWatersCsv('timeUtc,levelM\n2026-05-04T05:50Z,0.7\n2026-05-04T12:00Z,4.3\n2026-05-04T18:10Z,0.9\n', 'hw.csv');
    expect(turns).toMatchObject({ kind: 'turns', turns: [{ kind: 'low' }, { kind: 'high', levelM: 4.3 }, { kind: 'low' }] });
    const parsed = parseCurrentCsv(TABLE, 'stream.csv');
    if (parsed.kind !== 'stream-table') throw new Error('expected a stream table');
    // Range: 4.3 - (0.7 + 0.9) / 2 = 3.5 m; an hour before: 1.0 + 1.0 * (3.5 - 2.2) / 2.4 kn.
    expect(at({ ...parsed, reference: turns }, START - 3600).speedMps / KN).toBeCloseTo(1 + 1.3 / 2.4, 9);
    const ranges = parseHighWatersCsv('timeUtc,range (ft)\n2026-05-04T12:00Z,10\n', 'hw.csv');
    expect(ranges).toEqual({ kind: 'high-waters', highWaters: [{ timeS: START, rangeM: 3.048 }] });
  });

  it('parseHighWatersCsv: refuses levels that are not turns, by line', () => {
    expect(() => parseHighWatersCsv('timeUtc,levelM\n2026-05-04T05:50Z,0.7\n2026-05-04T08:00Z,2\n2026-05-04T12:00Z,4.3\n', 'hw.csv')).toThrow('hw.csv line 3: expected high and low waters in turn, found 2 m between 0.7 m and 4.3 m');
  });
});

describe('parseCurrentJson', () => {
  it('parseCurrentJson: reads each kind', () => {
    expect(at(parseCurrentJson('{"kind": "constant", "speedKn": 2, "setDeg": 75}', 'c.json'), START).speedMps).toBeCloseTo(2 * KN, 12);
    expect(at(parseCurrentJson('{"kind": "series", "rows": [{"time": "2026-05-04T12:00:00Z", "speedKn": 1, "setDeg": 75}]}', 'c.json'), START).setDeg).toBeCloseTo(75, 9);
    expect(at(parseCurrentJson('{"kind": "series", "rows": [{"time": "2026-05-04T12:00:00Z", "eastMps": 0.3, "northMps": 0.4}]}', 'c.json'), START).speedMps).toBeCloseTo(0.5, 12);
    const table = '{"kind": "stream-table", "springRangeM": 4.6, "neapRangeM": 2.2, "rows": [{"hour": -1, "setDeg": 60, "springKn": 2, "neapKn": 1}, {"hour": 1, "setDeg": 240, "springKn": 2, "neapKn": 1}], ';
    expect(at(parseCurrentJson(`${table}"highWaters": [{"time": "2026-05-04T12:00:00Z", "rangeM": 3.4}]}`, 'c.json'), START - 3600).speedMps / KN).toBeCloseTo(1.5, 9);
    expect(at(parseCurrentJson(`${table}"tide": {"constituents": [{"name": "S2", "amplitudeM": 1.7, "phaseDeg": 0}]}}`, 'c.json'), START - 3600).speedMps / KN).toBeCloseTo(1.5, 2);
    expect(at(parseCurrentJson('{"kind": "constituents", "meanEastMps": 0.1, "constituents": [{"name": "S2", "eastMps": 0.6, "eastPhaseDeg": 0, "northMps": 0, "northPhaseDeg": 0}]}', 'c.json'), START).speedMps).toBeCloseTo(0.7, 6);
    expect(at(parseCurrentJson('{"kind": "constituents", "constituents": [{"name": "S2", "majorKn": 1, "minorKn": 0, "majorSetDeg": 60, "phaseDeg": 0}]}', 'c.json'), START).setDeg).toBeCloseTo(60, 4);
  });

  it('parseCurrentJson: says where, expected, found and what to do', () => {
    const said = (text: string): string => {
      try {
        parseCurrentJson(text, 'c.json');
      } catch (error) {
        expect(error).toBeInstanceOf(FormatError);
        return (error as Error).message;
      }
      return 'nothing wrong';
    };
    expect(said('{\n"kind": "series",\n}')).toContain('c.json line 3: expected JSON');
    expect(said('{"kind": "sea"}')).toBe('c.json: kind: expected constant, series, stream-table or constituents, found "sea"; say what the file holds');
    expect(said('{"kind": "constant", "speed": 1, "setDeg": 0}')).toContain('expected one of kind, speedMps, speedKn, setDeg, sigmaMps, sigmaKn, found speed');
    expect(said('{"kind": "constant", "setDeg": 0}')).toBe('c.json: speed: expected speedMps or speedKn, found neither; give it with its unit in the name');
    expect(said('{"kind": "series", "rows": [{"time": "noon", "speedKn": 1, "setDeg": 0}]}')).toContain('rows[0].time: expected a UTC time');
    expect(said('{"kind": "series", "rows": []}')).toContain('rows: expected a list of one or more, found []');
    expect(said('[]')).toContain('the file: expected an object, found []');
  });
});
