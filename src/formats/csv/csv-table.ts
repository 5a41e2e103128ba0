import type { ByteSource } from '../../base/byte-source.js';
import { FormatError } from '../../base/errors.js';
import type { RejectCount } from '../../base/observations.js';
import type { WorkContext } from '../../base/progress.js';
import { throwIfCancelled } from '../../base/progress.js';
import { LogTally } from '../log-tally.js';
import { dayNumber } from '../nmea/fields.js';
import { checkCsvMapping } from './csv-checks.js';
import type { CsvMapping } from './csv-mapping.js';
import { guessCsvMapping } from './csv-mapping.js';
import type { CsvQuantity } from './csv-quantities.js';
import { CSV_INDEX, CsvRowReader } from './csv-row-reader.js';
import { CsvRowScanner } from './csv-rows.js';

/** A CSV file as columns: water levels, sound-speed casts, points. */
export interface CsvTable {
  readonly n: number;
  /** UTC seconds since 1970; null where no column tells the time. Shape [n]. */
  readonly timeS: Float64Array | null;
  /** Mapped columns in the units kept: metres, degrees, m/s, deg C, volt, ampere, per cent, decibar. NaN where a cell is empty or no number. Each [n]. */
  readonly columns: Partial<Record<CsvQuantity, Float64Array>>;
  /** 0-based line of each row. */
  readonly record: Uint32Array;
  readonly mapping: CsvMapping;
  readonly rejects: readonly RejectCount[];
  readonly notes: readonly string[];
}

/** How to read a table. */
export interface CsvTableOptions {
  /** UTC date `YYYY-MM-DD` of the first row, where the file has times of day only. */
  readonly noDate?: string | null;
  readonly context?: WorkContext;
}

const PIECE_BYTES = 1 << 20;
const MAX_TABLE_BYTES = 256 * (1 << 20);

/**
 * Reads a CSV file into memory as columns, in the order of the file; rows are neither sorted nor tested against each other.
 *
 * @param mapping null: guessed from the beginning of the file
 * @throws FormatError where it is not a CSV file with numbers, or the mapping does not fit it (see checkCsvMapping), or no row can be read
 */
export async function readCsvTable(source: ByteSource, mapping: CsvMapping | null = null, options: CsvTableOptions = {}): Promise<CsvTable> {
  const { name } = source;
  const signal = options.context?.signal;
  if (source.byteLength === 0) throw new FormatError('empty', name, `${name}: the file is empty`);
  if (source.byteLength > MAX_TABLE_BYTES) {
    throw new FormatError('too-large', name, `${name}: ${source.byteLength} bytes: expected a table of at most ${MAX_TABLE_BYTES}; take it in as a log instead`);
  }
  const head = await source.read(0, Math.min(65_536, source.byteLength), signal);
  const used = mapping ?? guessCsvMapping(head);
  if (used === null) throw new FormatError('not-csv', name, `${name}: expected rows of columns with numbers in them (CSV), found none`);
  checkCsvMapping(name, used, head, false);

  const noDate = options.noDate ?? null;
  const day = noDate === null ? 0 : dayNumber(Number(noDate.slice(0, 4)), Number(noDate.slice(5, 7)), Number(noDate.slice(8, 10)));
  const reader = new CsvRowReader(used, day * 86_400);
  const tally = new LogTally();
  const quantities = used.columns.flatMap((column) => (column.quantity === null ? [] : [column.quantity]));
  const kept = quantities.filter((quantity) => quantity !== 'time' && quantity !== 'date' && quantity !== 'timeOfDay');
  const columns = kept.map(() => [] as number[]);
  const times: number[] = [];
  const records: number[] = [];
  let headerRows = used.headerRows;
  const scanner = new CsvRowScanner(used.delimiter.charCodeAt(0), {
    row(at) {
      if (headerRows > 0) {
        headerRows--;
        return;
      }
      if (at.bytes[at.fieldStart[0] as number] === 35) return;
      const fault = reader.read(at);
      if (fault !== null) {
        tally.reject(fault, at.line);
        return;
      }
      for (let i = 0; i < reader.badNumbers; i++) tally.reject('bad-number', at.line);
      times.push(reader.timeS);
      records.push(at.line);
      kept.forEach((quantity, k) => (columns[k] as number[]).push(reader.values[CSV_INDEX[quantity]] as number));
    },
  });
  const bytes = new Uint8Array(source.byteLength + 1);
  let length = 0;
  while (length < source.byteLength) {
    throwIfCancelled(signal);
    const piece = await source.read(length, Math.min(length + PIECE_BYTES, source.byteLength), signal);
    if (piece.length === 0) break;
    bytes.set(piece, length);
    length += piece.length;
  }
  scanner.scan(bytes, 0, length, length);
  const summary = tally.summary('csv');
  if (records.length === 0) {
    const first = summary.rejects[0];
    throw new FormatError('no-records', name, `${name}: no row can be read${first ? `: ${first.reason} (line ${first.firstLines[0]})` : ''}; check the mapping`);
  }
  const notes: string[] = [];
  if (reader.dateless) notes.push(noDate === null ? 'the file has times but no date: 1970-01-01 is used; give the date of its first row' : `the file has times but no date: ${noDate} is used for its first row, as given`);
  return {
    n: records.length,
    timeS: reader.timed ? Float64Array.from(times) : null,
    columns: Object.fromEntries(kept.map((quantity, k) => [quantity, Float64Array.from(columns[k] as number[])])),
    record: Uint32Array.from(records),
    mapping: used,
    rejects: summary.rejects,
    notes,
  };
}
