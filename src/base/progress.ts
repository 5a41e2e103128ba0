import { CancelledError } from './errors.js';

/** Told as work goes on: what is being done, how far it is [0..1] or NaN where that is unknown, and a short detail. */
export type Progress = (step: string, done: number, detail?: string) => void;

/** What long work may be given: somewhere to say how far it is, and a way to be stopped. */
export interface WorkContext {
  readonly progress?: Progress;
  readonly signal?: AbortSignal;
  /** Lets other work in between, so that a request to stop is heard; long work awaits it now and then. */
  readonly pause?: () => Promise<void>;
}

/**
 * Stops the work at hand where its user asked for that.
 * @throws CancelledError when the signal is aborted
 */
export function throwIfCancelled(signal: AbortSignal | undefined): void {
  if (signal?.aborted) throw new CancelledError('cancelled; nothing that was finished before is lost');
}
