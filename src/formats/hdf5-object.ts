import type { ByteSource } from '../base/byte-source.js';

/**
 * What stands in the header of a dataset of an HDF5 file: where its chunks are and how they are packed.
 *
 * Only as much of the format as files of pings use: 8-byte offsets and lengths, a chunked layout of version 3 with its B-tree of version
 * 1, deflate and shuffle. Anything else is null, and the caller reads by the library.
 *
 * Source: The HDF Group, HDF5 File Format Specification, sections II (superblock), IV.A.1 (object headers), IV.A.2 (layout, filters).
 */
export interface ChunkedObject {
  /** Address of the root of the B-tree; -1 where no chunk was ever written. */
  readonly treeAt: number;
  /** Of a chunk, without the size of an element. */
  readonly chunkShape: readonly number[];
  readonly elementBytes: number;
  /** In the order in which they were applied. */
  readonly filters: readonly { readonly id: number; readonly values: readonly number[] }[];
}

export const UNDEFINED_ADDRESS = 0xffff_ffff_ffff_ffffn;
const LAYOUT = 8;
const FILTERS = 11;
const CONTINUATION = 16;
const SHARED = 2;
const MESSAGES_MAX = 4096;
const BLOCK_MAX = 1 << 20;

async function viewAt(source: ByteSource, at: number, length: number, signal: AbortSignal | undefined): Promise<DataView | null> {
  if (!(at >= 0) || length > BLOCK_MAX || at + length > source.byteLength) return null;
  const bytes = await source.read(at, at + length, signal);
  return bytes.length < length ? null : new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}

/** An address or a length of 8 bytes as a number; NaN where it cannot be one of a file. */
export function addressAt(view: DataView, at: number): number {
  const value = view.getBigUint64(at, true);
  return value > BigInt(Number.MAX_SAFE_INTEGER) ? NaN : Number(value);
}

/** Whether the file begins as those that can be read here do: superblock of any version, offsets and lengths of 8 bytes, nothing before it. */
async function isPlain(source: ByteSource, signal: AbortSignal | undefined): Promise<boolean> {
  const view = await viewAt(source, 0, 48, signal);
  if (view === null) return false;
  const version = view.getUint8(8);
  const [sizes, base] = version < 2 ? [13, version === 0 ? 24 : 28] : [9, 12];
  return version <= 3 && view.getUint8(sizes) === 8 && view.getUint8(sizes + 1) === 8 && addressAt(view, base) === 0;
}

/**
 * How long the file says it is, by its superblock; NaN where that cannot be told.
 * @param head its first 64 bytes
 */
export function statedHdf5Bytes(head: Uint8Array): number {
  if (head.length < 48) return NaN;
  const view = new DataView(head.buffer, head.byteOffset, head.byteLength);
  const version = view.getUint8(8);
  if (version > 3) return NaN;
  const [sizes, end] = version < 2 ? [13, version === 0 ? 40 : 44] : [9, 28];
  return view.getUint8(sizes) === 8 && end + 8 <= head.length ? addressAt(view, end) : NaN;
}

/** The messages of an object header of either version: type, flags and data. Null where it is damaged. */
async function messagesOf(source: ByteSource, headerAt: number, signal: AbortSignal | undefined): Promise<{ type: number; flags: number; data: DataView }[] | null> {
  const head = await viewAt(source, headerAt, Math.min(64, source.byteLength - headerAt), signal);
  if (head === null || head.byteLength < 64) return null;
  const isNew = head.getUint32(0, true) === 0x5244_484f; // OHDR
  const blocks: { at: number; length: number }[] = [];
  let isOrdered = false;
  if (isNew) {
    const flags = head.getUint8(5);
    isOrdered = (flags & 4) !== 0;
    const sizeAt = 6 + ((flags & 32) !== 0 ? 16 : 0) + ((flags & 16) !== 0 ? 4 : 0);
    const width = 1 << (flags & 3);
    const length = width === 1 ? head.getUint8(sizeAt) : width === 2 ? head.getUint16(sizeAt, true) : width === 4 ? head.getUint32(sizeAt, true) : addressAt(head, sizeAt);
    blocks.push({ at: headerAt + sizeAt + width, length });
  } else if (head.getUint8(0) === 1) blocks.push({ at: headerAt + 16, length: head.getUint32(8, true) });
  else return null;
  const messages: { type: number; flags: number; data: DataView }[] = [];
  const headBytes = isNew ? (isOrdered ? 6 : 4) : 8;
  for (const { at, length } of blocks) {
    const block = await viewAt(source, at, length, signal);
    if (block === null || blocks.length > 64) return null;
    for (let place = 0; place + headBytes <= block.byteLength; ) {
      const type = isNew ? block.getUint8(place) : block.getUint16(place, true);
      const size = block.getUint16(place + (isNew ? 1 : 2), true);
      const flags = block.getUint8(place + (isNew ? 3 : 4));
      place += headBytes;
      // A gap at the end of a block of the new kind.
      if (place + size > block.byteLength) break;
      const data = new DataView(block.buffer, block.byteOffset + place, size);
      if (type === CONTINUATION && size >= 16) {
        const [next, bytes] = [addressAt(data, 0), addressAt(data, 8)];
        blocks.push(isNew ? { at: next + 4, length: bytes - 8 } : { at: next, length: bytes });
      }
      messages.push({ type, flags, data });
      if (messages.length > MESSAGES_MAX) return null;
      place += size;
    }
  }
  return messages;
}

function filtersOf(data: DataView): ChunkedObject['filters'] | null {
  const version = data.getUint8(0);
  const count = data.getUint8(1);
  if (version < 1 || version > 2 || count > 32) return null;
  const filters: { id: number; values: number[] }[] = [];
  let at = version === 1 ? 8 : 2;
  for (let i = 0; i < count; i++) {
    const id = data.getUint16(at, true);
    const hasName = version === 1 || id >= 256;
    const nameBytes = hasName ? data.getUint16(at + 2, true) : 0;
    at += hasName ? 4 : 2;
    const n = data.getUint16(at + 2, true);
    at += 4 + (version === 1 ? (nameBytes + 7) & ~7 : nameBytes);
    filters.push({ id, values: Array.from({ length: n }, (_, k) => data.getUint32(at + 4 * k, true)) });
    at += 4 * n + (version === 1 && n % 2 === 1 ? 4 : 0);
  }
  return filters;
}

/** Reads the header of the dataset at an address; null where it is laid out in another way, or damaged. */
export async function readChunkedObject(source: ByteSource, headerAt: number, signal?: AbortSignal): Promise<ChunkedObject | null> {
  if (!(await isPlain(source, signal))) return null;
  const messages = await messagesOf(source, headerAt, signal);
  if (messages === null) return null;
  try {
    const layout = messages.find(({ type }) => type === LAYOUT);
    const pipeline = messages.find(({ type }) => type === FILTERS);
    if (layout === undefined || (layout.flags & SHARED) !== 0 || (pipeline !== undefined && (pipeline.flags & SHARED) !== 0)) return null;
    const { data } = layout;
    const [version, kind, rank] = [data.getUint8(0), data.getUint8(1), data.getUint8(2)];
    if (version !== 3 || kind !== 2 || rank < 2 || rank > 4) return null;
    const tree = data.getBigUint64(3, true);
    const shape = Array.from({ length: rank }, (_, i) => data.getUint32(11 + 4 * i, true));
    const filters = pipeline === undefined ? [] : filtersOf(pipeline.data);
    if (filters === null || shape.some((n) => n < 1)) return null;
    return { treeAt: tree === UNDEFINED_ADDRESS ? -1 : addressAt(data, 3), chunkShape: shape.slice(0, -1), elementBytes: shape[rank - 1] as number, filters };
  } catch (error) {
    // A message shorter than what it should hold.
    if (error instanceof RangeError) return null;
    throw error;
  }
}
