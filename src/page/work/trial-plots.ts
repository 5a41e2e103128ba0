import type { BoatCard } from '../../boat/boat-card.js';
import { speedsFromRuns } from '../../boat/card-runs.js';
import { checkLog } from '../../boat/check-log.js';
import type { IntendedLine } from '../../boat/track-keeping.js';
import type { Trial, TrialLog } from '../../boat/trial-log.js';
import type { Plot, PlotWanted } from '../plots/plot.js';
import { legPlot } from './plot-leg.js';
import { coastPlot, startPlot, stopPlot } from './plot-motions.js';
import { commandPlot, powerPlot, runPlot, velocityPlot } from './plot-runs.js';
import { circlePlot, spinPlot, zigZagPlot } from './plot-turns.js';

/** What the plots of some trials are made from. */
export interface PlotSource {
  readonly log: TrialLog;
  /** The log without its heading where the compass is not to be trusted. */
  readonly seen: TrialLog;
  readonly trials: readonly Trial[];
  readonly card: BoatCard;
  readonly runs: ReturnType<typeof speedsFromRuns>;
  readonly lines: Readonly<Record<string, IntendedLine>>;
}

/** The plots asked for, in that order; none of a trial that is not there. */
export function trialPlots(log: TrialLog, trials: readonly Trial[], card: BoatCard, wanted: readonly PlotWanted[], lines: Readonly<Record<string, IntendedLine>>): Plot[] {
  const compass = !checkLog(log).some(({ code }) => code === 'heading-reversed' || code === 'heading-offset');
  const seen = compass ? log : { ...log, headingDeg: new Float32Array(log.n).fill(NaN) };
  const source: PlotSource = { log, seen, trials, card, runs: speedsFromRuns(log, trials, compass), lines };
  return wanted.flatMap((one) => {
    if (one.kind === 'velocity') return [velocityPlot(source, one.trial ?? null)];
    if (one.kind === 'command') return [commandPlot(source, one.trial ?? null)];
    if (one.kind === 'power') return [powerPlot(source, one.trial ?? null)];
    const trial = trials.find(({ id }) => id === one.trial);
    return trial === undefined ? [] : plotsOf(source, trial);
  });
}

function plotsOf(source: PlotSource, trial: Trial): Plot[] {
  switch (trial.kind) {
    case 'steady-run':
      return [runPlot(source, trial), velocityPlot(source, trial.id)];
    case 'standing-start':
      return [startPlot(source, trial)];
    case 'coast-down':
      return [coastPlot(source, trial)];
    case 'stop-astern':
      return [stopPlot(source, trial)];
    case 'turning-circle':
      return [circlePlot(source, trial)];
    case 'spin':
      return [spinPlot(source, trial)];
    case 'zig-zag':
      return [zigZagPlot(source, trial)];
    case 'straight-leg':
      return [legPlot(source, trial)];
  }
}
