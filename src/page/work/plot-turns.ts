import { currentInFrame } from '../../boat/along-way.js';
import { unrolledDeg } from '../../base/interpolate.js';
import { half95, isRefused, type Estimate, type Refusal } from '../../boat/estimate.js';
import { slope } from '../../boat/run-mean.js';
import { spinOf } from '../../boat/spin.js';
import type { Trial, TrialLog } from '../../boat/trial-log.js';
import { turningCircle } from '../../boat/turning-circle.js';
import { zigZagOf } from '../../boat/zig-zag.js';
import type { Plot, PlotMark, PlotSeries } from '../plots/plot.js';
import { fixed } from '../words/figures.js';
import { trialName } from '../words/trials.js';
import type { PlotSource } from './trial-plots.js';

/** The approach is drawn from this much before the order [s]. */
const APPROACH_S = 8;

function worth(estimate: Estimate | Refusal, decimals: number, unit: string): string {
  return isRefused(estimate) ? 'not reached' : `${fixed(estimate.value, decimals)} ± ${fixed(half95(estimate), decimals)} ${unit}`;
}

/** First row not before a time. */
function rowAtTime(log: TrialLog, rowStart: number, rowEnd: number, timeS: number): number {
  let low = rowStart;
  let high = rowEnd;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((log.timeS[middle] as number) < timeS) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** A turning circle with its drift taken out, the approach upwards: advance, transfer and tactical diameter as they are measured. */
export function circlePlot({ seen, trials }: PlotSource, trial: Trial): Plot {
  const { rowStart, rowEnd } = trial;
  const circle = turningCircle(seen, rowStart, rowEnd);
  const plot = (series: readonly PlotSeries[], marks: readonly PlotMark[], caption: string): Plot => ({
    name: trial.id.replace('@', '-'),
    title: trialName(trial, trials),
    caption,
    x: { label: 'to starboard of the approach', unit: 'm', column: 'starboard_m' },
    y: { label: 'ahead', unit: 'm', column: 'ahead_m' },
    equal: true,
    series,
    marks,
  });
  if (isRefused(circle)) {
    const xs = Float64Array.from(seen.xM.subarray(rowStart, rowEnd), (x) => x - (seen.xM[rowStart] as number));
    const ys = Float64Array.from(seen.yM.subarray(rowStart, rowEnd), (y) => y - (seen.yM[rowStart] as number));
    return { ...plot([{ name: 'track', style: 'line', x: xs, y: ys }], [], `Refused: ${circle.refused}. The track is drawn as it ran.`), x: { label: 'east', unit: 'm', column: 'east_m' }, y: { label: 'north', unit: 'm', column: 'north_m' } };
  }
  const drift = currentInFrame({ eastMps: circle.driftEastMps, northMps: circle.driftNorthMps, sigmaMps: 0 }, seen.convergenceDeg);
  const orderRow = rowAtTime(seen, 0, rowEnd, circle.orderS);
  const first = rowAtTime(seen, 0, orderRow, circle.orderS - APPROACH_S);
  const motion = slope(seen, first, orderRow);
  const speed = Math.hypot(motion.vx - drift.x, motion.vy - drift.y);
  const [ax, ay] = [(motion.vx - drift.x) / speed, (motion.vy - drift.y) / speed];
  // Where the approach was at the order: a line through it, as a single position is noisy.
  let [ox, oy, n] = [0, 0, 0];
  for (let i = first; i < orderRow; i++) {
    const late = (seen.timeS[i] as number) - circle.orderS;
    if (!Number.isFinite(seen.xM[i])) continue;
    ox += (seen.xM[i] as number) - motion.vx * late;
    oy += (seen.yM[i] as number) - motion.vy * late;
    n++;
  }
  [ox, oy] = [ox / n, oy / n];
  // As much of the approach as the turn is wide: the turn is what is to be seen.
  const wideM = isRefused(circle.tacticalDiameterM) ? 2 * circle.advanceM.value : circle.tacticalDiameterM.value;
  const drawn = rowAtTime(seen, first, orderRow, circle.orderS - (0.6 * wideM) / speed);
  const columns = (taken: number) => {
    const x: number[] = [];
    const y: number[] = [];
    for (let i = drawn; i < rowEnd; i++) {
      const late = (seen.timeS[i] as number) - circle.orderS;
      const dx = (seen.xM[i] as number) - ox - taken * drift.x * late;
      const dy = (seen.yM[i] as number) - oy - taken * drift.y * late;
      x.push(dx * ay - dy * ax);
      y.push(dx * ax + dy * ay);
    }
    return { x: Float64Array.from(x), y: Float64Array.from(y) };
  };
  const still = columns(1);
  const over = columns(0);
  const sign = circle.side === 'starboard' ? 1 : -1;
  const placeAt = (afterS: number): readonly [number, number] => {
    const i = Math.min(rowEnd - 1, rowAtTime(seen, drawn, rowEnd, circle.orderS + afterS)) - drawn;
    return [still.x[i] as number, still.y[i] as number];
  };
  const at90 = placeAt(circle.timeTo90S.value);
  const marks: PlotMark[] = [
    { from: [0, 0], to: [0, 0], text: 'order', style: 'point' },
    { from: [0, 0], to: [0, circle.advanceM.value], text: `advance ${fixed(circle.advanceM.value, 1)} m`, style: 'span' },
    { from: [0, circle.advanceM.value], to: [sign * circle.transferM.value, circle.advanceM.value], text: `transfer ${fixed(circle.transferM.value, 1)} m`, style: 'span' },
    { from: [...at90], to: [...at90], text: '90°', style: 'point' },
  ];
  if (!isRefused(circle.tacticalDiameterM) && !isRefused(circle.timeTo180S)) {
    const at180 = placeAt(circle.timeTo180S.value);
    marks.push({ from: [0, at180[1]], to: [sign * circle.tacticalDiameterM.value, at180[1]], text: `tactical ⌀ ${fixed(circle.tacticalDiameterM.value, 1)} m`, style: 'span' }, { from: [...at180], to: [...at180], text: '180°', style: 'point' });
  }
  return plot(
    [{ name: 'over the ground', style: 'dotted', ...over }, { name: 'drift taken out', style: 'line', ...still, chosen: true }],
    marks,
    `To ${circle.side} at ${worth(circle.approachMps, 2, 'm/s')}, drift taken out (dotted: as it ran). Steady diameter ${worth(circle.steadyDiameterM, 1, 'm')}; 360° in ${worth(circle.timeTo360S, 1, 's')}; keeps ${isRefused(circle.speedKept) ? '–' : fixed(100 * circle.speedKept.value, 0)} % of the speed.`,
  );
}

/** A zig-zag: heading off its mean and the helm against time. */
export function zigZagPlot({ seen, trials }: PlotSource, trial: Trial): Plot {
  const { rowStart, rowEnd } = trial;
  const x = Float64Array.from(seen.timeS.subarray(rowStart, rowEnd), (t) => t - (seen.timeS[rowStart] as number));
  const heading = unrolledDeg(seen.headingDeg, rowStart, rowEnd);
  const known = heading.filter((value) => !Number.isNaN(value));
  const mean = known.length === 0 ? 0 : (Math.max(...known) + Math.min(...known)) / 2;
  const helm = Float64Array.from(x, (_, i) => ((seen.thrusterPortPct[rowStart + i] as number) - (seen.thrusterStarboardPct[rowStart + i] as number)) / 2);
  const result = zigZagOf(seen, rowStart, rowEnd);
  let caption = 'Line: heading off the base course. Dashed: helm, half the difference of the thrusters. ';
  if (isRefused(result)) caption += `Refused: ${result.refused}.`;
  else {
    caption += `Overshoots ${Array.from(result.overshootsDeg, (value) => fixed(value, 1)).join(', ')}°. `;
    caption += isRefused(result.nomoto) ? `K and T refused: ${result.nomoto.refused}.` : `K ${worth(result.nomoto.k, 2, '1/s')}, T ${worth(result.nomoto.tS, 2, 's')}.`;
  }
  return {
    name: trial.id.replace('@', '-'),
    title: `${trialName(trial, trials)}: heading and helm`,
    caption,
    x: { label: 'from the start of the window', unit: 's', column: 'time_s' },
    y: { label: 'heading, ° · helm, %', unit: '', column: 'heading_deg_or_helm_pct', holds: [0] },
    equal: false,
    series: [{ name: 'heading', style: 'line', x, y: heading.map((value) => value - mean), chosen: true }, { name: 'helm', style: 'dashed', x, y: helm }],
    marks: [],
  };
}

/** A spin: the angle turned against time and the steady rate. */
export function spinPlot({ seen, trials }: PlotSource, trial: Trial): Plot {
  const { rowStart, rowEnd } = trial;
  const x = Float64Array.from(seen.timeS.subarray(rowStart, rowEnd), (t) => t - (seen.timeS[rowStart] as number));
  const heading = unrolledDeg(seen.headingDeg, rowStart, rowEnd);
  const zero = heading.find((value) => !Number.isNaN(value)) ?? 0;
  const turned = heading.map((value) => value - zero);
  const spin = spinOf(seen, rowStart, rowEnd);
  const series: PlotSeries[] = [{ name: 'angle turned', style: 'line', x, y: turned }];
  if (!isRefused(spin)) {
    const rate = spin.rateDegPerS.value * (spin.side === 'starboard' ? 1 : -1);
    const end = turned.length - 1;
    // Drawn through the end, where the yaw is steady, and back to where it would have begun.
    const from = Math.max(0, (x[end] as number) - (turned[end] as number) / rate);
    series.push({ name: 'steady rate', style: 'dashed', x: Float64Array.of(from, x[end] as number), y: Float64Array.of((turned[end] as number) - rate * ((x[end] as number) - from), turned[end] as number), chosen: true });
  }
  return {
    name: trial.id.replace('@', '-'),
    title: `${trialName(trial, trials)}: angle turned`,
    caption: isRefused(spin) ? `Refused: ${spin.refused}.` : `To ${spin.side}: ${worth(spin.rateDegPerS, 1, '°/s')} once steady (dashed). The pivot wanders ${worth(spin.wanderM, 2, 'm')}, 95 % of the time.`,
    x: { label: 'from the start of the window', unit: 's', column: 'time_s' },
    y: { label: 'turned', unit: '°', column: 'turned_deg', holds: [0] },
    equal: false,
    series,
    marks: [],
  };
}
