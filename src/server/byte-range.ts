/** What a Range header asks of a file: the whole of it, one stretch [start, end), or something that is not there. */
export type ByteRange = { readonly kind: 'whole' } | { readonly kind: 'part'; readonly start: number; readonly end: number } | { readonly kind: 'none' };

const WHOLE: ByteRange = { kind: 'whole' };
const NONE: ByteRange = { kind: 'none' };

/**
 * Reads a Range header against a file's length.
 *
 * Other units than bytes are ignored, as are several ranges at once (a server may send the whole instead); a range
 * that is malformed or starts past the end cannot be satisfied.
 *
 * Source: RFC 9110 section 14.
 */
export function readByteRange(header: string | undefined, length: number): ByteRange {
  if (header === undefined) return WHOLE;
  const unit = /^\s*([!#$%&'*+.^_`|~0-9a-z-]+)\s*=/i.exec(header);
  if (!unit) return NONE;
  if (unit[1]!.toLowerCase() !== 'bytes') return WHOLE;
  const ranges = header.slice(unit[0].length).split(',').map((part) => part.trim()).filter((part) => part !== '');
  if (ranges.length > 1 && ranges.every((range) => /^(\d+-\d*|-\d+)$/.test(range))) return WHOLE;
  const match = ranges.length === 1 ? /^(\d*)-(\d*)$/.exec(ranges[0]!) : null;
  if (!match || (match[1] === '' && match[2] === '')) return NONE;
  if (match[1] === '') {
    const last = Math.min(Number(match[2]), length);
    return last > 0 ? { kind: 'part', start: length - last, end: length } : NONE;
  }
  const start = Number(match[1]);
  const end = match[2] === '' ? length : Math.min(Number(match[2]) + 1, length);
  if (match[2] !== '' && Number(match[2]) < start) return NONE;
  return start < length ? { kind: 'part', start, end } : NONE;
}
