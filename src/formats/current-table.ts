import { FormatError } from '../base/errors.js';
import { parseUtc } from '../base/time.js';
import { partColumnName } from './csv/csv-quantities.js';

/** Columns a current file may have. */
export type CurrentQuantity = 'speed' | 'set' | 'east' | 'north' | 'sigma' | 'hour' | 'spring' | 'neap' | 'constituent' | 'eastPhase' | 'northPhase' | 'major' | 'minor' | 'majorSet' | 'phase' | 'level' | 'range';

export interface CurrentRow {
  /** 1-based line of the file. */
  readonly line: number;
  readonly cells: readonly string[];
}

type Dimension = 'speed' | 'angle' | 'length' | 'number' | 'text';

/** By the words of a column's name, unit taken off; the first that fits. */
const QUANTITIES: readonly (readonly [CurrentQuantity, Dimension, RegExp])[] = [
  ['eastPhase', 'angle', /^(east|u) (phase|g)( lag)?$/],
  ['northPhase', 'angle', /^(north|v) (phase|g)( lag)?$/],
  ['majorSet', 'angle', /^major (set|axis set|direction)$/],
  ['phase', 'angle', /^(phase|g)( lag)?$/],
  ['constituent', 'text', /^(constituent|constituent name|name)$/],
  ['hour', 'number', /^(hours?|hours? (from|after|to|relative to) (high water|hw)|hw)$/],
  ['spring', 'speed', /^springs?( rate| speed)?$/],
  ['neap', 'speed', /^neaps?( rate| speed)?$/],
  ['east', 'speed', /^(east|eastward|u|east (speed|velocity|component)|eastward velocity)$/],
  ['north', 'speed', /^(north|northward|v|north (speed|velocity|component)|northward velocity)$/],
  ['major', 'speed', /^(semi )?major( axis)?$/],
  ['minor', 'speed', /^(semi )?minor( axis)?$/],
  ['sigma', 'speed', /^(sigma|uncertainty|speed sigma)$/],
  ['speed', 'speed', /^(current )?(speed|rate|drift)$|^current$/],
  ['set', 'angle', /^(current )?(set|direction|dir|direction to|towards|set true|direction true)$/],
  ['range', 'length', /^(range|tide range|tidal range)$/],
  ['level', 'length', /^(level|water level|height|height of tide|tide)$/],
];

const SPEED_FACTOR: Readonly<Record<string, number>> = { 'm/s': 1, kn: 1852 / 3600, 'km/h': 1 / 3.6, 'ft/s': 0.3048, 'cm/s': 0.01 };
const LENGTH_FACTOR: Readonly<Record<string, number>> = { m: 1, cm: 0.01, ft: 0.3048, mm: 0.001 };

/**
 * A CSV file of currents as rows with known columns: RFC 4180 with comma, semicolon or tab; decimal comma where the delimiter
 * is not a comma. Lines beginning with # before the header are notes, `# name: value`; blank lines are passed over.
 */
export class CurrentTable {
  readonly rows: readonly CurrentRow[];
  /** 1-based. */
  readonly headerLine: number;
  readonly hasTime: boolean;
  private readonly header: readonly string[];
  private readonly columns = new Map<CurrentQuantity, { readonly index: number; readonly factor: number; readonly label: string }>();
  private readonly notes = new Map<string, { readonly line: number; readonly text: string }>();
  private readonly timeAt: number;
  private readonly dateAt: number;
  private readonly decimalComma: boolean;

  /** @throws FormatError for a file without header, a column without unit, two columns of one kind, or rows of another width */
  constructor(
    text: string,
    private readonly name: string,
  ) {
    const lines = text.replace(/^\uFEFF/, '').split(/\r\n|\n|\r/);
    let header: readonly string[] | null = null;
    let delimiter = ',';
    const rows: CurrentRow[] = [];
    let headerLine = 1;
    lines.forEach((line, i) => {
      if (line.trim() === '') return;
      if (line.trimStart().startsWith('#')) {
        const note = /^\s*#\s*([A-Za-z][A-Za-z ]*?)\s*[:=]\s*(.*?)\s*$/.exec(line);
        if (note !== null) this.notes.set(note[1]!.replace(/ /g, '').toLowerCase(), { line: i + 1, text: note[2]! });
        return;
      }
      if (header === null) {
        const counts = [',', ';', '\t'].map((one) => line.split(one).length);
        delimiter = [',', ';', '\t'][counts.indexOf(Math.max(...counts))]!;
        header = splitLine(line, delimiter);
        headerLine = i + 1;
        return;
      }
      const cells = splitLine(line, delimiter);
      if (cells.length !== header.length) throw this.fault(i + 1, 'bad-row', `${header.length} fields as in the header`, `${cells.length}`, 'correct the row or take it out');
      rows.push({ line: i + 1, cells });
    });
    this.header = header ?? [];
    this.headerLine = headerLine;
    this.rows = rows;
    this.decimalComma = delimiter !== ',';
    if (header === null) throw this.fault(1, 'empty', 'a header with units in its names', 'nothing', 'give the file a header, e.g. timeUtc,speedKn,setDeg');
    if (rows.length === 0) throw this.fault(headerLine, 'empty', 'one row or more after the header', 'none', 'give the file its rows');
    let [timeAt, dateAt] = [-1, -1];
    this.header.forEach((column, index) => {
      const words = partColumnName(column).name;
      if (/\b(local|bst|cet|cest|est|edt|pst|pdt)\b|utc ?[+-] ?\d|gmt ?[+-] ?\d/i.test(column) && /time|date/i.test(column)) throw this.fault(headerLine, 'bad-zone', 'times in UTC', column, 'convert them to UTC and say so in the name');
      if (/^((date ?)?time( utc| gmt)?|utc|timestamp|date time( utc)?|utc time)$/.test(words)) timeAt = index;
      else if (/^date( utc)?$/.test(words)) dateAt = index;
      else this.placeColumn(column, index);
    });
    if (timeAt < 0 && dateAt >= 0) [timeAt, dateAt] = [dateAt, -1];
    this.timeAt = timeAt;
    this.dateAt = dateAt;
    this.hasTime = timeAt >= 0;
  }

  private placeColumn(column: string, index: number): void {
    const centimetres = /[\s_([]*cm\/s[)\]]*\s*$/i.exec(column);
    const parted = centimetres === null ? partColumnName(column) : { name: partColumnName(column.slice(0, centimetres.index)).name, unit: 'cm/s' };
    const found = QUANTITIES.find(([, , pattern]) => pattern.test(parted.name));
    if (found === undefined) {
      if (/\b(set|direction|dir)\b/.test(parted.name) && /\b(from|mag|magnetic)\b/.test(parted.name)) throw this.fault(this.headerLine, 'bad-set', 'a set: the direction it flows towards, true', column, 'turn it about, or take the variation off, and name it setDeg');
      return;
    }
    const [quantity, dimension] = found;
    if (this.columns.has(quantity)) throw this.fault(this.headerLine, 'twice', `one column of ${quantity}`, `${this.columns.get(quantity)!.label} and ${column}`, 'take one out');
    this.columns.set(quantity, { index, factor: this.factorOf(column, parted.unit, dimension), label: column });
  }

  private factorOf(column: string, unit: string, dimension: Dimension): number {
    if (dimension === 'number' || dimension === 'text') return 1;
    if (dimension === 'angle') {
      if (unit === '' || unit === 'deg') return 1;
      throw this.fault(this.headerLine, 'bad-unit', `degrees in ${column}`, unit, 'give degrees');
    }
    const factors = dimension === 'speed' ? SPEED_FACTOR : LENGTH_FACTOR;
    const factor = factors[unit];
    if (factor === undefined) {
      const known = Object.keys(factors).join(', ');
      throw this.fault(this.headerLine, 'no-unit', `the unit of ${column} in its name (${known})`, unit === '' ? 'none' : unit, `write e.g. "${column} (${dimension === 'speed' ? 'kn' : 'm'})"`);
    }
    return factor;
  }

  has(quantity: CurrentQuantity): boolean {
    return this.columns.has(quantity);
  }

  /** A value in SI; NaN for an empty cell. @throws FormatError for what is not a number */
  numberOrNaN(row: CurrentRow, quantity: CurrentQuantity): number {
    const column = this.columns.get(quantity)!;
    const cell = row.cells[column.index]!.trim();
    if (cell === '' || /^(nan|-|--|n\/a)$/i.test(cell)) return NaN;
    const plain = this.decimalComma ? cell.replace(',', '.') : cell;
    const value = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/.test(plain) ? Number(plain) : NaN;
    if (Number.isNaN(value)) throw this.fault(row.line, 'no-number', `a number in ${column.label}`, `"${cell}"`, 'correct it, or leave the cell empty');
    return value * column.factor;
  }

  number(row: CurrentRow, quantity: CurrentQuantity): number {
    const value = this.numberOrNaN(row, quantity);
    if (Number.isNaN(value)) throw this.fault(row.line, 'no-number', `a number in ${this.columns.get(quantity)!.label}`, 'none', 'fill it in, or take the row out');
    return value;
  }

  /** As `numberOrNaN`, and refuses what is below 0; an empty rate of a stream table is refused with it. */
  notNegative(row: CurrentRow, quantity: CurrentQuantity): number {
    const value = quantity === 'speed' ? this.numberOrNaN(row, quantity) : this.number(row, quantity);
    if (value < 0) throw this.fault(row.line, 'negative', `0 or more in ${this.columns.get(quantity)!.label}`, row.cells[this.columns.get(quantity)!.index]!.trim(), 'turn the set about instead');
    return value;
  }

  text(row: CurrentRow, quantity: CurrentQuantity): string {
    return row.cells[this.columns.get(quantity)!.index]!.trim();
  }

  /** UTC seconds of a row. @throws FormatError for what is not a time */
  timeS(row: CurrentRow): number {
    const cell = row.cells[this.timeAt]!.trim();
    const whole = this.dateAt < 0 ? cell : `${row.cells[this.dateAt]!.trim()}T${cell}`;
    const parsed = parseUtc(whole);
    if (!Number.isNaN(parsed)) return parsed;
    const count = /^\d+(\.\d+)?$/.test(cell) ? Number(cell) : NaN;
    if (count >= 1e8 && count < 1e11) return count;
    if (count >= 1e11 && count < 1e14) return count / 1000;
    throw this.fault(row.line, 'bad-time', 'a UTC time, e.g. 2026-05-04T12:00:00Z', `"${whole}"`, 'write it year first');
  }

  /** A number noted before the header; NaN where it is not there. @throws FormatError for what is not a number */
  note(key: string): number {
    const note = this.notes.get(key);
    if (note === undefined) return NaN;
    const value = /^[+-]?\d/.test(note.text) ? Number(note.text.replace(',', '.').replace(/\s*(m|m\/s)$/, '')) : NaN;
    if (Number.isNaN(value)) throw this.fault(note.line, 'no-number', 'a number after the colon', `"${note.text}"`, 'write e.g. "# springRangeM: 4.6"');
    return value;
  }

  headerFault(expected: string, fix: string): FormatError {
    return this.fault(this.headerLine, 'no-column', `columns for ${expected}`, this.header.join(', '), fix);
  }

  fault(line: number, code: string, expected: string, found: string, fix: string): FormatError {
    return new FormatError(code, this.name, `${this.name} line ${line}: expected ${expected}, found ${found}; ${fix}`, { line, expected, found });
  }
}

/** Fields of a line; quotes may hold the delimiter, doubled quotes stand for one. */
function splitLine(line: string, delimiter: string): string[] {
  const cells: string[] = [];
  let cell = '';
  let quoted = false;
  for (let i = 0; i < line.length; i++) {
    const c = line[i]!;
    if (quoted) {
      if (c !== '"') cell += c;
      else if (line[i + 1] === '"') {
        cell += '"';
        i++;
      } else quoted = false;
    } else if (c === '"' && cell.trim() === '') {
      quoted = true;
      cell = '';
    } else if (c === delimiter) {
      cells.push(cell);
      cell = '';
    } else cell += c;
  }
  cells.push(cell);
  return cells.map((one) => one.trim());
}
