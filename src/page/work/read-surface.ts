import { fromArrayBuffer } from 'geotiff';
import type { TintSurface } from '../chart/tint.js';

/** More cells than this are read from an overview. */
const MAX_CELLS = 2 ** 25;

/**
 * Reads band 1 (depth) of a surface in the survey frame, from the finest overview the page can hold.
 * @returns null where the file is not there yet
 */
export async function readSurface(url: string, signal: AbortSignal): Promise<TintSurface | null> {
  const response = await fetch(url, { signal });
  if (response.status === 404) return null;
  if (!response.ok) throw new Error(`the server answered ${response.status}`);
  const tiff = await fromArrayBuffer(await response.arrayBuffer(), signal);
  const full = await tiff.getImage(0);
  const [westM, , eastM, northM] = full.getBoundingBox() as [number, number, number, number];
  const images = await tiff.getImageCount();
  let image = full;
  for (let i = 1; i < images && image.getWidth() * image.getHeight() > MAX_CELLS; i++) image = await tiff.getImage(i);
  const cols = image.getWidth();
  const rows = image.getHeight();
  const noData = full.getGDALNoData();
  const band = (await image.readRasters({ samples: [0], interleave: true, signal })) as unknown as ArrayLike<number>;
  const depthM = band instanceof Float32Array ? band : Float32Array.from(band);
  if (noData !== null && !Number.isNaN(noData)) for (let i = 0; i < depthM.length; i++) if (depthM[i] === noData) depthM[i] = NaN;
  return { westM, northM, cellM: (eastM - westM) / cols, cols, rows, depthM };
}
