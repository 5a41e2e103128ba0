import { readCorrections } from './read-corrections.js';
import type { DepthsMessages } from './depths-messages.js';

interface Job {
  readonly signal: AbortSignal;
}

/** Answers to what the Depths stage asks. */
export const depthsHandlers = {
  loadCorrections: async ({ url }: DepthsMessages['loadCorrections']['request'], job: Job) => {
    const response = await readCorrections(url, job.signal);
    return { response, transfer: response === null ? [] : [response.timeS.buffer as ArrayBuffer, ...response.curves.map(({ valueM }) => valueM.buffer as ArrayBuffer)] };
  },
};

/** Files that these answers are read from, for what is said of one that cannot be read. */
export const DEPTHS_FILES = { loadCorrections: 'derived/corrections.parquet' } as const;
