import { orderStanding } from '../depths/orders.js';
import { REASONS, type Soundings } from '../depths/soundings.js';
import { quantile } from '../base/statistics.js';
import type { SoundingsSummary } from './summary.js';

export { depthsBelow } from '../water/depth-datum.js';

/** What a reason is called, by its name in the summary. */
export function reasonLabel(name: string): string {
  return REASONS.find((one) => one.name === name)?.label ?? name;
}

/** A step longer than this between soundings is not counted as track [m]. */
const LONGEST_STEP_M = 50;

/** Figures of soundings for the summary. */
export function soundingsFigures(soundings: Soundings, crossings: SoundingsSummary['crossings'], more: Pick<SoundingsSummary, 'corrections' | 'notes'> = { corrections: [], notes: [] }): SoundingsSummary {
  const { n } = soundings;
  const setAside: Record<string, number> = {};
  const depths: number[] = [];
  const tvu: number[] = [];
  const thu: number[] = [];
  let trackLengthM = 0;
  let last = -1;
  let levelMin = Infinity;
  let levelMax = -Infinity;
  let sum = 0;
  for (let i = 0; i < n; i++) {
    const reason = soundings.reason[i] as number;
    if (reason !== 0) {
      const name = REASONS[reason]!.name;
      setAside[name] = (setAside[name] ?? 0) + 1;
      continue;
    }
    if (last >= 0) {
      const step = Math.hypot((soundings.xM[i] as number) - (soundings.xM[last] as number), (soundings.yM[i] as number) - (soundings.yM[last] as number));
      if (step <= LONGEST_STEP_M) trackLengthM += step;
    }
    last = i;
    const depth = soundings.depthM[i] as number;
    depths.push(depth);
    sum += depth;
    tvu.push(soundings.tvuM[i] as number);
    thu.push(soundings.thuM[i] as number);
    const level = soundings.waterLevelM[i] as number;
    if (level < levelMin) levelMin = level;
    if (level > levelMax) levelMax = level;
  }
  const standing = orderStanding(soundings);
  const sortedDepths = Float64Array.from(depths).sort();
  const tvuAll = Float64Array.from(tvu);
  const thuAll = Float64Array.from(thu);
  const orNaN = (value: number): number => (depths.length === 0 ? NaN : value);
  return {
    total: n,
    good: depths.length,
    setAside,
    timeStartS: n === 0 ? NaN : (soundings.timeS[0] as number),
    timeEndS: n === 0 ? NaN : (soundings.timeS[n - 1] as number),
    trackLengthM,
    depthMinM: orNaN(sortedDepths[0] as number),
    depthMaxM: orNaN(sortedDepths[sortedDepths.length - 1] as number),
    depthMeanM: orNaN(sum / depths.length),
    tvuMedianM: orNaN(quantile(tvuAll, 0.5)),
    tvuP90M: orNaN(quantile(tvuAll, 0.9)),
    thuMedianM: orNaN(quantile(thuAll, 0.5)),
    thuP90M: orNaN(quantile(thuAll, 0.9)),
    orderShare: standing.share,
    orderMet: standing.met,
    crossings,
    waterLevelMinM: orNaN(levelMin),
    waterLevelMaxM: orNaN(levelMax),
    ...more,
  };
}
