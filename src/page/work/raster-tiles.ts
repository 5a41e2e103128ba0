import { fromUrl, type GeoTIFF, type GeoTIFFImage } from 'geotiff';
import type { RasterInfo, RasterTileRequest } from './imagery-messages.js';

interface OpenRaster {
  readonly info: RasterInfo;
  readonly images: readonly GeoTIFFImage[];
  /** Values of tiles as read, by level, band and place; the latest asked for last. */
  readonly held: Map<string, Promise<ArrayLike<number> | null>>;
}

/** Bytes of tiles kept for other colours: some 60 of 512 by 512. */
const HELD_TILES = 60;
const RASTERS_MAX = 6;
const rasters = new Map<string, Promise<OpenRaster | null>>();

/**
 * Opens a tiled GeoTIFF with overviews by byte ranges: its directory is read now, tiles as they are asked for.
 * @returns null where the file is not there
 */
export async function openRaster(url: string, signal: AbortSignal): Promise<RasterInfo | null> {
  const opening = rasters.get(url) ?? open(url, signal);
  rasters.delete(url);
  rasters.set(url, opening);
  if (rasters.size > RASTERS_MAX) rasters.delete(rasters.keys().next().value as string);
  try {
    const opened = await opening;
    if (opened === null) rasters.delete(url);
    return opened?.info ?? null;
  } catch (error) {
    rasters.delete(url);
    throw error;
  }
}

async function open(url: string, signal: AbortSignal): Promise<OpenRaster | null> {
  const there = await fetch(url, { method: 'HEAD', signal });
  if (there.status === 404) return null;
  if (!there.ok) throw new Error(`the server answered ${there.status}`);
  const tiff: GeoTIFF = await fromUrl(new URL(url, self.location.href).href, { allowFullFile: true, blockSize: 65_536, cacheSize: 64 }, signal);
  const images: GeoTIFFImage[] = [];
  for (let i = 0; i < (await tiff.getImageCount()); i++) images.push(await tiff.getImage(i));
  const full = images[0] as GeoTIFFImage;
  const [westM, , eastM, northM] = full.getBoundingBox() as [number, number, number, number];
  const levels = images.map((image) => ({ cellM: (eastM - westM) / image.getWidth(), cols: image.getWidth(), rows: image.getHeight() }));
  return { info: { url, westM, northM, cellM: (eastM - westM) / full.getWidth(), cols: full.getWidth(), rows: full.getHeight(), tilePx: full.getTileWidth(), levels }, images, held: new Map() };
}

async function valuesOf(raster: OpenRaster, { level, col, row, band }: RasterTileRequest): Promise<{ readonly values: ArrayLike<number>; readonly width: number; readonly height: number } | null> {
  const image = raster.images[level];
  const side = raster.info.tilePx;
  const size = raster.info.levels[level];
  if (image === undefined || size === undefined) return null;
  const window = [col * side, row * side, Math.min(size.cols, (col + 1) * side), Math.min(size.rows, (row + 1) * side)] as const;
  const [width, height] = [window[2] - window[0], window[3] - window[1]];
  if (width <= 0 || height <= 0) return null;
  const key = `${level} ${band} ${col} ${row}`;
  const reading = raster.held.get(key) ?? image.readRasters({ window: [...window], samples: [band], interleave: true }).then((values) => values as unknown as ArrayLike<number>);
  raster.held.delete(key);
  raster.held.set(key, reading);
  if (raster.held.size > HELD_TILES) raster.held.delete(raster.held.keys().next().value as string);
  try {
    const values = await reading;
    return values === null ? null : { values, width, height };
  } catch (error) {
    raster.held.delete(key);
    throw error;
  }
}

/** A tile in colours, one pixel a cell; null where the raster is not open or nothing in the tile is to be seen. */
export async function rasterTile(request: RasterTileRequest): Promise<ImageBitmap | null> {
  const raster = await rasters.get(request.url);
  if (raster == null) return null;
  const read = await valuesOf(raster, request);
  if (read === null) return null;
  const pixels = colourValues(read.values, request);
  return pixels === null ? null : createImageBitmap(new ImageData(pixels, read.width, read.height));
}

/** Values as colours; null where all are clear. */
export function colourValues(values: ArrayLike<number>, { zero, perStep, low, high, colours, clear }: Pick<RasterTileRequest, 'zero' | 'perStep' | 'low' | 'high' | 'colours' | 'clear'>): Uint8ClampedArray<ArrayBuffer> | null {
  const out = new Uint8ClampedArray(values.length * 4);
  const scale = 255 / Math.max(1e-9, high - low);
  let seen = false;
  for (let i = 0; i < values.length; i++) {
    const value = values[i] as number;
    if (value !== value || value === clear) continue;
    const k = Math.max(0, Math.min(255, Math.round(((value - zero) * perStep - low) * scale))) * 3;
    out[i * 4] = colours[k] as number;
    out[i * 4 + 1] = colours[k + 1] as number;
    out[i * 4 + 2] = colours[k + 2] as number;
    out[i * 4 + 3] = 255;
    seen = true;
  }
  return seen ? out : null;
}
