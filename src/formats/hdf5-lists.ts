import type { ByteSource } from '../base/byte-source.js';
import { throwIfCancelled, type WorkContext } from '../base/progress.js';
import { findChunks, unpackChunk, type FoundChunk } from './hdf5-chunks.js';
import { addressAt, readChunkedObject } from './hdf5-object.js';

/** Where the lists of a dataset of lists stand in the file, element by element, row-major. A list that was never written has length 0. */
export interface ListPlaces {
  /** Numbers in each list. */
  readonly length: Uint32Array;
  /** Address of the collection that holds it. */
  readonly heapAt: Float64Array;
  /** Its number in the collection. */
  readonly heapIndex: Uint32Array;
}

/** A list as the file holds it: its length (4 bytes), its collection's address (8) and its number there (4). */
const ENTRY_BYTES = 16;
const CHUNK_MAX = 64 << 20;
/** Chunks nearer than this to one another are read together. */
const NEAR_BYTES = 8192;
const READ_MAX = 8 << 20;
const AT_ONCE = 16;
const HEAP_HEAD = 16;

/**
 * Finds where every list of a dataset stands without reading one of them: a library that opens lists reads them whole to tell their
 * lengths, an hour of pings twice over.
 *
 * @param headerAt address of the dataset's object header
 * @param shape of the dataset, one or two dimensions
 * @returns null where the file is laid out in a way that is left to the library, or damaged
 * Source: HDF5 File Format Specification, III.E (global heap), IV.A.2.d (variable-length types).
 */
export async function findLists(source: ByteSource, headerAt: number, shape: readonly number[], context: WorkContext = {}): Promise<ListPlaces | null> {
  const object = await readChunkedObject(source, headerAt, context.signal);
  if (object === null || object.elementBytes !== ENTRY_BYTES || object.chunkShape.length !== shape.length || shape.length > 2) return null;
  const chunkBytes = object.chunkShape.reduce((product, n) => product * n, ENTRY_BYTES);
  const chunks = chunkBytes > CHUNK_MAX ? null : await findChunks(source, object, context.signal);
  if (chunks === null) return null;
  const [rows, columns = 1] = shape as [number, number?];
  const places: ListPlaces = { length: new Uint32Array(rows * columns), heapAt: new Float64Array(rows * columns), heapIndex: new Uint32Array(rows * columns) };
  const [chunkRows, chunkColumns = 1] = object.chunkShape as [number, number?];
  const take = (chunk: FoundChunk, packed: Uint8Array): boolean => {
    const bytes = packed.length < chunk.bytes ? null : unpackChunk(packed, chunk, object);
    if (bytes === null) return false;
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    const [row0, column0 = 0] = chunk.offset as [number, number?];
    for (let r = 0; r < chunkRows && row0 + r < rows; r++) {
      for (let c = 0; c < chunkColumns && column0 + c < columns; c++) {
        const at = (r * chunkColumns + c) * ENTRY_BYTES;
        const element = (row0 + r) * columns + column0 + c;
        const heapAt = addressAt(view, at + 4);
        // Where a list has no place in the file, it has nothing in it.
        if (!(heapAt > 0)) continue;
        places.length[element] = view.getUint32(at, true);
        places.heapAt[element] = heapAt;
        places.heapIndex[element] = view.getUint32(at + 12, true);
      }
    }
    return true;
  };
  chunks.sort((a, b) => a.at - b.at);
  const spans: FoundChunk[][] = [];
  for (const chunk of chunks) {
    const span = spans.at(-1);
    const [first, last] = [span?.[0], span?.at(-1)];
    if (span !== undefined && chunk.at - (last!.at + last!.bytes) < NEAR_BYTES && chunk.at + chunk.bytes - first!.at < READ_MAX) span.push(chunk);
    else spans.push([chunk]);
  }
  for (let i = 0; i < spans.length; i += AT_ONCE) {
    throwIfCancelled(context.signal);
    context.progress?.('reading', i / spans.length, source.name);
    const sound = await Promise.all(
      spans.slice(i, i + AT_ONCE).map(async (span) => {
        const [first, last] = [span[0] as FoundChunk, span.at(-1) as FoundChunk];
        if (!(first.at > 0) || last.bytes > CHUNK_MAX) return false;
        const bytes = await source.read(first.at, last.at + last.bytes, context.signal);
        return span.every((chunk) => take(chunk, bytes.subarray(chunk.at - first.at, chunk.at - first.at + chunk.bytes)));
      }),
    );
    if (sound.includes(false)) return null;
  }
  return places;
}

/** A list that is wanted. */
export interface WantedList {
  readonly places: ListPlaces;
  /** Its element in `places`. */
  readonly element: number;
  /** Bytes of a number in it. */
  readonly bytesEach: number;
  /** Called with its bytes, which are not to be kept. */
  readonly take: (bytes: Uint8Array) => void;
}

/**
 * Reads lists in the order in which they stand in the file, in pieces of some megabytes. One whose place in the file is damaged is passed over.
 * @returns how many were passed over
 */
export async function readLists(source: ByteSource, wanted: readonly WantedList[], signal?: AbortSignal): Promise<number> {
  const placeOf = ({ places, element }: WantedList): number => places.heapAt[element] as number;
  const order = wanted.filter(({ places, element }) => (places.length[element] as number) > 0).sort((a, b) => placeOf(a) - placeOf(b));
  let piece: { at: number; bytes: Uint8Array } = { at: 0, bytes: new Uint8Array(0) };
  const hold = async (at: number, length: number, until: number): Promise<Uint8Array> => {
    if (at < piece.at || at + length > piece.at + piece.bytes.length) piece = { at, bytes: await source.read(at, Math.max(at + length, Math.min(at + READ_MAX, until)), signal) };
    return piece.bytes.subarray(at - piece.at, at - piece.at + length);
  };
  let lost = 0;
  const until = order.length === 0 ? 0 : placeOf(order.at(-1) as WantedList) + HEAP_HEAD;
  let collection: { at: number; objects: Map<number, Uint8Array> } = { at: -1, objects: new Map() };
  for (const each of order) {
    const { places, element, bytesEach, take } = each;
    const at = placeOf(each);
    if (collection.at !== at) collection = { at, objects: await objectsOf(at) };
    const length = (places.length[element] as number) * bytesEach;
    const object = collection.objects.get(places.heapIndex[element] as number);
    if (object === undefined || object.length < length) lost++;
    else take(object.subarray(0, length));
  }
  return lost;

  /** The objects of a collection by their number; none where there is no collection. */
  async function objectsOf(at: number): Promise<Map<number, Uint8Array>> {
    const objects = new Map<number, Uint8Array>();
    const head = await hold(at, HEAP_HEAD, until);
    if (head.length < HEAP_HEAD) return objects;
    const headView = new DataView(head.buffer, head.byteOffset, HEAP_HEAD);
    const size = addressAt(headView, 8);
    if (headView.getUint32(0, true) !== 0x4c4f_4347 || !(size > HEAP_HEAD) || at + size > source.byteLength || size > CHUNK_MAX) return objects; // GCOL
    const bytes = await hold(at, size, until);
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    for (let place = HEAP_HEAD; place + HEAP_HEAD <= bytes.length; ) {
      const index = view.getUint16(place, true);
      const length = addressAt(view, place + 8);
      // Number 0 is the free space at the end.
      if (index === 0 || !(place + HEAP_HEAD + length <= bytes.length)) break;
      objects.set(index, bytes.subarray(place + HEAP_HEAD, place + HEAP_HEAD + length));
      place += HEAP_HEAD + Math.ceil(length / 8) * 8;
    }
    return objects;
  }
}
