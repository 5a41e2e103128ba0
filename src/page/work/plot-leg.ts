import { half95, isRefused } from '../../boat/estimate.js';
import { slope } from '../../boat/run-mean.js';
import { trackKeeping } from '../../boat/track-keeping.js';
import type { Trial } from '../../boat/trial-log.js';
import type { Plot } from '../plots/plot.js';
import { fixed } from '../words/figures.js';
import { trialName } from '../words/trials.js';
import type { PlotSource } from './trial-plots.js';

/** The line through a leg is told from its last share, as its figures are. */
const SETTLED_SHARE = 0.6;

/** Cross-track error along a leg, to starboard upwards, with the band that holds 95 % of its settled part. */
export function legPlot({ log, trials, lines }: PlotSource, trial: Trial): Plot {
  const { rowStart, rowEnd } = trial;
  const line = lines[trial.id] ?? null;
  const settled = Math.floor(rowStart + (1 - SETTLED_SHARE) * (rowEnd - rowStart));
  const motion = slope(log, settled, rowEnd);
  let [ax, ay] = [motion.vx, motion.vy];
  let [cx, cy] = [0, 0];
  if (line !== null) {
    const forward = (line.toXM - line.fromXM) * motion.vx + (line.toYM - line.fromYM) * motion.vy >= 0 ? 1 : -1;
    [ax, ay] = [forward * (line.toXM - line.fromXM), forward * (line.toYM - line.fromYM)];
    [cx, cy] = [line.fromXM, line.fromYM];
  } else {
    let n = 0;
    for (let i = settled; i < rowEnd; i++) {
      if (!Number.isFinite(log.xM[i])) continue;
      cx += log.xM[i] as number;
      cy += log.yM[i] as number;
      n++;
    }
    [cx, cy] = [cx / n, cy / n];
  }
  const length = Math.hypot(ax, ay);
  [ax, ay] = [ax / length, ay / length];
  const rows = rowEnd - rowStart;
  const x = Float64Array.from({ length: rows }, (_, i) => ((log.xM[rowStart + i] as number) - (log.xM[rowStart] as number)) * ax + ((log.yM[rowStart + i] as number) - (log.yM[rowStart] as number)) * ay);
  const y = Float64Array.from({ length: rows }, (_, i) => ((log.xM[rowStart + i] as number) - cx) * ay - ((log.yM[rowStart + i] as number) - cy) * ax);
  const kept = trackKeeping(log, rowStart, rowEnd, line);
  const ends = Float64Array.of(x[0] as number, x[rows - 1] as number);
  const within = isRefused(kept) ? NaN : kept.within95M.value;
  return {
    name: trial.id.replace('@', '-'),
    title: `${trialName(trial, trials)}: off the line`,
    caption: isRefused(kept)
      ? `Refused: ${kept.refused}.`
      : `RMS ${fixed(kept.rmsM.value, 2)} ± ${fixed(half95(kept.rmsM), 2)} m, 95 % within ${fixed(within, 2)} m (band)${isRefused(kept.settleM) ? '' : `, settled after ${fixed(kept.settleM.value, 0)} m`}. ${line === null ? 'Against the line through the leg itself: a steady offset does not show.' : 'Against the line it was to keep.'}`,
    x: { label: 'along the leg', unit: 'm', column: 'along_m' },
    y: { label: 'to starboard', unit: 'm', column: 'starboard_m', holds: [0] },
    equal: false,
    series: [{ name: '95 %', style: 'thin', x: ends, y: Float64Array.of(0, 0), half95: Float64Array.of(within, within) }, { name: 'off the line', style: 'line', x, y, chosen: true }],
    marks: [],
  };
}
