import type { ImageryMessages } from './imagery-messages.js';
import { openRaster, rasterTile } from './raster-tiles.js';
import { readPings } from './read-pings.js';
import { waterfallTile } from './waterfall-tiles.js';

interface Job {
  readonly signal: AbortSignal;
}

/** Answers to what the Imagery and Finds stages ask. */
export const imageryHandlers = {
  loadPings: async ({ pingsUrl, bottomUrl, trackUrl }: ImageryMessages['loadPings']['request'], job: Job) => {
    const response = await readPings(pingsUrl, bottomUrl, trackUrl, job.signal);
    const buffers = response === null ? [] : Object.values(response).flatMap((column) => (typeof column === 'object' && ArrayBuffer.isView(column) ? [column.buffer as ArrayBuffer] : []));
    return { response, transfer: [...new Set(buffers)] };
  },
  waterfallTile: async (request: ImageryMessages['waterfallTile']['request'], job: Job) => {
    const image = await waterfallTile(request, job.signal);
    return image === null ? { response: null } : { response: { image }, transfer: [image] };
  },
  openRaster: async ({ url }: ImageryMessages['openRaster']['request'], job: Job) => ({ response: await openRaster(url, job.signal) }),
  rasterTile: async (request: ImageryMessages['rasterTile']['request']) => {
    const image = await rasterTile(request);
    return image === null ? { response: null } : { response: { image }, transfer: [image] };
  },
};

/** Files that these answers are read from, for what is said of one that cannot be read. */
export const IMAGERY_FILES = { loadPings: 'derived/imagery/pings.parquet, bottom.parquet or sonar-track.parquet', waterfallTile: null, openRaster: 'the mosaic', rasterTile: 'the mosaic' } as const;
