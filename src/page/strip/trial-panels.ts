import type { LoadedTrials } from '../work/read-trials.js';
import { TRIAL_GAP_S } from '../work/read-trials.js';
import { CurvePyramid } from './curve-pyramid.js';

/** One curve of the strip. */
export interface StripCurve {
  readonly name: string;
  readonly style: 'line' | 'dashed' | 'dots';
  readonly pyramid: CurvePyramid;
}

/** Curves that share an axis. */
export interface StripPanel {
  readonly title: string;
  readonly unit: string;
  readonly low: number;
  readonly high: number;
  readonly steps: readonly number[];
  readonly curves: readonly StripCurve[];
}

/** What a log of trials has to show against time: speed, heading, thrusters, battery; a panel without anything in it is left out. */
export function trialPanels({ log, groundMps }: LoadedTrials): StripPanel[] {
  const curve = (name: string, style: StripCurve['style'], value: ArrayLike<number>): StripCurve => ({ name, style, pyramid: new CurvePyramid(log.timeS, value, TRIAL_GAP_S) });
  const power = Float32Array.from(log.batteryVoltageV, (volts, i) => volts * (log.batteryCurrentA[i] as number));
  const panels: { title: string; unit: string; curves: StripCurve[] }[] = [
    { title: 'speed', unit: 'm/s', curves: [curve('over the ground', 'line', groundMps), curve('through the water', 'dashed', log.speedThroughWaterMps)] },
    { title: 'heading', unit: '°', curves: [curve('heading', 'dots', log.headingDeg)] },
    { title: 'thrusters', unit: '%', curves: [curve('port', 'line', log.thrusterPortPct), curve('starboard', 'dashed', log.thrusterStarboardPct)] },
    { title: 'battery', unit: 'W', curves: [curve('power', 'line', power)] },
  ];
  return panels.flatMap(({ title, unit, curves }): StripPanel[] => {
    const full = curves.filter(({ pyramid }) => !pyramid.empty);
    if (full.length === 0) return [];
    if (title === 'heading') return [{ title, unit, low: 0, high: 360, steps: [0, 180, 360], curves: full }];
    if (title === 'thrusters') return [{ title, unit, low: -105, high: 105, steps: [-100, 0, 100], curves: full }];
    // A glitch is not what the axis is for: the scale is that of all but the wildest in a thousand.
    const most = Math.max(...full.map((one) => (one.name === 'over the ground' ? usualMost(groundMps) : one.pyramid.greatest)));
    const least = Math.min(0, ...full.map(({ pyramid }) => pyramid.least));
    const high = most > 0 ? most * 1.08 : 1;
    const step = niceStep((high - least) / 3.2);
    const steps: number[] = [];
    for (let k = Math.ceil(least / step); k * step <= high; k++) steps.push(Number((k * step).toPrecision(6)));
    return [{ title, unit, low: least, high, steps, curves: full }];
  });
}

function usualMost(values: Float32Array): number {
  const sample: number[] = [];
  const stride = Math.max(1, Math.floor(values.length / 20_000));
  for (let i = 0; i < values.length; i += stride) if (Number.isFinite(values[i])) sample.push(values[i] as number);
  sample.sort((a, b) => a - b);
  return sample[Math.floor(sample.length * 0.999)] ?? 1;
}

function niceStep(rough: number): number {
  const power = 10 ** Math.floor(Math.log10(rough));
  return [1, 2, 5, 10].map((m) => m * power).find((step) => step >= rough) ?? 10 * power;
}
