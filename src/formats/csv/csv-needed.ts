import type { ByteSource } from '../../base/byte-source.js';
import { UseError } from '../../base/errors.js';
import { guessCsvMapping } from './csv-mapping.js';
import { readCsvTable } from './csv-table.js';

/**
 * Columns of a CSV by what they hold, `time` among them where it has one. Shape of every column: [rows]; NaN where a cell is empty.
 * @param setting what names the file, for the message
 * @throws FormatError; UseError naming what is missing, what was found and what to do
 */
export async function readNeededColumns(source: ByteSource, needed: readonly string[], setting: string): Promise<Record<string, Float64Array>> {
  const { name } = source;
  const mapping = guessCsvMapping(await source.read(0, 1 << 16));
  if (mapping === null) throw new UseError(`${name}: expected a CSV with a header (${needed.join(', ')}), found something else; see docs/formats.md`, { path: setting });
  const table = await readCsvTable(source, mapping);
  const columns: Record<string, Float64Array | undefined> = { ...table.columns, ...(table.timeS === null ? {} : { time: table.timeS }) };
  const missing = needed.filter((each) => columns[each] === undefined);
  if (missing.length > 0) {
    const found = mapping.columns.map((column) => `${column.name}${column.quantity === null ? '' : ` (${column.quantity})`}`).join(', ');
    throw new UseError(`${name}: no column for ${missing.join(' and ')}: expected ${needed.join(', ')}, found ${found}; name the columns as docs/formats.md says`, { path: setting });
  }
  return columns as Record<string, Float64Array>;
}
