import type { ByteSource } from '../base/byte-source.js';
import { FormatError, UnsupportedError } from '../base/errors.js';

/** The longest text file read as an area [bytes]. */
export const AREA_TEXT_LIMIT = 16 * 2 ** 20;

/**
 * The whole of a small text file, decoded.
 *
 * UTF-8, and UTF-16 of either order, by byte order mark or by the zeros beside a first `<` or `{`; else what an XML
 * declaration names, as far as the platform knows it; else UTF-8.
 *
 * @throws FormatError for more than 16 MiB, for bytes the encoding does not allow, for a file that is not text
 * @throws UnsupportedError for a zip archive (KMZ) and for UTF-32
 */
export async function readSmallText(source: ByteSource, signal?: AbortSignal): Promise<string> {
  if (source.byteLength > AREA_TEXT_LIMIT) {
    throw new FormatError('too-long', source.name, `${source.name}: too long for an area: expected at most 16 MiB, found ${(source.byteLength / 2 ** 20).toFixed(1)} MiB; simplify it or take out what is not the area`, {
      expected: 'at most 16 MiB',
      found: `${source.byteLength} bytes`,
    });
  }
  return decodeSmallText(await source.read(0, source.byteLength, signal), source.name);
}

/** Decodes bytes as `readSmallText` does. */
export function decodeSmallText(bytes: Uint8Array, name: string): string {
  if (bytes[0] === 0x50 && bytes[1] === 0x4b && (bytes[2] === 0x03 || bytes[2] === 0x05)) {
    throw new UnsupportedError(`${name}: a zip archive, perhaps KMZ: expected KML, GeoJSON or GPX text; unpack it and give the .kml file inside`);
  }
  const encoding = encodingOf(bytes, name);
  const { label } = encoding;
  let decoder: TextDecoder;
  try {
    decoder = new TextDecoder(label, { fatal: true });
  } catch {
    throw new UnsupportedError(`${name}: text encoding "${label}" is not known here: expected UTF-8 or UTF-16; save the file as UTF-8`);
  }
  let text: string;
  try {
    text = decoder.decode(bytes);
  } catch {
    const byteOffset = firstBadByte(bytes, label);
    throw new FormatError('encoding', name, `${name} byte ${byteOffset}: not text: expected ${label.toUpperCase()}, found bytes it does not allow; save the file as UTF-8`, {
      byteOffset,
      expected: label.toUpperCase(),
    });
  }
  const zero = text.indexOf('\0');
  if (zero >= 0) {
    throw new FormatError('binary', name, `${name} character ${zero}: not text: expected GeoJSON, KML or GPX, found a zero byte; give a text file`, {
      expected: 'text',
      found: 'a zero byte',
    });
  }
  return text;
}

function encodingOf(bytes: Uint8Array, name: string): { readonly label: string } {
  const [a, b, c, d] = [bytes[0], bytes[1], bytes[2], bytes[3]];
  if ((a === 0xff && b === 0xfe && c === 0 && d === 0) || (a === 0 && b === 0 && c === 0xfe && d === 0xff)) {
    throw new UnsupportedError(`${name}: UTF-32 text: expected UTF-8 or UTF-16; save the file as UTF-8`);
  }
  if (a === 0xef && b === 0xbb && c === 0xbf) return { label: 'utf-8' };
  if (a === 0xff && b === 0xfe) return { label: 'utf-16le' };
  if (a === 0xfe && b === 0xff) return { label: 'utf-16be' };
  if ((a === 0x3c || a === 0x7b) && b === 0) return { label: 'utf-16le' };
  if (a === 0 && (b === 0x3c || b === 0x7b)) return { label: 'utf-16be' };
  const head = String.fromCharCode(...bytes.subarray(0, 200));
  const declared = /^<\?xml[^>]*?encoding\s*=\s*["']([A-Za-z][A-Za-z0-9._-]*)["']/.exec(head)?.[1]?.toLowerCase();
  // Bytes that spell the declaration one by one cannot be UTF-16, whatever it says.
  if (declared === undefined || declared.startsWith('utf-16')) return { label: 'utf-8' };
  return { label: declared };
}

/** Offset of the first byte a decoder refuses, by halving. */
function firstBadByte(bytes: Uint8Array, label: string): number {
  let good = 0;
  let bad = bytes.length;
  while (bad - good > 1) {
    const middle = (good + bad) >> 1;
    try {
      new TextDecoder(label, { fatal: true }).decode(bytes.subarray(0, middle), { stream: true });
      good = middle;
    } catch {
      bad = middle;
    }
  }
  return good;
}
