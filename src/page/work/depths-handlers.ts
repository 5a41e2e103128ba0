import { layerOf, tintLayerWindow, type KeptLayer } from './floor-layers.js';
import { answerFloor } from './ask-floor.js';
import { floorOf } from './read-floor.js';
import { readHypotheses } from './read-hypotheses.js';
import { readCorrections } from './read-corrections.js';
import type { DepthsMessages } from './depths-messages.js';

interface Job {
  readonly signal: AbortSignal;
}

let layer: KeptLayer | null = null;

/** Answers to what the Depths stage asks. */
export const depthsHandlers = {
  loadCorrections: async ({ url }: DepthsMessages['loadCorrections']['request'], job: Job) => {
    const response = await readCorrections(url, job.signal);
    return { response, transfer: response === null ? [] : [response.timeS.buffer as ArrayBuffer, ...response.curves.map(({ valueM }) => valueM.buffer as ArrayBuffer)] };
  },
  loadLayer: async ({ url, layer: wanted }: DepthsMessages['loadLayer']['request'], job: Job) => {
    layer = null;
    const floor = await floorOf(url, job.signal);
    if (floor === null) return { response: null };
    layer = layerOf(floor, wanted);
    return { response: layer.info };
  },
  tintLayer: async (request: DepthsMessages['tintLayer']['request']) => {
    if (layer === null) return { response: null };
    const image = await createImageBitmap(new ImageData(tintLayerWindow(layer, request), request.widthPx, request.heightPx));
    return { response: { image }, transfer: [image] };
  },
  loadHypotheses: async ({ url }: DepthsMessages['loadHypotheses']['request'], job: Job) => ({ response: await readHypotheses(url, job.signal) }),
  askFloor: async ({ url, question }: DepthsMessages['askFloor']['request'], job: Job) => {
    const floor = await floorOf(url, job.signal);
    return { response: floor === null ? null : answerFloor(floor, question) };
  },
};

/** Files that these answers are read from, for what is said of one that cannot be read. */
export const DEPTHS_FILES = { loadCorrections: 'derived/corrections.parquet', loadLayer: 'derived/surface/surface.tif', tintLayer: null, loadHypotheses: 'derived/hypotheses.parquet', askFloor: 'derived/surface/surface.tif' } as const;
