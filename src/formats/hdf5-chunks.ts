import { unzlibSync } from 'fflate';
import type { ByteSource } from '../base/byte-source.js';
import { addressAt, type ChunkedObject } from './hdf5-object.js';

/** A chunk of a dataset in the file. */
export interface FoundChunk {
  readonly at: number;
  readonly bytes: number;
  /** Bit i: filter i was left out. */
  readonly mask: number;
  /** Of its first element, by dimension. */
  readonly offset: readonly number[];
}

const CHUNKS_MAX = 8_000_000;
const DEPTH_MAX = 12;
/** Entries of a node are at most as many as 16 bits tell. */
const NODE_HEAD = 24;
const DEFLATE = 1;
const SHUFFLE = 2;

/**
 * Every chunk of a dataset, by its B-tree of version 1; null where the tree is damaged.
 * Source: HDF5 File Format Specification, III.A.1, node type 1.
 */
export async function findChunks(source: ByteSource, { treeAt, chunkShape }: ChunkedObject, signal?: AbortSignal): Promise<FoundChunk[] | null> {
  const rank = chunkShape.length;
  const keyBytes = 8 + 8 * (rank + 1);
  const chunks: FoundChunk[] = [];
  const seen = new Set<number>();
  const visit = async (at: number, depth: number): Promise<boolean> => {
    // A node that is met twice would lead round in a ring.
    if (!(at > 0) || depth > DEPTH_MAX || seen.has(at) || at + NODE_HEAD > source.byteLength) return false;
    seen.add(at);
    const first = await source.read(at, at + 4096, signal);
    const head = new DataView(first.buffer, first.byteOffset, first.byteLength);
    if (head.getUint32(0, true) !== 0x4545_5254 || head.getUint8(4) !== 1) return false; // TREE
    const [level, count] = [head.getUint8(5), head.getUint16(6, true)];
    const length = NODE_HEAD + count * (keyBytes + 8);
    const bytes = length <= first.length ? first : await source.read(at, at + length, signal);
    if (bytes.length < length || chunks.length + count > CHUNKS_MAX) return false;
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    for (let i = 0; i < count; i++) {
      const key = NODE_HEAD + i * (keyBytes + 8);
      const child = addressAt(view, key + keyBytes);
      if (level > 0) {
        if (!(await visit(child, depth + 1))) return false;
        continue;
      }
      const offset = Array.from({ length: rank }, (_, k) => addressAt(view, key + 8 + 8 * k));
      chunks.push({ at: child, bytes: view.getUint32(key, true), mask: view.getUint32(key + 4, true), offset });
    }
    return true;
  };
  if (treeAt < 0) return [];
  return (await visit(treeAt, 0)) ? chunks : null;
}

/** The bytes of a chunk with its filters undone; null where they cannot be, or it is not as long as it should be. */
export function unpackChunk(packed: Uint8Array, { mask }: FoundChunk, { filters, chunkShape, elementBytes }: ChunkedObject): Uint8Array | null {
  const length = chunkShape.reduce((product, n) => product * n, elementBytes);
  let bytes = packed;
  for (let i = filters.length - 1; i >= 0; i--) {
    const { id, values } = filters[i] as (typeof filters)[number];
    if ((mask & (1 << i)) !== 0) continue;
    if (id === DEFLATE) {
      try {
        bytes = unzlibSync(bytes, { out: new Uint8Array(length) });
      } catch {
        return null;
      }
    } else if (id === SHUFFLE) bytes = unshuffle(bytes, values[0] ?? elementBytes);
    else return null;
  }
  return bytes.length < length ? null : bytes;
}

/** All first bytes of the elements, then all second ones, ... back to elements. */
function unshuffle(bytes: Uint8Array, size: number): Uint8Array {
  if (size < 2) return bytes;
  const n = Math.floor(bytes.length / size);
  const out = bytes.slice();
  for (let b = 0; b < size; b++) for (let i = 0; i < n; i++) out[i * size + b] = bytes[b * n + i] as number;
  return out;
}
