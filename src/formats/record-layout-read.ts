// The library names its types where NodeNext does not look for them; every project that reaches this file needs them.
// eslint-disable-next-line @typescript-eslint/triple-slash-reference
/// <reference path="./binary-parser.d.ts" />
import { Parser } from 'binary-parser';
import type { ByteSource } from '../base/byte-source.js';
import { FormatError, UnsupportedError, UseError } from '../base/errors.js';
import { throwIfCancelled, type WorkContext } from '../base/progress.js';
import type { SonarSamples } from '../base/sonar.js';
import { isCivilDate, parseUtc, utcSeconds } from '../base/time.js';
import { layoutFaults, TYPE_BYTES, type LayoutCount, type LayoutQuantity, type LayoutTime, type NumberType, type RecordLayout } from './record-layout.js';
import { decodeSamples } from './segy-samples.js';
import { spreadWholeSeconds } from './spread-seconds.js';
import { emptyHeads, emptyStretch, PINGS_MAX, SAMPLES_MAX, SonarTally, summariseSonar, type OpenSonar } from './sonar-summary.js';

const PIECE_BYTES = 8 << 20;
/** No record of one ping is longer [bytes]; a length beyond it is damage. */
const RECORD_MAX = 16 << 20;
const UNIT: Readonly<Record<'s' | 'ms' | 'us' | 'ns', number>> = { s: 1, ms: 1e-3, us: 1e-6, ns: 1e-9 };
/** Codes of the sample decoder. */
const CODES: Readonly<Record<NumberType, number>> = { int8: 8, uint8: 16, int16: 3, uint16: 11, int32: 2, uint32: 10, int64: 9, uint64: 12, float32: 5, float64: 6 };

/** Values of a record by the name of their field, without a prototype: a name is the user's, and means nothing but itself. */
type Fields = Readonly<Record<string, number | bigint>>;

/**
 * A parser of the fields of one record. The library makes code of the names and places it is given: it is given names of ours,
 * numbered, and whole numbers, so that nothing a user wrote becomes code.
 */
function fieldParser({ fields, byteOrder }: RecordLayout): (record: Uint8Array) => Fields {
  const end = byteOrder === 'little' ? 'le' : 'be';
  const parser = new Parser();
  for (const [i, { at, type }] of fields.entries()) {
    if (!Number.isSafeInteger(at) || at < 0) throw new RangeError(`fields[${i}].at ${at}: expected a whole number of bytes from 0`);
    const kind = type === 'float32' ? `float${end}` : type === 'float64' ? `double${end}` : TYPE_BYTES[type] === 1 ? type : `${type}${end}`;
    parser.pointer(`f${i}`, { type: kind, offset: at });
  }
  return (record) => {
    const parsed = parser.parse(record) as Readonly<Record<string, number | bigint>>;
    const values = Object.create(null) as Record<string, number | bigint>;
    for (const [i, { name }] of fields.entries()) values[name] = parsed[`f${i}`]!;
    return values;
  };
}

function numberOf(fields: Fields, name: string): number {
  return Number(fields[name]);
}

function countOf(count: LayoutCount, fields: Fields): number {
  return typeof count === 'number' ? count : numberOf(fields, count.field) * (count.times ?? 1) + (count.add ?? 0);
}

function quantityOf(quantity: LayoutQuantity | undefined, fields: Fields): number {
  if (quantity === undefined) return NaN;
  if ('value' in quantity) return quantity.value;
  const value = numberOf(fields, quantity.field);
  return value === quantity.none ? NaN : value * (quantity.scale ?? 1) + (quantity.add ?? 0);
}

function timeOf(time: LayoutTime, sinceS: number, fields: Fields): number {
  const fraction = time.fraction === undefined ? 0 : numberOf(fields, time.fraction.field) * UNIT[time.fraction.unit];
  if ('field' in time) {
    const value = fields[time.field] as number | bigint;
    const divisor = Math.round(1 / UNIT[time.unit]);
    const seconds = typeof value === 'bigint' ? Number(value / BigInt(divisor)) + Number(value % BigInt(divisor)) / divisor : value / divisor;
    const result = sinceS + seconds + fraction;
    return Math.abs(result) < 1e10 && result !== sinceS ? result : NaN;
  }
  const [year, day, hour, minute, second] = [time.year, time.day, time.hour, time.minute, time.second].map((name) => numberOf(fields, name)) as [number, number, number, number, number];
  if (hour > 24 || minute > 59 || second >= 61) return NaN;
  const ofDay = hour * 3600 + minute * 60 + second + fraction;
  if (time.month === undefined) return isCivilDate(year, 1, 1) && year >= 1970 && day >= 1 && day <= 366 ? utcSeconds(year, 1, 1, ofDay) + (day - 1) * 86_400 : NaN;
  const month = numberOf(fields, time.month);
  return year >= 1970 && isCivilDate(year, month, day) ? utcSeconds(year, month, day, ofDay) : NaN;
}

/** Where the samples of a side of a ping stand. */
interface Block {
  readonly at: number;
  readonly n: number;
  /** Index in the layout's samples. */
  readonly kind: number;
}

/**
 * Opens a file of fixed records as a side-scan log, by a layout that the user describes.
 *
 * Fields are read by a parser that binary-parser makes of the layout; no name or number of it becomes code. Where a record does not begin with the layout's sync bytes, or its
 * length makes no sense, the next sync is searched for and what lies between is counted; without sync bytes, reading ends there.
 *
 * @throws UseError where the layout is wrong in itself, FormatError where the file holds no record of it
 */
export async function openRecordLayout(source: ByteSource, layout: RecordLayout, options: { readonly sampleIntervalUs?: number | null; readonly context?: WorkContext } = {}): Promise<OpenSonar> {
  const { context = {}, sampleIntervalUs = null } = options;
  const faults = layoutFaults(layout);
  const sinceS = 'field' in layout.time ? parseUtc(layout.time.since) : 0;
  if (faults.length > 0) throw new UseError(`layout ${JSON.stringify(layout.name)}: ${faults.join('; ')}`, { path: layout.name });
  const tally = new SonarTally();
  const parse = fieldParser(layout);
  const little = layout.byteOrder === 'little';
  const sync = Uint8Array.from((layout.sync ?? '').match(/../g) ?? [], (pair) => parseInt(pair, 16));
  const headBytes = Math.max(1, sync.length, ...layout.fields.map(({ at, type }) => at + TYPE_BYTES[type]));
  const pings: { fields: Fields; port: Block | null; starboard: Block | null; number: number }[] = [];
  const counts: Record<string, number> = {};
  let [records, at] = [0, layout.fileHeaderBytes];
  let window: { start: number; bytes: Uint8Array } = { start: 0, bytes: new Uint8Array(0) };
  const hold = async (from: number, length: number): Promise<Uint8Array> => {
    if (from < window.start || from + length > window.start + window.bytes.length) {
      throwIfCancelled(context.signal);
      context.progress?.('reading', from / source.byteLength, source.name);
      window = { start: from, bytes: await source.read(from, from + Math.max(length, PIECE_BYTES), context.signal) };
    }
    return window.bytes.subarray(from - window.start, from - window.start + length);
  };
  while (at + headBytes <= source.byteLength) {
    const head = await hold(at, headBytes);
    let bytes = NaN;
    if (sync.every((byte, i) => head[i] === byte)) {
      const fields = parse(head);
      bytes = countOf(layout.recordBytes, fields);
      if (Number.isInteger(bytes) && bytes >= headBytes && bytes <= RECORD_MAX) {
        if (pings.length >= PINGS_MAX) throw new UnsupportedError(`${source.name}: more than ${PINGS_MAX} pings by the layout ${JSON.stringify(layout.name)}; look at recordBytes, or split the file`);
        records++;
        const cut = at + bytes > source.byteLength;
        if (cut) tally.reject('cut-short', 'the file ends within a record: expected all of it; the samples that are there are kept', records);
        takeRecord(fields, at, Math.min(bytes, source.byteLength - at));
        at += bytes;
        continue;
      }
    }
    const resumed = sync.length === 0 ? -1 : await search(at + 1);
    if (records > 0 || resumed >= 0) tally.reject('lost-bytes', Number.isNaN(bytes) ? 'bytes that do not begin a record; reading goes on at the next that does' : 'a record whose length makes no sense; reading goes on at the next', records + 1);
    if (resumed < 0) {
      if (records > 0) tally.note(`${source.byteLength - at} bytes from byte ${at} on are no record of this layout up to the end of the file`);
      break;
    }
    at = resumed;
  }
  if (pings.length === 0) {
    throw new FormatError('no-records', source.name, `${source.name}: no ping found by the layout ${JSON.stringify(layout.name)}${records > 0 ? `, though ${records} records are: look at "only" and the samples` : ': look at byteOrder, fileHeaderBytes, sync and recordBytes'}`);
  }

  const heads = emptyHeads(pings.length);
  for (const [i, { fields, port, starboard }] of pings.entries()) {
    heads.timeS[i] = timeOf(layout.time, sinceS, fields);
    heads.portSamples[i] = port?.n ?? 0;
    heads.starboardSamples[i] = starboard?.n ?? 0;
    const samples = Math.max(port?.n ?? 0, starboard?.n ?? 0);
    const interval = sampleIntervalUs !== null ? sampleIntervalUs / 1e6 : layout.intervalS !== undefined ? quantityOf(layout.intervalS, fields) : (2 * quantityOf(layout.rangeM, fields)) / (layout.rangeSoundMps ?? 1500) / samples;
    heads.intervalS[i] = interval > 0 && Number.isFinite(interval) ? interval : NaN;
    heads.delayS[i] = quantityOf(layout.delayS ?? { value: 0 }, fields);
    const [lat, lon] = [quantityOf(layout.latDeg, fields), quantityOf(layout.lonDeg, fields)];
    if (Math.abs(lat) <= 90 && Math.abs(lon) <= 360 && (lat !== 0 || lon !== 0)) {
      heads.latDeg[i] = lat;
      heads.lonDeg[i] = lon > 180 ? lon - 360 : lon;
    }
    for (const name of ['headingDeg', 'heightM', 'depthM', 'frequencyHz'] as const) heads[name][i] = quantityOf(layout[name], fields);
  }
  if (spreadWholeSeconds(heads.timeS)) tally.note('times are given to the second only: pings are spread evenly within each second');
  const summary = summariseSonar('sonar-layout', heads, { ...counts, records }, records, tally);
  return {
    heads,
    summary,
    async read(start, end, signal): Promise<SonarSamples> {
      const stretch = emptyStretch(heads, start, end);
      let piece: { start: number; bytes: Uint8Array } = { start: 0, bytes: new Uint8Array(0) };
      for (let i = start; i < end; i++) {
        const ping = pings[i] as (typeof pings)[number];
        for (const [block, out] of [[ping.port, stretch.port], [ping.starboard, stretch.starboard]] as const) {
          if (block === null || block.n === 0) continue;
          const { type, scale = 1, add = 0, reversed = false } = layout.samples[block.kind] as (typeof layout.samples)[number];
          const length = block.n * TYPE_BYTES[type];
          if (block.at < piece.start || block.at + length > piece.start + piece.bytes.length) piece = { start: block.at, bytes: await source.read(block.at, block.at + Math.max(length, PIECE_BYTES), signal) };
          const outAt = (i - start) * stretch.width;
          decodeSamples(new DataView(piece.bytes.buffer, piece.bytes.byteOffset, piece.bytes.byteLength), block.at - piece.start, block.n, CODES[type], little, out, outAt, scale);
          const row = out.subarray(outAt, outAt + block.n);
          if (add !== 0) for (let k = 0; k < row.length; k++) row[k] = (row[k] as number) + add;
          if (reversed) row.reverse();
        }
      }
      return stretch;
    },
    close: () => Promise.resolve(),
  };

  function takeRecord(fields: Fields, start: number, there: number): void {
    if (layout.only.some(({ field, equals }) => numberOf(fields, field) !== equals)) {
      counts['records of other kinds'] = (counts['records of other kinds'] ?? 0) + 1;
      return;
    }
    const number = layout.ping === undefined ? NaN : numberOf(fields, layout.ping);
    let next = 0;
    let ping: (typeof pings)[number] | null = null;
    for (const [kind, { side: told, at: place, type, count }] of layout.samples.entries()) {
      const value = typeof told === 'string' ? NaN : numberOf(fields, told.field);
      const side = typeof told === 'string' ? told : value === told.port ? 'port' : value === told.starboard ? 'starboard' : null;
      const from = place === 'after' ? next : countOf(place, fields);
      let n = countOf(count, fields);
      next = from + n * TYPE_BYTES[type];
      if (!Number.isInteger(n) || n < 0 || n > SAMPLES_MAX || !Number.isInteger(from) || from < 0) {
        tally.reject('bad-count', `a record whose number of samples or their place makes no sense (more than ${SAMPLES_MAX}, or not whole): its samples are left out`, records);
        continue;
      }
      if (next > there) {
        n = Math.max(0, Math.floor((there - from) / TYPE_BYTES[type]));
        tally.reject('short-record', 'samples reach past the end of their record: those within it are kept', records);
      }
      if (side === null) {
        tally.reject('no-side', 'a record that says neither port nor starboard', records);
        continue;
      }
      const before = pings.at(-1);
      ping ??= before !== undefined && before.number === number && before[side] === null ? before : null;
      if (ping === null) {
        ping = { fields, port: null, starboard: null, number };
        pings.push(ping);
      }
      ping[side] = { at: start + from, n, kind };
      counts[`${side} records`] = (counts[`${side} records`] ?? 0) + 1;
    }
  }

  /** Where the next sync stands; -1 where there is none. */
  async function search(from: number): Promise<number> {
    for (let start = from; start + sync.length <= source.byteLength; start += PIECE_BYTES - sync.length) {
      const bytes = await hold(start, Math.min(PIECE_BYTES, source.byteLength - start));
      for (let i = 0; i + sync.length <= bytes.length; i++) {
        if (bytes[i] !== sync[0]) continue;
        let k = 1;
        while (k < sync.length && bytes[i + k] === sync[k]) k++;
        if (k === sync.length) return start + i;
      }
    }
    return -1;
  }
}
