import { fromArrayBuffer } from 'geotiff';
import type { Raster, RasterGrid } from '../../geo/raster.js';

/** The surface with its uncertainty and count, as derived/surface/surface.tif holds them. */
export interface Floor {
  readonly depth: Raster;
  readonly uncertainty: Raster;
  readonly count: Raster;
}

/** More cells than this are read from an overview. */
const MAX_CELLS = 2 ** 24;

let kept: { readonly etag: string; readonly floor: Floor } | null = null;

/**
 * The surface, read once for each version of the file.
 * @returns null where the file is not there yet
 */
export async function floorOf(url: string, signal: AbortSignal): Promise<Floor | null> {
  const head = await fetch(url, { method: 'HEAD', signal, cache: 'no-store' });
  if (head.status === 404) return null;
  const etag = head.headers.get('etag') ?? '';
  if (kept !== null && etag !== '' && kept.etag === etag) return kept.floor;
  const response = await fetch(url, { signal });
  if (!response.ok) throw new Error(`the server answered ${response.status}`);
  const floor = await readFloor(await response.arrayBuffer(), signal);
  kept = { etag, floor };
  return floor;
}

async function readFloor(bytes: ArrayBuffer, signal: AbortSignal): Promise<Floor> {
  const tiff = await fromArrayBuffer(bytes, signal);
  const full = await tiff.getImage(0);
  const [westM, , eastM, northM] = full.getBoundingBox() as [number, number, number, number];
  const images = await tiff.getImageCount();
  let image = full;
  for (let i = 1; i < images && image.getWidth() * image.getHeight() > MAX_CELLS; i++) image = await tiff.getImage(i);
  const [cols, rows] = [image.getWidth(), image.getHeight()];
  const grid: RasterGrid = { westM, northM, cellM: (eastM - westM) / cols, cols, rows };
  const noData = full.getGDALNoData();
  const bands = (await image.readRasters({ samples: [0, 1, 2], signal })) as unknown as readonly ArrayLike<number>[];
  const [depth, uncertainty, count] = bands.map((band): Raster => {
    const values = band instanceof Float32Array ? band : Float32Array.from(band);
    if (noData !== null && !Number.isNaN(noData)) for (let i = 0; i < values.length; i++) if (values[i] === noData) values[i] = NaN;
    return { grid, values };
  });
  if (depth === undefined || uncertainty === undefined || count === undefined) throw new Error(`${bands.length} bands: expected depth, uncertainty and count`);
  return { depth, uncertainty, count };
}
