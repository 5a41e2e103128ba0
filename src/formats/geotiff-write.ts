import type { ByteSink } from '../base/byte-source.js';
import type { WorkContext } from '../base/progress.js';
import type { RasterGrid } from '../geo/raster.js';
import { TILE_LEADER, TILE_TRAILER, tiffHeader } from './geotiff-header.js';
import type { TiffDescription } from './geotiff-header.js';
import { pyramidLevels, walkPyramid } from './geotiff-pyramid.js';
import type { OverviewMethod, PyramidBand, PyramidJob, RowProvider } from './geotiff-pyramid.js';
import { encodeTile, newSamples, sampleTypeOf } from './geotiff-tile.js';
import type { DeflateLevel, SampleType, TiffArray } from './geotiff-tile.js';

export type { OverviewMethod, RowProvider } from './geotiff-pyramid.js';
export type { SampleType, TiffArray } from './geotiff-tile.js';

/** Compressed tiles kept between the two passes [bytes]; what does not fit is compressed again. */
const HELD_BYTES_MAX = 512 * 2 ** 20;

export interface GeoTiffBand {
  /** What the band holds, e.g. `depth`. */
  readonly name: string;
  /** e.g. `m`. */
  readonly unit?: string;
  /** Shape [rows * cols] row-major, row 0 = north; or a provider of rows, for rasters too large to hold. */
  readonly values: TiffArray | RowProvider;
  /** How overviews are made; `mean` when left out. */
  readonly overview?: OverviewMethod;
}

export interface GeoTiffFile {
  readonly grid: RasterGrid;
  /** A UTM zone on WGS 84: 32601..32660 or 32701..32760. */
  readonly epsg: number;
  /** One or more, all of one sample type. */
  readonly bands: readonly GeoTiffBand[];
  /** Needed where every band is a provider of rows. */
  readonly type?: SampleType;
  /** What stands for no data in whole-number bands; none when left out. Float bands have NaN. */
  readonly noData?: number;
  /** The file's description, e.g. what it is, what it is made from, and what it is not for. */
  readonly description?: string;
  /** Further facts by name, shown by GIS programs as the file's metadata. */
  readonly metadata?: Readonly<Record<string, string>>;
}

export interface GeoTiffOptions extends WorkContext {
  /** Deflate effort 1..9; 3 when left out: on a noisy 3000 x 3000 surface 6 took 1.8 times as long for 2.5 % less. */
  readonly deflateLevel?: DeflateLevel;
  /** Side of a tile: a multiple of 16; when left out 512, or 256 where that holds the whole image. */
  readonly tileSide?: number;
  /** BigTIFF or not; when left out, where the file passes 4 GiB. */
  readonly bigTiff?: boolean;
  readonly heldBytesMax?: number;
  /** Deflates into a zlib stream (RFC 1950) in place of the writer's own, e.g. that of the machine, which is faster; must give the same bytes each time. */
  readonly deflate?: (bytes: Uint8Array, level: DeflateLevel) => Uint8Array;
}

export interface GeoTiffWritten {
  readonly bytes: number;
  readonly bigTiff: boolean;
  /** Overviews, the full image not counted. */
  readonly overviews: number;
}

/**
 * Writes bands as a cloud-optimised GeoTIFF: tiled, deflated after prediction, with overviews.
 *
 * Bands are interleaved by pixel: a reader gets the depth of a place and its uncertainty with one request, and it is
 * the one order that every reader of cloud-optimised files takes. The file is written from front to back; since its
 * directories come first, tiles are compressed before anything is written, and those over `heldBytesMax` are
 * compressed again when their turn comes. Beside that, memory is one row of tiles a level.
 * The same input gives the same bytes.
 *
 * @throws RangeError for a code outside UTM, an empty grid, wrong lengths; TypeError for bands of different types
 * Source: OGC Cloud Optimized GeoTIFF 1.0 (21-026), OGC GeoTIFF 1.1 (19-008r4), TIFF 6.0.
 */
export async function writeGeoTiff(sink: ByteSink, file: GeoTiffFile, options: GeoTiffOptions = {}): Promise<GeoTiffWritten> {
  const { grid, description = '', metadata = {} } = file;
  const { deflateLevel = 3, heldBytesMax = HELD_BYTES_MAX, progress } = options;
  const side = options.tileSide ?? (Math.max(grid.cols, grid.rows) <= 256 ? 256 : 512);
  const type = checkFile(file, side);
  const noData = type === 'float32' ? NaN : (file.noData ?? null);
  const levels = pyramidLevels(grid.cols, grid.rows, side);
  const job: PyramidJob = { bands: file.bands.map((band) => pyramidBand(band, grid)), levels, side, type, noData, signal: options.signal };
  const encode = (samples: TiffArray): Uint8Array => encodeTile(samples, side, file.bands.length, deflateLevel, options.deflate);

  const sizes = levels.map(({ tileCols, tileRows }) => new Array<number>(tileCols * tileRows).fill(0));
  const held = levels.map(() => new Map<number, Uint8Array>());
  let heldBytes = 0;
  await walkPyramid(
    job,
    levels.length,
    (level, tile, samples) => {
      const bytes = encode(samples());
      sizes[level]![tile] = bytes.byteLength;
      if (heldBytes + bytes.byteLength > heldBytesMax) return;
      held[level]!.set(tile, bytes);
      heldBytes += bytes.byteLength;
    },
    (rows) => progress?.('compressing the raster', rows / grid.rows),
  );

  const tiff: TiffDescription = {
    images: levels.map(({ cols, rows }, i) => ({ cols, rows, tileBytes: sizes[i]! })),
    side,
    type,
    bands: file.bands,
    grid,
    epsg: file.epsg,
    noData,
    description,
    metadata,
  };
  const header = tiffHeader(tiff, options.bigTiff);
  if (header.bytes.byteLength === 0) throw new RangeError(`bigTiff false: the file would have ${header.fileBytes} bytes, more than 4 GiB`);
  await sink.write(header.bytes);
  for (let level = levels.length - 1; level >= 0; level--) {
    const put = async (tile: number, bytes: Uint8Array): Promise<void> => {
      if (bytes.byteLength !== sizes[level]![tile]) throw new RangeError('values: a provider of rows gave other values when asked again');
      await sink.write(framed(bytes));
    };
    if (held[level]!.size === sizes[level]!.length) {
      for (let tile = 0; tile < sizes[level]!.length; tile++) await put(tile, held[level]!.get(tile)!);
      held[level]!.clear();
      continue;
    }
    await walkPyramid(job, level + 1, async (each, tile, samples) => {
      if (each === level) await put(tile, held[level]!.get(tile) ?? encode(samples()));
    });
    held[level]!.clear();
  }
  return { bytes: header.fileBytes, bigTiff: header.big, overviews: levels.length - 1 };
}

/** A tile between its length and its last four bytes, by which a reader can tell that the layout still holds. */
function framed(bytes: Uint8Array): Uint8Array {
  const out = new Uint8Array(TILE_LEADER + bytes.byteLength + TILE_TRAILER);
  new DataView(out.buffer).setUint32(0, bytes.byteLength, true);
  out.set(bytes, TILE_LEADER);
  out.set(bytes.subarray(bytes.byteLength - TILE_TRAILER), TILE_LEADER + bytes.byteLength);
  return out;
}

function pyramidBand({ values, overview = 'mean' }: GeoTiffBand, { cols }: RasterGrid): PyramidBand {
  if (typeof values === 'function') return { rows: values, overview };
  return { rows: (rowStart, rowEnd) => values.subarray(rowStart * cols, rowEnd * cols), overview };
}

function checkFile({ grid, epsg, bands, type: stated, noData }: GeoTiffFile, side: number): SampleType {
  const { cols, rows, cellM, westM, northM } = grid;
  const zone = epsg % 100;
  if (!(Math.floor(epsg / 100) === 326 || Math.floor(epsg / 100) === 327) || !Number.isInteger(epsg) || zone < 1 || zone > 60) {
    throw new RangeError(`epsg ${epsg}: expected a UTM zone on WGS 84, 32601 to 32660 or 32701 to 32760`);
  }
  for (const [name, value] of Object.entries({ cols, rows })) {
    if (!Number.isInteger(value) || value < 1 || value > 2 ** 31 - 1) throw new RangeError(`grid.${name} ${value}: expected a whole number above 0`);
  }
  if (!(cellM > 0) || !Number.isFinite(cellM + westM + northM)) throw new RangeError(`grid: expected finite places and a positive cell, found cellM ${cellM}, westM ${westM}, northM ${northM}`);
  if (!Number.isInteger(side) || side < 16 || side % 16 !== 0 || side > 32768) throw new RangeError(`tileSide ${side}: expected a multiple of 16 from 16 to 32768`);
  if (bands.length === 0 || bands.length > 65535) throw new RangeError('bands: expected at least one');
  let type = stated;
  bands.forEach(({ values, name }) => {
    if (typeof values === 'function') return;
    const found = sampleTypeOf(values);
    type ??= found;
    if (found !== type) throw new TypeError(`band ${name}: expected ${type} like the rest, found ${found}`);
    if (values.length !== cols * rows) throw new RangeError(`band ${name}: expected ${rows} x ${cols} values, found ${values.length}`);
  });
  if (!type) throw new TypeError('type: needed where every band is a provider of rows');
  if (noData !== undefined) {
    if (type === 'float32') throw new RangeError('noData: float bands have NaN for no data');
    const probe = newSamples(type, 1);
    probe[0] = noData;
    if (probe[0] !== noData) throw new RangeError(`noData ${noData}: not a value of ${type}`);
  }
  return type;
}
