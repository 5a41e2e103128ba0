import { FormatError } from '../../base/errors.js';
import type { CsvColumn, CsvMapping } from './csv-mapping.js';
import type { CsvQuantity } from './csv-quantities.js';
import { CSV_QUANTITY_NAMES, csvConversion, csvQuantity, partColumnName } from './csv-quantities.js';
import { CSV_INDEX, CsvRowReader } from './csv-row-reader.js';
import { CsvRowScanner } from './csv-rows.js';

const EARTH_M_PER_DEG = 111_195; // mean radius 6 371 009 m
/** No boat this program is for goes faster; half the steps of a track above it mean that places or times are wrong [m/s]. */
const IMPLAUSIBLE_MPS = 60;

/** The first rows of a CSV file, read by a mapping: values in the units kept. */
interface CsvHead {
  readonly n: number;
  readonly timeS: Float64Array;
  /** By CSV_INDEX; each [n]. */
  readonly values: readonly Float64Array[];
}

/** Reads up to 400 rows from the head of a file. */
function readCsvHead(head: Uint8Array, mapping: CsvMapping): CsvHead {
  const most = 400;
  const reader = new CsvRowReader(mapping, 0);
  const timeS = new Float64Array(most);
  const values = CSV_QUANTITY_NAMES.map(() => new Float64Array(most));
  let n = 0;
  let skip = mapping.headerRows;
  const scanner = new CsvRowScanner(mapping.delimiter.charCodeAt(0), {
    row(at) {
      if (skip > 0) {
        skip--;
        return;
      }
      if (n === most || reader.read(at) === 'bad-row') return;
      timeS[n] = reader.timeS;
      values.forEach((column, i) => (column[n] = reader.values[i] as number));
      n++;
    },
  });
  const work = new Uint8Array(head.length + 1);
  work.set(head);
  scanner.scan(work, 0, head.length, head.length);
  return { n, timeS: timeS.slice(0, n), values: values.map((column) => column.slice(0, n)) };
}

/**
 * Holds a mapping against the header and the first rows of its file.
 *
 * @param headBytes the first bytes of the file
 * @param needsTime whether the file is to be read as a log
 * @throws FormatError `bad-mapping` (unknown quantity or unit, a quantity twice), `missing-column` (no time, latitude without
 *   longitude, or nothing to take in), `wrong-unit` (the header says another unit, two columns of the same depth disagree, or
 *   values no boat meets), `swapped-lat-lon`, `implausible-track`
 */
export function checkCsvMapping(name: string, mapping: CsvMapping, headBytes: Uint8Array, needsTime: boolean): void {
  checkColumns(name, mapping, needsTime);
  const head = readCsvHead(headBytes, mapping);
  for (const column of mapping.columns) if (column.quantity !== null && column.confirmed !== true) checkHeader(name, column, column.quantity);
  checkPositions(name, mapping, head);
  checkDepths(name, mapping, head);
  if (needsTime) checkTrack(name, mapping, head);
}

function columnOf(mapping: CsvMapping, quantity: CsvQuantity): CsvColumn | undefined {
  return mapping.columns.find((column) => column.quantity === quantity);
}

function checkColumns(name: string, mapping: CsvMapping, needsTime: boolean): void {
  const seen = new Set<CsvQuantity>();
  for (const column of mapping.columns) {
    const { quantity } = column;
    if (quantity === null) continue;
    if (!(CSV_QUANTITY_NAMES as readonly string[]).includes(quantity)) {
      throw new FormatError('bad-mapping', name, `${name}: column "${column.name}" is mapped to "${String(quantity)}": expected one of ${CSV_QUANTITY_NAMES.join(', ')}; correct the mapping`);
    }
    if (csvConversion(quantity, column.unit) === null) {
      throw new FormatError('bad-mapping', name, `${name}: column "${column.name}" has the unit "${column.unit}", which is no unit of ${csvQuantity(quantity).label}; correct the mapping`);
    }
    if (seen.has(quantity)) throw new FormatError('bad-mapping', name, `${name}: two columns are mapped to ${csvQuantity(quantity).label}; leave one unmapped`);
    seen.add(quantity);
  }
  const names = mapping.columns.map((column) => column.name).join(', ');
  if (needsTime && !seen.has('time') && !seen.has('timeOfDay')) {
    throw new FormatError('missing-column', name, `${name}: no column tells the time: expected a date and time or a time of day, found ${names}; name the column in the mapping`);
  }
  if (seen.has('lat') !== seen.has('lon')) {
    throw new FormatError('missing-column', name, `${name}: ${seen.has('lat') ? 'latitude without longitude' : 'longitude without latitude'}: found ${names}; name the column in the mapping`);
  }
  const useful = [...seen].filter((quantity) => !['time', 'date', 'timeOfDay'].includes(quantity));
  if (useful.length === 0) {
    throw new FormatError('missing-column', name, `${name}: no column that can be used: expected a position, a depth or another measured value, found ${names}; name the columns in the mapping`);
  }
}

function checkHeader(name: string, column: CsvColumn, quantity: CsvQuantity): void {
  const { name: words, unit } = partColumnName(column.name);
  if (unit !== '' && unit !== column.unit && csvConversion(quantity, unit) !== null && csvQuantity(quantity).dimension !== 'position') {
    throw new FormatError(
      'wrong-unit', name,
      `${name}: column "${column.name}" says ${unit} but is mapped as ${column.unit}: expected the same; correct the mapping, or confirm the column if its header is wrong`,
      { expected: unit, found: column.unit },
    );
  }
  const other = quantity === 'lat' ? /^lon/ : quantity === 'lon' ? /^lat/ : null;
  if (other?.test(words)) {
    throw new FormatError('swapped-lat-lon', name, `${name}: column "${column.name}" is mapped as ${csvQuantity(quantity).label}: latitude and longitude are swapped; correct the mapping`);
  }
}

function checkPositions(name: string, mapping: CsvMapping, head: CsvHead): void {
  const latColumn = columnOf(mapping, 'lat');
  const lonColumn = columnOf(mapping, 'lon');
  if (!latColumn || !lonColumn) return;
  const lat = head.values[CSV_INDEX.lat] as Float64Array;
  const lon = head.values[CSV_INDEX.lon] as Float64Array;
  let n = 0;
  let latOut = 0;
  let lonOut = 0;
  let lonWithin90 = 0;
  for (let i = 0; i < head.n; i++) {
    const a = Math.abs(lat[i] as number);
    const b = Math.abs(lon[i] as number);
    if (!(a >= 0 && b >= 0)) continue;
    n++;
    if (a > 90) latOut++;
    if (b > 360) lonOut++;
    if (b <= 90) lonWithin90++;
  }
  if (n === 0) return;
  const sample = `found ${lat[0]} and ${lon[0]} in the first row`;
  if (latOut > n / 10) {
    if (lonWithin90 > n * 0.9 && lonOut === 0 && [...lat].every((v) => !(Math.abs(v) > 180))) {
      throw new FormatError('swapped-lat-lon', name, `${name}: latitudes in "${latColumn.name}" go beyond 90 degrees while longitudes in "${lonColumn.name}" do not: latitude and longitude are swapped; ${sample}; correct the mapping`);
    }
    throw new FormatError('wrong-unit', name, `${name}: latitudes in "${latColumn.name}" go beyond 90 degrees: expected degrees, ${sample}; the unit is another, or the column is not latitude`);
  }
  if (lonOut > n / 10) {
    throw new FormatError('wrong-unit', name, `${name}: longitudes in "${lonColumn.name}" go beyond 360 degrees: expected degrees, ${sample}; the unit is another, or the column is not longitude`);
  }
}

function checkDepths(name: string, mapping: CsvMapping, head: CsvHead): void {
  for (const quantity of ['depth', 'elevation'] as const) {
    const column = columnOf(mapping, quantity);
    if (!column) continue;
    const depths = [...(head.values[CSV_INDEX[quantity]] as Float64Array)].filter((v) => v === v);
    if (depths.length === 0) continue;
    const median = medianOf(depths);
    if (Math.abs(median) > 12_000) {
      throw new FormatError('wrong-unit', name, `${name}: depths in "${column.name}" are about ${Math.round(Math.abs(median))} m: expected less than 12 000 m; the unit is not ${column.unit} (millimetres or centimetres?); correct the mapping`);
    }
    if (quantity === 'depth' && column.confirmed !== true && depths.every((v) => v <= 0) && median < 0) {
      throw new FormatError('wrong-unit', name, `${name}: depths in "${column.name}" are all negative: expected positive down, found about ${median} m; map the column as elevation (positive up)`);
    }
  }
}

/** Two columns of one depth in two units tell whether the units are true. */
export function checkDepthPair(name: string, mapping: CsvMapping, rows: readonly (readonly string[])[]): void {
  const used = mapping.columns.findIndex((column) => column.quantity === 'depth' && column.confirmed !== true);
  if (used < 0) return;
  const usedName = partColumnName((mapping.columns[used] as CsvColumn).name);
  const usedFactor = csvConversion('depth', (mapping.columns[used] as CsvColumn).unit)?.[0];
  mapping.columns.forEach((column, k) => {
    if (k === used || column.quantity !== null || usedFactor === undefined) return;
    const other = partColumnName(column.name);
    const factor = other.unit === '' ? undefined : csvConversion('depth', other.unit)?.[0];
    if (other.name !== usedName.name || factor === undefined) return;
    const ratios: number[] = [];
    for (const row of rows) {
      const a = Number(row[used]);
      const b = Number(row[k]);
      if (a > 0.5 && b > 0.5) ratios.push(b / a);
    }
    if (ratios.length < 5) return;
    const expected = usedFactor / factor;
    const found = medianOf(ratios);
    if (Math.abs(found / expected - 1) > 0.1) {
      throw new FormatError(
        'wrong-unit', name,
        `${name}: "${column.name}" over "${(mapping.columns[used] as CsvColumn).name}" should be ${expected.toFixed(2)} by their units, found ${found.toFixed(2)}: one of the units is wrong; correct the mapping, or confirm the column`,
        { expected: expected.toFixed(2), found: found.toFixed(2) },
      );
    }
  });
}

function checkTrack(name: string, mapping: CsvMapping, head: CsvHead): void {
  const latColumn = columnOf(mapping, 'lat');
  const lonColumn = columnOf(mapping, 'lon');
  if (!latColumn || !lonColumn) return;
  const lat = head.values[CSV_INDEX.lat] as Float64Array;
  const lon = head.values[CSV_INDEX.lon] as Float64Array;
  const course = head.values[CSV_INDEX.course] as Float64Array;
  const heading = head.values[CSV_INDEX.headingTrue] as Float64Array;
  const speeds: number[] = [];
  const asIs: number[] = [];
  const swapped: number[] = [];
  let from = 0;
  for (let i = 1; i < head.n; i++) {
    const dt = (head.timeS[i] as number) - (head.timeS[from] as number);
    if (!(dt > 0)) continue;
    const north = (lat[i] as number) - (lat[from] as number);
    const east = (lon[i] as number) - (lon[from] as number);
    const scale = Math.cos(((lat[i] as number) * Math.PI) / 180);
    const m = Math.hypot(north, east * scale) * EARTH_M_PER_DEG;
    if (m === m) speeds.push(m / dt);
    const said = course[i] === course[i] ? (course[i] as number) : (heading[i] as number);
    if (m > 0.5 && said === said) {
      // Were the columns swapped, the change in "latitude" would be the one in longitude.
      const trueScale = Math.cos(((lon[i] as number) * Math.PI) / 180);
      asIs.push(angleBetween((Math.atan2(east * scale, north) * 180) / Math.PI, said));
      swapped.push(angleBetween((Math.atan2(north * trueScale, east) * 180) / Math.PI, said));
    }
    from = i;
  }
  if (asIs.length >= 10 && medianOf(asIs) > 45 && medianOf(swapped) < 25) {
    throw new FormatError('swapped-lat-lon', name, `${name}: the track runs across its own course as mapped and along it with "${latColumn.name}" and "${lonColumn.name}" exchanged: latitude and longitude are swapped; correct the mapping`);
  }
  if (speeds.length >= 5) {
    const median = medianOf(speeds);
    if (median > IMPLAUSIBLE_MPS) {
      throw new FormatError(
        'implausible-track', name,
        `${name}: steps of the track need ${Math.round(median)} m/s: expected less than ${IMPLAUSIBLE_MPS}; the unit of "${latColumn.name}", "${lonColumn.name}" or of the time is wrong, or latitude and longitude are swapped`,
      );
    }
  }
}

function angleBetween(a: number, b: number): number {
  return Math.abs((((a - b) % 360) + 540) % 360 - 180);
}

function medianOf(values: readonly number[]): number {
  const sorted = values.slice().sort((a, b) => a - b);
  return sorted[sorted.length >> 1] as number;
}
