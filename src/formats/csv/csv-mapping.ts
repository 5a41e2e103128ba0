import { guessColumns } from './csv-columns.js';
import type { CsvQuantity } from './csv-quantities.js';
import { sampleRows } from './csv-sample.js';

/** What one column of a CSV file holds. */
export interface CsvColumn {
  /** Its name in the header; `column 3` where there is no header. */
  readonly name: string;
  /** Null: not used. */
  readonly quantity: CsvQuantity | null;
  /** A key of CSV_UNITS for the quantity; empty where the column is not used. */
  readonly unit: string;
  /** 0 to 1: how sure the guess is. */
  readonly confidence: number;
  /** In plain words. */
  readonly why: string;
  /** The user has said so: a unit or quantity that contradicts the header is believed. */
  readonly confirmed?: boolean;
}

/** How a CSV file is to be read. Plain data: can be kept as JSON. */
export interface CsvMapping {
  /** `,` `;` `|`, a tab, or a space (which stands for any run of blanks). */
  readonly delimiter: string;
  readonly decimal: '.' | ',';
  /** Rows before the first row of data, blank ones not counted. */
  readonly headerRows: number;
  readonly columns: readonly CsvColumn[];
}

/**
 * Guesses how a CSV file is to be read from its beginning: delimiter and decimal sign from what splits the rows evenly into
 * numbers, dates and times; columns from the words and units of their names, and from their values.
 *
 * @param head the first bytes of the file, some 64 KiB of it or all; a last row without line end is not looked at
 * @returns null where the bytes are not rows of two or more columns with numbers in them
 */
export function guessCsvMapping(head: Uint8Array | string): CsvMapping | null {
  const bytes = typeof head === 'string' ? new TextEncoder().encode(head) : head;
  const sample = sampleRows(bytes);
  if (sample === null) return null;
  return {
    delimiter: sample.delimiter,
    decimal: sample.decimal,
    headerRows: sample.headerRows,
    columns: guessColumns(sample),
  };
}

/**
 * A key for the header of a file: files with the same key are read with the same mapping.
 * The names in lower case with the delimiter between them; a long one is cut and ends in a checksum.
 */
export function csvHeaderKey(mapping: CsvMapping): string {
  const key = mapping.columns.map((column) => column.name.trim().toLowerCase()).join(mapping.delimiter);
  if (key.length <= 160) return key;
  let hash = 0x811c9dc5; // FNV-1a, 32 bits
  for (let i = 0; i < key.length; i++) hash = Math.imul(hash ^ key.charCodeAt(i), 0x01000193);
  return `${key.slice(0, 150)} #${(hash >>> 0).toString(16).padStart(8, '0')}`;
}
