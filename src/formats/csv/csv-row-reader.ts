import { dayNumber } from '../nmea/fields.js';
import type { CsvMapping } from './csv-mapping.js';
import type { CsvQuantity } from './csv-quantities.js';
import { CSV_QUANTITY_NAMES, csvConversion } from './csv-quantities.js';
import type { CsvRowScanner } from './csv-rows.js';
import type { DateOrder } from './csv-time.js';
import { CsvTimeReader } from './csv-time.js';
import { csvAngle, csvNumber, isNoValue } from './csv-values.js';

const DAY_S = 86_400;

/** Index of a quantity in `CsvRowReader.values`. */
export const CSV_INDEX = Object.fromEntries(CSV_QUANTITY_NAMES.map((name, i) => [name, i])) as Readonly<Record<CsvQuantity, number>>;

/** Why a row cannot be used. */
export type RowFault = 'bad-row' | 'bad-time' | null;

interface ReadColumn {
  readonly column: number;
  readonly quantity: CsvQuantity;
  readonly index: number;
  readonly unit: string;
  readonly factor: number;
  readonly offset: number;
}

/** Reads the fields of one row after another by a mapping. */
export class CsvRowReader {
  /** Values of the row at hand in the units kept, by CSV_INDEX; NaN where the column is not mapped or has no value. */
  readonly values = new Float64Array(CSV_QUANTITY_NAMES.length);
  /** UTC seconds since 1970 of the row at hand; NaN where no column tells the time. */
  timeS = NaN;
  /** Fields of the row at hand that are neither a number nor empty. */
  badNumbers = 0;
  /** Whether times are without a date. */
  readonly dateless: boolean;
  /** Whether the mapping tells the time at all. */
  readonly timed: boolean;
  private readonly columns: ReadColumn[] = [];
  private readonly width: number;
  private readonly comma: boolean;
  private readonly time = new CsvTimeReader();
  private dayS: number;
  private lastTodS = NaN;

  /**
   * @param firstDayS UTC midnight of the first row, for files with times of day only
   * @throws RangeError when a column's quantity or unit is not known
   */
  constructor(mapping: CsvMapping, firstDayS: number) {
    this.comma = mapping.decimal === ',';
    this.dayS = firstDayS;
    let width = 0;
    mapping.columns.forEach((column, k) => {
      if (column.quantity === null) return;
      const index = CSV_INDEX[column.quantity];
      if (index === undefined) throw new RangeError(`csv mapping: quantity of column "${column.name}": ${String(column.quantity)} is not known`);
      const conversion = csvConversion(column.quantity, column.unit);
      if (conversion === null) throw new RangeError(`csv mapping: unit of column "${column.name}": "${column.unit}" is no unit of ${column.quantity}`);
      this.columns.push({ column: k, quantity: column.quantity, index, unit: column.unit, factor: conversion[0], offset: conversion[1] });
      width = k + 1;
    });
    this.width = width;
    const has = (quantity: CsvQuantity): boolean => this.columns.some((column) => column.quantity === quantity);
    this.timed = has('time') || has('timeOfDay');
    this.dateless = !has('time') && !has('date') && has('timeOfDay');
  }

  /** Reads a row into `values` and `timeS`. */
  read(row: CsvRowScanner): RowFault {
    const { values, comma } = this;
    const { bytes } = row;
    values.fill(NaN);
    this.badNumbers = 0;
    this.timeS = NaN;
    if (row.fields < this.width) return 'bad-row';
    let day = NaN;
    let todS = NaN;
    for (const column of this.columns) {
      const start = row.fieldStart[column.column] as number;
      const end = row.fieldEnd[column.column] as number;
      switch (column.quantity) {
        case 'time':
          this.timeS = this.wholeTime(bytes, start, end, column.unit);
          break;
        case 'date':
          day = this.date(bytes, start, end, column.unit);
          break;
        case 'timeOfDay':
          todS = this.timeOfDay(bytes, start, end, column.unit, column.factor);
          break;
        case 'lat':
        case 'lon': {
          const value = csvAngle(bytes, start, end, column.unit, comma);
          values[column.index] = value;
          if (value !== value && !isNoValue(bytes, start, end)) this.badNumbers++;
          break;
        }
        default: {
          const value = csvNumber(bytes, start, end, comma) * column.factor + column.offset;
          values[column.index] = value;
          if (value !== value && !isNoValue(bytes, start, end)) this.badNumbers++;
        }
      }
    }
    if (!this.timed) return null;
    if (todS === todS) {
      if (this.dateless) {
        if (todS < this.lastTodS - DAY_S / 2) this.dayS += DAY_S;
        this.lastTodS = todS;
        this.timeS = this.dayS + todS;
      } else if (day === day) this.timeS = day * DAY_S + todS;
    }
    return this.timeS === this.timeS ? null : 'bad-time';
  }

  private wholeTime(bytes: Uint8Array, start: number, end: number, unit: string): number {
    if (unit === 's 1970') return csvNumber(bytes, start, end, this.comma);
    if (unit === 'ms 1970') return csvNumber(bytes, start, end, this.comma) / 1000;
    return this.time.dateTime(bytes, start, end, unit === 'iso' ? 'ymd' : (unit as DateOrder));
  }

  private date(bytes: Uint8Array, start: number, end: number, unit: string): number {
    if (unit === 'yyyymmdd' || unit === 'ddmmyy') {
      const n = csvNumber(bytes, start, end, false);
      const low = n % 100;
      const middle = Math.floor(n / 100) % 100;
      const high = Math.floor(n / 10_000);
      return unit === 'yyyymmdd' ? dayNumber(high, middle, low) : dayNumber(low < 80 ? 2000 + low : 1900 + low, middle, high);
    }
    return this.time.dateOnly(bytes, start, end, unit as DateOrder);
  }

  private timeOfDay(bytes: Uint8Array, start: number, end: number, unit: string, factor: number): number {
    if (unit === 'hms') return this.time.timeOfDay(bytes, start, end);
    const n = csvNumber(bytes, start, end, this.comma);
    if (unit !== 'hhmmss') return n >= 0 && n * factor <= DAY_S ? n * factor : NaN;
    const h = Math.floor(n / 10_000);
    const m = Math.floor(n / 100) % 100;
    const s = n - h * 10_000 - m * 100;
    return h < 24 && m < 60 && s < 61 ? h * 3600 + m * 60 + s : NaN;
  }
}
