import { existsSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { FormatError } from '../../src/base/errors.js';
import { readCsvTable } from '../../src/formats/csv/csv-table.js';
import { source } from './nmea-log-text.js';

const SHARED = new URL('../../../shared/data/', import.meta.url);

describe('readCsvTable', () => {
  it('gives columns in the units kept, NaN for empty cells, lines of the rows', async () => {
    const table = await readCsvTable(source('time,level (cm),sound speed (ft/s)\n2026-05-01 00:00,120,4900\n2026-05-01 00:10,,4901\nbad,1,1\n2026-05-01 00:20,125,x\n'));
    expect(table.n).toBe(3);
    expect([...(table.timeS as Float64Array)].map((t) => t % 86_400)).toEqual([0, 600, 1200]);
    expect([...(table.columns.waterLevel as Float64Array)]).toEqual([1.2, NaN, 1.25]);
    expect(table.columns.soundSpeed?.[0]).toBeCloseTo(4900 * 0.3048, 9);
    expect([...table.record]).toEqual([1, 2, 4]);
    expect(Object.fromEntries(table.rejects.map((reject) => [reject.code, reject.firstLines]))).toEqual({ 'bad-time': [4], 'bad-number': [5] });
  });

  it('needs no time: a sound-speed profile', async () => {
    const table = await readCsvTable(source('depth_m,temperature_c,salinity_psu\n0.5,12.1,34.9\n5,11.8,35.0\n10,11.2,35.1\n'));
    expect(table.timeS).toBeNull();
    expect([...(table.columns.depth as Float64Array)]).toEqual([0.5, 5, 10]);
    expect([...(table.columns.salinity as Float64Array)]).toEqual([34.9, 35, 35.1]);
    expect([...(table.columns.waterTemperature as Float64Array)]).toEqual([12.1, 11.8, 11.2]);
  });

  it('refuses what is no table, an empty file, a table without any row', async () => {
    await expect(readCsvTable(source(''))).rejects.toThrow('trial.log: the file is empty');
    await expect(readCsvTable(source('nothing here\n'))).rejects.toThrow(FormatError);
    const mapping = { delimiter: ',', decimal: '.', headerRows: 1, columns: [{ name: 'depth', quantity: 'depth', unit: 'm', confidence: 1, why: '' }] } as const;
    await expect(readCsvTable(source('depth\n'), mapping)).rejects.toThrow('no row can be read');
  });
});

describe.skipIf(!existsSync(SHARED))('readCsvTable: recorded files, against a plain split of the text', () => {
  const text = (file: string): string => readFileSync(new URL(file, SHARED), 'utf8');
  const cells = (file: string): string[][] => text(file).trim().split('\n').slice(1).map((row) => row.split(',').map((cell) => cell.replace(/"/g, '').trim()));

  it('water levels: every value and time', async () => {
    const file = 'tide/honolulu_1612340_observed.csv';
    const table = await readCsvTable(source(text(file)));
    const rows = cells(file);
    expect(table.n).toBe(rows.length);
    rows.forEach((row, i) => {
      expect(table.timeS?.[i]).toBe(Date.parse(`${row[0]?.replace(/\//g, '-')}T${row[1]}:00Z`) / 1000);
      expect(table.columns.waterLevel?.[i]).toBe(row[3] === '-' ? NaN : Number(row[3]));
    });
  });

  it('sound-speed cast: every value', async () => {
    const file = 'sonar/lake-sound-speed-cast.csv';
    const table = await readCsvTable(source(text(file)), null, { noDate: '2020-01-01' });
    cells(file).forEach((row, i) => {
      expect((table.timeS?.[i] as number) % 86_400).toBeCloseTo(Number(row[0]) * 3600, 5);
      expect([table.columns.soundSpeed?.[i], table.columns.depth?.[i], table.columns.waterTemperature?.[i]]).toEqual(row.slice(1).map(Number));
    });
  });

  it('points without time: every value', async () => {
    const file = 'soundings/lake227.csv';
    const table = await readCsvTable(source(text(file)));
    expect(table.n).toBe(1039);
    cells(file).forEach((row, i) => expect([table.columns.lat?.[i], table.columns.lon?.[i], table.columns.elevation?.[i]]).toEqual(row.map(Number)));
  });
});
