import { throwIfCancelled, type WorkContext } from './progress.js';

/**
 * Lets other work in between where the context knows how, and stops where that was asked for.
 * @throws CancelledError when the signal is aborted
 */
export async function breathe(context: WorkContext): Promise<void> {
  await context.pause?.();
  throwIfCancelled(context.signal);
}
