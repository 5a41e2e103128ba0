import { FormatError } from '../base/errors.js';
import { parseUtc } from '../base/time.js';

/** One reading of a bar check as it was written down. */
export interface BarRow {
  readonly barM: number;
  readonly readM: number;
  /** UTC seconds; NaN where no time was written. */
  readonly timeS: number;
}

const MOST_BYTES = 1 << 20;
const UNITS: Readonly<Record<string, number>> = { m: 1, ft: 0.3048 };

/**
 * Readings of a bar check: a CSV with a header that names `bar` and `read`, each with its unit (`barM` or `bar ft`), and
 * `timeUtc` where there were several checks. Comma, semicolon or tab between fields; a decimal comma where fields are not
 * parted by commas. Rows that hold no reading are refused by line: a field sheet has few, and each counts.
 *
 * @throws FormatError naming the line, what was expected and what was found
 */
export function readBarCsv(name: string, text: string): BarRow[] {
  const fail = (line: number, expected: string, found: string): never => {
    const short = found.slice(0, 60);
    throw new FormatError('bar-csv', name, `${name} line ${line}: expected ${expected}, found ${short}; correct it and give the file again`, { line, expected, found: short });
  };
  if (text.length > MOST_BYTES) fail(1, 'at most 1 MiB: a bar check has some tens of readings', `${text.length} characters`);
  const lines = text.replace(/^\uFEFF/, '').split(/\r\n|\r|\n/);
  const head = lines.findIndex((line) => line.trim() !== '' && !line.startsWith('#'));
  if (head < 0) fail(1, 'a header with the columns barM and readM', 'nothing');
  const between = [';', '\t', ','].find((one) => lines[head]!.includes(one)) ?? ',';
  const names = lines[head]!.split(between).map((one) => one.trim().replace(/^"|"$/g, ''));
  const column = (wanted: string): { index: number; perUnit: number } => {
    for (const [index, one] of names.entries()) {
      const match = new RegExp(`^${wanted}[\\s_(\\[]*(m|ft)?[)\\]]?$`, 'i').exec(one);
      if (match !== null) {
        const unit = match[1]?.toLowerCase();
        if (unit === undefined) return fail(head + 1, `the unit in the name of the column: ${wanted}M or ${wanted}Ft`, one);
        return { index, perUnit: UNITS[unit]! };
      }
    }
    return fail(head + 1, `a column ${wanted}M (or ${wanted}Ft)`, names.join(', '));
  };
  const bar = column('bar');
  const read = column('read');
  const time = names.findIndex((one) => /^time\s*_?utc$/i.test(one));
  const rows: BarRow[] = [];
  for (let at = head + 1; at < lines.length; at++) {
    const line = lines[at]!;
    if (line.trim() === '' || line.startsWith('#')) continue;
    const fields = line.split(between).map((one) => one.trim().replace(/^"|"$/g, ''));
    const number = ({ index, perUnit }: { index: number; perUnit: number }): number => {
      const written = fields[index] ?? '';
      const value = Number(between === ',' ? written : written.replace(',', '.'));
      if (written === '' || !(value > 0) || !Number.isFinite(value)) return fail(at + 1, `a depth above 0 in ${names[index]}`, written === '' ? 'nothing' : written);
      return value * perUnit;
    };
    const timeS = time < 0 || (fields[time] ?? '') === '' ? NaN : parseUtc(fields[time]!);
    if (time >= 0 && (fields[time] ?? '') !== '' && Number.isNaN(timeS)) fail(at + 1, 'an ISO 8601 time in UTC', fields[time]!);
    rows.push({ barM: number(bar), readM: number(read), timeS });
  }
  if (rows.length === 0) fail(head + 2, 'at least one reading', 'none');
  return rows;
}
