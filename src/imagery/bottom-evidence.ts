import type { SonarHeads, SonarSamples } from '../base/sonar.js';

/** What of the heads the bottom track needs. */
export type PingTiming = Pick<SonarHeads, 'timeS' | 'portSamples' | 'starboardSamples' | 'intervalS' | 'delayS'>;

/** Echoes of a few neighbouring pings by slant range. Columns are bins of `binM` from the transducer outward. */
export interface PingProfile {
  /** Mean amplitude by bin, port and starboard; NaN where no sample fell. Shape [bins] each. */
  readonly port: Float64Array;
  readonly starboard: Float64Array;
}

/**
 * Mean amplitude by slant range of the pings [start, end) of a stretch.
 *
 * @param rowStart row in `heads` of the stretch's first ping
 */
export function pingProfile(samples: SonarSamples, heads: PingTiming, rowStart: number, start: number, end: number, bins: number, binM: number, soundSpeedMps: number): PingProfile {
  return { port: sideProfile(samples.port, heads.portSamples), starboard: sideProfile(samples.starboard, heads.starboardSamples) };

  function sideProfile(values: Float32Array, counts: Uint32Array): Float64Array {
    const sum = new Float64Array(bins);
    const count = new Uint16Array(bins);
    for (let ping = start; ping < end; ping++) {
      const row = rowStart + ping;
      const n = Math.min(counts[row]!, samples.width);
      const firstBin = ((soundSpeedMps / 2) * heads.delayS[row]!) / binM;
      const step = ((soundSpeedMps / 2) * heads.intervalS[row]!) / binM;
      if (!(step > 0)) continue;
      const base = ping * samples.width;
      const first = Math.max(0, Math.ceil(-firstBin / step));
      const last = Math.min(n, Math.ceil((bins - firstBin) / step));
      for (let i = first; i < last; i++) {
        const bin = (firstBin + i * step) | 0;
        const value = values[base + i]!;
        if (bin >= bins || !(value >= 0)) continue;
        sum[bin]! += value;
        count[bin]!++;
      }
    }
    for (let bin = 0; bin < bins; bin++) sum[bin] = count[bin]! === 0 ? NaN : sum[bin]! / count[bin]!;
    return sum;
  }
}

/** More contrast than this says no more [dB]. */
export const SURE_DB = 20;
/** Windows on either side of a range, so much and a share of the range [m, 1]. */
const WINDOW_M = 0.5;
const WINDOW_SHARE = 0.06;

/**
 * How well each slant range does as the first echo of the floor: how much louder it is from there on than before [dB].
 *
 * After: the mean level of a short stretch. Before: half the mean of all that came before, half that of a short stretch. So the
 * thin bright line of the water surface, a fish or noise on one side do not look like a floor, nor does a hard patch beyond it.
 * Held between 0 and 20 dB; the mean of the sides that were heard.
 *
 * @param blankM nothing nearer is looked at [m]
 * @returns shape [bins]; all 0 where nothing was heard
 */
export function floorContrastDb({ port, starboard }: PingProfile, binM: number, blankM: number): Float64Array {
  const bins = port.length;
  const contrast = new Float64Array(bins);
  const sum = new Float64Array(bins + 1);
  let sides = 0;
  for (const side of [port, starboard]) {
    const levels = levelsOf(side);
    if (levels === null) continue;
    sides++;
    for (let bin = 0; bin < bins; bin++) sum[bin + 1] = sum[bin]! + levels[bin]!;
    const first = Math.max(1, Math.round(blankM / binM));
    for (let bin = first + 2; bin < bins - 2; bin++) {
      const window = Math.max(2, Math.round((WINDOW_M + WINDOW_SHARE * bin * binM) / binM));
      const end = Math.min(bins, bin + window);
      const start = Math.max(first, bin - window);
      const after = (sum[end]! - sum[bin]!) / (end - bin);
      const before = (sum[bin]! - sum[first]!) / (bin - first);
      const near = (sum[bin]! - sum[start]!) / (bin - start);
      contrast[bin]! += Math.min(SURE_DB, Math.max(0, after - 0.5 * before - 0.5 * near));
    }
  }
  if (sides > 1) for (let bin = 0; bin < bins; bin++) contrast[bin]! /= sides;
  return contrast;
}

/** Levels in dB, silence held at 60 dB below the mean; null where a side was not heard. */
function levelsOf(side: Float64Array): Float64Array | null {
  let sum = 0;
  let n = 0;
  for (const value of side) {
    if (!(value >= 0)) continue;
    sum += value;
    n++;
  }
  if (n < 4 || !(sum > 0)) return null;
  const least = (1e-3 * sum) / n;
  const levels = new Float64Array(side.length);
  let last = 20 * Math.log10(least);
  for (let bin = 0; bin < side.length; bin++) {
    const value = side[bin]!;
    if (value >= 0) last = 20 * Math.log10(Math.max(value, least));
    levels[bin] = last;
  }
  return levels;
}
