import { parentPort, workerData } from 'node:worker_threads';
import { UseError, isExpectedError } from '../base/errors.js';
import { gatherHandOver } from './gather-hand-over.js';
import { writeDrawings, type DrawingOrder, type DrawingReport } from './product-drawings.js';
import type { Made } from './step-graph.js';

const port = parentPort;
if (port !== null) {
  const write = async (): Promise<Made> => {
    const over = await gatherHandOver({ ...(workerData as DrawingOrder), context: {} });
    return over === null ? {} : writeDrawings(over);
  };
  write().then(
    (made) => port.postMessage({ kind: 'done', made } satisfies DrawingReport),
    (error: unknown) => port.postMessage({ kind: 'failed', message: error instanceof Error ? error.message : String(error), expected: isExpectedError(error), what: error instanceof UseError ? error.what : {} } satisfies DrawingReport),
  );
}
