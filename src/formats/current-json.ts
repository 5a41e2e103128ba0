import { FormatError } from '../base/errors.js';
import { parseUtc } from '../base/time.js';
import { constituentFromEllipse, type CurrentConstituent } from '../water/current-constituents.js';
import type { ParsedCurrent, StreamReference } from '../water/current-parsed.js';

type Fields = Readonly<Record<string, unknown>>;

const KN_TO_MPS = 1852 / 3600;

/**
 * Reads a current from JSON, `kind` first, units in the names; speeds end in Mps or Kn, set is where it flows to, true:
 *
 * - `{"kind": "constant", "speedKn": 0.8, "setDeg": 75, "sigmaMps": 0.1}`
 * - `{"kind": "series", "rows": [{"time": "2026-05-04T12:00:00Z", "speedKn": 0.8, "setDeg": 75}]}`, or `eastMps`, `northMps`
 * - `{"kind": "stream-table", "springRangeM": 4.6, "neapRangeM": 2.2, "rows": [{"hour": -6, "setDeg": 60, "springKn": 0.4, "neapKn": 0.2}]}`
 *   with `"highWaters": [{"time": ..., "rangeM": 3.4}]` or `"tide": {"meanLevelM": 0, "constituents": [{"name": "M2", "amplitudeM": 1.2, "phaseDeg": 40}]}`
 * - `{"kind": "constituents", "meanEastMps": 0, "meanNorthMps": 0, "constituents": [{"name": "M2", "eastMps": 0.8, "eastPhaseDeg": 100, "northMps": 0.3, "northPhaseDeg": 20}]}`,
 *   or `majorMps`, `minorMps`, `majorSetDeg`, `phaseDeg`
 *
 * @throws FormatError naming the place in the file, what was expected, what was found, and what to do
 */
export function parseCurrentJson(text: string, name: string): ParsedCurrent {
  let value: unknown;
  try {
    value = JSON.parse(text.replace(/^\uFEFF/, ''));
  } catch (error) {
    const message = (error as Error).message;
    const position = Number(/position (\d+)/.exec(message)?.[1] ?? NaN);
    const line = Number.isNaN(position) ? 1 : text.slice(0, position).split('\n').length;
    throw new FormatError('bad-json', name, `${name} line ${line}: expected JSON, found ${message}; correct it there`, { line, expected: 'JSON', found: message });
  }
  const read = new JsonReader(name);
  const root = read.object(value, 'the file');
  switch (root['kind']) {
    case 'constant':
      read.only(root, ['kind', 'speedMps', 'speedKn', 'setDeg', 'sigmaMps', 'sigmaKn'], 'the file');
      return { kind: 'constant', speedMps: read.atLeast0(read.speed(root, 'speed', ''), 'speed', ''), setDeg: read.number(root, 'setDeg', ''), sigmaMps: read.hasSpeed(root, 'sigma') ? read.atLeast0(read.speed(root, 'sigma', ''), 'sigma', '') : NaN };
    case 'series':
      read.only(root, ['kind', 'rows'], 'the file');
      return series(read, root);
    case 'stream-table':
      read.only(root, ['kind', 'rows', 'springRangeM', 'neapRangeM', 'highWaters', 'tide'], 'the file');
      return streamTable(read, root);
    case 'constituents':
      read.only(root, ['kind', 'meanEastMps', 'meanNorthMps', 'meanEastKn', 'meanNorthKn', 'constituents'], 'the file');
      return constituents(read, root);
    default:
      throw read.fault('kind', 'constant, series, stream-table or constituents', JSON.stringify(root['kind']) ?? 'none', 'say what the file holds');
  }
}

function series(read: JsonReader, root: Fields): ParsedCurrent {
  const rows = read.list(root, 'rows', '');
  const bySet = rows.length > 0 && read.hasSpeed(read.object(rows[0], 'rows[0]'), 'speed');
  const columns = [new Float64Array(rows.length), new Float64Array(rows.length), new Float64Array(rows.length), new Float64Array(rows.length)] as const;
  let stated = false;
  rows.forEach((one, i) => {
    const at = `rows[${i}]`;
    const row = read.object(one, at);
    read.only(row, ['time', 'sigmaMps', 'sigmaKn', ...(bySet ? ['speedMps', 'speedKn', 'setDeg'] : ['eastMps', 'eastKn', 'northMps', 'northKn'])], at);
    columns[0][i] = read.time(row, 'time', at);
    columns[1][i] = bySet ? read.atLeast0(read.speed(row, 'speed', at), 'speed', at) : read.speed(row, 'east', at);
    columns[2][i] = bySet ? read.number(row, 'setDeg', at) : read.speed(row, 'north', at);
    columns[3][i] = read.hasSpeed(row, 'sigma') ? read.atLeast0(read.speed(row, 'sigma', at), 'sigma', at) : NaN;
    stated ||= !Number.isNaN(columns[3][i]!);
  });
  return {
    kind: 'series',
    series: { timeS: columns[0], velocity: bySet ? { kind: 'set', speedMps: columns[1], setDeg: columns[2] } : { kind: 'parts', eastMps: columns[1], northMps: columns[2] }, sigmaMps: stated ? columns[3] : null },
  };
}

function streamTable(read: JsonReader, root: Fields): ParsedCurrent {
  const rows = read.list(root, 'rows', '').map((one, i) => {
    const at = `rows[${i}]`;
    const row = read.object(one, at);
    read.only(row, ['hour', 'setDeg', 'springMps', 'springKn', 'neapMps', 'neapKn'], at);
    return { hour: read.number(row, 'hour', at), setDeg: read.number(row, 'setDeg', at), springMps: read.atLeast0(read.speed(row, 'spring', at), 'spring', at), neapMps: read.atLeast0(read.speed(row, 'neap', at), 'neap', at) };
  });
  let reference: StreamReference | null = null;
  if (root['highWaters'] !== undefined) {
    reference = {
      kind: 'high-waters',
      highWaters: read.list(root, 'highWaters', '').map((one, i) => {
        const at = `highWaters[${i}]`;
        const row = read.object(one, at);
        read.only(row, ['time', 'rangeM'], at);
        return { timeS: read.time(row, 'time', at), rangeM: row['rangeM'] === undefined ? NaN : read.number(row, 'rangeM', at) };
      }),
    };
  } else if (root['tide'] !== undefined) {
    const tide = read.object(root['tide'], 'tide');
    read.only(tide, ['meanLevelM', 'constituents'], 'tide');
    reference = {
      kind: 'tide',
      meanLevelM: tide['meanLevelM'] === undefined ? 0 : read.number(tide, 'meanLevelM', 'tide'),
      constituents: read.list(tide, 'constituents', 'tide').map((one, i) => {
        const at = `tide.constituents[${i}]`;
        const row = read.object(one, at);
        read.only(row, ['name', 'amplitudeM', 'phaseDeg'], at);
        return { name: read.text(row, 'name', at), amplitudeM: read.number(row, 'amplitudeM', at), phaseDeg: read.number(row, 'phaseDeg', at) };
      }),
    };
  }
  const orNaN = (key: string): number => (root[key] === undefined ? NaN : read.number(root, key, ''));
  return { kind: 'stream-table', rows, springRangeM: orNaN('springRangeM'), neapRangeM: orNaN('neapRangeM'), reference };
}

function constituents(read: JsonReader, root: Fields): ParsedCurrent {
  const list = read.list(root, 'constituents', '').map((one, i): CurrentConstituent => {
    const at = `constituents[${i}]`;
    const row = read.object(one, at);
    const name = read.text(row, 'name', at);
    if (read.hasSpeed(row, 'major')) {
      read.only(row, ['name', 'majorMps', 'majorKn', 'minorMps', 'minorKn', 'majorSetDeg', 'phaseDeg'], at);
      return constituentFromEllipse(name, read.atLeast0(read.speed(row, 'major', at), 'major', at), read.speed(row, 'minor', at), read.number(row, 'majorSetDeg', at), read.number(row, 'phaseDeg', at));
    }
    read.only(row, ['name', 'eastMps', 'eastKn', 'eastPhaseDeg', 'northMps', 'northKn', 'northPhaseDeg'], at);
    return { name, eastMps: read.atLeast0(read.speed(row, 'east', at), 'east', at), eastPhaseDeg: read.number(row, 'eastPhaseDeg', at), northMps: read.atLeast0(read.speed(row, 'north', at), 'north', at), northPhaseDeg: read.number(row, 'northPhaseDeg', at) };
  });
  const mean = (key: string): number => (read.hasSpeed(root, key) ? read.speed(root, key, '') : 0);
  return { kind: 'constituents', stream: { constituents: list, meanEastMps: mean('meanEast'), meanNorthMps: mean('meanNorth') } };
}

/** Takes values out of parsed JSON and says where one is not what it should be. */
class JsonReader {
  constructor(private readonly name: string) {}

  fault(place: string, expected: string, found: string, fix: string): FormatError {
    return new FormatError('bad-value', this.name, `${this.name}: ${place}: expected ${expected}, found ${found}; ${fix}`, { expected, found });
  }

  object(value: unknown, place: string): Fields {
    if (typeof value !== 'object' || value === null || Array.isArray(value)) throw this.fault(place, 'an object', shown(value), 'write it in braces');
    return value as Fields;
  }

  only(fields: Fields, known: readonly string[], place: string): void {
    const other = Object.keys(fields).find((key) => !known.includes(key));
    if (other !== undefined) throw this.fault(place, `one of ${known.join(', ')}`, other, 'correct the name or take it out');
  }

  list(fields: Fields, key: string, place: string): readonly unknown[] {
    const value = fields[key];
    if (!Array.isArray(value) || value.length === 0) throw this.fault(joined(place, key), 'a list of one or more', shown(value), 'write it in brackets');
    return value;
  }

  number(fields: Fields, key: string, place: string): number {
    const value = fields[key];
    if (typeof value !== 'number' || !Number.isFinite(value)) throw this.fault(joined(place, key), 'a number', shown(value), 'fill it in');
    return value;
  }

  text(fields: Fields, key: string, place: string): string {
    const value = fields[key];
    if (typeof value !== 'string' || value.trim() === '') throw this.fault(joined(place, key), 'a text', shown(value), 'fill it in');
    return value;
  }

  time(fields: Fields, key: string, place: string): number {
    const value = fields[key];
    const timeS = typeof value === 'string' ? parseUtc(value) : NaN;
    if (Number.isNaN(timeS)) throw this.fault(joined(place, key), 'a UTC time, e.g. "2026-05-04T12:00:00Z"', shown(value), 'write it year first');
    return timeS;
  }

  hasSpeed(fields: Fields, quantity: string): boolean {
    return fields[`${quantity}Mps`] !== undefined || fields[`${quantity}Kn`] !== undefined;
  }

  speed(fields: Fields, quantity: string, place: string): number {
    const [mps, kn] = [`${quantity}Mps`, `${quantity}Kn`];
    if (fields[mps] !== undefined && fields[kn] !== undefined) throw this.fault(joined(place, quantity), `${mps} or ${kn}`, 'both', 'take one out');
    if (fields[mps] === undefined && fields[kn] === undefined) throw this.fault(joined(place, quantity), `${mps} or ${kn}`, 'neither', 'give it with its unit in the name');
    return fields[kn] === undefined ? this.number(fields, mps, place) : this.number(fields, kn, place) * KN_TO_MPS;
  }

  atLeast0(value: number, quantity: string, place: string): number {
    if (value < 0) throw this.fault(joined(place, quantity), '0 or more', String(value), 'turn the set about instead');
    return value;
  }
}

function joined(place: string, key: string): string {
  return place === '' ? key : `${place}.${key}`;
}

function shown(value: unknown): string {
  if (value === undefined) return 'nothing';
  const text = JSON.stringify(value) ?? String(value);
  return text.length > 40 ? `${text.slice(0, 37)}...` : text;
}
