import type { CsvColumn } from './csv-mapping.js';
import type { CsvQuantity } from './csv-quantities.js';
import { CSV_QUANTITY_NAMES, csvConversion, csvQuantity, partColumnName } from './csv-quantities.js';
import type { CsvSample } from './csv-sample.js';

/** What the values of a column look like. */
interface ColumnLook {
  /** Cells that are not empty, and of these the numbers. */
  readonly filled: number;
  readonly numbers: number;
  readonly min: number;
  readonly max: number;
  readonly median: number;
  readonly integers: boolean;
  /** A unit of `time`, `date` or `timeOfDay` that the texts fit, with its quantity. */
  readonly temporal: { readonly quantity: 'time' | 'date' | 'timeOfDay'; readonly unit: string } | null;
  /** Texts with hemisphere letters, or degrees and minutes apart. */
  readonly angleText: boolean;
}

interface Candidate {
  readonly column: number;
  readonly quantity: CsvQuantity;
  readonly unit: string;
  readonly confidence: number;
  readonly why: string;
}

/** Guesses the columns of a sample; every quantity is given to at most one column, the likeliest. */
export function guessColumns(sample: CsvSample): CsvColumn[] {
  const looks = sample.names.map((_, k) => lookAt(sample, k));
  const candidates: Candidate[] = [];
  sample.names.forEach((header, k) => candidates.push(...candidatesFor(sample, header, k, looks[k] as ColumnLook)));
  // x and y are positions only together, z is a depth only beside them.
  candidates.sort((a, b) => b.confidence - a.confidence || a.column - b.column);
  const chosen = new Map<number, Candidate>();
  const taken = new Set<CsvQuantity>();
  for (const candidate of candidates) {
    if (chosen.has(candidate.column) || taken.has(candidate.quantity)) continue;
    if (excludedBy(candidate.quantity, taken)) continue;
    chosen.set(candidate.column, candidate);
    taken.add(candidate.quantity);
  }
  return sample.names.map((name, k) => {
    const guess = chosen.get(k);
    if (guess === undefined) return { name, quantity: null, unit: '', confidence: 0, why: 'nothing known by that name and with such values' };
    return { name, quantity: guess.quantity, unit: guess.unit, confidence: guess.confidence, why: guess.why };
  });
}

/** A whole time needs no date or time of day beside it; one of depth and elevation. */
function excludedBy(quantity: CsvQuantity, taken: ReadonlySet<CsvQuantity>): boolean {
  if (quantity === 'date' || quantity === 'timeOfDay') return taken.has('time');
  if (quantity === 'time') return taken.has('date') && taken.has('timeOfDay');
  if (quantity === 'depth') return taken.has('elevation');
  if (quantity === 'elevation') return taken.has('depth');
  return false;
}

function candidatesFor(sample: CsvSample, header: string, k: number, look: ColumnLook): Candidate[] {
  const { name, unit: namedUnit } = sample.hasHeader ? partColumnName(header) : { name: '', unit: '' };
  const unitCell = partColumnName(`x (${sample.unitRow[k] ?? ''})`).unit;
  const headerUnit = namedUnit !== '' ? namedUnit : unitCell;
  const found: Candidate[] = [];
  if (look.temporal !== null) {
    const { quantity, unit } = look.temporal;
    found.push({ column: k, quantity, unit, confidence: /time|date|utc/.test(name) ? 0.98 : 0.8, why: `values are ${describeTemporal(quantity, unit)}` });
    return found;
  }
  for (const quantity of CSV_QUANTITY_NAMES) {
    const { names, dimension, label } = csvQuantity(quantity);
    // The whole header too: a name may end in what looks like a unit ("deg" of "lat deg" is one, "c" alone is not).
    const words = header.trim().toLowerCase().replace(/[^a-z0-9]+/g, ' ').trim();
    const rank = sample.hasHeader ? names.findIndex((pattern) => pattern.test(name) || pattern.test(words)) : -1;
    if (rank < 0) continue;
    const base = 0.95 - 0.15 * rank;
    const share = look.filled === 0 ? 0 : look.numbers / look.filled;
    if (dimension === 'position') {
      const position = positionUnit(quantity as 'lat' | 'lon', look, headerUnit);
      if (position !== null) found.push({ column: k, quantity, unit: position.unit, confidence: base * (look.angleText ? 1 : share), why: `name means ${label}; ${position.why}` });
      continue;
    }
    if (dimension === 'time' || dimension === 'date' || dimension === 'timeOfDay') {
      const unit = numericTimeUnit(quantity as 'time' | 'date' | 'timeOfDay', headerUnit, look);
      if (unit !== null) found.push({ column: k, quantity, unit, confidence: base * share, why: `name means ${label}; values are ${describeTemporal(quantity, unit)}` });
      continue;
    }
    const stated = headerUnit !== '' && csvConversion(quantity, headerUnit) !== null;
    const unit = stated ? headerUnit : defaultUnit(quantity, look);
    if (headerUnit !== '' && !stated && dimension !== 'none') continue;
    let meant: CsvQuantity = quantity;
    let why = `name means ${label}; unit ${stated ? 'from the header' : `not stated, ${unit} assumed`}`;
    if (quantity === 'depth' && look.max <= 0 && look.min < 0) {
      meant = 'elevation';
      why = `name means depth, but no value is above zero: elevation of the bottom, positive up; unit ${stated ? 'from the header' : `not stated, ${unit} assumed`}`;
    }
    const confidence = base * share * (stated || dimension === 'none' ? 1 : 0.8);
    if (confidence > 0) found.push({ column: k, quantity: meant, unit, confidence, why });
  }
  return found;
}

function defaultUnit(quantity: CsvQuantity, look: ColumnLook): string {
  switch (csvQuantity(quantity).dimension) {
    case 'length': return 'm';
    case 'angle': return 'deg';
    case 'speed': return 'm/s';
    case 'temperature': return 'deg C';
    case 'voltage': return look.median > 1000 ? 'mV' : 'V';
    case 'current': return 'A';
    case 'share': return look.max <= 1 && look.min >= -1 ? '0..1' : '%';
    case 'pressure': return 'dbar';
    default: return '1';
  }
}

function positionUnit(quantity: 'lat' | 'lon', look: ColumnLook, headerUnit: string): { unit: string; why: string } | null {
  const limit = quantity === 'lat' ? 90 : 360;
  if (headerUnit !== '' && headerUnit !== 'deg') return null;
  if (look.angleText) return { unit: 'deg min', why: 'values are degrees and minutes or carry hemisphere letters' };
  if (look.numbers === 0) return null;
  const largest = Math.max(Math.abs(look.min), Math.abs(look.max));
  if (largest > 1e6 && largest <= limit * 1e7 && look.integers) return { unit: 'deg 1e7', why: 'values are integers of 1e-7 degrees' };
  if (largest > 360 && largest < limit * 100) return { unit: 'ddmm', why: 'values are degrees and minutes run together' };
  return { unit: 'deg', why: headerUnit === 'deg' ? 'unit from the header' : 'values are degrees' };
}

function numericTimeUnit(quantity: 'time' | 'date' | 'timeOfDay', headerUnit: string, look: ColumnLook): string | null {
  if (look.numbers === 0) return null;
  if (quantity === 'time') {
    if (look.min >= 1e8 && look.max < 1e11) return 's 1970';
    return look.min >= 1e11 && look.max < 1e14 ? 'ms 1970' : null;
  }
  if (quantity === 'date') {
    if (look.integers && look.min >= 19_000_101 && look.max <= 22_001_231) return 'yyyymmdd';
    return look.integers && look.min >= 10_100 && look.max <= 311_299 ? 'ddmmyy' : null;
  }
  if (headerUnit === 'h') return look.max <= 24 ? 'h' : null;
  if (headerUnit === 's') return look.max <= 86_400 ? 's' : null;
  if (look.min >= 0 && look.max < 240_000 && look.max >= 86_400) return 'hhmmss';
  return null;
}

function describeTemporal(quantity: CsvQuantity, unit: string): string {
  if (quantity === 'time') {
    if (unit === 's 1970') return 'seconds since 1970';
    if (unit === 'ms 1970') return 'milliseconds since 1970';
  }
  const order: Record<string, string> = { iso: 'year first', ymd: 'year first', dmy: 'day first', mdy: 'month first', yyyymmdd: 'yyyymmdd', ddmmyy: 'ddmmyy', hms: 'h:mm:ss', hhmmss: 'hhmmss', s: 'seconds since midnight', h: 'hours since midnight' };
  const what = quantity === 'time' ? 'dates with times' : quantity === 'date' ? 'dates' : 'times of day';
  return `${what}, ${order[unit] ?? unit}`;
}

function lookAt(sample: CsvSample, k: number): ColumnLook {
  const values: number[] = [];
  let filled = 0;
  let integers = true;
  let angles = 0;
  let dateTimes = 0;
  let dates = 0;
  let times = 0;
  let yearFirst = 0;
  let firstOver12 = false;
  let secondOver12 = false;
  for (const row of sample.rows) {
    const cell = row[k] ?? '';
    if (/^(-{1,4}|nan|n\/?a|null|none|)$/i.test(cell)) continue;
    filled++;
    const plain = sample.decimal === ',' ? cell.replace(',', '.') : cell;
    if (/^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d{1,3})?$/i.test(plain)) {
      const value = Number(plain);
      values.push(value);
      if (!Number.isInteger(value)) integers = false;
      continue;
    }
    const date = /^(\d{1,4})[-/.](\d{1,2}|[a-z]{3})[-/.](\d{1,4})(.*)$/i.exec(cell);
    if (date) {
      if ((date[4] as string).includes(':')) dateTimes++;
      else dates++;
      if ((date[1] as string).length === 4) yearFirst++;
      else {
        if (Number(date[1]) > 12 || !/^\d/.test(date[2] as string)) firstOver12 = true;
        if (Number(date[2]) > 12) secondOver12 = true;
      }
    } else if (/^\d{1,2}:\d{2}(:\d{2}([.,]\d+)?)?\s*(Z|UTC|GMT|[AP]M)?$/i.test(cell)) times++;
    else if (/^[NSEW]?\s*[+-]?\d{1,3}[^\d].*$/i.test(cell)) angles++;
  }
  values.sort((a, b) => a - b);
  const most = filled * 0.6;
  const order = yearFirst > 0 ? 'y' : secondOver12 && !firstOver12 ? 'm' : 'd';
  let temporal: ColumnLook['temporal'] = null;
  if (filled > 0 && dateTimes >= most) temporal = { quantity: 'time', unit: order === 'y' ? 'iso' : order === 'm' ? 'mdy' : 'dmy' };
  else if (filled > 0 && dates >= most) temporal = { quantity: 'date', unit: order === 'y' ? 'ymd' : order === 'm' ? 'mdy' : 'dmy' };
  else if (filled > 0 && times >= most) temporal = { quantity: 'timeOfDay', unit: 'hms' };
  return {
    filled,
    numbers: values.length,
    min: values[0] ?? NaN,
    max: values[values.length - 1] ?? NaN,
    median: values[values.length >> 1] ?? NaN,
    integers,
    temporal,
    angleText: filled > 0 && angles >= most,
  };
}
