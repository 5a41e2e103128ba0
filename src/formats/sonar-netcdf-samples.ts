import type { Dataset } from 'h5wasm';
import type { ByteSource } from '../base/byte-source.js';
import { UnsupportedError } from '../base/errors.js';
import { throwIfCancelled, type WorkContext } from '../base/progress.js';
import { findLists, readLists, type ListPlaces, type WantedList } from './hdf5-lists.js';
import type { FoundBeam } from './sonar-netcdf-beams.js';
import type { OpenHdf5 } from './sonar-netcdf-read.js';
import { SAMPLES_MAX, type SonarTally } from './sonar-summary.js';

/** One side's samples: a dataset of lists by ping and beam, or of numbers by ping, beam and sample. */
export interface SideData {
  readonly beam: FoundBeam;
  readonly pings: number;
  readonly real: Dataset;
  readonly imaginary: Dataset | null;
  readonly lists: boolean;
  readonly decibels: boolean;
}

/** A side of a stretch to be read. */
export interface WantedSide {
  readonly side: SideData;
  /** Row in the file of each ping; -1 where the side has none. */
  readonly rows: Int32Array;
  /** Samples of each ping. */
  readonly samples: Uint32Array;
  readonly out: Float32Array;
}

/** Numbers as the file holds them. */
type Numbers = Int8Array | Uint8Array | Int16Array | Uint16Array | Int32Array | Uint32Array | Float32Array | Float64Array;

const PIECE_PINGS = 512;
/** Numbers that the library is asked for at a time. */
const PIECE_NUMBERS = 1 << 24;

/**
 * Reads the samples of beams: lists from where they stand in the file, where that can be told without the library; else, and rows of
 * numbers, by the library.
 */
export class SonarNetcdfSamples {
  /** Where the lists of a dataset stand, by its path; null: by the library. */
  readonly #places = new Map<string, ListPlaces | null>();

  constructor(
    private readonly source: ByteSource,
    private readonly opened: OpenHdf5,
  ) {}

  /** Samples of each ping of a side; 0, and counted, where their place lies outside the file. Shape [pings] */
  async lengths(side: SideData, tally: SonarTally, context: WorkContext): Promise<Uint32Array> {
    const lengths = new Uint32Array(side.pings);
    if (!side.lists) return lengths.fill((side.real.shape as number[])[2] as number);
    const places = await this.#placesOf(side.real, context);
    if (side.imaginary !== null) await this.#placesOf(side.imaginary, context);
    if (places === null) {
      for (let start = 0; start < side.pings; start += PIECE_PINGS) {
        throwIfCancelled(context.signal);
        context.progress?.('reading', start / side.pings, this.source.name);
        this.#lists(side, side.real, start, Math.min(side.pings, start + PIECE_PINGS), (i, length) => {
          lengths[i] = length;
        });
      }
      return lengths;
    }
    const bytesEach = sizeOf(side.real);
    for (let ping = 0; ping < side.pings; ping++) {
      const element = elementOf(side, side.real, ping);
      const length = places.length[element] as number;
      if (length <= SAMPLES_MAX && (places.heapAt[element] as number) + length * bytesEach > this.source.byteLength) tally.reject('lost-samples', 'a ping whose samples lie outside the file: they are left out', ping + 1);
      else lengths[ping] = length;
    }
    return lengths;
  }

  /** Samples of the pings [start, end), each side into its table of `width` columns; what cannot be read stays NaN. */
  async read(wanted: readonly WantedSide[], start: number, end: number, width: number, signal?: AbortSignal): Promise<void> {
    const lists: WantedList[] = [];
    const imaginary: WantedList[] = [];
    for (const { side, rows, samples, out } of wanted) {
      for (const [dataset, isReal] of [[side.real, true], [side.imaginary, false]] as const) {
        if (dataset === null) continue;
        const put = isReal
          ? (at: number, values: Numbers): void => out.set(values, at)
          : (at: number, values: Numbers): void => {
              for (let k = 0; k < values.length; k++) out[at + k] = Math.hypot(out[at + k] as number, values[k] as number);
            };
        const places = this.#places.get(dataset.path) ?? null;
        if (places === null) {
          // The imaginary part goes with the real one, which is there by then only where the library reads both.
          if (!isReal && (this.#places.get(side.real.path) ?? null) !== null) throw new UnsupportedError(`${this.source.name}: the two parts of ${side.beam.group} are laid out in two ways; write the file anew`);
          this.#byLibrary(side, dataset, rows, samples, start, end, width, put);
          continue;
        }
        const bytesEach = sizeOf(dataset);
        for (let i = start; i < end; i++) {
          const row = rows[i] as number;
          if (row < 0 || samples[i] === 0) continue;
          const most = samples[i] as number;
          const at = (i - start) * width;
          const take =
            isReal && isFloat32(dataset)
              ? (bytes: Uint8Array): void => new Uint8Array(out.buffer, out.byteOffset + 4 * at, 4 * most).set(bytes.subarray(0, 4 * most))
              : (bytes: Uint8Array): void => put(at, numbersIn(bytes, dataset).subarray(0, most));
          (isReal ? lists : imaginary).push({ places, element: elementOf(side, dataset, row), bytesEach, take });
        }
      }
    }
    await readLists(this.source, lists, signal);
    await readLists(this.source, imaginary, signal);
    for (const { side, out } of wanted) {
      // Rows of numbers are as long as the longest ping: what a shorter one lacks is netCDF's fill value. What is no number is no sample.
      for (let i = 0; i < out.length; i++) if (!(Math.abs(out[i] as number) < 9e36)) out[i] = NaN;
      if (side.decibels) for (let i = 0; i < out.length; i++) out[i] = 10 ** ((out[i] as number) / 20);
    }
  }

  async #placesOf(dataset: Dataset, context: WorkContext): Promise<ListPlaces | null> {
    const { path } = dataset;
    const known = this.#places.get(path);
    if (known !== undefined) return known;
    const { file, module } = this.opened;
    // A reference to an object of this kind is the address of its header.
    const reference = Uint8Array.from(module.create_object_reference(file.file_id, path));
    const headerAt = reference.length < 8 ? NaN : Number(new DataView(reference.buffer, reference.byteOffset, 8).getBigUint64(0, true));
    // Big-endian numbers are turned by the library.
    const places = dataset.metadata.vlen_type?.littleEndian === true ? await findLists(this.source, headerAt, dataset.shape as number[], context) : null;
    this.#places.set(path, places);
    return places;
  }

  #byLibrary(side: SideData, dataset: Dataset, rows: Int32Array, samples: Uint32Array, start: number, end: number, width: number, put: (at: number, values: Numbers) => void): void {
    let [first, last] = [Infinity, 0];
    for (let i = start; i < end; i++) {
      const row = rows[i] as number;
      if (row < 0) continue;
      first = Math.min(first, row);
      last = Math.max(last, row + 1);
    }
    const columns = side.lists ? 1 : ((dataset.shape as number[])[2] as number);
    const piece = Math.max(1, Math.min(PIECE_PINGS, Math.floor(PIECE_NUMBERS / Math.max(1, columns))));
    for (let from = first; from < last; from += piece) {
      const to = Math.min(last, from + piece);
      const outAt = new Int32Array(to - from).fill(-1);
      const want = new Uint32Array(to - from);
      for (let i = start; i < end; i++) {
        const row = rows[i] as number;
        if (row < from || row >= to) continue;
        outAt[row - from] = (i - start) * width;
        want[row - from] = samples[i] as number;
      }
      if (side.lists) {
        this.#lists(side, dataset, from, to, (i, length, values) => {
          const at = outAt[i - from] as number;
          const n = at < 0 ? 0 : Math.min(length, want[i - from] as number);
          if (n > 0) put(at, values().subarray(0, n));
        });
        continue;
      }
      const { index } = side.beam;
      const values = dataset.slice([[from, to], [index, index + 1], [0, columns]]) as unknown as Float32Array;
      for (let i = from; i < to; i++) {
        const at = outAt[i - from] as number;
        const row = (i - from) * columns;
        if (at >= 0) put(at, values.subarray(row, row + Math.min(columns, want[i - from] as number)));
      }
    }
  }

  /** Lists as the library leaves them in its memory: length and place. They are given back before this returns. */
  #lists(side: SideData, dataset: Dataset, from: number, to: number, each: (ping: number, length: number, values: () => Numbers) => void): void {
    const { file, module } = this.opened;
    const flat = (dataset.shape as number[]).length === 1;
    const n = to - from;
    const count = flat ? [BigInt(n)] : [BigInt(n), 1n];
    const offset = flat ? [BigInt(from)] : [BigInt(from), BigInt(side.beam.index)];
    const place = module._malloc(8 * n) as number;
    try {
      module.HEAPU8.fill(0, place, place + 8 * n);
      module.get_dataset_data(file.file_id, dataset.path, count, offset, flat ? [1n] : [1n, 1n], BigInt(place));
      try {
        const pairs = new Uint32Array(module.HEAPU8.buffer, place, 2 * n);
        for (let i = 0; i < n; i++) {
          const [length, at] = [pairs[2 * i] as number, pairs[2 * i + 1] as number];
          each(from + i, length, () => numbersIn(new Uint8Array(module.HEAPU8.buffer, at, length * sizeOf(dataset)), dataset));
        }
      } finally {
        module.reclaim_vlen_memory_count(file.file_id, dataset.path, '', BigInt(place), count);
      }
    } finally {
      module._free(place);
    }
  }
}

function elementOf(side: SideData, dataset: Dataset, ping: number): number {
  const beams = (dataset.shape as number[])[1] ?? 1;
  return ping * beams + ((dataset.shape as number[]).length === 1 ? 0 : side.beam.index);
}

/** Bytes of a number in a list. */
function sizeOf(dataset: Dataset): number {
  return dataset.metadata.vlen_type?.size ?? 4;
}

/** Whether lists hold numbers as the tables of a stretch do: they are copied as they stand. */
function isFloat32({ metadata }: Dataset): boolean {
  return metadata.vlen_type?.type === 1 && metadata.vlen_type.size === 4;
}

/** A list's bytes as numbers, in memory of their own: where they stand need not be aligned. */
function numbersIn(bytes: Uint8Array, { metadata }: Dataset): Numbers {
  const kind = metadata.vlen_type;
  const size = kind?.size ?? 4;
  const make =
    kind?.type === 0
      ? size === 1 ? (kind.signed ? Int8Array : Uint8Array) : size === 2 ? (kind.signed ? Int16Array : Uint16Array) : size === 4 ? (kind.signed ? Int32Array : Uint32Array) : null
      : size === 4 ? Float32Array : size === 8 ? Float64Array : null;
  if (make === null) throw new UnsupportedError(`samples of ${size} bytes each are not read; expected floats, or integers of at most 4 bytes`);
  return new make(bytes.slice().buffer as ArrayBuffer);
}
