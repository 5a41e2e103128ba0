import type { ByteSource } from '../base/byte-source.js';
import { FormatError } from '../base/errors.js';
import type { LogObservations, LogSummary } from '../base/observations.js';
import type { WorkContext } from '../base/progress.js';
import { throwIfCancelled } from '../base/progress.js';
import type { ObservationChunk } from './log-columns.js';
import { ObservationRows } from './log-columns.js';
import { LogTally } from './log-tally.js';
import { NmeaLog } from './nmea/nmea-log.js';

export type { ObservationChunk } from './log-columns.js';

const PIECE_BYTES = 1 << 20;
const CHUNK_ROWS = 32_768;

/** How to read a log. */
export interface LogOptions {
  /** UTC date `YYYY-MM-DD` of the first record, for logs that have times without a date. Null: 1970-01-01, with a note. */
  readonly noDate?: string | null;
  /** Rows in a chunk, about. */
  readonly chunkRows?: number;
  readonly context?: WorkContext;
}

/**
 * Reads a log of any size in pieces and hands on its observations in the order of the log.
 */
export async function readLog(
  source: ByteSource,
  options: LogOptions & { readonly onChunk: (chunk: ObservationChunk) => Promise<void> | void },
): Promise<LogSummary> {
  const tally = new LogTally();
  const log = new NmeaLog(tally, { noDate: options.noDate ?? null, chunkRows: options.chunkRows ?? CHUNK_ROWS });
  const hand = async (): Promise<void> => {
    for (const chunk of log.ready.splice(0)) {
      tally.addRows(chunk);
      await options.onChunk(chunk);
    }
  };
  for (let at = 0; at < source.byteLength; at += PIECE_BYTES) {
    throwIfCancelled(options.context?.signal);
    log.feed(await source.read(at, Math.min(at + PIECE_BYTES, source.byteLength), options.context?.signal));
    options.context?.progress?.('reading', at / source.byteLength, source.name);
    await hand();
  }
  log.finish();
  await hand();
  const summary = tally.summary('nmea');
  if (Object.keys(summary.counts).length === 0) {
    throw new FormatError('no-records', source.name, `${source.name}: no NMEA 0183 sentence found in it; it is not a log this program can read`);
  }
  return summary;
}

/** Reads a whole log into memory: for logs that fit, and for tests. */
export async function collectObservations(source: ByteSource, options: LogOptions = {}): Promise<{ observations: LogObservations; summary: LogSummary }> {
  const rows = new ObservationRows();
  const summary = await readLog(source, { ...options, onChunk: (chunk) => rows.append(chunk) });
  return { observations: rows.takeObservations(), summary };
}
