import { parentPort, workerData } from 'node:worker_threads';
import { gatherHandOver } from './gather-hand-over.js';
import { writeDrawings, type DrawingOrder, type DrawingReport } from './product-drawings.js';
import type { Made } from './step-graph.js';
import { threadFailure } from './thread-failure.js';

const port = parentPort;
if (port !== null) {
  const write = async (): Promise<Made> => {
    const over = await gatherHandOver({ ...(workerData as DrawingOrder), context: {} });
    return over === null ? {} : writeDrawings(over);
  };
  write().then(
    (made) => port.postMessage({ kind: 'done', made } satisfies DrawingReport),
    (error: unknown) => port.postMessage(threadFailure(error) satisfies DrawingReport),
  );
}
