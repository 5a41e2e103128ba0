import { decode } from 'fast-png';
import { fromArrayBuffer } from 'geotiff';
import type { ByteSource } from '../base/byte-source.js';
import { FormatError, isExpectedError, UnsupportedError } from '../base/errors.js';
import { isImage, isPng } from './file-magic.js';
import { deflatedSize, lzwSize } from './unpacked-size.js';

/** An image as grey levels. */
export interface GreyImage {
  readonly width: number;
  readonly height: number;
  /** Shape [height * width], row 0 on top. */
  readonly grey: ArrayLike<number>;
}

/** Pixels of an image that is read whole, and the bytes of them as the file holds them unpacked. */
const PIXELS_MAX = 1 << 28;
const UNPACKED_MAX = 1 << 28;
/** Unpacked rows may be so much longer than the pixels: a byte a row tells how it is packed, and interlacing has more rows. */
const SLACK_BYTES = 1 << 16;
const PNG_CHANNELS: Readonly<Record<number, number>> = { 0: 1, 2: 3, 3: 1, 4: 2, 6: 4 };
const [TIFF_PLAIN, TIFF_LZW, TIFF_DEFLATE, TIFF_DEFLATE_OLD, TIFF_PACKBITS] = [1, 5, 8, 32_946, 32_773];
/** PackBits makes 128 bytes of 2 at most. */
const PACKBITS_MOST = 64;

/**
 * Reads a PNG or TIFF image whole; of colours, the brightness (0.299 R + 0.587 G + 0.114 B, ITU-R BT.601).
 *
 * What an image unpacks to is counted before it is unpacked: some kilobytes can be packed to claim, or to be, gigabytes.
 *
 * @throws FormatError `bad-image` where it is damaged or holds more than its size says, UnsupportedError where it is too large
 */
export async function readGreyImage(source: ByteSource, signal?: AbortSignal): Promise<GreyImage> {
  const { name } = source;
  const head = await source.read(0, 32, signal);
  if (!isImage(head)) throw new FormatError('not-an-image', name, `${name}: expected a PNG or TIFF image, found something else`);
  try {
    return isPng(head) ? await readPng(source, head, signal) : await readTiff(source, signal);
  } catch (error) {
    if (isExpectedError(error)) throw error;
    throw new FormatError('bad-image', name, `${name}: not a sound image (${(error instanceof Error ? error.message : String(error)).split('\n')[0]!.slice(0, 120)}); export it again`);
  }
}

/** @throws UnsupportedError where the image is larger than is read */
function refuseLarge(name: string, width: number, height: number, bitsEach: number): number {
  const bytes = Math.ceil((width * bitsEach) / 8) * height;
  if (width * height > PIXELS_MAX || bytes > UNPACKED_MAX) {
    throw new UnsupportedError(`${name}: ${width} x ${height} pixels of ${bitsEach} bits are more than the ${PIXELS_MAX} pixels and ${UNPACKED_MAX >> 20} MB that are read at once; cut the strip into shorter ones, each with its CSV`);
  }
  return bytes;
}

function refuseBomb(name: string, width: number, height: number, limit: number, size: number): void {
  if (size > limit) throw new FormatError('bad-image', name, `${name}: packed in it is more than the ${limit - SLACK_BYTES} bytes that ${width} x ${height} pixels are; it is no sound image: export it again`);
}

async function readPng(source: ByteSource, head: Uint8Array, signal: AbortSignal | undefined): Promise<GreyImage> {
  const { name } = source;
  const view = new DataView(head.buffer, head.byteOffset, head.byteLength);
  const [claimedWidth, claimedHeight] = [view.getUint32(16), view.getUint32(20)];
  const bytes = refuseLarge(name, claimedWidth, claimedHeight, view.getUint8(24) * (PNG_CHANNELS[view.getUint8(25)] ?? 4));
  const file = await source.read(0, source.byteLength, signal);
  const limit = bytes + 2 * claimedHeight + SLACK_BYTES;
  refuseBomb(name, claimedWidth, claimedHeight, limit, deflatedSize(pngData(file), limit));
  const { width, height, data, channels, palette } = decode(withoutProfile(file));
  const levels = palette === undefined ? null : palette.map(([r = 0, g = 0, b = 0]) => brightness(r, g, b));
  return { width, height, grey: levels !== null ? Float32Array.from(data, (index) => levels[index] ?? 0) : greyOf(data, channels, width * height) };
}

/** Every chunk of a PNG: its type and where its data are. Stops where one reaches past the end. */
function* pngChunks(file: Uint8Array): Generator<{ type: string; start: number; end: number }> {
  const view = new DataView(file.buffer, file.byteOffset, file.byteLength);
  for (let at = 8; at + 12 <= file.length; ) {
    const end = at + 8 + view.getUint32(at);
    if (end + 4 > file.length) return;
    yield { type: String.fromCharCode(...file.subarray(at + 4, at + 8)), start: at + 8, end };
    at = end + 4;
  }
}

function* pngData(file: Uint8Array): Generator<Uint8Array> {
  for (const { type, start, end } of pngChunks(file)) if (type === 'IDAT') yield file.subarray(start, end);
}

/** The file without its colour profile, which is packed too, may be a bomb, and is of no use here. */
function withoutProfile(file: Uint8Array): Uint8Array {
  for (const { type, start, end } of pngChunks(file)) {
    if (type !== 'iCCP') continue;
    const out = new Uint8Array(file.length - (end - start) - 12);
    out.set(file.subarray(0, start - 8));
    out.set(file.subarray(end + 4), start - 8);
    return out;
  }
  return file;
}

async function readTiff(source: ByteSource, signal: AbortSignal | undefined): Promise<GreyImage> {
  const { name } = source;
  const bytes = await source.read(0, source.byteLength, signal);
  const image = await (await fromArrayBuffer(bytes.slice().buffer as ArrayBuffer)).getImage(0);
  const [width, height] = [image.getWidth(), image.getHeight()];
  const bitsEach = image.getBytesPerPixel() * 8;
  refuseLarge(name, width, height, bitsEach);
  const { fileDirectory } = image;
  const value = async (tag: 'Compression' | 'TileOffsets' | 'TileByteCounts' | 'StripOffsets' | 'StripByteCounts'): Promise<number[]> => {
    if (!fileDirectory.hasTag(tag)) return [];
    const found: unknown = await fileDirectory.loadValue(tag);
    return typeof found === 'number' ? [found] : Array.from(found as ArrayLike<number>, Number);
  };
  const packing = (await value('Compression'))[0] ?? TIFF_PLAIN;
  const offsets = [...(await value('TileOffsets')), ...(await value('StripOffsets'))];
  const counts = [...(await value('TileByteCounts')), ...(await value('StripByteCounts'))];
  const limit = Math.ceil((image.getTileWidth() * bitsEach) / 8) * image.getTileHeight() + SLACK_BYTES;
  if (limit > UNPACKED_MAX + SLACK_BYTES) throw new FormatError('bad-image', name, `${name}: a tile of ${image.getTileWidth()} x ${image.getTileHeight()} pixels cannot be; export it again`);
  for (const [i, at] of offsets.entries()) {
    const part = bytes.subarray(at, at + (counts[i] ?? 0));
    const size = packing === TIFF_PLAIN ? 0 : packing === TIFF_DEFLATE || packing === TIFF_DEFLATE_OLD ? deflatedSize([part], limit) : packing === TIFF_LZW ? lzwSize(part, limit) : packing === TIFF_PACKBITS ? part.length * PACKBITS_MOST : NaN;
    if (Number.isNaN(size)) throw new UnsupportedError(`${name}: a TIFF packed in another way (${packing}) than plain, deflated, LZW or PackBits is not read; save it as PNG`);
    if (packing !== TIFF_PACKBITS || size > UNPACKED_MAX) refuseBomb(name, width, height, limit, size);
  }
  if (packing === TIFF_PLAIN && width * height * (bitsEach / 8) > source.byteLength) throw new FormatError('bad-image', name, `${name}: ${width} x ${height} pixels in ${source.byteLength} bytes cannot be; take it from a copy`);
  const bands = (await image.readRasters(signal === undefined ? {} : { signal })) as unknown as ArrayLike<number>[];
  const [r, g, b] = bands;
  return { width, height, grey: bands.length >= 3 ? Float32Array.from(r as ArrayLike<number>, (level, i) => brightness(level, (g as ArrayLike<number>)[i] as number, (b as ArrayLike<number>)[i] as number)) : (r as ArrayLike<number>) };
}

/** Source: ITU-R BT.601. */
function brightness(red: number, green: number, blue: number): number {
  return 0.299 * red + 0.587 * green + 0.114 * blue;
}

function greyOf(data: ArrayLike<number>, channels: number, n: number): ArrayLike<number> {
  if (channels === 1) return data;
  const grey = new Float32Array(n);
  for (let i = 0; i < n; i++) grey[i] = channels === 2 ? (data[2 * i] as number) : brightness(data[channels * i] as number, data[channels * i + 1] as number, data[channels * i + 2] as number);
  return grey;
}
