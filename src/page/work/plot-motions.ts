import { alongWay, firstCommandRow, type AlongWay, type KnownCurrent } from '../../boat/along-way.js';
import { coastOf } from '../../boat/coast-fit.js';
import { half95, isRefused, type Estimate } from '../../boat/estimate.js';
import { startOf } from '../../boat/start-fit.js';
import { stopOf } from '../../boat/stop-astern.js';
import type { Trial } from '../../boat/trial-log.js';
import { currentAt } from '../../boat/velocity-circle.js';
import type { Plot, PlotMark, PlotSeries } from '../plots/plot.js';
import { fixed } from '../words/figures.js';
import { trialName } from '../words/trials.js';
import type { PlotSource } from './trial-plots.js';

/** Speeds are told over this long; a stop is over in a second or two [s]. */
const OVER_S = 0.5;
const OVER_STOP_S = 0.2;
const CURVE_POINTS = 81;

/** The current for a trial, as the card tells it; null where it does not. */
export function knownCurrent({ runs, card }: PlotSource, trial: Trial): KnownCurrent | null {
  const midS = (trial.startS + trial.endS) / 2;
  if (runs.current !== null) return currentAt(runs.current, midS);
  const away = (one: (typeof card.currents)[number]) => Math.abs((one.startS + one.endS) / 2 - midS);
  const nearest = [...card.currents].sort((a, b) => away(a) - away(b))[0];
  if (nearest === undefined) return null;
  const set = (nearest.setDeg.value * Math.PI) / 180;
  return { eastMps: nearest.driftMps.value * Math.sin(set), northMps: nearest.driftMps.value * Math.cos(set), sigmaMps: nearest.driftMps.uncertainty95 / 2 };
}

/** Speed from the way made over each so many seconds. */
function speedsOf({ timeS, wayM }: AlongWay, overS: number): { x: Float64Array; y: Float64Array } {
  const x: number[] = [];
  const y: number[] = [];
  let from = 0;
  for (let i = 1; i < timeS.length; i++) {
    const dt = (timeS[i] as number) - (timeS[from] as number);
    if (dt < overS - 1e-6) continue;
    x.push(((timeS[i] as number) + (timeS[from] as number)) / 2);
    y.push(((wayM[i] as number) - (wayM[from] as number)) / dt);
    from = i;
  }
  return { x: Float64Array.from(x), y: Float64Array.from(y) };
}

function worth(estimate: Estimate, decimals: number, unit: string): string {
  return `${fixed(estimate.value, decimals)} ± ${fixed(half95(estimate), decimals)} ${unit}`;
}

/** Speed through the water against time, with a fit and what is to be said of it. */
function motionPlot(source: PlotSource, trial: Trial, way: AlongWay | null, fit: PlotSeries | null, marks: readonly PlotMark[], caption: string): Plot {
  const series: PlotSeries[] = [];
  if (way !== null) series.push({ name: 'speed through the water', style: 'dots', ...speedsOf(way, trial.kind === 'stop-astern' ? OVER_STOP_S : OVER_S) });
  if (fit !== null) series.push(fit);
  return {
    name: trial.id.replace('@', '-'),
    title: `${trialName(trial, source.trials)}: speed through the water`,
    caption,
    x: { label: 'from the start of the window', unit: 's', column: 'time_s' },
    y: { label: 'speed', unit: 'm/s', column: 'speed_mps', holds: [0] },
    equal: false,
    series,
    marks,
  };
}

const NO_CURRENT = 'The current is not known, so speed through the water cannot be told.';

/** A standing start: speed, and vmax tanh((t - t0) / tau). */
export function startPlot(source: PlotSource, trial: Trial): Plot {
  const { log } = source;
  const { rowStart, rowEnd } = trial;
  const current = knownCurrent(source, trial);
  if (current === null) return motionPlot(source, trial, null, null, [], NO_CURRENT);
  const way = alongWay(log, rowStart, rowEnd, current, Math.floor(rowStart + 0.7 * (rowEnd - rowStart)), rowEnd);
  if (isRefused(way)) return motionPlot(source, trial, null, null, [], `Refused: ${way.refused}.`);
  const fit = startOf(log, rowStart, rowEnd, current);
  if (isRefused(fit)) return motionPlot(source, trial, way, null, [], `Refused: ${fit.refused}.`);
  const { startS: t0, tauS, topSpeedMps: top, timeTo90S } = fit;
  const endS = way.timeS[way.timeS.length - 1] as number;
  const x = Float64Array.from({ length: CURVE_POINTS }, (_, k) => (endS * k) / (CURVE_POINTS - 1));
  const curve: PlotSeries = { name: 'vmax tanh(t / tau)', style: 'line', x, y: x.map((t) => Math.max(0, top.value * Math.tanh((t - t0.value) / tauS.value))), chosen: true };
  const at90 = t0.value + timeTo90S.value;
  return motionPlot(source, trial, way, curve, [
    { from: [t0.value, 0], to: [t0.value, top.value], text: 'off', style: 'guide' },
    { from: [at90, 0], to: [at90, 0.9 * top.value], text: '90 %', style: 'guide' },
  ], `v = vmax tanh(t / tau): vmax ${worth(top, 2, 'm/s')}, tau ${worth(tauS, 2, 's')}; 90 % after ${worth(timeTo90S, 2, 's')}.`);
}

/** A coast-down: speed, and v0 / (1 + v0 t / L) from a second after the cut. */
export function coastPlot(source: PlotSource, trial: Trial): Plot {
  const { log } = source;
  const { rowStart, rowEnd } = trial;
  const current = knownCurrent(source, trial);
  if (current === null) return motionPlot(source, trial, null, null, [], NO_CURRENT);
  const cut = firstCommandRow(log, rowStart, rowEnd, (command) => Math.abs(command) < 2);
  const from = Math.max(rowStart, cut);
  const way = alongWay(log, rowStart, rowEnd, current, from, Math.min(rowEnd, from + Math.max(3, Math.floor((rowEnd - from) / 3))));
  if (isRefused(way)) return motionPlot(source, trial, null, null, [], `Refused: ${way.refused}.`);
  const fit = coastOf(log, rowStart, rowEnd, current);
  const cutAt = cut < 0 ? NaN : (log.timeS[cut] as number) - way.zeroS;
  const marks: PlotMark[] = Number.isNaN(cutAt) ? [] : [{ from: [cutAt, 0], to: [cutAt, isRefused(fit) ? 0.1 : fit.startSpeedMps.value], text: 'thrusters off', style: 'guide' }];
  if (isRefused(fit)) return motionPlot(source, trial, way, null, marks, `Refused: ${fit.refused}.`);
  const endS = way.timeS[way.timeS.length - 1] as number;
  const zero = cutAt + 1;
  const x = Float64Array.from({ length: CURVE_POINTS }, (_, k) => zero + ((endS - zero) * k) / (CURVE_POINTS - 1));
  // Without a logged cut the time it was at is a parameter of the fit that is not told: the curve cannot be placed.
  const curve: PlotSeries | null = Number.isNaN(cutAt) ? null : { name: 'v0 / (1 + v0 t / L)', style: 'line', x, y: x.map((t) => fit.startSpeedMps.value / (1 + (fit.startSpeedMps.value * (t - zero)) / fit.lengthM.value)), chosen: true };
  return motionPlot(source, trial, way, curve, marks, `v = v0 / (1 + v0 t / L) from a second after the cut: L ${worth(fit.lengthM, 1, 'm')}; ${worth(fit.wayTo10M, 1, 'm')} to a tenth of the speed.`);
}

/** A stop under full astern: speed, the order and the moment of rest. */
export function stopPlot(source: PlotSource, trial: Trial): Plot {
  const { log } = source;
  const { rowStart, rowEnd } = trial;
  const current = knownCurrent(source, trial);
  if (current === null) return motionPlot(source, trial, null, null, [], NO_CURRENT);
  const order = firstCommandRow(log, rowStart, rowEnd, (command) => command < -10);
  const way = alongWay(log, rowStart, rowEnd, current, rowStart, Math.max(rowStart + 4, order));
  if (isRefused(way)) return motionPlot(source, trial, null, null, [], `Refused: ${way.refused}.`);
  const fit = stopOf(log, rowStart, rowEnd, current);
  const orderAt = order < 0 ? NaN : (log.timeS[order] as number) - way.zeroS;
  const topMps = isRefused(fit) ? 0.1 : fit.fromSpeedMps.value;
  const marks: PlotMark[] = Number.isNaN(orderAt) ? [] : [{ from: [orderAt, 0], to: [orderAt, topMps], text: 'astern', style: 'guide' }];
  if (isRefused(fit)) return motionPlot(source, trial, way, null, marks, `Refused: ${fit.refused}.`);
  if (!Number.isNaN(orderAt)) marks.push({ from: [orderAt + fit.timeS.value, 0], to: [orderAt + fit.timeS.value, topMps / 2], text: 'at rest', style: 'guide' });
  return motionPlot(source, trial, way, null, marks, `From ${worth(fit.fromSpeedMps, 2, 'm/s')} to rest in ${worth(fit.timeS, 2, 's')} and ${worth(fit.wayM, 2, 'm')} through the water.`);
}
