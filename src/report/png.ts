import { zlibSync } from 'fflate';

/**
 * A PNG of up to 16 colours, 4 bits a pixel, no transparency.
 *
 * Source: W3C PNG (Third Edition), sections 5 and 11; palette images gain nothing from filters (section 12.7).
 *
 * @param pixels palette index of each pixel, row-major, row 0 at the top; shape [width * height]
 * @param palette colours as `#rrggbb`
 * @throws RangeError where the sizes do not fit
 */
export function palettePng(pixels: Uint8Array, width: number, height: number, palette: readonly string[]): Uint8Array {
  if (!(width > 0 && height > 0) || pixels.length !== width * height) throw new RangeError(`pixels ${pixels.length}: expected ${width} x ${height}`);
  if (palette.length < 1 || palette.length > 16) throw new RangeError(`palette of ${palette.length}: expected 1 to 16 colours`);
  const stride = 1 + ((width + 1) >> 1);
  const rows = new Uint8Array(stride * height);
  for (let y = 0; y < height; y++) {
    let out = y * stride + 1;
    const end = (y + 1) * width;
    for (let at = y * width; at < end; at += 2) rows[out++] = ((pixels[at] ?? 0) << 4) | (at + 1 < end ? (pixels[at + 1] ?? 0) : 0);
  }
  const colours = Uint8Array.from(palette.flatMap((colour) => [1, 3, 5].map((at) => Number.parseInt(colour.slice(at, at + 2), 16))));
  return pngFile([header(width, height, 4, 3), chunk('PLTE', colours), chunk('IDAT', zlibSync(rows, { level: 6 }))]);
}

/**
 * A PNG of red, green, blue and opacity, 8 bits each, every row filtered by the one above it, which suits pictures of ground.
 *
 * Source: W3C PNG (Third Edition), sections 5, 9.2 (filter 2, Up) and 11.
 *
 * @param pixels shape [width * height * 4], row-major, row 0 at the top
 * @param texts what the picture says of itself, by keyword (tEXt, Latin-1)
 * @throws RangeError where the sizes do not fit
 */
export function trueColourPng(pixels: Uint8Array, width: number, height: number, texts: Readonly<Record<string, string>> = {}): Uint8Array {
  if (!(width > 0 && height > 0) || pixels.length !== width * height * 4) throw new RangeError(`pixels ${pixels.length}: expected ${width} x ${height} x 4`);
  const stride = width * 4;
  const rows = new Uint8Array((stride + 1) * height);
  for (let y = 0; y < height; y++) {
    const out = y * (stride + 1) + 1;
    rows[out - 1] = 2;
    for (let at = 0; at < stride; at++) rows[out + at] = (pixels[y * stride + at] as number) - (y > 0 ? (pixels[(y - 1) * stride + at] as number) : 0);
  }
  const said = Object.entries(texts).map(([key, value]) => chunk('tEXt', Uint8Array.from(`${key}\0${value}`, (letter) => (letter.charCodeAt(0) < 256 ? letter.charCodeAt(0) : 63))));
  return pngFile([header(width, height, 8, 6), ...said, chunk('IDAT', zlibSync(rows, { level: 6 }))]);
}

function header(width: number, height: number, bits: number, colourType: number): Uint8Array {
  const data = new Uint8Array(13);
  const view = new DataView(data.buffer);
  view.setUint32(0, width);
  view.setUint32(4, height);
  data.set([bits, colourType, 0, 0, 0], 8);
  return chunk('IHDR', data);
}

function pngFile(parts: readonly Uint8Array[]): Uint8Array {
  const chunks = [...parts, chunk('IEND', new Uint8Array(0))];
  const out = new Uint8Array(chunks.reduce((sum, part) => sum + part.length, 8));
  out.set([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
  let at = 8;
  for (const part of chunks) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}

function chunk(type: string, data: Uint8Array): Uint8Array {
  const out = new Uint8Array(12 + data.length);
  const view = new DataView(out.buffer);
  view.setUint32(0, data.length);
  [...type].forEach((character, i) => view.setUint8(4 + i, character.charCodeAt(0)));
  out.set(data, 8);
  view.setUint32(8 + data.length, crc32(out.subarray(4, 8 + data.length)));
  return out;
}

let crcTable: Uint32Array | null = null;

/** CRC-32 of PNG, annex D. */
function crc32(bytes: Uint8Array): number {
  if (crcTable === null) {
    crcTable = new Uint32Array(256);
    for (let n = 0; n < 256; n++) {
      let c = n;
      for (let k = 0; k < 8; k++) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
      crcTable[n] = c >>> 0;
    }
  }
  let crc = 0xffffffff;
  for (let i = 0; i < bytes.length; i++) crc = (crcTable[(crc ^ (bytes[i] ?? 0)) & 255] ?? 0) ^ (crc >>> 8);
  return (crc ^ 0xffffffff) >>> 0;
}
