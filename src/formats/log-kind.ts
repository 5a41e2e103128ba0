import { FormatError } from '../base/errors.js';
import { guessCsvMapping } from './csv/csv-mapping.js';
import { LogTally } from './log-tally.js';
import { NmeaLog } from './nmea/nmea-log.js';

/** Kinds of logs of observations that can be read. */
export type LogKind = 'nmea' | 'csv' | 'gpx';

/** Kinds of side-scan logs: SEG-Y, SONAR-netCDF4, records in a layout that the user describes, strips of pictures. */
export const SONAR_KINDS = ['segy', 'sonar-netcdf', 'sonar-layout', 'sonar-image'] as const;
export type SonarKind = (typeof SONAR_KINDS)[number];

/** Whether a log of this kind holds side-scan pings. */
export function isSonarKind(kind: string): kind is SonarKind {
  return (SONAR_KINDS as readonly string[]).includes(kind);
}

/** What files of other kinds begin with, and what to say of them. */
const KNOWN: readonly { readonly bytes: readonly number[]; readonly at?: number; readonly what: string }[] = [
  { bytes: [0xff, 0xd8, 0xff], what: 'a JPEG photo' },
  { bytes: [0x89, 0x50, 0x4e, 0x47], what: 'a PNG image' },
  { bytes: [0x47, 0x49, 0x46, 0x38], what: 'a GIF image' },
  { bytes: [0x49, 0x49, 0x2a, 0x00], what: 'a TIFF image' },
  { bytes: [0x4d, 0x4d, 0x00, 0x2a], what: 'a TIFF image' },
  { bytes: [0x66, 0x74, 0x79, 0x70], at: 4, what: 'a photo or film (ISO media file)' },
  { bytes: [0x52, 0x49, 0x46, 0x46], what: 'a sound, film or image (RIFF file)' },
  { bytes: [0x25, 0x50, 0x44, 0x46], what: 'a PDF document' },
  { bytes: [0x50, 0x4b, 0x03, 0x04], what: 'a zip archive, or a document packed in one: unpack it, or save the sheet as CSV' },
  { bytes: [0x1f, 0x8b], what: 'a gzip archive: unpack it first' },
  { bytes: [0xfd, 0x37, 0x7a, 0x58, 0x5a], what: 'an xz archive: unpack it first' },
  { bytes: [0x42, 0x5a, 0x68], what: 'a bzip2 archive: unpack it first' },
  { bytes: [0x50, 0x41, 0x52, 0x31], what: 'a Parquet file' },
  { bytes: [0x89, 0x48, 0x44, 0x46], what: 'an HDF5 file' },
  { bytes: [0x53, 0x51, 0x4c, 0x69, 0x74, 0x65], what: 'an SQLite database' },
];

/** The name of a well-known kind of file that is no log; null where the bytes begin like none. */
export function knownFileKind(head: Uint8Array): string | null {
  for (const { bytes, at = 0, what } of KNOWN) if (bytes.every((b, i) => head[at + i] === b)) return what;
  return null;
}

/**
 * Refuses UTF-16 text: with a byte order mark, or recognised by every other byte being zero.
 * @throws FormatError code `utf-16`
 */
export function refuseUtf16(name: string, head: Uint8Array): void {
  const marked = head.length >= 2 && ((head[0] === 0xff && head[1] === 0xfe) || (head[0] === 0xfe && head[1] === 0xff));
  if (!marked) {
    const n = Math.min(head.length, 4096) & ~1;
    let zerosEven = 0;
    let zerosOdd = 0;
    let text = 0;
    for (let i = 0; i < n; i++) {
      const c = head[i] as number;
      if (c === 0 && i % 2 === 0) zerosEven++;
      else if (c === 0) zerosOdd++;
      else if ((c >= 32 && c < 127) || c === 10 || c === 13 || c === 9) text++;
    }
    const half = n / 2;
    const alternating = (zerosEven > half * 0.9 && zerosOdd < half * 0.05) || (zerosOdd > half * 0.9 && zerosEven < half * 0.05);
    if (n < 8 || !alternating || text < half * 0.9) return;
  }
  throw new FormatError('utf-16', name, `${name}: the file is UTF-16 text: expected one byte a character; save it as plain text or UTF-8 and take it in again`);
}

/** Whether there is any sentence with a known address in the bytes. */
export function holdsSentence(bytes: Uint8Array): boolean {
  const tally = new LogTally();
  const log = new NmeaLog(tally, { noDate: null, chunkRows: 1 << 30 });
  log.feed(bytes);
  log.finish();
  return log.sentences > 0;
}

/** The kind of a log by its first bytes; null where they do not tell. */
export function logKindOf(head: Uint8Array): LogKind | null {
  if (isGpx(head)) return 'gpx';
  if (holdsSentence(head.subarray(0, 1 << 16))) return 'nmea';
  if (isText(head) && guessCsvMapping(head) !== null) return 'csv';
  return holdsSentence(head) ? 'nmea' : null;
}

function isGpx(head: Uint8Array): boolean {
  let start = head[0] === 0xef && head[1] === 0xbb && head[2] === 0xbf ? 3 : 0;
  while (start < head.length && (head[start] as number) <= 32) start++;
  if (head[start] !== 60) return false;
  let text = '';
  for (let i = start; i < Math.min(head.length, start + 4096); i++) text += String.fromCharCode(head[i] as number);
  return /<([A-Za-z0-9]+:)?gpx[\s>]/.test(text);
}

/** Whether the bytes are nearly all printable. */
function isText(head: Uint8Array): boolean {
  const n = Math.min(head.length, 8192);
  let odd = 0;
  for (let i = 0; i < n; i++) {
    const c = head[i] as number;
    if (c < 32 && c !== 9 && c !== 10 && c !== 13) odd++;
  }
  return odd <= n * 0.01;
}
