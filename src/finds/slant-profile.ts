import type { Side } from '../base/sonar.js';
import type { PingTiming } from '../imagery/bottom-evidence.js';
import type { BottomTrack } from '../imagery/bottom-track.js';
import { samplesOfBins, type BinSamples, type CorrectOptions } from '../imagery/correct-stretch.js';
import { slantOfGroundM, slantRangeM } from '../imagery/slant-range.js';
import type { SonarTrack } from '../imagery/sonar-track.js';
import type { Picture } from './detect.js';

/** How the pings of a picture were sampled. */
export interface PictureSampling {
  /** Slant range of a sample, which may be a fraction [m]. */
  readonly slantOf: (sample: number) => number;
  /** Which samples make up the ground bins of a ping; null where it has none. */
  readonly samplesOf: (ping: number) => BinSamples | null;
}

/** Powers of one ping by slant range, each sample once and where it was taken. Shape of every column: [n]. */
export interface PingCells {
  readonly slantM: Float64Array;
  readonly power: Float64Array;
  /** Samples that a power is the mean of. */
  readonly samples: Uint16Array;
}

/** Mean of two amplitudes squared over the mean of their squares is (1 + pi / 4) / 2, and so on: the mean Rayleigh amplitude is sqrt(pi) / 2 of its root mean square. Source: Goodman (1976), J. Opt. Soc. Am. 66, 1145. */
const ALIKE = Math.PI / 4;
/** Louder than this over the floor says no more [dB]. */
const MOST_DB = 24;

/** Sampling of a picture whose bins are samples of their own. */
export function binsAsSamples({ width, binM }: Pick<Picture, 'width' | 'binM'>, heightM: number, slopeAcross: number): PictureSampling {
  const samples: BinSamples = { sampleStart: Int32Array.from({ length: width + 1 }, (_, bin) => bin), sampleAt: Int32Array.from({ length: width }, (_, bin) => bin) };
  return { slantOf: (sample) => slantOfGroundM((sample + 0.5) * binM, heightM, slopeAcross), samplesOf: () => samples };
}

/**
 * Sampling of the pings of a corrected stretch on one side: those timed otherwise than the ping at `row` have none.
 *
 * @param rowStart row of the picture's first ping in the columns
 */
export function samplingOf(pings: PingTiming, bottom: Pick<BottomTrack, 'heightM'>, track: Pick<SonarTrack, 'portSlope' | 'starboardSlope'>, options: Pick<CorrectOptions, 'soundSpeedMps' | 'binM'>, width: number, rowStart: number, side: Side, row: number): PictureSampling {
  const [delayS, intervalS] = [pings.delayS[row]!, pings.intervalS[row]!];
  return {
    slantOf: (sample) => slantRangeM(sample, delayS, intervalS, options.soundSpeedMps),
    samplesOf: (ping) => (pings.delayS[rowStart + ping] === delayS && pings.intervalS[rowStart + ping] === intervalS ? samplesOfBins(pings, bottom, track, options, rowStart + ping, side, width) : null),
  };
}

/**
 * Powers of a ping from `binStart` up to but not including `binEnd`. Where bins are narrower than samples the same sample stands
 * in several: it counts once.
 */
export function pingCells({ width, levelDb }: Pick<Picture, 'width' | 'levelDb'>, { slantOf, samplesOf }: PictureSampling, ping: number, binStart: number, binEnd: number): PingCells {
  const slantM: number[] = [];
  const power: number[] = [];
  const counts: number[] = [];
  const samples = samplesOf(ping);
  let last = -1;
  for (let bin = Math.max(0, binStart); samples !== null && bin < Math.min(width, binEnd); bin++) {
    const level = levelDb[ping * width + bin]!;
    if (level !== level) continue;
    const start = samples.sampleStart[bin]!;
    const count = samples.sampleStart[bin + 1]! - start;
    const at = count > 0 ? start : samples.sampleAt[bin]!;
    if (at <= last) continue;
    const k = Math.max(1, count);
    last = at + k - 1;
    slantM.push(slantOf(at + (k - 1) / 2));
    power.push(10 ** (Math.min(level, MOST_DB) / 10) / (1 / k + (1 - 1 / k) * ALIKE));
    counts.push(k);
  }
  return { slantM: Float64Array.from(slantM), power: Float64Array.from(power), samples: Uint16Array.from(counts) };
}

/** Mean power of what lies between two slant ranges, and of how many samples; NaN where nothing does. */
export function meanBetween(pings: readonly PingCells[], fromM: number, toM: number): { readonly mean: number; readonly count: number } {
  let [sum, count] = [0, 0];
  for (const { slantM, power, samples } of pings) {
    for (let i = 0; i < slantM.length; i++) {
      if (!(slantM[i]! >= fromM && slantM[i]! < toM)) continue;
      sum += samples[i]! * power[i]!;
      count += samples[i]!;
    }
  }
  return { mean: count === 0 ? NaN : sum / count, count };
}
