import type { ByteSource } from '../base/byte-source.js';
import { UseError } from '../base/errors.js';
import { csvHeaderKey, guessCsvMapping, type CsvColumn, type CsvMapping } from '../formats/csv/csv-mapping.js';
import { CSV_QUANTITY_NAMES, CSV_UNITS, csvQuantity, type CsvQuantity } from '../formats/csv/csv-quantities.js';
import { openFileSource } from './file-source.js';
import type { Settings } from './settings.js';

const HEAD_BYTES = 65_536;

/** How the columns of one CSV file would be read, for the user to see. */
export interface ShownColumns {
  readonly name: string;
  readonly mapping: CsvMapping | null;
  readonly text: readonly string[];
}

async function guessOf(source: ByteSource): Promise<CsvMapping | null> {
  const head = await source.read(0, HEAD_BYTES);
  return head.byteLength === 0 ? null : guessCsvMapping(head);
}

function remembered(settings: Settings, guess: CsvMapping | null): CsvMapping | null {
  return guess === null ? null : ((settings.columns[csvHeaderKey(guess)] as CsvMapping | undefined) ?? null);
}

/** The mapping the user has corrected for files with this header, or null: then the reader's own guess holds. */
export async function columnMappingFor(settings: Settings, source: ByteSource): Promise<CsvMapping | null> {
  return Object.keys(settings.columns).length === 0 ? null : remembered(settings, await guessOf(source));
}

function unitsOf(quantity: CsvQuantity): string[] {
  return Object.keys(CSV_UNITS[csvQuantity(quantity).dimension]);
}

/** One correction, `NAME=QUANTITY UNIT`, applied to a mapping. @throws UseError naming the columns, quantities or units there are */
function corrected(mapping: CsvMapping, correction: string, file: string): CsvMapping {
  const at = correction.lastIndexOf('=');
  if (at <= 0) throw new UseError(`--column: expected NAME=QUANTITY UNIT, found ${JSON.stringify(correction)}; for example --column "Tiefe=depth ft"`);
  const name = correction.slice(0, at).trim();
  const [word = '', ...rest] = correction.slice(at + 1).trim().split(/\s+/);
  const index = mapping.columns.findIndex((column) => column.name.trim().toLowerCase() === name.toLowerCase());
  if (index < 0) throw new UseError(`--column: ${file} has no column ${JSON.stringify(name)}; its columns are: ${mapping.columns.map((column) => column.name).join(', ')}`);
  let column: CsvColumn;
  if (word === 'nothing') column = { name: mapping.columns[index]!.name, quantity: null, unit: '', confidence: 1, why: 'as you said', confirmed: true };
  else {
    const quantity = CSV_QUANTITY_NAMES.find((one) => one.toLowerCase() === word.toLowerCase());
    if (quantity === undefined) throw new UseError(`--column: unknown quantity ${JSON.stringify(word)}; known: nothing, ${CSV_QUANTITY_NAMES.join(', ')}`);
    const units = unitsOf(quantity);
    const unit = rest.length === 0 ? units[0]! : rest.join(' ');
    if (!units.includes(unit)) throw new UseError(`--column: unknown unit ${JSON.stringify(unit)} for ${quantity}; known: ${units.join(', ')}`);
    column = { name: mapping.columns[index]!.name, quantity, unit, confidence: 1, why: 'as you said', confirmed: true };
  }
  return { ...mapping, columns: mapping.columns.map((one, i) => (i === index ? column : one.quantity !== null && one.quantity === column.quantity ? { ...one, quantity: null, unit: '' } : one)) };
}

/** Settings that remember corrections for files with the header of this one. */
export async function withColumnCorrections(settings: Settings, file: string, corrections: readonly string[]): Promise<{ readonly settings: Settings; readonly changed: boolean }> {
  if (corrections.length === 0) return { settings, changed: false };
  const source = await openFileSource(file);
  try {
    const guess = await guessOf(source);
    if (guess === null) throw new UseError(`${source.name}: --column is for CSV files, and this is not one; leave --column out`);
    const mapping = corrections.reduce((at, correction) => corrected(at, correction, source.name), remembered(settings, guess) ?? guess);
    return { settings: { ...settings, columns: { ...settings.columns, [csvHeaderKey(guess)]: mapping } }, changed: true };
  } finally {
    await source.close();
  }
}

/** Under this the reading of a column is called assumed: its unit or its meaning is not stated in its name. */
const SURE = 0.9;

/**
 * What of a CSV file's columns is not read, and what is read on an assumption; empty for other files and where all is plain.
 */
export function columnNotes({ name, mapping }: ShownColumns): string[] {
  if (mapping === null) return [];
  const unread = mapping.columns.filter(({ quantity }) => quantity === null).map((column) => column.name);
  const assumed = mapping.columns.flatMap(({ name: column, quantity, unit, confidence, why }) => (quantity !== null && confidence < SURE ? [`${column} as ${csvQuantity(quantity).label}${unit === '' ? '' : ` [${unit}]`} (${why})`] : []));
  const how = '; --column "NAME=QUANTITY UNIT" corrects one, also now';
  return [
    ...(assumed.length === 0 ? [] : [`${name}: columns read on an assumption: ${assumed.join('; ')}${how}`]),
    ...(unread.length === 0 ? [] : [`${name}: columns not read: ${unread.join(', ')}${assumed.length === 0 ? how : ''}`]),
  ];
}

/** How a CSV file's columns would be read, with corrections. */
export async function showColumns(settings: Settings, file: string, corrections: readonly string[]): Promise<ShownColumns> {
  const { settings: known } = await withColumnCorrections(settings, file, corrections);
  const source = await openFileSource(file);
  try {
    const guess = await guessOf(source);
    if (guess === null) return { name: source.name, mapping: null, text: ['not rows of columns with numbers in them (CSV)'] };
    const mapping = remembered(known, guess) ?? guess;
    return {
      name: source.name,
      mapping,
      text: mapping.columns.map(({ name, quantity, unit, confidence, why }) =>
        quantity === null ? `${name}: not used` : `${name}: ${csvQuantity(quantity).label} [${unit}], ${Math.round(confidence * 100)} % sure (${why})`,
      ),
    };
  } finally {
    await source.close();
  }
}
