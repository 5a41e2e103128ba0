import { existsSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import type { CsvMapping } from '../../src/formats/csv/csv-mapping.js';
import { csvHeaderKey, guessCsvMapping } from '../../src/formats/csv/csv-mapping.js';
import { partColumnName } from '../../src/formats/csv/csv-quantities.js';

/** `quantity unit` of every column; `-` where it is not used. */
function columns(text: string): string[] {
  const mapping = guessCsvMapping(text) as CsvMapping;
  expect(mapping).not.toBeNull();
  return mapping.columns.map((column) => (column.quantity === null ? '-' : `${column.quantity} ${column.unit}`));
}

const rows = (make: (i: number) => string, n = 12): string => Array.from({ length: n }, (_, i) => make(i)).join('\n') + '\n';

describe('partColumnName', () => {
  it('parts words and unit however they are written', () => {
    for (const header of ['Depth (ft)', 'depth_ft', 'depth [ft]', 'DEPTH FT', 'depth (feet)', 'Depth_Feet']) expect(partColumnName(header), header).toEqual({ name: 'depth', unit: 'ft' });
    expect(partColumnName('Water Temperature (°C)')).toEqual({ name: 'water temperature', unit: 'deg C' });
    expect(partColumnName('waterLevel_m')).toEqual({ name: 'water level', unit: 'm' });
    expect(partColumnName('sound_speed_mps')).toEqual({ name: 'sound speed', unit: 'm/s' });
    expect(partColumnName('SOG (kn)')).toEqual({ name: 'sog', unit: 'kn' });
    expect(partColumnName('Time (GMT)')).toEqual({ name: 'time', unit: '' });
  });
});

describe('guessCsvMapping: columns', () => {
  it('time, position and depth by usual names and units', () => {
    expect(columns(`Timestamp,Latitude,Longitude,Depth (m)\n${rows((i) => `2026-05-01T10:00:${10 + i}Z,46.1${i},-30.2,${5 + i / 10}`)}`)).toEqual(['time iso', 'lat deg', 'lon deg', 'depth m']);
    expect(columns(`time;lat;lon;depth_ft;volt;amps\n${rows((i) => `${1777593600 + i};46,1${i};-30,2;${15 + i},5;24,1;10,5`)}`)).toEqual(['time s 1970', 'lat deg', 'lon deg', 'depth ft', 'batteryVoltage V', 'batteryCurrent A']);
  });

  it('date and time of day apart, day or month first where the values tell', () => {
    expect(columns(`Date,Time,Depth\n${rows((i) => `${20 + (i % 9)}/05/2026,10:00:0${i % 10},5.1`)}`)).toEqual(['date dmy', 'timeOfDay hms', 'depth m']);
    expect(columns(`Date,Time,Depth\n${rows((i) => `05/${20 + (i % 9)}/2026,10:00:0${i % 10} PM,5.1`)}`)).toEqual(['date mdy', 'timeOfDay hms', 'depth m']);
    expect(columns(`date,utc,depth\n${rows((i) => `20260501,1000${10 + i},5.1`)}`)).toEqual(['date yyyymmdd', 'timeOfDay hhmmss', 'depth m']);
  });

  it('positions in degrees and minutes, run together, or times ten million', () => {
    expect(columns(`time,lat,lon\n${rows((i) => `10:00:${10 + i},46 10.${i}25 N,030 05.125 W`)}`)).toEqual(['timeOfDay hms', 'lat deg min', 'lon deg min']);
    expect(columns(`time,lat,lon\n${rows((i) => `10:00:${10 + i},4610.${i}25,-3005.125`)}`)).toEqual(['timeOfDay hms', 'lat ddmm', 'lon ddmm']);
    expect(columns(`time,lat,lon\n${rows((i) => `10:00:${10 + i},46100000${i % 10},-300500000`)}`)).toEqual(['timeOfDay hms', 'lat deg 1e7', 'lon deg 1e7']);
  });

  it('a depth that is never above zero is an elevation of the bottom', () => {
    const mapping = guessCsvMapping(`time,depth_m\n${rows((i) => `10:00:${10 + i},-${5 + i}.5`)}`) as CsvMapping;
    expect(mapping.columns[1]).toMatchObject({ quantity: 'elevation', unit: 'm' });
    expect(mapping.columns[1]?.why).toContain('no value is above zero');
  });

  it('of several columns for one thing the likelier, and one with values', () => {
    expect(columns(`Date,Time (GMT),Predicted (m),Preliminary (m),Verified (m)\n${rows((i) => `2026/05/01,00:${10 + i},0.5,0.6,-`)}`)).toEqual(['date ymd', 'timeOfDay hms', '-', 'waterLevel m', '-']);
    expect(columns(`Date,Time (GMT),Predicted (m),Preliminary (m),Verified (m)\n${rows((i) => `2026/05/01,00:${10 + i},0.5,-,0.6`)}`)).toEqual(['date ymd', 'timeOfDay hms', '-', '-', 'waterLevel m']);
  });

  it('every column says how sure and why; what is not known is left out', () => {
    const mapping = guessCsvMapping(`time,depth_ft,remark,serial\n${rows((i) => `10:00:${10 + i},5.${i},ok,77${i}`)}`) as CsvMapping;
    for (const column of mapping.columns) {
      expect(column.confidence).toBeGreaterThanOrEqual(0);
      expect(column.confidence).toBeLessThanOrEqual(1);
      expect(column.why.length).toBeGreaterThan(5);
    }
    expect(mapping.columns.slice(2).map((column) => column.quantity)).toEqual([null, null]);
    expect(mapping.columns[1]?.why).toContain('unit from the header');
    expect(JSON.parse(JSON.stringify(mapping))).toEqual(mapping);
  });
});

describe('guessCsvMapping: form', () => {
  it('delimiter and decimal sign', () => {
    const of = (text: string): string => {
      const mapping = guessCsvMapping(text);
      return `${mapping?.delimiter} ${mapping?.decimal}`;
    };
    expect(of(`time,depth\n${rows((i) => `10:00:${10 + i},5.${i}`)}`)).toBe(', .');
    expect(of(`time;depth\n${rows((i) => `10:00:${10 + i};5,${i}`)}`)).toBe('; ,');
    expect(of(`time\tdepth\n${rows((i) => `10:00:${10 + i}\t5,${i}`)}`)).toBe('\t ,');
    expect(of(`time|depth\n${rows((i) => `10:00:${10 + i}|5.${i}`)}`)).toBe('| .');
    expect(of(`lon lat depth\n${rows((i) => `-30.1${i}  46.2   5.${i}`)}`)).toBe('  .');
    expect(of(`Date Time, Prediction\n${rows((i) => `2026-05-01 00:${10 + i},0.7${i}`)}`)).toBe(', .');
  });

  it('header after a preamble, with a row of units, or none', () => {
    const preamble = guessCsvMapping(`Logger 7\nstarted 2026-05-01\n\ntime,depth\ns,ft\n${rows((i) => `10:00:${10 + i},5.${i}`)}`) as CsvMapping;
    expect(preamble.columns.map((column) => column.name)).toEqual(['time', 'depth']);
    expect(preamble.columns[1]).toMatchObject({ quantity: 'depth', unit: 'ft' });
    expect(preamble.headerRows).toBe(4);
    const none = guessCsvMapping(rows((i) => `-30.1${i},46.2,5.${i}`)) as CsvMapping;
    expect(none.headerRows).toBe(0);
    expect(none.columns.map((column) => column.name)).toEqual(['column 1', 'column 2', 'column 3']);
    expect(none.columns.every((column) => column.quantity === null)).toBe(true);
  });

  it('quoted names and values, byte order mark', () => {
    expect(columns(`\ufeff"Time","Depth, below transducer (m)"\r\n${rows((i) => `"10:00:${10 + i}","5.${i}"`)}`)).toEqual(['timeOfDay hms', 'depth m']);
  });

  it('null for what is no table of numbers', () => {
    for (const text of ['', 'a', 'a,b\nc,d\n', 'Dear all,\nthe boat is wet.\n', '1\n2\n3\n']) expect(guessCsvMapping(text), text).toBeNull();
  });
});

describe('csvHeaderKey', () => {
  it('is the same for the same header, whatever the rows, and another for another', () => {
    const one = guessCsvMapping(`Time,Depth\n${rows((i) => `10:00:${10 + i},5.${i}`)}`) as CsvMapping;
    const two = guessCsvMapping(`time,DEPTH\n${rows((i) => `11:00:${10 + i},9.${i}`, 30)}`) as CsvMapping;
    const other = guessCsvMapping(`Time,Depth (ft)\n${rows((i) => `10:00:${10 + i},5.${i}`)}`) as CsvMapping;
    expect(csvHeaderKey(one)).toBe('time,depth');
    expect(csvHeaderKey(two)).toBe(csvHeaderKey(one));
    expect(csvHeaderKey(other)).not.toBe(csvHeaderKey(one));
    const long = { ...one, columns: Array.from({ length: 100 }, (_, i) => ({ name: `column with a long name ${i}`, quantity: null, unit: '', confidence: 0, why: '' })) };
    expect(csvHeaderKey(long).length).toBeLessThanOrEqual(170);
    expect(csvHeaderKey({ ...long, columns: long.columns.slice(0, 99) })).not.toBe(csvHeaderKey(long));
  });
});

const SHARED = new URL('../../../shared/data/', import.meta.url);

describe.skipIf(!existsSync(SHARED))('guessCsvMapping: recorded files', () => {
  const of = (file: string): string[] => columns(readFileSync(new URL(file, SHARED), 'utf8'));
  it('points, a sounder line, a sound-speed cast, water levels', () => {
    expect(of('soundings/lake227.csv')).toEqual(['lat deg', 'lon deg', 'elevation m']);
    expect(of('sonar/lake-line.csv')).toEqual(['timeOfDay hms', 'lat deg', 'lon deg', 'depth m', '-']);
    expect(of('sonar/lake-sound-speed-cast.csv')).toEqual(['timeOfDay h', 'soundSpeed m/s', 'depth m', 'waterTemperature deg C']);
    expect(of('tide/honolulu_1612340_observed.csv')).toEqual(['date ymd', 'timeOfDay hms', '-', 'waterLevel m', '-']);
    expect(of('tide/honolulu_1612340_predictions.csv')).toEqual(['time iso', 'waterLevel m']);
  });
});
