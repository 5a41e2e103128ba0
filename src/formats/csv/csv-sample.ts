import { textOf } from '../nmea/fields.js';
import { CsvRowScanner } from './csv-rows.js';

/** The beginning of a CSV file, parted. */
export interface CsvSample {
  readonly delimiter: string;
  readonly decimal: '.' | ',';
  readonly headerRows: number;
  /** Column names; `column 1` ... where there is no header. */
  readonly names: readonly string[];
  readonly hasHeader: boolean;
  /** Units from a row of units under the names; empty strings where there is none. */
  readonly unitRow: readonly string[];
  /** Up to 300 rows of data. */
  readonly rows: readonly (readonly string[])[];
}

const DELIMITERS = ['\t', ';', ',', '|', ' '] as const;
const SAMPLE_ROWS = 300;
const NUMBER = /^[+-]?(\d+([.,]\d*)?|[.,]\d+)(e[+-]?\d{1,3})?$/i;
const DATE_OR_TIME = /^(\d{1,4}[-/.](\d{1,2}|[A-Za-z]{3})[-/.]\d{1,4}([T ,_]+\d{1,2}:\d{2}(:\d{2}([.,]\d+)?)?\s*(Z|UTC|GMT|[AP]M|[+-]\d{2}(:?\d{2})?)?)?|\d{1,2}:\d{2}(:\d{2}([.,]\d+)?)?\s*(Z|UTC|GMT|[AP]M)?)$/i;
const ANGLE = /^[NSEW]?\s*[+-]?\d{1,3}[°\s:d]+\s*\d{1,2}([.,]\d+)?('|′|m)?\s*(\d{1,2}([.,]\d+)?("|″|s|'')?)?\s*[NSEW]?$|^[NSEW]?\s*\d{1,3}[.,]\d+°?\s*[NSEW]?$/i;
const NOTHING = /^(-{1,4}|nan|n\/?a|null|none|)$/i;
const UNIT_CELL = /^[[(]?\s*([a-z°%/]{1,8}([ /]?[a-z]{1,4})?|1|-|)\s*[\])]?$/i;

function isData(cell: string): boolean {
  return NUMBER.test(cell) || DATE_OR_TIME.test(cell) || ANGLE.test(cell);
}

/** Rows of the bytes with a delimiter; the last one is left out unless it ends in a line end. */
function split(bytes: Uint8Array, delimiter: string): string[][] {
  const rows: string[][] = [];
  const decoder = new TextDecoder();
  const scanner = new CsvRowScanner(delimiter.charCodeAt(0), {
    row(at) {
      if (rows.length >= SAMPLE_ROWS + 50 || at.bytes[at.fieldStart[0] as number] === 35) return;
      const cells: string[] = [];
      for (let k = 0; k < at.fields; k++) {
        const part = at.bytes.subarray(at.fieldStart[k] as number, at.fieldEnd[k] as number);
        cells.push(decoder.decode(part).replace(/""/g, '"').trim());
      }
      rows.push(cells);
    },
  });
  const work = new Uint8Array(bytes.length + 1);
  work.set(bytes);
  scanner.scan(work, 0, bytes.length, bytes.length);
  return rows;
}

interface Split {
  readonly delimiter: string;
  readonly rows: string[][];
  readonly width: number;
  readonly score: number;
}

/** How well a delimiter parts the rows: share of rows of the usual width times share of cells in them that are data. */
function tryDelimiter(bytes: Uint8Array, delimiter: string): Split {
  const rows = split(bytes, delimiter);
  const widths = new Map<number, number>();
  for (const row of rows) widths.set(row.length, (widths.get(row.length) ?? 0) + 1);
  let width = 0;
  for (const [w, n] of widths) if (w >= 2 && n > (widths.get(width) ?? 0)) width = w;
  if (width < 2) return { delimiter, rows, width, score: 0 };
  let cells = 0;
  let data = 0;
  let even = 0;
  for (const row of rows) {
    if (row.length !== width) continue;
    even++;
    for (const cell of row) {
      if (NOTHING.test(cell)) continue;
      cells++;
      if (isData(cell)) data++;
    }
  }
  return { delimiter, rows, width, score: (even / rows.length) * (data / Math.max(1, cells)) };
}

/**
 * Finds delimiter, decimal sign and header of a CSV file from its beginning.
 * @returns null where no delimiter parts it into rows of two or more columns, some of them numbers
 */
export function sampleRows(head: Uint8Array): CsvSample | null {
  // The last row of a part of a file is cut; that of a whole small file is not. Leaving it out does no harm past ten rows.
  let length = Math.min(head.length, 65_536);
  let lineEnds = 0;
  for (let i = 0; i < length; i++) if (head[i] === 10 || head[i] === 13) lineEnds++;
  if (lineEnds > 10) while (length > 0 && head[length - 1] !== 10 && head[length - 1] !== 13) length--;
  const bytes = head.subarray(0, length);
  let best: Split | null = null;
  for (const delimiter of DELIMITERS) {
    const candidate = tryDelimiter(bytes, delimiter);
    if (best === null || candidate.score > best.score + 0.02) best = candidate;
  }
  if (best === null || best.score < 0.3) return null;
  const { rows, width, delimiter } = best;

  const firstData = rows.findIndex((row, i) => isDataRow(row, width) && (i + 1 >= rows.length || isDataRow(rows[i + 1] as string[], width)));
  if (firstData < 0) return null;
  let names: string[] = [];
  let unitRow: string[] = [];
  const above = rows.slice(0, firstData).filter((row) => row.length === width || (row.length === width - 1 && delimiter !== ' '));
  if (above.length > 0) {
    const last = above[above.length - 1] as string[];
    const isUnits = above.length > 1 && last.every((cell) => UNIT_CELL.test(cell)) && last.some((cell) => cell !== '');
    names = (isUnits ? above[above.length - 2] : last) as string[];
    if (isUnits) unitRow = last;
  }
  const hasHeader = names.length > 0;
  const filled = Array.from({ length: width }, (_, k) => (names[k] !== undefined && names[k] !== '' ? (names[k] as string) : `column ${k + 1}`));
  const dataRows = rows.slice(firstData, firstData + SAMPLE_ROWS).filter((row) => row.length === width);
  return {
    delimiter,
    decimal: delimiter === ',' ? '.' : decimalSign(dataRows),
    headerRows: firstData,
    names: filled,
    hasHeader,
    unitRow: filled.map((_, k) => unitRow[k] ?? ''),
    rows: dataRows,
  };
}

function isDataRow(row: readonly string[], width: number): boolean {
  if (row.length !== width) return false;
  let filled = 0;
  let data = 0;
  for (const cell of row) {
    if (NOTHING.test(cell)) continue;
    filled++;
    if (isData(cell)) data++;
  }
  return data > 0 && data >= filled / 2;
}

function decimalSign(rows: readonly (readonly string[])[]): '.' | ',' {
  let points = 0;
  let commas = 0;
  for (const row of rows) {
    for (const cell of row) {
      if (/^[+-]?\d*,\d+$/.test(cell)) commas++;
      else if (/^[+-]?\d*\.\d+$/.test(cell)) points++;
    }
  }
  return commas > points ? ',' : '.';
}

/** Text of the first bytes, for messages. */
export function firstText(bytes: Uint8Array): string {
  return textOf(bytes, 0, Math.min(bytes.length, 60)).replace(/[^\x20-\x7e]+/g, ' ').trim();
}
