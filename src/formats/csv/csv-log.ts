import { DEPTH_FROM } from '../../base/observations.js';
import type { FixRows, ObservationChunk, PingRows, SeriesRows } from '../log-columns.js';
import { ObservationRows } from '../log-columns.js';
import type { LogTally } from '../log-tally.js';
import { dayNumber } from '../nmea/fields.js';
import type { CsvMapping } from './csv-mapping.js';
import { CSV_QUANTITY_NAMES, csvQuantity } from './csv-quantities.js';
import { CSV_INDEX, CsvRowReader } from './csv-row-reader.js';
import { CsvRowScanner, ROW_LOOKAHEAD } from './csv-rows.js';

const MAX_DEPTH_M = 12_000;
/** As in NMEA logs: a clock that runs on behind for this many rows was set back. */
const SET_BACK_ROWS = 60;
/** This many rows with one time: the clock has stopped. */
const STOPPED_ROWS = 500;
const HASH = 35;

export interface CsvLogOptions {
  readonly mapping: CsvMapping;
  readonly noDate: string | null;
  readonly chunkRows: number;
}

/**
 * Reads a CSV log given in pieces of any size; chunks come out in `ready`.
 *
 * A row gives a fix where it has latitude and longitude, a ping where it has depth (or elevation of the bottom, which is its
 * negative), and a value of every other mapped series. Rows may share a time: where times are whole seconds, the rows of a
 * second are spread over it in order, and a position repeated within it is taken once. A row earlier than the one before is
 * `time-backwards` and not used, until the clock is ahead again or has run on behind for 60 rows.
 */
export class CsvLog {
  readonly ready: ObservationChunk[] = [];
  private readonly scanner: CsvRowScanner;
  private readonly reader: CsvRowReader;
  private readonly rows = new ObservationRows();
  private readonly series: { readonly index: number; readonly rows: SeriesRows }[] = [];
  private readonly hasPosition: boolean;
  private buffer = new Uint8Array(0);
  private held = 0;
  private headerRows: number;
  private dataRows = 0;
  private lastS = -Infinity;
  private runLength = 0;
  private runLastS = -Infinity;
  private goodRows = 0;
  private wholeSeconds = true;
  private repeatedTimes = false;
  private sameTime = 0;
  private wrapped = 0;

  constructor(
    private readonly tally: LogTally,
    private readonly options: CsvLogOptions,
  ) {
    const { mapping, noDate } = options;
    const day = noDate === null ? 0 : dayNumber(Number(noDate.slice(0, 4)), Number(noDate.slice(5, 7)), Number(noDate.slice(8, 10)));
    this.reader = new CsvRowReader(mapping, day * 86_400);
    this.scanner = new CsvRowScanner(mapping.delimiter.charCodeAt(0), { row: (scanner) => this.row(scanner) });
    this.headerRows = mapping.headerRows;
    this.hasPosition = mapping.columns.some((column) => column.quantity === 'lat');
    for (const quantity of CSV_QUANTITY_NAMES) {
      const { series } = csvQuantity(quantity);
      if (series !== undefined && mapping.columns.some((column) => column.quantity === quantity)) {
        this.series.push({ index: CSV_INDEX[quantity], rows: this.rows.series(series) });
      }
    }
  }

  feed(piece: Uint8Array): void {
    const needed = this.held + piece.length + 1;
    if (needed > this.buffer.length) {
      const larger = new Uint8Array(needed + ROW_LOOKAHEAD);
      larger.set(this.buffer.subarray(0, this.held));
      this.buffer = larger;
    }
    this.buffer.set(piece, this.held);
    const end = this.held + piece.length;
    const at = this.scanner.scan(this.buffer, 0, end - ROW_LOOKAHEAD, end);
    this.buffer.copyWithin(0, at, end);
    this.held = end - at;
  }

  finish(): void {
    if (this.held > 0) this.scanner.scan(this.buffer, 0, this.held, this.held);
    this.held = 0;
    this.flush();
    const { tally } = this;
    tally.lines = this.scanner.lines;
    tally.count('row', this.dataRows);
    if (this.scanner.cut > 0) tally.note(`${this.scanner.cut} rows are longer than 16 384 bytes: the rest of them is passed over`);
    if (this.reader.dateless) {
      tally.note(
        this.options.noDate === null
          ? 'the log has times but no date: 1970-01-01 is used; give the date of its first record'
          : `the log has times but no date: ${this.options.noDate} is used for its first record, as given`,
      );
    }
    if (this.repeatedTimes && this.wholeSeconds) tally.note('several rows have the same whole second: they are spread over it in order');
    if (this.wrapped > 0) tally.note(`${this.wrapped} longitudes are given from 180 to 360 degrees: taken as west`);
  }

  private row(scanner: CsvRowScanner): void {
    if (this.headerRows > 0) {
      this.headerRows--;
      return;
    }
    if (scanner.bytes[scanner.fieldStart[0] as number] === HASH) return;
    this.dataRows++;
    const { reader, tally } = this;
    const { line } = scanner;
    const fault = reader.read(scanner);
    if (fault !== null) {
      tally.reject(fault, line);
      return;
    }
    for (let i = 0; i < reader.badNumbers; i++) tally.reject('bad-number', line);
    const t = reader.timeS;
    if (t !== this.lastS) {
      if (t < this.lastS && !this.setBack(t, line)) return;
      if (this.rows.rows >= this.options.chunkRows) this.flush();
      this.lastS = t;
      this.runLength = 0;
      if (t !== Math.floor(t)) this.wholeSeconds = false;
      this.sameTime = 0;
    } else {
      this.repeatedTimes = true;
      if (++this.sameTime === STOPPED_ROWS) {
        this.tally.note(`the clock stands still from about line ${line + 1 - STOPPED_ROWS} on: the order of the rows holds, their times do not`);
      }
      if (this.rows.rows >= 4 * this.options.chunkRows) this.flush();
    }
    this.goodRows++;
    this.take(t, line);
  }

  /** Whether a time earlier than the last is that of a clock that was set back. */
  private setBack(t: number, line: number): boolean {
    this.runLength = t >= this.runLastS && this.runLength > 0 ? this.runLength + 1 : 1;
    this.runLastS = t;
    if (this.runLength <= Math.min(SET_BACK_ROWS, this.goodRows)) {
      this.tally.reject('time-backwards', line);
      return false;
    }
    const by = Math.round((this.lastS - t) * 1000) / 1000;
    this.tally.note(`the clock was set back by ${by} s before line ${line + 1}: times before and after it do not follow each other`);
    this.flush();
    this.goodRows = 0;
    return true;
  }

  private take(t: number, line: number): void {
    const { values } = this.reader;
    if (this.hasPosition) this.takeFix(t, line);
    let depthM = values[CSV_INDEX.depth] as number;
    const elevationM = values[CSV_INDEX.elevation] as number;
    if (depthM !== depthM && elevationM === elevationM) depthM = elevationM === 0 ? 0 : -elevationM;
    if (depthM === depthM) {
      if (depthM >= 0 && depthM <= MAX_DEPTH_M) this.rows.pings.add(t, depthM, NaN, DEPTH_FROM.transducer, line);
      else this.tally.reject('depth-range', line);
    }
    for (const { index, rows } of this.series) {
      const value = values[index] as number;
      if (value === value) rows.add(t, value, line);
    }
  }

  private takeFix(t: number, line: number): void {
    const { values } = this.reader;
    const lat = values[CSV_INDEX.lat] as number;
    let lon = values[CSV_INDEX.lon] as number;
    if (lat !== lat || lon !== lon) return;
    if (lon > 180 && lon <= 360) {
      lon -= 360;
      this.wrapped++;
    }
    if (!(Math.abs(lat) <= 90 && Math.abs(lon) <= 180)) {
      this.tally.reject('position-range', line);
      return;
    }
    if (lat === 0 && lon === 0) {
      this.tally.reject('zero-position', line);
      return;
    }
    const quality = values[CSV_INDEX.quality] as number;
    if (quality === 0) {
      this.tally.reject('no-fix', line);
      return;
    }
    const { fixes } = this.rows;
    if (fixes.n > 0 && fixes.timeS[fixes.n - 1] === t && fixes.latDeg[fixes.n - 1] === lat && fixes.lonDeg[fixes.n - 1] === lon) return;
    const i = fixes.add(t, lat, lon, line);
    fixes.heightM[i] = values[CSV_INDEX.height] as number;
    if (quality > 0 && quality < 10) fixes.quality[i] = quality;
    const satellites = values[CSV_INDEX.satellites] as number;
    if (satellites >= 0 && satellites <= 255) fixes.satellites[i] = satellites;
    fixes.hdop[i] = values[CSV_INDEX.hdop] as number;
    fixes.sigmaM[i] = values[CSV_INDEX.sigma] as number;
    fixes.courseDeg[i] = values[CSV_INDEX.course] as number;
    fixes.speedMps[i] = values[CSV_INDEX.speed] as number;
  }

  private flush(): void {
    if (this.wholeSeconds && this.repeatedTimes) {
      spreadSeconds(this.rows.fixes);
      spreadSeconds(this.rows.pings);
      for (const { rows } of this.series) spreadSeconds(rows);
    }
    const chunk = this.rows.takeChunk();
    if (chunk !== null) this.ready.push(chunk);
  }
}

/** Spreads rows of the same whole second over it in order: row j of m is j/m later. */
function spreadSeconds(rows: FixRows | PingRows | SeriesRows): void {
  const { timeS, n } = rows;
  for (let i = 0; i < n; ) {
    const t = timeS[i] as number;
    let m = i + 1;
    while (m < n && timeS[m] === t) m++;
    for (let j = i + 1; j < m; j++) timeS[j] = t + (j - i) / (m - i);
    i = m;
  }
}
