import { parentPort, workerData } from 'node:worker_threads';
import type { WorkContext } from '../base/progress.js';
import { openDesk } from './open-desk.js';
import { threadFailure, type ThreadFailure } from './thread-failure.js';

/** What a worker is asked to do. */
export type DeskOrder =
  | { readonly folder: string; readonly verb: 'take-in'; readonly paths: readonly string[] }
  | { readonly folder: string; readonly verb: 'build'; readonly upTo?: string }
  | { readonly folder: string; readonly verb: 'lines' | 'instrument-sheet' };

/** What it says as it goes on, and at its end. */
export type DeskReport =
  | { readonly kind: 'progress'; readonly step: string; readonly done: number; readonly detail: string | undefined }
  | { readonly kind: 'done'; readonly result: unknown }
  | ThreadFailure;

const port = parentPort;
if (port !== null) {
  const stop = new AbortController();
  port.on('message', (message) => {
    if (message === 'cancel') stop.abort();
  });
  const context: WorkContext = {
    signal: stop.signal,
    progress: (step, done, detail) => port.postMessage({ kind: 'progress', step, done, detail } satisfies DeskReport),
  };
  const order = workerData as DeskOrder;
  const work = async (): Promise<unknown> => {
    const desk = await openDesk(order.folder);
    if (order.verb === 'take-in') return desk.takeIn(order.paths, context);
    if (order.verb === 'build') return desk.build(context, order.upTo);
    return order.verb === 'lines' ? desk.planLines(context) : desk.instrumentSheet(context);
  };
  work().then(
    (result) => port.postMessage({ kind: 'done', result } satisfies DeskReport),
    (error: unknown) =>
      port.postMessage({ ...threadFailure(error), ...(error instanceof RangeError ? { expected: true } : {}) } satisfies DeskReport),
  );
}
