import { currentSpan } from '../../formats/current-file.js';
import { lookForStart } from '../../rehearse/best-start.js';
import { groundWith, rehearsalCommon } from './rehearse-ground.js';
import type { FindRequest, FoundStarts } from './rehearse-messages.js';

/** So long at most before the worker listens for a stop [ms]. */
const LISTEN_MS = 40;

interface Job {
  readonly signal: AbortSignal;
  readonly progress: (done: number, detail: string) => void;
}

/** The best start in a span for all sorties, as the command line looks for it; it listens for a stop between looks. */
export async function findStart({ settings, sorties, fromS, toS, stepS }: FindRequest, { signal, progress }: Job): Promise<FoundStarts> {
  if (!(toS >= fromS)) throw new Error('the end of the span is before its start: choose a later end');
  const common = rehearsalCommon(groundWith(settings, fromS, currentSpan(fromS, toS)), settings);
  const look = lookForStart({ common, sorties, swapS: settings.sortie.swapS, clearanceM: settings.sortie.clearanceM, fromS, toS, stepS });
  let listenedMs = performance.now();
  for (;;) {
    const step = look.next();
    if (step.done === true) {
      const { startS, windows, why, limits, margin, nextS } = step.value;
      return { startS, windows, why, limits, margin, nextS, stepS };
    }
    progress(step.value.done, step.value.detail);
    if (performance.now() - listenedMs < LISTEN_MS) continue;
    await new Promise((resolve) => setTimeout(resolve, 0));
    listenedMs = performance.now();
    if (signal.aborted) throw new DOMException('stopped', 'AbortError');
  }
}
