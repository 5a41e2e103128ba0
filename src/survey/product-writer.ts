import type { ByteSink } from '../base/byte-source.js';
import { makeAtomic, writeMade } from './atomic-file.js';
import { placeIn } from './folder.js';
import type { Made } from './step-graph.js';

/** Writes files of products/ by name and keeps what a step's record says of them. */
export interface ProductWriter {
  readonly made: Made;
  put(name: string, content: string | Uint8Array): Promise<void>;
  stream(name: string, fill: (sink: ByteSink) => Promise<unknown>): Promise<void>;
}

export function productWriter(folder: string): ProductWriter {
  const made: Record<string, Made[string]> = {};
  const place = (name: string): string => placeIn(folder, `products/${name}`);
  return {
    made,
    put: async (name, content) => {
      made[`products/${name}`] = await writeMade(place(name), content);
    },
    stream: async (name, fill) => {
      made[`products/${name}`] = await makeAtomic(place(name), async (sink) => void (await fill(sink)));
    },
  };
}
