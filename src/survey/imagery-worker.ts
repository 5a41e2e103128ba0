import { parentPort, workerData } from 'node:worker_threads';
import { threadFailure } from './thread-failure.js';
import { imageryHand, type ImageryJob, type ImageryReport, type ImagerySetup } from './imagery-jobs.js';

const port = parentPort;
if (port !== null) {
  const hand = imageryHand(workerData as ImagerySetup);
  let queue: Promise<void> = Promise.resolve();
  port.on('message', ({ job, what }: { job: number; what: ImageryJob }) => {
    queue = queue.then(async () => {
      try {
        const result = await hand.run(what);
        const moved = 'layer' in result ? (result.layer === null ? [] : [result.layer.levels.buffer, result.layer.quality.buffer]) : [];
        port.postMessage({ kind: 'done', job, result } satisfies ImageryReport, moved as ArrayBuffer[]);
      } catch (error) {
        port.postMessage(threadFailure(error) satisfies ImageryReport);
      }
    });
  });
}
