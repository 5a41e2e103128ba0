import { Unzlib } from 'fflate';

/** Packed bytes handed over at a time: what they unpack to, a thousand times as much at most, is all that is in memory at once. */
const PIECE = 4096;
const LZW_CLEAR = 256;
const LZW_END = 257;
const LZW_BITS_MAX = 12;

/**
 * How many bytes deflated data (zlib) unpack to, without keeping them.
 * @param pieces the data, in pieces that follow one another
 * @returns more than `limit` as soon as it is more, whatever follows
 */
export function deflatedSize(pieces: Iterable<Uint8Array>, limit: number): number {
  let size = 0;
  const inflator = new Unzlib((bytes) => {
    size += bytes.length;
  });
  try {
    for (const piece of pieces) {
      for (let at = 0; at < piece.length && size <= limit; at += PIECE) inflator.push(piece.subarray(at, at + PIECE));
      if (size > limit) break;
    }
  } catch {
    // Damage is told by whoever unpacks them; up to here they are this long.
  }
  return size;
}

/**
 * How many bytes LZW data of a TIFF unpack to, without unpacking them: only the length of each code's string is followed.
 * Source: TIFF 6.0 (Adobe, 1992), section 13.
 */
export function lzwSize(bytes: Uint8Array, limit: number): number {
  const lengths = new Uint32Array(1 << LZW_BITS_MAX).fill(1, 0, LZW_CLEAR);
  let [bits, next, before, size, held, have] = [9, LZW_END + 1, -1, 0, 0, 0];
  for (const byte of bytes) {
    held = ((held << 8) | byte) & 0xff_ffff;
    have += 8;
    if (have < bits) continue;
    have -= bits;
    const code = (held >> have) & ((1 << bits) - 1);
    if (code === LZW_END || size > limit) break;
    if (code === LZW_CLEAR) {
      [bits, next, before] = [9, LZW_END + 1, -1];
      continue;
    }
    const known = code < next ? (lengths[code] as number) : before < 0 ? 0 : (lengths[before] as number) + 1;
    size += known;
    if (before >= 0 && next < lengths.length) lengths[next++] = (lengths[before] as number) + 1;
    if (next >= (1 << bits) - 1 && bits < LZW_BITS_MAX) bits++;
    before = code;
  }
  return size;
}
