import { DAY_S, daysFromCivil } from '../base/time.js';
import { EXTENSION, EXTENSION_NAME, OWN, OWN_NAME, TRACE, TRACE_HEAD_BYTES } from './segy-layout.js';
import type { SegyFileHead } from './segy-file-head.js';
import { readTraceHeadName } from './segy-text.js';

/** What a trace header says, in our units; NaN where it says nothing. */
export interface SegyTraceHead {
  /** Bytes of the header with its extensions. */
  bytes: number;
  samples: number;
  fieldRecord: number;
  traceNumber: number;
  ensembleTrace: number;
  timeS: number;
  /** Whether the time is known to better than the second. */
  fine: boolean;
  /** 1 local, 2 GMT, 3 other, 4 UTC, 5 GPS; 0 not stated. */
  timeBasis: number;
  intervalUs: number;
  delayS: number;
  latDeg: number;
  lonDeg: number;
  /** Whether there are coordinates that are lengths in an unnamed grid, or of an unknown unit. */
  gridded: boolean;
  headingDeg: number;
  heightM: number;
  depthM: number;
  frequencyHz: number;
  /** What samples are multiplied by. */
  scale: number;
}

/** How a user may say that a log departs from the standard. */
export interface SegyFields {
  /** Trace header byte (from 1) of a two-byte integer with milliseconds of the second; null: none. */
  readonly millisecondByte?: number | null;
  /** Trace header byte (from 1) of a four-byte integer with the channel; null: bytes 13 to 16. */
  readonly channelByte?: number | null;
}

const ARC_SECOND = 2;
const DECIMAL_DEGREES = 3;
const DEGREES_MINUTES_SECONDS = 4;

/** A scalar of the standard: positive multiplies, negative divides, 0 counts as 1. */
function scaled(value: number, scalar: number): number {
  return scalar < 0 ? value / -scalar : scalar > 0 ? value * scalar : value;
}

/**
 * Reads the trace header at `at` with the extensions that follow it, as far as the view holds them.
 * Source: SEG-Y revision 1 (2002), table 3; revision 2.0 (2017), the same and the trace header extension.
 */
export function readSegyTraceHead(view: DataView, at: number, file: SegyFileHead, fields: SegyFields): SegyTraceHead {
  const { little } = file;
  const u16 = (byte: number): number => view.getUint16(at + byte - 1, little);
  const i16 = (byte: number): number => view.getInt16(at + byte - 1, little);
  const i32 = (byte: number): number => view.getInt32(at + byte - 1, little);
  const channelByte = fields.channelByte ?? TRACE.traceNumber;
  const head: SegyTraceHead = {
    bytes: TRACE_HEAD_BYTES * (1 + file.extraTraceHeaders),
    samples: file.fixedLength && file.samples > 0 ? file.samples : u16(TRACE.samples) || file.samples,
    fieldRecord: i32(TRACE.fieldRecord),
    traceNumber: i32(channelByte),
    ensembleTrace: i32(TRACE.ensembleTrace),
    timeS: NaN,
    fine: false,
    timeBasis: u16(TRACE.timeBasis) || file.timeBasis,
    intervalUs: u16(TRACE.intervalUs),
    delayS: 0,
    latDeg: NaN,
    lonDeg: NaN,
    gridded: false,
    headingDeg: NaN,
    heightM: NaN,
    depthM: NaN,
    frequencyHz: NaN,
    scale: 1,
  };
  if (head.intervalUs === 0 || Math.abs(head.intervalUs - file.intervalUs) < 1) head.intervalUs = file.intervalUs;
  const timeScalar = i16(TRACE.timeScalar);
  head.delayS = scaled(i16(TRACE.delay), file.revision >= 1 ? timeScalar : 0) / 1000;
  readTime(head, u16(TRACE.year), u16(TRACE.day), u16(TRACE.hour), u16(TRACE.minute), u16(TRACE.second));
  const weighting = file.revision >= 1 ? i16(TRACE.weighting) : 0;
  if (weighting > 0 && weighting < 32) head.scale = 2 ** -weighting;
  const elevationScalar = i16(TRACE.elevationScalar);
  const depthM = scaled(i32(TRACE.sourceDepth), elevationScalar);
  const waterM = scaled(i32(TRACE.waterDepthSource) || i32(TRACE.waterDepthGroup), elevationScalar);
  if (depthM > 0) head.depthM = depthM;
  if (waterM > depthM && waterM > 0) head.heightM = waterM - Math.max(0, depthM);
  const scalar = i16(TRACE.coordinateScalar);
  const own = i32(TRACE.sourceX) !== 0 || i32(TRACE.sourceY) !== 0;
  const x = scaled(i32(own ? TRACE.sourceX : TRACE.groupX), scalar);
  const y = scaled(i32(own ? TRACE.sourceY : TRACE.groupY), scalar);
  const units = u16(TRACE.coordinateUnits);
  readPlace(head, x, y, units);
  if (file.revision >= 2) readExtensions(head, view, at, file, units);
  else if (file.freeBytesOurs) {
    addFraction(head, i32(TRACE.free) / 1e6);
    if (u16(TRACE.free + 4) > 0) head.headingDeg = (u16(TRACE.free + 4) - 1) / 100;
    if (u16(TRACE.free + 6) > 0) head.frequencyHz = u16(TRACE.free + 6) * 100;
  }
  const { millisecondByte = null } = fields;
  if (millisecondByte !== null) addFraction(head, u16(millisecondByte) / 1000);
  return head;
}

function addFraction(head: SegyTraceHead, fractionS: number): void {
  if (!(fractionS >= 0 && fractionS < 1)) return;
  head.timeS += fractionS;
  head.fine = true;
}

function readTime(head: SegyTraceHead, yearStated: number, day: number, hour: number, minute: number, second: number): void {
  const year = yearStated < 70 ? yearStated + 2000 : yearStated < 100 ? yearStated + 1900 : yearStated;
  if (year < 1970 || year > 2200 || day < 1 || day > 366 || hour > 24 || minute > 59 || second > 60) return;
  head.timeS = (daysFromCivil(year, 1, 1) + day - 1) * DAY_S + hour * 3600 + minute * 60 + second;
}

function readPlace(head: SegyTraceHead, x: number, y: number, units: number): void {
  if (x === 0 && y === 0) return;
  let [lon, lat] = [NaN, NaN];
  if (units === ARC_SECOND) [lon, lat] = [x / 3600, y / 3600];
  else if (units === DECIMAL_DEGREES) [lon, lat] = [x, y];
  else if (units === DEGREES_MINUTES_SECONDS) [lon, lat] = [fromDms(x), fromDms(y)];
  else {
    head.gridded = true;
    return;
  }
  if (!(Math.abs(lat) <= 90) || !(Math.abs(lon) <= 360)) return;
  head.latDeg = lat;
  head.lonDeg = lon > 180 ? lon - 360 : lon < -180 ? lon + 360 : lon;
}

/** DDDMMSS.ss as degrees. */
function fromDms(value: number): number {
  const size = Math.abs(value);
  const degrees = Math.floor(size / 10_000);
  const minutes = Math.floor((size - degrees * 10_000) / 100);
  const seconds = size - degrees * 10_000 - minutes * 100;
  return minutes < 60 && seconds < 60 ? Math.sign(value) * (degrees + minutes / 60 + seconds / 3600) : NaN;
}

function readExtensions(head: SegyTraceHead, view: DataView, at: number, file: SegyFileHead, units: number): void {
  let count = file.extraTraceHeaders;
  for (let k = 1; k <= count; k++) {
    const start = at + k * TRACE_HEAD_BYTES;
    if (start + TRACE_HEAD_BYTES > view.byteLength) return;
    const name = readTraceHeadName(new Uint8Array(view.buffer, view.byteOffset + start + EXTENSION.name - 1, 8));
    const f64 = (byte: number): number => view.getFloat64(start + byte - 1, file.little);
    if (k === 1 && (name === EXTENSION_NAME || /^[\0 ]*$/.test(name))) {
      const samples = view.getUint32(start + EXTENSION.samples - 1, file.little);
      if (samples > 0) head.samples = samples;
      const more = view.getUint16(start + EXTENSION.moreHeaders - 1, file.little);
      if (more > 0 && more < count) {
        count = more;
        head.bytes = TRACE_HEAD_BYTES * (1 + more);
      }
      addFraction(head, view.getInt32(start + EXTENSION.nanoseconds - 1, file.little) / 1e9);
      const interval = f64(EXTENSION.intervalUs);
      if (interval > 0 && Number.isFinite(interval)) head.intervalUs = interval;
      const own = f64(EXTENSION.sourceX) !== 0 || f64(EXTENSION.sourceY) !== 0;
      const [x, y] = own ? [f64(EXTENSION.sourceX), f64(EXTENSION.sourceY)] : [f64(EXTENSION.groupX), f64(EXTENSION.groupY)];
      if (Number.isFinite(x) && Number.isFinite(y)) readPlace(head, x, y, units);
    } else if (name === OWN_NAME) {
      head.headingDeg = f64(OWN.headingDeg);
      head.frequencyHz = f64(OWN.frequencyHz);
      head.delayS = f64(OWN.delayS);
      head.heightM = f64(OWN.heightM);
      head.depthM = f64(OWN.depthM);
    }
  }
}

/** Whether the bytes at `at` can be a trace header of this file: its times of day are times of day, its place in the file is numbered. */
export function looksLikeTraceHead(view: DataView, at: number, file: SegyFileHead): boolean {
  if (at + TRACE_HEAD_BYTES > view.byteLength) return false;
  const u16 = (byte: number): number => view.getUint16(at + byte - 1, file.little);
  if (u16(TRACE.day) > 366 || u16(TRACE.hour) > 24 || u16(TRACE.minute) > 59 || u16(TRACE.second) > 60) return false;
  if (u16(TRACE.timeBasis) > 5 || u16(TRACE.coordinateUnits) > 4) return false;
  return [TRACE.fieldRecord, TRACE.sequenceFile, TRACE.sequenceLine].some((byte) => view.getInt32(at + byte - 1, file.little) > 0);
}
