import { Worker } from 'node:worker_threads';
import { CancelledError } from '../base/errors.js';
import type { WorkContext } from '../base/progress.js';
import type { BuildResult, Desk, TakeInResult } from './desk.js';
import type { DeskOrder, DeskReport } from './desk-worker.js';
import { releaseOwnLock } from './lock.js';
import { openDesk } from './open-desk.js';
import type { SurveySummary } from './summary.js';
import { failureError } from './thread-failure.js';

/** How long a cancelled worker may take to stop by itself. */
const PATIENCE_MS = 2000;

/** Gives a worker one order and waits for its end. */
function give<T>(folder: string, order: DeskOrder, context: WorkContext): Promise<T> {
  return new Promise<T>((resolve, reject) => {
    const worker = new Worker(new URL('./desk-worker.js', import.meta.url), { workerData: order, stderr: false });
    let settled = false;
    const end = (act: () => void): void => {
      if (settled) return;
      settled = true;
      context.signal?.removeEventListener('abort', onAbort);
      act();
      void worker.terminate();
    };
    const onAbort = (): void => {
      worker.postMessage('cancel');
      setTimeout(() => {
        // Files appear whole or not at all, so a worker may be stopped anywhere; only its lock is left to take away.
        if (settled) return;
        void worker.terminate().then(() => releaseOwnLock(folder));
        end(() => reject(new CancelledError('cancelled; nothing that was finished before is lost')));
      }, PATIENCE_MS).unref();
    };
    worker.on('message', (report: DeskReport) => {
      if (report.kind === 'progress') context.progress?.(report.step, report.done, report.detail);
      else if (report.kind === 'done') end(() => resolve(report.result as T));
      else end(() => reject(failureError(report)));
    });
    worker.on('error', (error) => end(() => reject(error)));
    worker.on('exit', () => end(() => reject(new Error('the worker stopped before it was done'))));
    if (context.signal?.aborted) onAbort();
    else context.signal?.addEventListener('abort', onAbort, { once: true });
  });
}

/** A desk whose long work runs in a thread of its own, so that a server goes on answering. */
export async function openBackgroundDesk(folder: string): Promise<Desk> {
  const near = await openDesk(folder);
  return {
    ...near,
    takeIn: (paths, context = {}) => give<readonly TakeInResult[]>(folder, { folder, verb: 'take-in', paths }, context),
    build: (context = {}, upTo) => give<BuildResult>(folder, { folder, verb: 'build', ...(upTo === undefined ? {} : { upTo }) }, context),
    instrumentSheet: (context = {}) => give<string>(folder, { folder, verb: 'instrument-sheet' }, context),
    planLines: (context = {}) => give<SurveySummary>(folder, { folder, verb: 'lines' }, context),
  };
}
