import type { ByteSink } from '../base/byte-source.js';
import { throwIfCancelled, type WorkContext } from '../base/progress.js';
import type { SonarHeads } from '../base/sonar.js';
import { civilFromDays, DAY_S, daysFromCivil } from '../base/time.js';
import { EXTENSION, EXTENSION_NAME, FILE, FILE_HEAD_BYTES, FORMATS, FREE_BYTES_LINE, OWN, OWN_NAME, STANDARD_NAME, TEXT_BYTES, TRACE, TRACE_HEAD_BYTES } from './segy-layout.js';
import { encodeSamples } from './segy-samples.js';
import { writeSegyText } from './segy-text.js';
import type { SonarContent } from './sonar-summary.js';

/** How to write a SEG-Y file. */
export interface SegyWriteOptions {
  /** 2 unless given: exact times, intervals and positions. 1 for programs that read no more: whole microseconds between samples, positions to 1.5 cm. */
  readonly revision?: 1 | 2;
  /** One of FORMATS; 3 (int16) unless given. */
  readonly format?: number;
  /** Little-endian; revision 2 only. */
  readonly littleEndian?: boolean;
  /** Text header in ASCII rather than EBCDIC. */
  readonly ascii?: boolean;
  /** What the text header says first. */
  readonly text?: readonly string[];
  readonly context?: WorkContext;
}

const STRETCH_SAMPLES = 1 << 20;
const DELAY_MS_LIMIT = 32.767;

/**
 * Writes side-scan pings as SEG-Y: a trace for each side that a ping has, port (channel 1) before starboard (channel 2), both under the
 * ping's field record number. Samples are asked for by stretch, so that an hour streams.
 *
 * Revision 2 puts what the standard has no field for (heading, frequency, exact delay, height and depth of the sonar) in a trace header
 * extension of our own, `TALLOW01`; revision 1 in the bytes it leaves free, told in the text header.
 *
 * @returns traces written, and samples that did not fit the format and were held at its limit
 * @throws RangeError for a format that is not written, more than 65 535 samples or a part of a microsecond between samples in revision 1
 * Source: SEG-Y revision 1 (2002), tables 1 to 3; revision 2.0 (2017), the same and the trace header extension.
 */
export async function writeSegySonar(sink: ByteSink, content: SonarContent, options: SegyWriteOptions = {}): Promise<{ readonly traces: number; readonly held: number }> {
  const { heads } = content;
  const { revision = 2, format = 3, littleEndian: little = false, context = {} } = options;
  const sampleBytes = FORMATS[format]?.bytes;
  if (sampleBytes === undefined) throw new RangeError(`sample format ${format}: expected one of ${Object.keys(FORMATS).join(', ')}`);
  if (revision === 1 && ![1, 2, 3, 5, 8].includes(format)) throw new RangeError(`sample format ${format}: revision 1 has 1, 2, 3, 5 and 8 only; write revision 2`);
  if (revision === 1 && little) throw new RangeError('little-endian order: revision 1 is big-endian; write revision 2');
  const plan = describe(heads, revision);
  await sink.write(fileHead(heads, plan, options, revision, format, little));
  const headBytes = TRACE_HEAD_BYTES * (revision === 2 ? 3 : 1);
  let [traces, held] = [0, 0];
  for (let start = 0; start < heads.n; ) {
    throwIfCancelled(context.signal);
    let [end, width] = [start, 1];
    while (end < heads.n) {
      const wider = Math.max(width, heads.portSamples[end] as number, heads.starboardSamples[end] as number);
      if (end > start && wider * (end + 1 - start) > STRETCH_SAMPLES) break;
      width = wider;
      end++;
    }
    const stretch = await content.read(start, end, context.signal);
    let bytes = 0;
    for (let i = start; i < end; i++) for (const n of [heads.portSamples[i] as number, heads.starboardSamples[i] as number]) if (n > 0) bytes += headBytes + n * sampleBytes;
    const out = new DataView(new ArrayBuffer(bytes));
    let at = 0;
    for (let i = start; i < end; i++) {
      for (const [side, samples] of [[stretch.port, heads.portSamples[i] as number], [stretch.starboard, heads.starboardSamples[i] as number]] as const) {
        if (samples === 0) continue;
        traces++;
        traceHead(out, at, heads, i, side === stretch.port ? 1 : 2, samples, traces, revision, little);
        held += encodeSamples(out, at + headBytes, samples, format, little, side, (i - start) * stretch.width);
        at += headBytes + samples * sampleBytes;
      }
    }
    await sink.write(new Uint8Array(out.buffer));
    context.progress?.('writing', end / heads.n);
    start = end;
  }
  return { traces, held };
}

interface Plan {
  readonly samples: number;
  readonly fixed: boolean;
  readonly traces: number;
  readonly perPing: number;
  readonly intervalUs: number;
}

function describe(heads: SonarHeads, revision: number): Plan {
  let [least, most, traces, perPing] = [Infinity, 0, 0, 0];
  for (let i = 0; i < heads.n; i++) {
    const sides = [heads.portSamples[i] as number, heads.starboardSamples[i] as number].filter((n) => n > 0);
    for (const n of sides) {
      least = Math.min(least, n);
      most = Math.max(most, n);
    }
    traces += sides.length;
    perPing = Math.max(perPing, sides.length);
    const intervalUs = (heads.intervalS[i] as number) * 1e6;
    if (revision === 1 && Number.isFinite(intervalUs) && (Math.abs(intervalUs - Math.round(intervalUs)) > 1e-6 || intervalUs > 65_535)) throw new RangeError(`${intervalUs} us between samples: revision 1 holds whole microseconds up to 65 535; write revision 2`);
    const delayMs = (heads.delayS[i] as number) * 1e3;
    if (revision === 1 && (Math.abs(delayMs) > DELAY_MS_LIMIT || Math.abs(delayMs * 1e3 - Math.round(delayMs * 1e3)) > 1e-6)) throw new RangeError(`${delayMs} ms of delay: revision 1 holds whole microseconds up to 32.767 ms as it is written here; write revision 2`);
  }
  if (revision === 1 && most > 65_535) throw new RangeError(`${most} samples: revision 1 holds 65 535; write revision 2`);
  const first = heads.intervalS[0] ?? NaN;
  return { samples: most, fixed: least === most, traces, perPing, intervalUs: Number.isFinite(first) ? first * 1e6 : 0 };
}

function fileHead(heads: SonarHeads, plan: Plan, options: SegyWriteOptions, revision: 1 | 2, format: number, little: boolean): Uint8Array {
  const bytes = new Uint8Array(FILE_HEAD_BYTES);
  const lines = [
    ...(options.text ?? ['SIDE-SCAN SONAR', 'NOT FOR NAVIGATION']),
    'ONE TRACE IS ONE SIDE OF ONE PING; CHANNEL 1 PORT, CHANNEL 2 STARBOARD',
    'COORDINATES WGS 84, SECONDS OF ARC; TIMES UTC',
    revision === 1 ? FREE_BYTES_LINE : `TRACE HEADER EXTENSION ${OWN_NAME}: FLOAT64 HEADING DEG, HZ, DELAY S, HEIGHT M, DEPTH M`,
  ];
  bytes.set(writeSegyText(lines, options.ascii !== true));
  const view = new DataView(bytes.buffer);
  const u16 = (byte: number, value: number): void => view.setUint16(byte - 1, value, little);
  u16(FILE.tracesPerEnsemble, plan.perPing);
  u16(FILE.intervalUs, Math.min(65_535, Math.max(plan.intervalUs > 0 ? 1 : 0, Math.round(plan.intervalUs))));
  u16(FILE.samples, Math.min(65_535, plan.samples));
  u16(FILE.format, format);
  u16(FILE.sorting, 1);
  u16(FILE.measurement, 1);
  u16(FILE.fixedLength, plan.fixed ? 1 : 0);
  if (revision === 1) u16(FILE.revision, 0x0100);
  else {
    view.setUint8(FILE.revision - 1, 2);
    view.setUint32(FILE.extendedSamples - 1, plan.samples, little);
    view.setFloat64(FILE.extendedIntervalUs - 1, plan.intervalUs, little);
    view.setUint32(FILE.byteOrder - 1, 0x0102_0304, little);
    view.setUint32(FILE.extraTraceHeaders - 1, 2, little);
    u16(FILE.timeBasis, 4);
    view.setBigUint64(FILE.traces - 1, BigInt(plan.traces), little);
    view.setBigUint64(FILE.firstTraceAt - 1, BigInt(FILE_HEAD_BYTES), little);
  }
  if (TEXT_BYTES + 400 !== bytes.length || heads.n < 0) throw new RangeError('file header: wrong length');
  return bytes;
}

/** Centimetres, as the elevation scalar -100 says. */
const toCm = (metres: number): number => (Number.isFinite(metres) ? Math.max(-2_147_483_648, Math.min(2_147_483_647, Math.round(metres * 100))) : 0);

function traceHead(view: DataView, at: number, heads: SonarHeads, i: number, channel: number, samples: number, trace: number, revision: number, little: boolean): void {
  const i32 = (byte: number, value: number): void => view.setInt32(at + byte - 1, value, little);
  const u16 = (byte: number, value: number): void => view.setUint16(at + byte - 1, value, little);
  const i16 = (byte: number, value: number): void => view.setInt16(at + byte - 1, value, little);
  i32(TRACE.sequenceLine, trace);
  i32(TRACE.sequenceFile, trace);
  i32(TRACE.fieldRecord, i + 1);
  i32(TRACE.traceNumber, channel);
  i32(TRACE.ensembleTrace, channel);
  u16(TRACE.identification, 1);
  u16(TRACE.dataUse, 1);
  const [depthM, heightM] = [heads.depthM[i] as number, heads.heightM[i] as number];
  i32(TRACE.sourceDepth, toCm(depthM));
  if (!Number.isNaN(heightM)) i32(TRACE.waterDepthSource, toCm(heightM + (Number.isNaN(depthM) ? 0 : depthM)));
  i16(TRACE.elevationScalar, -100);
  i16(TRACE.coordinateScalar, -1000);
  const [lat, lon] = [(heads.latDeg[i] as number) * 3600, (heads.lonDeg[i] as number) * 3600];
  const placed = Number.isFinite(lat) && Number.isFinite(lon);
  if (placed) {
    i32(TRACE.sourceX, Math.round(lon * 1000));
    i32(TRACE.sourceY, Math.round(lat * 1000));
  }
  u16(TRACE.coordinateUnits, 2);
  const delayS = heads.delayS[i] as number;
  i16(TRACE.delay, Math.max(-32_768, Math.min(32_767, Math.round(revision === 1 ? delayS * 1e6 : delayS * 1e3))));
  i16(TRACE.timeScalar, revision === 1 ? -1000 : 1);
  u16(TRACE.samples, Math.min(65_535, samples));
  const intervalUs = (heads.intervalS[i] as number) * 1e6;
  u16(TRACE.intervalUs, Number.isFinite(intervalUs) ? Math.min(65_535, Math.max(1, Math.round(intervalUs))) : 0);
  const fraction = writeTime(u16, heads.timeS[i] as number, revision === 1 ? 1e6 : 1e9);
  const [heading, frequency] = [heads.headingDeg[i] as number, heads.frequencyHz[i] as number];
  if (revision === 1) {
    i32(TRACE.free, fraction);
    u16(TRACE.free + 4, Number.isFinite(heading) ? 1 + Math.round((((heading % 360) + 360) % 360) * 100) : 0);
    u16(TRACE.free + 6, Number.isFinite(frequency) ? Math.min(65_535, Math.round(frequency / 100)) : 0);
    return;
  }
  name(view, at + TRACE.free - 1, STANDARD_NAME);
  const extension = at + TRACE_HEAD_BYTES - 1;
  if (placed) {
    view.setFloat64(extension + EXTENSION.sourceX, lon, little);
    view.setFloat64(extension + EXTENSION.sourceY, lat, little);
  }
  view.setUint32(extension + EXTENSION.samples, samples, little);
  view.setInt32(extension + EXTENSION.nanoseconds, fraction, little);
  if (Number.isFinite(intervalUs)) view.setFloat64(extension + EXTENSION.intervalUs, intervalUs, little);
  view.setUint16(extension + EXTENSION.moreHeaders, 2, little);
  name(view, extension + EXTENSION.name, EXTENSION_NAME);
  const own = extension + TRACE_HEAD_BYTES;
  for (const [byte, value] of [[OWN.headingDeg, heading], [OWN.frequencyHz, frequency], [OWN.delayS, delayS], [OWN.heightM, heightM], [OWN.depthM, depthM]] as const) view.setFloat64(own + byte, value, little);
  name(view, own + OWN.name, OWN_NAME);
}

/** Writes the time to the second; gives the rest in parts of a second. A ping without a time has none (day 0). */
function writeTime(u16: (byte: number, value: number) => void, timeS: number, parts: number): number {
  if (!Number.isFinite(timeS)) return 0;
  let second = Math.floor(timeS);
  let fraction = Math.round((timeS - second) * parts);
  if (fraction >= parts) {
    second++;
    fraction = 0;
  }
  const day = Math.floor(second / DAY_S);
  const { year } = civilFromDays(day);
  const ofDay = second - day * DAY_S;
  u16(TRACE.year, year);
  u16(TRACE.day, day - daysFromCivil(year, 1, 1) + 1);
  u16(TRACE.hour, Math.floor(ofDay / 3600));
  u16(TRACE.minute, Math.floor(ofDay / 60) % 60);
  u16(TRACE.second, ofDay % 60);
  u16(TRACE.timeBasis, 4);
  return fraction;
}

function name(view: DataView, at: number, text: string): void {
  for (let i = 0; i < text.length; i++) view.setUint8(at + i, text.charCodeAt(i));
}
