import type { FromWorker, ToWorker, WorkKind, WorkMessages } from './messages.js';

export interface CallOptions {
  readonly signal?: AbortSignal;
  readonly onProgress?: (done: number, detail: string) => void;
}

/** The part of a Worker that calls need; tests pass a stand-in. */
export interface WorkerPort {
  postMessage(message: ToWorker): void;
  terminate(): void;
  onmessage: ((event: MessageEvent<FromWorker>) => void) | null;
  onerror: ((event: ErrorEvent) => void) | null;
}

interface Waiting {
  readonly resolve: (value: never) => void;
  readonly reject: (error: Error) => void;
  readonly onProgress: CallOptions['onProgress'];
}

/** A worker that answers the typed messages. Every call settles: with its answer, an error, an abort, or the worker's death. */
export class WorkCaller {
  readonly #port: WorkerPort;
  readonly #waiting = new Map<number, Waiting>();
  #lastId = 0;
  #dead: Error | null = null;

  constructor(port: WorkerPort) {
    this.#port = port;
    port.onmessage = (event) => this.#settle(event.data);
    port.onerror = (event) => this.#die(new Error(`the page's worker stopped: ${event.message || 'it could not be started'}; reload the page`));
  }

  call<K extends WorkKind>(kind: K, request: WorkMessages[K]['request'], options: CallOptions = {}): Promise<WorkMessages[K]['response']> {
    if (this.#dead !== null) return Promise.reject(this.#dead);
    const { signal } = options;
    if (signal?.aborted) return Promise.reject(aborted());
    const id = ++this.#lastId;
    return new Promise<WorkMessages[K]['response']>((resolve, reject) => {
      this.#waiting.set(id, { resolve: resolve as (value: never) => void, reject, onProgress: options.onProgress });
      signal?.addEventListener('abort', () => {
        if (!this.#waiting.delete(id)) return;
        this.#port.postMessage({ id, kind: 'abort' });
        reject(aborted());
      });
      this.#port.postMessage({ id, kind, request });
    });
  }

  /** Stops the worker; what waits is rejected. */
  stop(): void {
    this.#die(aborted());
    this.#port.terminate();
  }

  #settle(message: FromWorker): void {
    const waiting = this.#waiting.get(message.id);
    if (waiting === undefined) return;
    if ('progress' in message) {
      waiting.onProgress?.(message.progress, message.detail);
      return;
    }
    this.#waiting.delete(message.id);
    if ('done' in message) waiting.resolve(message.done as never);
    else waiting.reject(message.cancelled ? aborted() : new Error(message.failed));
  }

  #die(error: Error): void {
    this.#dead = error;
    for (const waiting of this.#waiting.values()) waiting.reject(error);
    this.#waiting.clear();
  }
}

function aborted(): Error {
  return new DOMException('stopped', 'AbortError');
}

/** Whether an error is only an abort. */
export function isAbort(error: unknown): boolean {
  return error instanceof DOMException && error.name === 'AbortError';
}

/** Starts one of the page's workers. */
export function startWorker(name: string): WorkCaller {
  return new WorkCaller(new Worker(new URL('./survey.worker.ts', import.meta.url), { type: 'module', name }));
}
