import { trialWindow } from '../../boat/find-window.js';
import { makeCard } from '../../boat/make-card.js';
import type { Trial, TrialLog } from '../../boat/trial-log.js';
import type { MeasuredWindows, MeasureRequest } from './messages.js';
import { trialPlots } from './trial-plots.js';

/** The trials with the windows asked for: what is drawn by hand is worked out anew, its name and series kept. */
export function windowsAsTrials(log: TrialLog, trials: readonly Trial[], edits: MeasureRequest['edits']): Trial[] {
  const byId = new Map(trials.map((trial) => [trial.id, trial]));
  for (const { trial: id, change, trialKind, startS, endS } of edits) {
    if (change === 'drop') {
      byId.delete(id);
      continue;
    }
    const before = byId.get(id);
    const window = trialWindow(log, trialKind, startS, endS, 'hand');
    byId.set(id, { ...window, id, series: before?.kind === trialKind ? before.series : window.series });
  }
  return [...byId.values()].sort((a, b) => a.startS - b.startS || a.kind.localeCompare(b.kind) || a.id.localeCompare(b.id));
}

/** The card that the windows give, with the plots wanted of them, by the code the survey's own step uses. */
export function measureWindows(log: TrialLog, request: MeasureRequest): MeasuredWindows {
  const started = performance.now();
  const trials = windowsAsTrials(log, request.trials, request.edits);
  const card = makeCard(log, trials, { ...request.boat, lines: request.lines });
  const tookMs = performance.now() - started;
  return { card, trials, plots: request.plots.length === 0 ? [] : trialPlots(log, trials, card, request.plots, request.lines), tookMs };
}
