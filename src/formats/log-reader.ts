import type { ByteSource } from '../base/byte-source.js';
import { FormatError } from '../base/errors.js';
import type { LogObservations, LogSummary } from '../base/observations.js';
import type { WorkContext } from '../base/progress.js';
import { throwIfCancelled } from '../base/progress.js';
import { checkCsvMapping, checkDepthPair } from './csv/csv-checks.js';
import { CsvLog } from './csv/csv-log.js';
import type { CsvMapping } from './csv/csv-mapping.js';
import { guessCsvMapping } from './csv/csv-mapping.js';
import { firstText, sampleRows } from './csv/csv-sample.js';
import { GpxTrackLog } from './gpx-track.js';
import type { ObservationChunk } from './log-columns.js';
import { ObservationRows } from './log-columns.js';
import type { LogKind } from './log-kind.js';
import { holdsSentence, knownFileKind, logKindOf, refuseUtf16 } from './log-kind.js';
import { LogTally } from './log-tally.js';
import { NmeaLog } from './nmea/nmea-log.js';

export type { ObservationChunk } from './log-columns.js';

const PIECE_BYTES = 1 << 20;
const HEAD_BYTES = 4 << 20;
const CHUNK_ROWS = 32_768;
/** A long file whose beginning is no log is looked into at this many places, this many bytes each. */
const PROBES = 128;
const PROBE_BYTES = 1 << 16;
/** Files up to this size are read whole before they are refused. */
const WHOLE_BYTES = 64 << 20;

/** How to read a log. */
export interface LogOptions {
  /** UTC date `YYYY-MM-DD` of the first record, for logs that have times without a date. Null: 1970-01-01, with a note. */
  readonly noDate?: string | null;
  /** How to read it if it is a CSV file. Null: guessed. */
  readonly csvMapping?: CsvMapping | null;
  /** Rows in a chunk, about; 32 768 unless given. */
  readonly chunkRows?: number;
  readonly context?: WorkContext;
}

/** Whoever reads a kind of log piece by piece. */
interface LogTaker {
  readonly ready: ObservationChunk[];
  feed(piece: Uint8Array): void;
  finish(): void;
}

/**
 * Reads a log of any size in pieces of 1 MiB and hands on its observations in the order of the log: NMEA 0183, CSV or GPX track,
 * told apart by their content.
 *
 * What cannot be used is counted by reason with the first lines; nothing stops the reading of the rest. Memory does not grow with
 * the log. Times are dated as EpochTimeline says; a log without any date begins on `noDate`, or on 1970-01-01 with a note.
 * Times go up within a log, except where a note says that the clock was set back.
 *
 * @param options.onChunk receives the rows; reading waits for it
 * @returns counts, rejects, notes, span, box and depth range
 * @throws FormatError where nothing in the file can be read as a log (`empty`, `utf-16`, `zeros`, `not-a-log`, `no-records`), or a
 *   CSV mapping does not fit (`missing-column`, `wrong-unit`, `swapped-lat-lon`, `implausible-track`, `bad-mapping`)
 * @throws RangeError where noDate is not a date
 * @throws CancelledError when the signal is aborted
 */
export async function readLog(
  source: ByteSource,
  options: LogOptions & { readonly onChunk: (chunk: ObservationChunk) => Promise<void> | void },
): Promise<LogSummary> {
  const noDate = options.noDate ?? null;
  if (noDate !== null && !isDate(noDate)) throw new RangeError(`noDate: expected YYYY-MM-DD, got ${noDate}`);
  const { context } = options;
  const tally = new LogTally();
  const head = await source.read(0, Math.min(HEAD_BYTES, source.byteLength), context?.signal);
  const kind = await findKind(source, head, context);
  const log = openLog(kind, source.name, head, tally, { ...options, noDate });
  const hand = async (): Promise<void> => {
    for (const chunk of log.ready.splice(0)) {
      tally.addRows(chunk);
      await options.onChunk(chunk);
    }
  };
  for (let at = 0; at < source.byteLength; at += PIECE_BYTES) {
    throwIfCancelled(context?.signal);
    const end = Math.min(at + PIECE_BYTES, source.byteLength);
    log.feed(end <= head.length ? head.subarray(at, end) : await source.read(at, end, context?.signal));
    context?.progress?.('reading', end / source.byteLength, source.name);
    await hand();
  }
  log.finish();
  await hand();
  const summary = tally.summary(kind);
  if (Object.keys(summary.counts).length === 0) throw notALog(source, head);
  return summary;
}

/** Reads a whole log into memory: for logs that fit, and for tests. */
export async function collectObservations(
  source: ByteSource,
  options: LogOptions = {},
): Promise<{ readonly observations: LogObservations; readonly summary: LogSummary }> {
  const rows = new ObservationRows();
  const summary = await readLog(source, { ...options, onChunk: (chunk) => rows.append(chunk) });
  return { observations: rows.takeObservations(), summary };
}

function openLog(kind: LogKind, name: string, head: Uint8Array, tally: LogTally, options: LogOptions & { readonly noDate: string | null }): LogTaker {
  const chunkRows = options.chunkRows ?? CHUNK_ROWS;
  if (kind === 'gpx') return new GpxTrackLog(tally, chunkRows);
  if (kind === 'nmea') return new NmeaLog(tally, { noDate: options.noDate, chunkRows });
  const sample = sampleRows(head);
  const mapping = options.csvMapping ?? guessCsvMapping(head);
  if (mapping === null) throw new FormatError('not-a-log', name, `${name}: expected rows of columns with numbers in them (CSV), found none`);
  checkCsvMapping(name, mapping, head.subarray(0, PROBE_BYTES), true);
  if (sample !== null) checkDepthPair(name, mapping, sample.rows);
  return new CsvLog(tally, { mapping, noDate: options.noDate, chunkRows });
}

async function findKind(source: ByteSource, head: Uint8Array, context: WorkContext | undefined): Promise<LogKind> {
  const { name } = source;
  if (source.byteLength === 0) throw new FormatError('empty', name, `${name}: the file is empty: expected a log`);
  refuseUtf16(name, head);
  const kind = logKindOf(head);
  if (kind !== null) return kind;
  if (knownFileKind(head) !== null) throw notALog(source, head);
  if (source.byteLength <= head.length) throw notALog(source, head);
  // The beginning says nothing: sentences may still follow (power was lost, space was set aside). Small files are read whole,
  // long ones looked into at many places.
  if (source.byteLength <= WHOLE_BYTES) return 'nmea';
  let zeros = head.every((b) => b === 0);
  for (let k = 1; k <= PROBES; k++) {
    throwIfCancelled(context?.signal);
    const at = Math.floor(((source.byteLength - PROBE_BYTES) * k) / PROBES);
    const probe = await source.read(at, at + PROBE_BYTES, context?.signal);
    if (zeros && probe.some((b) => b !== 0)) zeros = false;
    if (holdsSentence(probe)) return 'nmea';
  }
  if (zeros) throw new FormatError('zeros', name, `${name}: nothing but zero bytes at its beginning and at ${PROBES} places in it: it holds no log; copy it again from the logger`);
  throw notALog(source, head);
}

function notALog(source: ByteSource, head: Uint8Array): FormatError {
  const { name } = source;
  const known = knownFileKind(head);
  if (known !== null) return new FormatError('not-a-log', name, `${name}: this is ${known}; expected a log: NMEA 0183, CSV or GPX track`);
  if (head.every((b) => b === 0)) return new FormatError('zeros', name, `${name}: nothing but zero bytes: it holds no log; copy it again from the logger`);
  const text = firstText(head);
  return new FormatError(
    'not-a-log', name,
    `${name}: no record found in it that can be read; expected a log: NMEA 0183 sentences, a CSV file with a time column, a GPX track, or side-scan records as SEG-Y or SONAR-netCDF4${text === '' ? '; records of another form are read by a layout that you write: sonar.layouts in docs/formats.md' : `; it begins with "${text}"`}`,
    { found: text },
  );
}

function isDate(text: string): boolean {
  const match = /^(\d{4})-(\d{2})-(\d{2})$/.exec(text);
  if (!match) return false;
  const date = new Date(Date.UTC(Number(match[1]), Number(match[2]) - 1, Number(match[3])));
  return date.toISOString().slice(0, 10) === text;
}
