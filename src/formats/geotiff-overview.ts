import { GeoTIFF } from 'geotiff';
import type { ByteSource } from '../base/byte-source.js';
import { CancelledError, FormatError, UnsupportedError, isExpectedError } from '../base/errors.js';
import type { RasterGrid } from '../geo/raster.js';
import { placeOf, tiffSource } from './geotiff-read.js';

/** A band of a raster in a UTM zone, as coarse as one of its overviews. */
export interface GeoTiffOverview {
  /** Its cells may reach a little over the full image's east and south edges. */
  readonly grid: RasterGrid;
  /** First band as the file has it, no data too. Shape [rows * cols] row-major, row 0 = north. */
  readonly values: ArrayLike<number>;
  /** Cell of the full image [m]. */
  readonly fullCellM: number;
}

/**
 * Reads the coarsest overview that still has so many columns, the full image where none has.
 * @throws FormatError for a damaged file; UnsupportedError for a raster that is not in a UTM zone
 * Source: OGC Cloud Optimized GeoTIFF 1.0 (21-026): overviews follow the full image, each half as fine as the one before.
 */
export async function readGeoTiffOverview(source: ByteSource, leastCols: number, signal?: AbortSignal): Promise<GeoTiffOverview> {
  try {
    const tiff = await GeoTIFF.fromSource(tiffSource(source), { cache: false }, signal);
    const full = await tiff.getImage(0);
    const place = placeOf(source.name, full);
    if (place.kind !== 'utm') throw new UnsupportedError(`${source.name}: a raster in longitude and latitude: expected one in a UTM zone`);
    let image = full;
    for (let k = 1; k < (await tiff.getImageCount()); k++) {
      const next = await tiff.getImage(k);
      if (next.getWidth() < leastCols) break;
      image = next;
    }
    const [cols, rows] = [image.getWidth(), image.getHeight()];
    const halvings = Math.round(Math.log2(place.grid.cols / cols));
    const rasters = await image.readRasters({ samples: [0], ...(signal ? { signal } : {}) });
    return { grid: { ...place.grid, cols, rows, cellM: place.grid.cellM * 2 ** halvings }, values: rasters[0] as ArrayLike<number>, fullCellM: place.grid.cellM };
  } catch (error) {
    if (isExpectedError(error)) throw error;
    if (signal?.aborted) throw new CancelledError('cancelled; nothing that was finished before is lost');
    throw new FormatError('geotiff', source.name, `${source.name}: not a sound GeoTIFF file: ${error instanceof Error ? error.message : String(error)}; make it again or take it from a copy`);
  }
}
