import { cpus } from 'node:os';
import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { Worker } from 'node:worker_threads';
import { CancelledError } from '../base/errors.js';
import { throwIfCancelled, type WorkContext } from '../base/progress.js';
import type { SonarReader, SonarSamples } from '../base/sonar.js';
import { trackStretch, type BottomOptions, type BottomTrack } from '../imagery/bottom-track.js';
import type { PingTiming } from '../imagery/bottom-evidence.js';
import { pieceMaker, type MadePiece, type MosaicPiece, type PieceWork } from '../imagery/mosaic-piece.js';
import type { Settings } from './settings.js';
import { openSonarLog } from './sonar-source.js';
import type { LogEntry } from './summary.js';
import { failureError, type ThreadFailure } from './thread-failure.js';

/** Where the samples of the survey's pings are: its sonar logs, and the first row of each in the pings' table. */
export interface PingSource {
  readonly folder: string;
  readonly settings: Settings;
  readonly logs: readonly { readonly entry: LogEntry; readonly rowStart: number; readonly rowEnd: number }[];
}

/** A stretch of pings whose floor is to be found: rows [readStart, readEnd), of one log. */
export interface BottomJob {
  readonly readStart: number;
  readonly readEnd: number;
}

/** The mosaic's work as it goes to a thread: rows that are used as a column. */
export type PieceSetup = Omit<PieceWork, 'use'> & { readonly used: Uint8Array };

/** What is done to stretches of pings, each by itself. */
export type ImagerySetup =
  | { readonly kind: 'bottom'; readonly source: PingSource; readonly pings: PingTiming; readonly options: BottomOptions }
  | { readonly kind: 'mosaic'; readonly source: PingSource; readonly work: PieceSetup };

export type ImageryJob = BottomJob | MosaicPiece;

/** Reads pings by their rows in the survey's table, keeping logs open. */
export class PingReader {
  readonly #source: PingSource;
  readonly #open = new Map<number, SonarReader>();

  constructor(source: PingSource) {
    this.#source = source;
  }

  /** Samples of the rows [start, end), which are of one log. */
  async read(start: number, end: number, signal?: AbortSignal): Promise<SonarSamples> {
    const { folder, settings, logs } = this.#source;
    const index = logs.findIndex(({ rowStart, rowEnd }) => start >= rowStart && end <= rowEnd);
    if (index < 0) throw new RangeError(`rows ${start} to ${end}: expected rows of one log`);
    let reader = this.#open.get(index);
    if (reader === undefined) {
      reader = await openSonarLog(folder, settings, logs[index]!.entry);
      this.#open.set(index, reader);
    }
    return reader.read(start - logs[index]!.rowStart, end - logs[index]!.rowStart, signal);
  }

  async close(): Promise<void> {
    for (const reader of this.#open.values()) await reader.close();
    this.#open.clear();
  }
}

/** Does one job after another with one setup. */
export interface ImageryHand {
  run(job: ImageryJob): Promise<BottomTrack | MadePiece>;
  close(): Promise<void>;
}

export function imageryHand(setup: ImagerySetup): ImageryHand {
  const reader = new PingReader(setup.source);
  const close = (): Promise<void> => reader.close();
  if (setup.kind === 'bottom') {
    return { close, run: async ({ readStart, readEnd }) => trackStretch(await reader.read(readStart, readEnd), setup.pings, readStart, setup.options) };
  }
  const { used, ...work } = setup.work;
  const make = pieceMaker({ ...work, use: (row) => used[row] === 1 });
  return { close, run: async (job) => make(job as MosaicPiece, await reader.read(job.readStart, job.readEnd)) };
}

/** What a thread says. */
export type ImageryReport = { readonly kind: 'done'; readonly job: number; readonly result: BottomTrack | MadePiece } | ThreadFailure;

/** Threads are worth their start from this many jobs on. */
const LEAST_FOR_THREADS = 3;

/**
 * Does jobs on as many threads as the machine has cores, and takes their results in the order of the jobs, so that what is made
 * of them does not depend on which thread was faster. One after another in this thread where there is little to do.
 *
 * @throws CancelledError when the context's signal is aborted; what a job throws
 */
export async function runImageryJobs<Result extends BottomTrack | MadePiece>(setup: ImagerySetup, jobs: readonly ImageryJob[], take: (result: Result, job: number) => void | Promise<void>, context: WorkContext): Promise<void> {
  const script = new URL('./imagery-worker.js', import.meta.url);
  const threads = Math.min(cpus().length, 8, jobs.length);
  if (jobs.length < LEAST_FOR_THREADS || threads < 2 || !existsSync(fileURLToPath(script))) {
    const hand = imageryHand(setup);
    try {
      for (const [index, job] of jobs.entries()) {
        throwIfCancelled(context.signal);
        await take((await hand.run(job)) as Result, index);
        await context.pause?.();
      }
    } finally {
      await hand.close();
    }
    return;
  }
  const workers: Worker[] = [];
  try {
    await new Promise<void>((resolve, reject) => {
      const waiting = new Map<number, Result>();
      let next = 0;
      let wanted = 0;
      let taking = Promise.resolve();
      // No thread runs further ahead than this, so that results do not pile up.
      const give = (worker: Worker): void => {
        if (next >= jobs.length || next - wanted > 2 * threads) {
          idle.add(worker);
          return;
        }
        worker.postMessage({ job: next, what: jobs[next] });
        next++;
      };
      const idle = new Set<Worker>();
      const wake = (): void => {
        for (const worker of [...idle]) {
          idle.delete(worker);
          give(worker);
        }
      };
      const onAbort = (): void => reject(new CancelledError('cancelled; nothing that was finished before is lost'));
      if (context.signal?.aborted) onAbort();
      context.signal?.addEventListener('abort', onAbort, { once: true });
      for (let i = 0; i < threads; i++) {
        const worker = new Worker(script, { workerData: setup });
        workers.push(worker);
        worker.on('message', (report: ImageryReport) => {
          if (report.kind === 'failed') {
            reject(failureError(report));
            return;
          }
          waiting.set(report.job, report.result as Result);
          give(worker);
          taking = taking.then(async () => {
            for (let result = waiting.get(wanted); result !== undefined; result = waiting.get(wanted)) {
              waiting.delete(wanted);
              await take(result, wanted);
              wanted++;
              wake();
            }
            if (wanted === jobs.length) resolve();
          });
          taking.catch(reject);
        });
        worker.on('error', reject);
        worker.on('exit', () => {
          if (wanted < jobs.length) reject(new Error('a thread stopped before its work was done'));
        });
        give(worker);
      }
    });
  } finally {
    await Promise.all(workers.map((worker) => worker.terminate()));
  }
}
