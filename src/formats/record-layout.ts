import { parseUtc } from '../base/time.js';

/**
 * A layout of side-scan records as a user describes it: a file header, then records one after another, each with fields at fixed places and
 * samples of one side or both. docs/formats.md says how it is written.
 */

export const NUMBER_TYPES = ['int8', 'uint8', 'int16', 'uint16', 'int32', 'uint32', 'int64', 'uint64', 'float32', 'float64'] as const;
export type NumberType = (typeof NUMBER_TYPES)[number];
export const TYPE_BYTES: Readonly<Record<NumberType, number>> = { int8: 1, uint8: 1, int16: 2, uint16: 2, int32: 4, uint32: 4, int64: 8, uint64: 8, float32: 4, float64: 8 };

/** A number at a fixed place of a record, from the record's beginning. */
export interface LayoutField {
  readonly name: string;
  readonly at: number;
  readonly type: NumberType;
}

/** A whole number: as it stands, or a field's value times and plus something. */
export type LayoutCount = number | { readonly field: string; readonly times?: number | undefined; readonly add?: number | undefined };

/** A quantity: a field's value times `scale` plus `add`, or one value for all. */
export type LayoutQuantity = { readonly field: string; readonly scale?: number | undefined; readonly add?: number | undefined; readonly none?: number | undefined } | { readonly value: number };

/** Samples of one side in a record. */
export interface LayoutSamples {
  /** The side, or the field that tells it. */
  readonly side: 'port' | 'starboard' | { readonly field: string; readonly port: number; readonly starboard: number };
  /** Byte of the first, from the record's beginning; `after`: behind the samples before. */
  readonly at: LayoutCount | 'after';
  readonly type: NumberType;
  readonly count: LayoutCount;
  /** Amplitude = number times scale plus add. */
  readonly scale?: number | undefined;
  readonly add?: number | undefined;
  /** The furthest comes first. */
  readonly reversed?: boolean | undefined;
}

/** Time as a count since a moment, or in parts. */
export type LayoutTime =
  | { readonly field: string; readonly unit: 's' | 'ms' | 'us' | 'ns'; readonly since: string; readonly fraction?: { readonly field: string; readonly unit: 'ms' | 'us' | 'ns' } | undefined }
  | { readonly year: string; readonly month?: string | undefined; readonly day: string; readonly hour: string; readonly minute: string; readonly second: string; readonly fraction?: { readonly field: string; readonly unit: 'ms' | 'us' | 'ns' } | undefined };

export interface RecordLayout {
  readonly name: string;
  /** Endings of the names of files it is for, e.g. `.rec`. */
  readonly files: readonly string[];
  readonly byteOrder: 'little' | 'big';
  readonly fileHeaderBytes: number;
  /** Bytes that every record begins with, in hexadecimal; null: none. */
  readonly sync: string | null;
  /** Length of a record [bytes]. */
  readonly recordBytes: LayoutCount;
  readonly fields: readonly LayoutField[];
  /** Records of which all this holds are pings; others are stepped over. */
  readonly only: readonly { readonly field: string; readonly equals: number }[];
  readonly samples: readonly LayoutSamples[];
  readonly time: LayoutTime;
  /** Records with the same number are one ping. */
  readonly ping?: string | undefined;
  readonly latDeg?: LayoutQuantity | undefined;
  readonly lonDeg?: LayoutQuantity | undefined;
  readonly headingDeg?: LayoutQuantity | undefined;
  readonly heightM?: LayoutQuantity | undefined;
  readonly depthM?: LayoutQuantity | undefined;
  readonly frequencyHz?: LayoutQuantity | undefined;
  readonly delayS?: LayoutQuantity | undefined;
  /** Time between samples; or the slant range of the last, at `rangeSoundMps`. */
  readonly intervalS?: LayoutQuantity | undefined;
  readonly rangeM?: LayoutQuantity | undefined;
  readonly rangeSoundMps?: number | undefined;
}

/** Names of all fields that a layout speaks of. */
function namesUsed(layout: RecordLayout): string[] {
  const names: string[] = [];
  const visit = (value: unknown): void => {
    if (Array.isArray(value)) value.forEach(visit);
    else if (typeof value === 'object' && value !== null) {
      for (const [key, one] of Object.entries(value)) {
        if (key === 'field' && typeof one === 'string') names.push(one);
        else visit(one);
      }
    }
  };
  visit([layout.recordBytes, layout.only, layout.samples, layout.time, layout.latDeg, layout.lonDeg, layout.headingDeg, layout.heightM, layout.depthM, layout.frequencyHz, layout.delayS, layout.intervalS, layout.rangeM]);
  if ('year' in layout.time) for (const part of ['year', 'month', 'day', 'hour', 'minute', 'second'] as const) if (layout.time[part] !== undefined) names.push(layout.time[part]);
  if (layout.ping !== undefined) names.push(layout.ping);
  return names;
}

/** Bytes of a record that are spoken for, and what by. */
interface Taken {
  readonly what: string;
  readonly start: number;
  readonly end: number;
}

/** The bytes of a record that are the same in all of them: its fields, and the samples whose place and number are. */
function takenBytes({ fields, samples }: RecordLayout): Taken[] {
  const taken: Taken[] = fields.map(({ name, at, type }) => ({ what: `field ${JSON.stringify(name)}`, start: at, end: at + TYPE_BYTES[type] }));
  let next = NaN;
  for (const [i, { at, type, count }] of samples.entries()) {
    const start = at === 'after' ? next : typeof at === 'number' ? at : NaN;
    next = typeof count === 'number' ? start + count * TYPE_BYTES[type] : NaN;
    // Of samples whose number a record tells, the first at least is there.
    if (!Number.isNaN(start)) taken.push({ what: `samples[${i}]`, start, end: Number.isNaN(next) ? start + TYPE_BYTES[type] : next });
  }
  return taken;
}

const bytesText = ({ start, end }: Taken): string => (end - start === 1 ? `byte ${start}` : `bytes ${start} to ${end - 1}`);

/** What is wrong with a layout beyond the form of it, in plain words; empty where nothing is. */
export function layoutFaults(layout: RecordLayout): string[] {
  const faults: string[] = [];
  const there = new Set(layout.fields.map(({ name }) => name));
  for (const [i, { name }] of layout.fields.entries()) if (layout.fields.findIndex((other) => other.name === name) < i) faults.push(`two fields have the same name, ${JSON.stringify(name)}`);
  for (const name of new Set(namesUsed(layout))) if (!there.has(name)) faults.push(`there is no field ${JSON.stringify(name)}; the fields are: ${[...there].join(', ')}`);
  if (layout.intervalS === undefined && layout.rangeM === undefined) faults.push('neither intervalS nor rangeM says how far samples are apart');
  if (layout.sync !== null && (layout.sync.length % 2 !== 0 || !/^[0-9a-f]*$/i.test(layout.sync))) faults.push('sync is not whole bytes in hexadecimal');
  if (layout.samples[0]?.at === 'after') faults.push('the first samples cannot stand after others');
  if ('field' in layout.time && Number.isNaN(parseUtc(layout.time.since))) faults.push(`since ${JSON.stringify(layout.time.since)} is no time such as 1970-01-01T00:00:00Z`);
  const taken = takenBytes(layout);
  const { recordBytes } = layout;
  if (typeof recordBytes === 'number') {
    if (recordBytes === 0) faults.push('recordBytes is 0: a record has one byte at least');
    else for (const each of taken) if (each.end > recordBytes) faults.push(`${each.what} (${bytesText(each)}) lies beyond the end of a record of ${recordBytes} bytes`);
  }
  const byPlace = [...taken].sort((a, b) => a.start - b.start || a.end - b.end);
  let furthest = byPlace[0] as Taken;
  for (const each of byPlace.slice(1)) {
    if (each.start < furthest.end) faults.push(`${furthest.what} (${bytesText(furthest)}) and ${each.what} (${bytesText(each)}) overlap`);
    if (each.end > furthest.end) furthest = each;
  }
  return faults;
}
