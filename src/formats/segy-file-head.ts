import { FormatError, UnsupportedError } from '../base/errors.js';
import { FILE, FILE_HEAD_BYTES, FORMATS, FREE_BYTES_LINE, TEXT_BYTES } from './segy-layout.js';
import { readSegyText } from './segy-text.js';

/** What the head of a SEG-Y file says of the whole. */
export interface SegyFileHead {
  readonly text: readonly string[];
  readonly little: boolean;
  /** 0, 1, 2. */
  readonly revision: number;
  /** One of FORMATS. */
  readonly format: number;
  /** Samples a trace unless the trace says otherwise; 0 where not stated. */
  readonly samples: number;
  /** Time between samples [us]; 0 where not stated. */
  readonly intervalUs: number;
  readonly fixedLength: boolean;
  readonly tracesPerEnsemble: number;
  readonly extraTraceHeaders: number;
  readonly timeBasis: number;
  readonly firstTraceAt: number;
  /** Whether the free bytes of the trace headers hold what our writer puts there. */
  readonly freeBytesOurs: boolean;
  /** What it claims that cannot be, in plain words, and what was taken instead. */
  readonly notes: readonly string[];
}

/** More extensions of a trace header than anybody writes; the standard allows 65 535. */
const EXTRA_HEADERS_MOST = 64;

const ORDER_BIG = 0x0102_0304;
const ORDER_LITTLE = 0x0403_0201;
const ORDER_PAIRWISE = 0x0201_0403;

/** Whether a file that begins so is SEG-Y: a text header and a binary header that make sense in one of the byte orders. */
export function isSegy(head: Uint8Array): boolean {
  if (head.length < FILE_HEAD_BYTES) return false;
  const view = new DataView(head.buffer, head.byteOffset, head.byteLength);
  return sensible(view, false) || sensible(view, true);
}

/** Format, samples and traces of a file are small numbers where the byte order is right, and the rest of the header is mostly empty. */
function sensible(view: DataView, little: boolean): boolean {
  const format = view.getUint16(FILE.format - 1, little);
  if (FORMATS[format] === undefined && format !== 4) return false;
  const interval = view.getUint16(FILE.intervalUs - 1, little);
  const samples = view.getUint16(FILE.samples - 1, little);
  const extended = view.getUint32(FILE.extendedSamples - 1, little);
  const fixed = view.getUint16(FILE.fixedLength - 1, little);
  const traces = view.getUint16(FILE.tracesPerEnsemble - 1, little);
  if (interval === 0 && samples === 0 && extended === 0) return false;
  let empty = 0;
  for (let i = TEXT_BYTES; i < FILE_HEAD_BYTES; i++) if (view.getUint8(i) === 0) empty++;
  return fixed <= 1 && traces <= 4096 && empty >= 200;
}

/**
 * Reads the text and binary headers.
 *
 * The byte order is that of the revision 2 mark; without one, big-endian as revisions 0 and 1 have it, or little-endian where only that
 * makes sense.
 *
 * @param head the first 3600 bytes at least
 * @throws FormatError `not-segy` where neither order makes sense, `truncated` where the file ends within the headers
 * @throws UnsupportedError for pairwise-swapped bytes, or fixed point with gain (withdrawn by the standard)
 */
export function readSegyFileHead(name: string, head: Uint8Array, byteLength: number): SegyFileHead {
  if (head.length < FILE_HEAD_BYTES) {
    throw new FormatError('truncated', name, `${name}: the file ends within its headers: expected at least ${FILE_HEAD_BYTES} bytes, found ${byteLength}; copy it again from the sonar`, { found: String(byteLength) });
  }
  const view = new DataView(head.buffer, head.byteOffset, head.byteLength);
  const mark = view.getUint32(FILE.byteOrder - 1);
  if (mark === ORDER_PAIRWISE) throw new UnsupportedError(`${name}: its bytes are swapped in pairs, which is not read; write it anew in big- or little-endian order`);
  const little = mark === ORDER_LITTLE ? true : mark === ORDER_BIG ? false : !sensible(view, false) && sensible(view, true);
  if (!sensible(view, little)) {
    throw new FormatError('not-segy', name, `${name}: expected the headers of a SEG-Y file (sample format, samples, interval at bytes 3201 to 3600), found none that make sense in either byte order; was it named so by mistake?`);
  }
  const format = view.getUint16(FILE.format - 1, little);
  if (format === 4) throw new UnsupportedError(`${name}: samples in fixed point with gain, which the standard has withdrawn, are not read; write it anew as integers or IEEE floats`);
  const revision = Math.min(2, view.getUint8(FILE.revision - 1) || (little ? view.getUint8(FILE.revision) : 0));
  const extended = revision >= 2 ? view.getUint32(FILE.extendedSamples - 1, little) : 0;
  const extendedInterval = revision >= 2 ? view.getFloat64(FILE.extendedIntervalUs - 1, little) : 0;
  const extraTexts = revision >= 1 ? view.getInt16(FILE.extraTextHeaders - 1, little) : 0;
  const statedFirst = revision >= 2 ? Number(view.getBigUint64(FILE.firstTraceAt - 1, little)) : 0;
  const text = readSegyText(head.subarray(0, TEXT_BYTES));
  const notes: string[] = [];
  const afterTexts = FILE_HEAD_BYTES + TEXT_BYTES * Math.max(0, extraTexts);
  let firstTraceAt = statedFirst >= FILE_HEAD_BYTES && statedFirst <= byteLength ? statedFirst : afterTexts;
  if (statedFirst > byteLength) notes.push(`the file says that its traces begin at byte ${statedFirst}, but ends at ${byteLength}: they are looked for behind its headers`);
  if (firstTraceAt > byteLength) {
    notes.push(`the file claims ${extraTexts} more text headers, which reach beyond its end: its traces are looked for behind the first`);
    firstTraceAt = FILE_HEAD_BYTES;
  }
  let extraTraceHeaders = revision >= 2 ? view.getUint32(FILE.extraTraceHeaders - 1, little) : 0;
  if (extraTraceHeaders > EXTRA_HEADERS_MOST) {
    notes.push(`the file claims ${extraTraceHeaders} extensions of each trace header, which cannot be: none is looked for`);
    extraTraceHeaders = 0;
  }
  return {
    text,
    little,
    revision,
    format,
    samples: extended > 0 ? extended : view.getUint16(FILE.samples - 1, little),
    intervalUs: extendedInterval > 0 && Number.isFinite(extendedInterval) ? extendedInterval : view.getUint16(FILE.intervalUs - 1, little),
    fixedLength: revision >= 1 && view.getUint16(FILE.fixedLength - 1, little) === 1,
    tracesPerEnsemble: view.getUint16(FILE.tracesPerEnsemble - 1, little),
    extraTraceHeaders,
    timeBasis: revision >= 2 ? view.getUint16(FILE.timeBasis - 1, little) : 0,
    firstTraceAt,
    freeBytesOurs: text.some((line) => line.includes(FREE_BYTES_LINE)),
    notes,
  };
}
