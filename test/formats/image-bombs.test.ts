import { deflateSync, inflateSync } from 'node:zlib';
import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bytesSource } from '../../src/base/byte-source.js';
import { readGreyImage } from '../../src/formats/image-pixels.js';
import { deflatedSize, lzwSize } from '../../src/formats/unpacked-size.js';

// Images of GDAL 3.6.2 beside it, by test/reference/sonar/layout_reference.py.
const FOLDER = new URL('../reference/sonar/', import.meta.url);
const committed = (name: string): Uint8Array => new Uint8Array(readFileSync(new URL(name, FOLDER)));
const ZEROS = deflateSync(new Uint8Array(64 << 20), { level: 9 });

/** A PNG of grey or other levels, its checksums left at 0: nobody looks at them. */
function png(width: number, height: number, depth: number, colour: number, packed: Uint8Array, extra: readonly (readonly [string, Uint8Array])[] = []): Uint8Array {
  const head = new Uint8Array(13);
  const view = new DataView(head.buffer);
  view.setUint32(0, width);
  view.setUint32(4, height);
  head[8] = depth;
  head[9] = colour;
  const chunks = [['IHDR', head], ...extra, ['IDAT', packed], ['IEND', new Uint8Array(0)]] as const;
  const parts: Uint8Array[] = [Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 13, 10, 26, 10)];
  for (const [type, data] of chunks) {
    const length = new Uint8Array(4);
    new DataView(length.buffer).setUint32(0, data.length);
    parts.push(length, new TextEncoder().encode(type), data, new Uint8Array(4));
  }
  return Uint8Array.from(Buffer.concat(parts));
}

/** A TIFF of one strip of grey levels, little-endian. */
function tiff(width: number, height: number, packing: number, strip: Uint8Array): Uint8Array {
  const tags = [[256, 4, width], [257, 4, height], [258, 3, 8], [259, 3, packing], [262, 3, 1], [273, 4, 0], [277, 3, 1], [278, 4, height], [279, 4, strip.length]] as const;
  const start = 8 + 2 + 12 * tags.length + 4;
  const bytes = new Uint8Array(start + strip.length);
  const view = new DataView(bytes.buffer);
  bytes.set([0x49, 0x49, 42, 0, 8, 0, 0, 0, tags.length, 0]);
  for (const [i, [tag, type, value]] of tags.entries()) {
    const at = 10 + 12 * i;
    view.setUint16(at, tag, true);
    view.setUint16(at + 2, type, true);
    view.setUint32(at + 4, 1, true);
    view.setUint32(at + 8, tag === 273 ? start : value, true);
  }
  bytes.set(strip, start);
  return bytes;
}

/** LZW codes of a long run of one value, as they come when every string is one longer than the last. */
function lzwOfRun(codes: number): Uint8Array {
  const bits: number[] = [];
  let [width, next] = [9, 258];
  const put = (code: number): void => {
    for (let bit = width - 1; bit >= 0; bit--) bits.push((code >> bit) & 1);
  };
  put(256);
  put(7);
  for (let i = 1; i < codes; i++) {
    put(next);
    next++;
    if (next >= (1 << width) - 1 && width < 12) width++;
  }
  put(257);
  const bytes = new Uint8Array(Math.ceil(bits.length / 8));
  for (const [i, bit] of bits.entries()) bytes[i >> 3]! |= bit << (7 - (i & 7));
  return bytes;
}

const read = (bytes: Uint8Array, name = 'strip.png'): ReturnType<typeof readGreyImage> => readGreyImage(bytesSource(name, bytes));

describe('what packed bytes unpack to', () => {
  it('deflatedSize: as zlib unpacks them, and no further than the limit by one piece', () => {
    const bytes = Uint8Array.from({ length: 100_000 }, (_, i) => (i * i) % 251);
    const packed = deflateSync(bytes);
    expect(deflatedSize([packed.subarray(0, 77), packed.subarray(77)], 1e9)).toBe(inflateSync(packed).length);
    const counted = deflatedSize([ZEROS], 1000);
    expect(counted).toBeGreaterThan(1000);
    expect(counted).toBeLessThan(5 << 20);
    expect(deflatedSize([Uint8Array.of(1, 2, 3)], 1000)).toBe(0);
  });

  it('lzwSize: a run of n codes unpacks to 1 + 2 + ... + n bytes', () => {
    for (const codes of [1, 2, 300, 2000, 3800]) expect(lzwSize(lzwOfRun(codes), 1e9), `${codes} codes`).toBe((codes * (codes + 1)) / 2);
    expect(lzwSize(lzwOfRun(3800), 5000)).toBeLessThan(6000);
  });
});

describe('images that claim or hold more than they can be', () => {
  it('a PNG or TIFF of 40 x 9 pixels with 64 MB packed in it: refused before it is unpacked', async () => {
    await expect(read(png(40, 9, 8, 0, ZEROS))).rejects.toThrow('packed in it is more than the 378 bytes that 40 x 9 pixels are');
    await expect(read(tiff(40, 9, 8, ZEROS), 'strip.tif')).rejects.toThrow('packed in it is more than the 360 bytes that 40 x 9 pixels are');
    await expect(read(tiff(40, 9, 5, lzwOfRun(3800)), 'strip.tif')).rejects.toThrow('packed in it is more than the 360 bytes');
  });

  it('a colour profile is not unpacked: the image is read without it', async () => {
    const rows = deflateSync(Uint8Array.from({ length: 9 * 41 }, (_, i) => (i % 41 === 0 ? 0 : (i % 41) - 1)));
    const { grey } = await read(png(40, 9, 8, 0, rows, [['iCCP', Uint8Array.from([65, 0, 0, ...ZEROS])]]));
    expect(Array.from(grey).slice(40, 80)).toEqual(Array.from({ length: 40 }, (_, i) => i));
  });

  it.each([[1e9, 1, 8, 0], [1, 1e9, 8, 0], [16_000, 8000, 16, 6], [0xffff_ffff, 0xffff_ffff, 16, 6]])('%i x %i pixels of %i bits: refused by what they claim', async (width, height, depth, colour) => {
    await expect(read(png(width, height, depth, colour, ZEROS))).rejects.toThrow(/are more than the 268435456 pixels and 256 MB that are read at once; cut the strip/);
  });

  it('a TIFF that claims more than it holds, or is packed in a way of its own: refused', async () => {
    await expect(read(tiff(1e9, 1, 8, ZEROS.subarray(0, 100)), 'a.tif')).rejects.toThrow(/are more than/);
    await expect(read(tiff(16_000, 16_000, 1, ZEROS.subarray(0, 100)), 'a.tif')).rejects.toThrow(/16000 x 16000 pixels in \d+ bytes cannot be/);
    await expect(read(tiff(40, 9, 50_000, ZEROS.subarray(0, 100)), 'a.tif')).rejects.toThrow(/is not read; save it as PNG/);
  });

  it('any bytes of a PNG or TIFF changed, or its end cut off: an image, or a plain word', async () => {
    const files = [committed('strip.png'), committed('strip.tif')];
    await fc.assert(
      fc.asyncProperty(fc.nat({ max: 1 }), fc.array(fc.tuple(fc.nat({ max: 2000 }), fc.nat({ max: 255 })), { maxLength: 8 }), fc.double({ min: 0.02, max: 1, noNaN: true }), async (which, flips, share) => {
        const whole = files[which]!;
        const bytes = whole.slice(0, Math.max(32, Math.ceil(whole.length * share)));
        for (const [at, value] of flips) bytes[at % bytes.length] = value;
        try {
          const { width, height, grey } = await read(bytes);
          expect(grey.length).toBe(width * height);
        } catch (error) {
          expect(['FormatError', 'UnsupportedError']).toContain((error as Error).name);
        }
      }),
      { seed: 6, numRuns: 200 },
    );
  });
});
