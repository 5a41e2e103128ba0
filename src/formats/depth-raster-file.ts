import type { ByteSource } from '../base/byte-source.js';
import { UseError } from '../base/errors.js';
import { rasterValueAt } from '../geo/raster.js';
import { readGeoTiff } from './geotiff-read.js';

/** Depth at a place by a GeoTIFF of an earlier survey; NaN outside it and where it has none. @throws FormatError; UseError for one in degrees */
export async function readDepthRaster(source: ByteSource): Promise<(xM: number, yM: number) => number> {
  const tiff = await readGeoTiff(source);
  if (tiff.kind !== 'utm') throw new UseError(`${source.name}: expected a raster in a UTM frame, as products/surface.tif is, found one in degrees; project it first`, { path: 'rehearse.bottom.file' });
  return rasterValueAt({ grid: tiff.grid, values: tiff.bands[0]?.values ?? new Float32Array(0) });
}
