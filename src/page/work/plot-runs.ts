import { half95, isRefused } from '../../boat/estimate.js';
import { runMean } from '../../boat/run-mean.js';
import type { Trial } from '../../boat/trial-log.js';
import { currentAt } from '../../boat/velocity-circle.js';
import type { Plot, PlotMark, PlotSeries } from '../plots/plot.js';
import { fixed } from '../words/figures.js';
import { trialName } from '../words/trials.js';
import { groundSpeeds } from './read-trials.js';
import type { PlotSource } from './trial-plots.js';

const CIRCLE_POINTS = 97;

/** Velocities over the ground of the steady runs, the circles through them about the current, and the current itself. */
export function velocityPlot({ runs, trials }: PlotSource, chosen: string | null): Plot {
  const { groups, current } = runs;
  const series: PlotSeries[] = [];
  const marks: PlotMark[] = [];
  const centre = current === null ? null : currentAt(current, current.midS);
  groups.forEach((group) => {
    const setting = Number.isNaN(group.commandPct) ? trialName(group.runs[0]!.trial, trials) : `${fixed(group.commandPct, 0)} %`;
    const arrows = group.runs.filter(({ trial }) => trial.id !== chosen);
    const column = (runsOf: typeof group.runs, pick: (mean: (typeof group.runs)[number]['mean']) => number) => Float64Array.from(runsOf, ({ mean }) => pick(mean));
    if (centre !== null && group.speed !== null) {
      const angle = (k: number) => (2 * Math.PI * k) / (CIRCLE_POINTS - 1);
      const radius = group.speed.value;
      series.push({ name: `circle of ${setting}`, style: 'thin', x: Float64Array.from({ length: CIRCLE_POINTS }, (_, k) => centre.eastMps + radius * Math.sin(angle(k) + Math.PI / 4)), y: Float64Array.from({ length: CIRCLE_POINTS }, (_, k) => centre.northMps + radius * Math.cos(angle(k) + Math.PI / 4)), label: setting });
    }
    series.push({ name: `runs at ${setting}`, style: 'dots', x: column(arrows, (mean) => mean.eastMps), y: column(arrows, (mean) => mean.northMps) });
    for (const { trial, mean } of group.runs) {
      const water = current === null ? { eastMps: 0, northMps: 0 } : currentAt(current, mean.midS);
      if (trial.id === chosen) {
        series.push({ name: trialName(trial, trials), style: 'dots', x: Float64Array.of(mean.eastMps), y: Float64Array.of(mean.northMps), chosen: true });
        marks.push({ from: [water.eastMps, water.northMps], to: [mean.eastMps, mean.northMps], text: '', style: 'arrow' });
      }
    }
  });
  if (current !== null && centre !== null) marks.push({ from: [0, 0], to: [centre.eastMps, centre.northMps], text: `current ${fixed(current.driftMps, 2)} m/s to ${fixed(current.setDeg, 0)}°`, style: 'arrow' });
  const why = runs.refused.find(({ what }) => what === 'set and drift')?.why;
  const changes = current !== null && current.sigmaRateMps2 > 0 ? ` It changes by ${fixed(3600 * Math.hypot(current.rateEastMps2, current.rateNorthMps2), 2)} m/s an hour; the circles stand where it was in the middle of the runs.` : '';
  return {
    name: 'velocity-circle',
    title: 'Velocities over the ground',
    caption: current === null ? `No circle: ${why ?? 'the runs do not tell the current'}.` : `Dots: runs. Circles: speed through the water about the current.${changes}`,
    x: { label: 'east', unit: 'm/s', column: 'east_mps', holds: [0] },
    y: { label: 'north', unit: 'm/s', column: 'north_mps', holds: [0] },
    equal: true,
    series,
    marks,
  };
}

/** Speed over the ground through one run, its mean and what that is worth. */
export function runPlot({ log, trials }: PlotSource, trial: Trial): Plot {
  const { rowStart, rowEnd } = trial;
  const mean = runMean(log, rowStart, rowEnd);
  const rows = rowEnd - rowStart;
  const cut = { n: rows, timeS: log.timeS.subarray(rowStart, rowEnd), xM: log.xM.subarray(rowStart, rowEnd), yM: log.yM.subarray(rowStart, rowEnd) };
  const ground = groundSpeeds(cut);
  const at = Float64Array.from(cut.timeS, (t) => t - (cut.timeS[0] as number));
  const series: PlotSeries[] = [{ name: 'speed over the ground', style: 'thin', x: at, y: Float64Array.from(ground) }];
  const through = Float64Array.from(log.speedThroughWaterMps.subarray(rowStart, rowEnd));
  if (!through.every(Number.isNaN)) series.push({ name: 'speed through the water, logged', style: 'dotted', x: at, y: through });
  if (!isRefused(mean)) {
    const half = half95({ value: mean.speedMps, sigma: mean.sigmaAlongMps, dof: mean.dof });
    series.push({ name: 'mean', style: 'line', x: Float64Array.of(0, at[rows - 1] as number), y: Float64Array.of(mean.speedMps, mean.speedMps), half95: Float64Array.of(half, half), chosen: true });
  }
  return {
    name: `run-${trial.id.replace('@', '-')}`,
    title: `${trialName(trial, trials)}: speed`,
    caption: isRefused(mean) ? `Refused: ${mean.refused}.` : `Thin: over the ground, each second. Mean ${fixed(mean.speedMps, 3)} ± ${fixed(half95({ value: 0, sigma: mean.sigmaAlongMps, dof: mean.dof }), 3)} m/s, scatter ${fixed(100 * mean.unsteadiness, 1)} %.${series.some(({ style }) => style === 'dotted') ? ' Dotted: the log of speed through the water.' : ''}`,
    x: { label: 'from the start of the run', unit: 's', column: 'time_s' },
    y: { label: 'speed', unit: 'm/s', column: 'speed_mps' },
    equal: false,
    series,
    marks: [],
  };
}

/** Command to speed through the water. */
export function commandPlot({ card }: PlotSource, chosen: string | null): Plot {
  const points = card.commandToSpeed;
  const lit = points.filter(({ trials }) => chosen !== null && trials.includes(chosen));
  const columns = (of: typeof points) => ({ x: Float64Array.from(of, ({ commandPct }) => commandPct), y: Float64Array.from(of, ({ value }) => value), half95: Float64Array.from(of, ({ uncertainty95 }) => uncertainty95) });
  return {
    name: 'command-to-speed',
    title: 'Command to speed through the water',
    caption: points.length === 0 ? 'No steady runs with a logged command.' : 'Bars: 95 %.',
    x: { label: 'command', unit: '%', column: 'command_pct', holds: [0, 100] },
    y: { label: 'speed', unit: 'm/s', column: 'speed_mps', holds: [0] },
    equal: false,
    series: [{ name: 'between', style: 'thin', x: columns(points).x, y: columns(points).y }, { name: 'measured', style: 'dots', ...columns(points) }, ...(lit.length === 0 ? [] : [{ name: 'from the trial at hand', style: 'dots' as const, ...columns(lit), chosen: true }])],
    marks: [],
  };
}

/** Speed to electrical power, with the curve through it. */
export function powerPlot({ card }: PlotSource, chosen: string | null): Plot {
  const points = card.speedToPower;
  const lit = points.filter(({ trials }) => chosen !== null && trials.includes(chosen));
  const columns = (of: typeof points) => ({ x: Float64Array.from(of, ({ atSpeedMps }) => atSpeedMps), y: Float64Array.from(of, ({ value }) => value), half95: Float64Array.from(of, ({ uncertainty95 }) => uncertainty95) });
  const { hotelPower, powerCoefficient, powerExponent, topSpeed } = card.figures;
  const series: PlotSeries[] = [];
  let caption = points.length === 0 ? 'No steady runs with battery voltage and current.' : 'Bars: 95 %.';
  if (hotelPower !== null && powerCoefficient !== null && powerExponent !== null && topSpeed !== null) {
    const x = Float64Array.from({ length: 61 }, (_, k) => (topSpeed.value * k) / 60);
    const defaults = [hotelPower, powerCoefficient, powerExponent].some(({ source }) => source !== 'trials');
    series.push({ name: 'P = hotel + a v^n', style: defaults ? 'dashed' : 'line', x, y: x.map((v) => hotelPower.value + powerCoefficient.value * v ** powerExponent.value) });
    caption += ` Curve: P = ${fixed(hotelPower.value, 1)} + ${fixed(powerCoefficient.value, 2)} v^${fixed(powerExponent.value, 2)} W${defaults ? ', dashed: not all of it measured' : ''}.`;
  }
  series.push({ name: 'measured', style: 'dots', ...columns(points) });
  if (lit.length > 0) series.push({ name: 'from the trial at hand', style: 'dots', ...columns(lit), chosen: true });
  return { name: 'speed-to-power', title: 'Speed through the water to power', caption, x: { label: 'speed', unit: 'm/s', column: 'speed_mps', holds: [0] }, y: { label: 'power', unit: 'W', column: 'power_w', holds: [0] }, equal: false, series, marks: [] };
}
