import { FormatError } from '../base/errors.js';
import { parseUtc } from '../base/time.js';

/** What the CSV beside an image strip says of each row. Shape of every column: [n]; NaN where it says nothing. */
export interface StripNavigation {
  readonly n: number;
  readonly timeS: Float64Array;
  readonly latDeg: Float64Array;
  readonly lonDeg: Float64Array;
  readonly headingDeg: Float64Array;
  readonly heightM: Float64Array;
  readonly depthM: Float64Array;
  /** Slant range of the outermost column [m]. */
  readonly rangeM: Float64Array;
  readonly frequencyHz: Float64Array;
}

/** Headers by which columns are known, in lower case without blanks, underscores and units in brackets. */
const HEADERS: Readonly<Record<string, readonly string[]>> = {
  timeS: ['time', 'utc', 'timeutc', 'times', 'datetime', 'timestamp'],
  latDeg: ['lat', 'latitude', 'latdeg'],
  lonDeg: ['lon', 'long', 'longitude', 'londeg'],
  headingDeg: ['heading', 'headingdeg', 'hdg'],
  heightM: ['height', 'heightm', 'altitude', 'altitudem'],
  depthM: ['depth', 'depthm', 'sonardepth', 'sonardepthm'],
  rangeM: ['range', 'rangem', 'slantrange', 'slantrangem'],
  frequencyHz: ['frequency', 'frequencyhz'],
};

/**
 * Reads the navigation of an image strip: a header, then a row for each row of the image, from its top. Times are ISO 8601 UTC, or
 * seconds since 1970. Columns that are not known are passed over; a value that cannot be read is none.
 *
 * @throws FormatError `bad-navigation` where there is no column of times, or none of slant ranges
 */
export function readStripNavigation(name: string, text: string): StripNavigation {
  const lines = text.replace(/^\ufeff/, '').split(/\r\n|\n|\r/).filter((line) => line.trim() !== '' && !line.startsWith('#'));
  const header = lines[0] ?? '';
  const split = [';', '\t', ','].find((mark) => header.includes(mark)) ?? ',';
  const names = header.split(split).map((one) => one.trim().replace(/^"|"$/g, '').toLowerCase().replace(/\[.*?\]|\(.*?\)|[\s_]/g, ''));
  const place = Object.fromEntries(Object.entries(HEADERS).map(([key, known]) => [key, names.findIndex((one) => known.includes(one))]));
  for (const [key, what] of [['timeS', 'time'], ['rangeM', 'range_m']] as const) {
    if ((place[key] as number) < 0) throw new FormatError('bad-navigation', name, `${name}: expected a column "${what}" (the navigation of the image strip of the same name, a row for each of its rows), found: ${header.slice(0, 120)}`);
  }
  const n = lines.length - 1;
  const column = (): Float64Array => new Float64Array(n).fill(NaN);
  const columns: Record<string, Float64Array> = Object.fromEntries(Object.keys(HEADERS).map((key) => [key, column()]));
  for (let row = 0; row < n; row++) {
    const cells = (lines[row + 1] as string).split(split);
    for (const [key, index] of Object.entries(place)) {
      const cell = index < 0 ? '' : (cells[index] ?? '').trim().replace(/^"|"$/g, '');
      if (cell === '') continue;
      const value = split === ',' ? Number(cell) : Number(cell.replace(',', '.'));
      (columns[key] as Float64Array)[row] = key === 'timeS' && Number.isNaN(value) ? parseUtc(cell) : value;
    }
  }
  return { n, ...columns } as unknown as StripNavigation;
}
