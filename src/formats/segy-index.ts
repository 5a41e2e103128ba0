import type { ByteSource } from '../base/byte-source.js';
import { FormatError } from '../base/errors.js';
import { throwIfCancelled, type WorkContext } from '../base/progress.js';
import type { SegyFileHead } from './segy-file-head.js';
import { FORMATS, TRACE, TRACE_HEAD_BYTES } from './segy-layout.js';
import { looksLikeTraceHead, readSegyTraceHead, type SegyFields, type SegyTraceHead } from './segy-trace-head.js';
import { SAMPLES_MAX, type SonarTally } from './sonar-summary.js';

/** A trace found in the file. */
export interface FoundTrace extends SegyTraceHead {
  /** Byte of the first sample. */
  dataAt: number;
}

const PIECE_BYTES = 8 << 20;
/** Traces longer than this are skipped over rather than read through for their heads. */
const SKIP_BYTES = 1 << 18;
/** A gap that is searched for the next trace before giving up. */
const SEARCH_BYTES = 64 << 20;

/** Of bytes between traces only so many are told by their place. */
const GAPS_TOLD = 3;

/** A number of samples that the file states falsely, known by the bytes that state it, and what it is. */
interface Measured {
  readonly signature: Uint8Array;
  readonly samples: number;
}

/** A piece of a file at hand, moved forward as it is asked for. */
class Window {
  view: DataView = new DataView(new ArrayBuffer(0));
  bytes: Uint8Array = new Uint8Array(0);
  start = 0;

  constructor(private readonly source: ByteSource, private readonly signal: AbortSignal | undefined) {}

  /** Makes [at, at + length) available as far as the file goes; gives the offset of `at` in the view. */
  async hold(at: number, length: number, ahead: number): Promise<number> {
    const end = Math.min(at + length, this.source.byteLength);
    if (at < this.start || end > this.start + this.bytes.length) {
      const want = Math.max(length, Math.min(ahead, this.source.byteLength - at));
      this.bytes = await this.source.read(at, at + want, this.signal);
      this.view = new DataView(this.bytes.buffer, this.bytes.byteOffset, this.bytes.byteLength);
      this.start = at;
    }
    return at - this.start;
  }
}

/**
 * Finds every trace of the file and hands its head on, in the order of the file.
 *
 * Where a trace's length does not lead to another trace, the file's own length is tried, then the bytes are searched for the next trace
 * header; what lies between is counted as lost. A last trace that the file cuts short keeps the samples that are there.
 *
 * @throws FormatError `no-samples` where no length is stated at all, `no-records` where there is not one trace
 */
export async function findTraces(source: ByteSource, file: SegyFileHead, fields: SegyFields, tally: SonarTally, onTrace: (trace: FoundTrace) => void, context: WorkContext): Promise<number> {
  const sampleBytes = FORMATS[file.format]!.bytes;
  const window = new Window(source, context.signal);
  const headBytes = TRACE_HEAD_BYTES * (1 + file.extraTraceHeaders);
  let at = file.firstTraceAt;
  let [found, ahead] = [0, PIECE_BYTES];
  let signature: Uint8Array | null = null;
  let measured: Measured | null = null;
  let [told, gaps] = [0, 0];
  while (at + TRACE_HEAD_BYTES <= source.byteLength) {
    if (at - told > PIECE_BYTES) {
      told = at;
      throwIfCancelled(context.signal);
      context.progress?.('reading', at / source.byteLength, source.name);
    }
    let offset = await window.hold(at, headBytes, ahead);
    if (offset + headBytes > window.bytes.length) break;
    const trace = readSegyTraceHead(window.view, offset, file, fields) as FoundTrace;
    trace.dataAt = at + trace.bytes;
    if (found === 0 && signature === null) {
      measured = await measureTrace(source, window, trace, window.bytes.slice(offset + TRACE.samples - 1, offset + TRACE.samples + 3), file, sampleBytes);
      offset = await window.hold(at, headBytes, ahead);
    }
    if (measured !== null && sameBytes(window.bytes, offset, measured.signature)) {
      tally.reject('false-length', `traces that claim ${trace.samples} samples each, though the next begins after ${measured.samples}: those are taken`, found + 1);
      trace.samples = measured.samples;
    }
    let next = trace.dataAt + trace.samples * sampleBytes;
    let sound = trace.samples > 0 && trace.samples <= SAMPLES_MAX && !isBlank(window.bytes, offset, trace.bytes);
    if (sound && next > source.byteLength) {
      // The last trace, cut short; or a length that is wrong.
      const left = Math.floor((source.byteLength - trace.dataAt) / sampleBytes);
      if (trace.samples !== file.samples && file.samples > 0 && signature !== null && !sameBytes(window.bytes, offset, signature)) sound = false;
      else {
        tally.reject('cut-short', 'the file ends within a trace: expected all its samples; those that are there are kept', found + 1);
        trace.samples = Math.max(0, left);
        next = source.byteLength;
      }
    } else if (sound && next + TRACE_HEAD_BYTES <= source.byteLength && signature !== null && !sameBytes(window.bytes, offset, signature)) {
      // The length is another than before: does it lead to a trace?
      const after = await peek(source, window, next, context.signal);
      if (!looksLikeTraceHead(after, 0, file)) {
        const usual = file.samples > 0 ? file.samples : trace.samples;
        const elsewhere = trace.dataAt + usual * sampleBytes;
        const other = usual !== trace.samples && elsewhere + TRACE_HEAD_BYTES <= source.byteLength ? await peek(source, window, elsewhere, context.signal) : null;
        if (other !== null && looksLikeTraceHead(other, 0, file)) {
          tally.reject('wrong-length', 'a trace states a number of samples that leads to no other trace; the file\'s own number is taken', found + 1);
          trace.samples = usual;
          next = elsewhere;
        } else sound = false;
      }
    }
    if (!sound) {
      const resumed = signature === null ? -1 : await search(source, window, at + 1, signature, file);
      if (found === 0) {
        if (trace.samples === 0) throw new FormatError('no-samples', source.name, `${source.name}: neither the file nor its first trace says how many samples a trace has; the file cannot be read as SEG-Y`);
        throw new FormatError('no-records', source.name, `${source.name}: the headers are those of a SEG-Y file, but no trace follows them (the first claims ${trace.samples} samples); copy it again from the sonar`, { byteOffset: at });
      }
      const lost = (resumed < 0 ? source.byteLength : resumed) - at;
      tally.reject('lost-bytes', 'bytes between two traces that make no trace; reading goes on at the next', found + 1);
      if (gaps++ < GAPS_TOLD || resumed < 0) tally.note(`${lost} bytes from byte ${at} on are no trace${resumed < 0 ? ' up to the end of the file' : ''}`);
      if (resumed < 0) return found;
      at = resumed;
      continue;
    }
    signature ??= window.bytes.slice(offset + TRACE.samples - 1, offset + TRACE.samples + 3);
    if (found > 0 && !sameBytes(window.bytes, offset, signature)) signature = window.bytes.slice(offset + TRACE.samples - 1, offset + TRACE.samples + 3);
    onTrace(trace);
    found++;
    // Very long traces: only their heads are fetched.
    ahead = next - at > SKIP_BYTES ? headBytes : PIECE_BYTES;
    at = next;
  }
  if (found === 0) throw new FormatError('no-records', source.name, `${source.name}: the headers are those of a SEG-Y file, but no whole trace follows them; copy it again from the sonar`, { byteOffset: at });
  if (at < source.byteLength) tally.reject('cut-short', 'the file ends within a trace: expected all its samples; those that are there are kept', found + 1);
  return found;
}

/**
 * How long the first trace truly is, where the length it states leads to no other: as far as the next header with the same samples and
 * interval, if from there the same length leads to one more, or to the end of the file. Null where the length stated is right, or there is no telling.
 */
async function measureTrace(source: ByteSource, window: Window, trace: FoundTrace, signature: Uint8Array, file: SegyFileHead, sampleBytes: number): Promise<Measured | null> {
  const leads = async (at: number): Promise<boolean> => at === source.byteLength || (at + TRACE_HEAD_BYTES <= source.byteLength && looksLikeTraceHead(await peek(source, window, at, undefined), 0, file));
  const stated = trace.dataAt + trace.samples * sampleBytes;
  if (trace.samples > 0 && trace.samples <= SAMPLES_MAX && (await leads(stated))) return null;
  const next = await search(source, window, trace.dataAt, signature, file);
  const samples = (next - trace.dataAt) / sampleBytes;
  if (next < 0 || !Number.isInteger(samples) || samples < 1 || samples > SAMPLES_MAX || samples === trace.samples) return null;
  return (await leads(next + trace.bytes + samples * sampleBytes)) ? { signature, samples } : null;
}

function isBlank(bytes: Uint8Array, at: number, length: number): boolean {
  for (let i = at; i < at + length && i < bytes.length; i++) if (bytes[i] !== 0) return false;
  return true;
}

function sameBytes(bytes: Uint8Array, offset: number, signature: Uint8Array): boolean {
  for (let i = 0; i < signature.length; i++) if (bytes[offset + TRACE.samples - 1 + i] !== signature[i]) return false;
  return true;
}

/** A trace header's bytes at `at`: from the window where it holds them, else read. */
async function peek(source: ByteSource, window: Window, at: number, signal: AbortSignal | undefined): Promise<DataView> {
  const offset = at - window.start;
  if (offset >= 0 && offset + TRACE_HEAD_BYTES <= window.bytes.length) return new DataView(window.bytes.buffer, window.bytes.byteOffset + offset, TRACE_HEAD_BYTES);
  const bytes = await source.read(at, at + TRACE_HEAD_BYTES, signal);
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}

/** Where the next header with the samples and interval of those before stands; -1 where there is none within reach. */
async function search(source: ByteSource, window: Window, from: number, signature: Uint8Array, file: SegyFileHead): Promise<number> {
  if (signature.every((byte) => byte === 0)) return -1;
  const first = TRACE.samples - 1;
  const end = Math.min(source.byteLength, from + SEARCH_BYTES);
  for (let at = from; at + TRACE_HEAD_BYTES <= end; ) {
    const offset = await window.hold(at, Math.min(PIECE_BYTES, end - at), PIECE_BYTES);
    const { bytes, view } = window;
    const last = bytes.length - TRACE_HEAD_BYTES;
    for (let i = offset; i <= last; i++) {
      if (bytes[i + first] !== signature[0] || bytes[i + first + 1] !== signature[1] || bytes[i + first + 2] !== signature[2] || bytes[i + first + 3] !== signature[3]) continue;
      if (looksLikeTraceHead(view, i, file)) return window.start + i;
    }
    const reached = window.start + last + 1;
    if (reached <= at) return -1;
    at = reached;
  }
  return -1;
}
