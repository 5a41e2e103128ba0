import { GeoTIFF } from 'geotiff';
import type { GeoTIFFImage } from 'geotiff';
import type { ByteSource } from '../base/byte-source.js';
import { CancelledError, FormatError, UnsupportedError, isExpectedError } from '../base/errors.js';
import type { RasterGrid } from '../geo/raster.js';

/** More values than this do not fit in memory beside the rest. */
const VALUES_MAX = 2 ** 28;

export interface TiffBandValues {
  /** '' where the file does not say. */
  readonly name: string;
  readonly unit: string;
  /** Shape [rows * cols] row-major, row 0 = north; NaN where the file says no data. */
  readonly values: Float32Array;
}

/** A raster in a UTM zone on WGS 84. */
export interface UtmGeoTiff {
  readonly kind: 'utm';
  readonly grid: RasterGrid;
  readonly epsg: number;
  readonly bands: readonly TiffBandValues[];
  readonly description: string;
}

/** A raster in longitude and latitude on WGS 84. */
export interface LonLatGeoTiff {
  readonly kind: 'lonlat';
  readonly epsg: 4326;
  /** West edge of column 0, north edge of row 0, and what a cell spans [deg]. */
  readonly grid: { readonly westDeg: number; readonly northDeg: number; readonly cellLonDeg: number; readonly cellLatDeg: number; readonly cols: number; readonly rows: number };
  readonly bands: readonly TiffBandValues[];
  readonly description: string;
}

/**
 * Reads the full image of a GeoTIFF.
 *
 * Values come as 32-bit floats: whole numbers beyond 16 777 216 and doubles are rounded. A scale and offset stated
 * for a band are applied. Points-as-cells (RasterPixelIsPoint) are shifted by half a cell, so that the grid is always
 * that of cell edges.
 *
 * @param options.bands 0-based numbers of the bands wanted; all when left out
 * @throws FormatError for a damaged file; UnsupportedError for another reference system, a rotated or oblong-celled
 *   UTM raster, or more than 2^28 values
 * Source: OGC GeoTIFF 1.1 (19-008r4).
 */
export async function readGeoTiff(
  source: ByteSource,
  options: { readonly bands?: readonly number[]; readonly signal?: AbortSignal } = {},
): Promise<UtmGeoTiff | LonLatGeoTiff> {
  const { signal } = options;
  try {
    const tiff = await GeoTIFF.fromSource(tiffSource(source), { cache: false }, signal);
    const image = await tiff.getImage(0);
    const place = placeOf(source.name, image);
    const count = image.getSamplesPerPixel();
    const wanted = options.bands ?? Array.from({ length: count }, (_, i) => i);
    for (const band of wanted) {
      if (!Number.isInteger(band) || band < 0 || band >= count) throw new RangeError(`bands: ${band}: ${source.name} has ${count}, numbered from 0`);
    }
    if (place.grid.cols * place.grid.rows * wanted.length > VALUES_MAX) {
      throw new UnsupportedError(`${source.name}: ${place.grid.cols} x ${place.grid.rows} x ${wanted.length} values, more than ${VALUES_MAX} at once; read fewer bands or cut the raster`);
    }
    if (place.grid.cols * place.grid.rows > source.byteLength * 8 * 1100) {
      // Deflate shrinks to a thousandth at best.
      throw new FormatError('geotiff', source.name, `${source.name}: ${place.grid.cols} x ${place.grid.rows} cells in ${source.byteLength} bytes cannot be; take it from a copy`);
    }
    const bands: TiffBandValues[] = [];
    const noData = image.getGDALNoData();
    for (const band of wanted) bands.push(await readBand(image, band, noData, signal));
    const description = image.fileDirectory.hasTag('ImageDescription') ? String(await image.fileDirectory.loadValue('ImageDescription')) : '';
    return { ...place, bands, description: trimNul(description) };
  } catch (error) {
    if (error instanceof RangeError && error.message.startsWith('bands:')) throw error;
    if (isExpectedError(error)) throw error;
    if (signal?.aborted) throw new CancelledError('cancelled; nothing that was finished before is lost');
    const what = error instanceof Error ? error.message : String(error);
    throw new FormatError('geotiff', source.name, `${source.name}: not a sound GeoTIFF file: ${what}; make it again or take it from a copy`);
  }
}

async function readBand(image: GeoTIFFImage, band: number, noData: number | null, signal: AbortSignal | undefined): Promise<TiffBandValues> {
  const about = (await image.getGDALMetadata(band)) ?? {};
  const scale = numberOr(about.SCALE, 1);
  const offset = numberOr(about.OFFSET, 0);
  const rasters = await image.readRasters({ samples: [band], ...(signal ? { signal } : {}) });
  const raw = rasters[0] as ArrayLike<number>;
  const values = new Float32Array(raw.length);
  for (let i = 0; i < values.length; i++) {
    const value = raw[i]!;
    values[i] = value === noData ? NaN : value * scale + offset;
  }
  return { name: textOf(about.DESCRIPTION), unit: textOf(about.UNITTYPE), values };
}

type Place = { readonly kind: 'utm'; readonly grid: RasterGrid; readonly epsg: number } | { readonly kind: 'lonlat'; readonly grid: LonLatGeoTiff['grid']; readonly epsg: 4326 };

/** Where an image lies. @throws UnsupportedError for a reference system or a placing that is not handled */
export function placeOf(path: string, image: GeoTIFFImage): Place {
  const directory = image.fileDirectory;
  const keys = image.getGeoKeys();
  if (!keys) throw new UnsupportedError(`${path}: a TIFF without a place: expected GeoTIFF keys; georeference it first`);
  const cols = image.getWidth();
  const rows = image.getHeight();
  const transformation = directory.getValue('ModelTransformation') as ArrayLike<number> | undefined;
  const scale = directory.getValue('ModelPixelScale') as ArrayLike<number> | undefined;
  const tie = directory.getValue('ModelTiepoint') as ArrayLike<number> | undefined;
  let cellX: number;
  let cellY: number;
  let west: number;
  let north: number;
  if (scale && tie && tie.length === 6) {
    [cellX, cellY] = [scale[0]!, scale[1]!];
    west = tie[3]! - tie[0]! * cellX;
    north = tie[4]! + tie[1]! * cellY;
  } else if (transformation) {
    if (transformation[1] !== 0 || transformation[4] !== 0) throw new UnsupportedError(`${path}: a rotated raster: expected rows from west to east; warp it to north up first`);
    [cellX, cellY] = [transformation[0]!, -transformation[5]!];
    west = transformation[3]!;
    north = transformation[7]!;
  } else {
    throw new UnsupportedError(`${path}: placed by ${tie ? 'several tie points' : 'nothing'}: expected a pixel scale and one tie point; warp it to north up first`);
  }
  if (!(cellX > 0 && cellY > 0 && Number.isFinite(west + north + cellX + cellY))) {
    throw new UnsupportedError(`${path}: cells of ${cellX} by ${cellY}: expected columns from west to east and rows from north to south; warp it to north up first`);
  }
  if (keys.GTRasterTypeGeoKey === 2) {
    west -= cellX / 2;
    north += cellY / 2;
  }
  const epsg = Number(keys.ProjectedCSTypeGeoKey ?? keys.GeographicTypeGeoKey);
  if (keys.GTModelTypeGeoKey === 1 && ((epsg > 32600 && epsg <= 32660) || (epsg > 32700 && epsg <= 32760))) {
    if (Math.abs(cellX - cellY) > 1e-9 * cellX) throw new UnsupportedError(`${path}: cells of ${cellX} by ${cellY} m: expected square cells; resample it first`);
    return { kind: 'utm', grid: { westM: west, northM: north, cellM: cellX, cols, rows }, epsg };
  }
  if (keys.GTModelTypeGeoKey === 2 && epsg === 4326) {
    return { kind: 'lonlat', grid: { westDeg: west, northDeg: north, cellLonDeg: cellX, cellLatDeg: cellY, cols, rows }, epsg: 4326 };
  }
  throw new UnsupportedError(`${path}: reference system ${Number.isFinite(epsg) ? `EPSG:${epsg}` : 'of its own'}: expected a UTM zone on WGS 84 (EPSG:326zz, 327zz) or longitude and latitude (EPSG:4326); reproject it first`);
}

/** Our byte source as the library asks for it: several slices at a time, each whole or an error. */
export function tiffSource(source: ByteSource): Parameters<typeof GeoTIFF.fromSource>[0] {
  const fetchSlice = async ({ offset, length }: { offset: number; length: number }, signal?: AbortSignal): Promise<{ data: ArrayBuffer; offset: number; length: number }> => {
    if (!(offset >= 0 && length >= 0 && offset <= source.byteLength)) throw new RangeError(`bytes ${offset} to ${offset + length} lie outside the file`);
    const bytes = await source.read(offset, Math.min(offset + length, source.byteLength), signal);
    return { data: bytes.slice().buffer as ArrayBuffer, offset, length };
  };
  return {
    fetchSlice,
    fetch: async (slices: { offset: number; length: number }[], signal?: AbortSignal) => Promise.all(slices.map(async (slice) => (await fetchSlice(slice, signal)).data)),
    get fileSize() {
      return source.byteLength;
    },
    close: () => Promise.resolve(),
  };
}

function numberOr(value: unknown, otherwise: number): number {
  const number = typeof value === 'string' && value.trim() !== '' ? Number(value) : NaN;
  return Number.isFinite(number) ? number : otherwise;
}

/** GDAL escapes a value twice (see geotiff-header.ts). */
function textOf(value: unknown): string {
  return typeof value === 'string' ? unescapeXml(unescapeXml(value)) : '';
}

function unescapeXml(value: string): string {
  return value.replace(/&lt;/g, '<').replace(/&gt;/g, '>').replace(/&quot;/g, '"').replace(/&amp;/g, '&');
}

function trimNul(text: string): string {
  const end = text.indexOf('\0');
  return end < 0 ? text : text.slice(0, end);
}
