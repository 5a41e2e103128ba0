import { median } from '../base/robust.js';
import { SIDES, type Side, type SonarSamples } from '../base/sonar.js';
import { ANGLE_BINS, RANGE_BINS, cotOfAngleBin, rangeGainDb, type LearnedGain } from './learned-gain.js';
import { heightBelowM } from './slant-range.js';
import type { PingTiming } from './bottom-evidence.js';

/** Heights and slopes of the floor under and beside each ping: columns of BottomTrack and SonarTrack. */
export interface FloorUnder {
  readonly heightM: Float32Array;
  readonly portSlope: Float32Array;
  readonly starboardSlope: Float32Array;
}

/** Levels of the floor by side and angle of some pings, spreading and absorption put back; NaN where it was not heard. */
export interface AngleLevels {
  readonly pings: number;
  /** Shape [pings * ANGLE_BINS] [dB]. */
  readonly levelDb: Readonly<Record<Side, Float32Array>>;
  /** Slant range of a bin's middle, same shape [m]. */
  readonly slantM: Readonly<Record<Side, Float32Array>>;
}

export interface GainOptions {
  readonly soundSpeedMps: number;
  readonly spreadingDb: number;
  readonly absorptionDbPerKm: number;
}

/**
 * Levels by angle of the pings [start, end) of a stretch: the mean amplitude of the samples that fall into each bin.
 * @param rowStart row in `heads` and `floor` of the stretch's first ping
 */
export function angleLevels(samples: SonarSamples, heads: PingTiming, floor: FloorUnder, rowStart: number, start: number, end: number, options: GainOptions): AngleLevels {
  const pings = end - start;
  const make = (): Record<Side, Float32Array> => ({ port: new Float32Array(pings * ANGLE_BINS).fill(NaN), starboard: new Float32Array(pings * ANGLE_BINS).fill(NaN) });
  const levelDb = make();
  const slantM = make();
  for (const side of SIDES) {
    const values = samples[side];
    const counts = side === 'port' ? heads.portSamples : heads.starboardSamples;
    const slopes = side === 'port' ? floor.portSlope : floor.starboardSlope;
    for (let ping = start; ping < end; ping++) {
      const row = rowStart + ping;
      const planeM = heightBelowM(floor.heightM[row]!, floor.portSlope[row]!, floor.starboardSlope[row]!) / Math.sqrt(1 + slopes[row]! * slopes[row]!);
      const stepM = (options.soundSpeedMps / 2) * heads.intervalS[row]!;
      const firstM = (options.soundSpeedMps / 2) * heads.delayS[row]!;
      const n = Math.min(counts[row]!, samples.width);
      if (!(planeM > 0) || !(stepM > 0)) continue;
      const base = ping * samples.width;
      let i = Math.max(0, Math.ceil((planeM - firstM) / stepM));
      for (let bin = 0; bin < ANGLE_BINS && i < n; bin++) {
        const cot = cotOfAngleBin(bin + 1);
        const stop = Math.min(n, Math.ceil((planeM * Math.sqrt(1 + cot * cot) - firstM) / stepM));
        let sum = 0;
        let count = 0;
        const began = i;
        for (; i < stop; i++) {
          const value = values[base + i]!;
          if (value >= 0) {
            sum += value;
            count++;
          }
        }
        // A bin that the ping's end cuts short is not one.
        if (!(sum > 0) || (stop === n && n < Math.ceil((planeM * Math.sqrt(1 + cot * cot) - firstM) / stepM))) continue;
        const middleM = firstM + (stepM * (began + stop - 1)) / 2;
        const at = (ping - start) * ANGLE_BINS + bin;
        levelDb[side][at] = 20 * Math.log10(sum / count) + rangeGainDb(middleM, options.spreadingDb, options.absorptionDbPerKm);
        slantM[side][at] = middleM;
      }
    }
  }
  return { pings, levelDb, slantM };
}

/** Neighbouring pings whose amplitudes are averaged before a median is taken: single echoes are speckle, whose median is not its mean. */
const GROUP = 6;
/** Groups that have to be heard in a bin before its median counts. */
const LEAST_IN_BIN = 5;
const ROUNDS = 3;

/**
 * Learns what the floor's echo usually is: the median by side and angle, then by slant range of what is left, in turn.
 *
 * Medians, so that objects, shadows, fish and bad pings do not count as long as they are fewer than half; by angle first,
 * which is what the floor itself does (Lambert's law as the first model), then by range, which is what the instrument's own
 * gain leaves.
 */
export function learnGain(levels: readonly AngleLevels[], options: Pick<GainOptions, 'spreadingDb' | 'absorptionDbPerKm'>): LearnedGain {
  let farM = 0;
  let pings = 0;
  for (const one of levels) {
    pings += one.pings;
    for (const side of SIDES) for (const slant of one.slantM[side]) if (slant > farM) farM = slant;
  }
  const rangeStepM = Math.max(farM, 1) / RANGE_BINS;
  const learned = { port: { angleDb: [] as number[], rangeDb: [] as number[] }, starboard: { angleDb: [] as number[], rangeDb: [] as number[] } };
  for (const side of SIDES) {
    const level: number[] = [];
    const angle: number[] = [];
    const range: number[] = [];
    for (const one of levels) {
      for (let start = 0; start < one.pings; start += GROUP) {
        for (let bin = 0; bin < ANGLE_BINS; bin++) {
          const { levelDb, slantM } = groupLevel(one, side, start, Math.min(one.pings, start + GROUP), bin);
          if (Number.isNaN(levelDb)) continue;
          level.push(levelDb);
          angle.push(bin);
          range.push(Math.min(RANGE_BINS - 1, Math.floor(slantM / rangeStepM)));
        }
      }
    }
    let byAngle = new Array<number>(ANGLE_BINS).fill(0);
    let byRange = new Array<number>(RANGE_BINS).fill(0);
    for (let round = 0; round < ROUNDS; round++) {
      byAngle = mediansBy(angle, ANGLE_BINS, (i) => level[i]! - byRange[range[i]!]!, level.length);
      byRange = mediansBy(range, RANGE_BINS, (i) => level[i]! - byAngle[angle[i]!]!, level.length);
    }
    learned[side] = { angleDb: byAngle, rangeDb: byRange };
  }
  return {
    spreadingDb: options.spreadingDb,
    absorptionDbPerKm: options.absorptionDbPerKm,
    angleDb: { port: learned.port.angleDb, starboard: learned.starboard.angleDb },
    rangeDb: { port: learned.port.rangeDb, starboard: learned.starboard.rangeDb },
    rangeStepM,
    pings,
  };
}

/** Mean amplitude of a bin over a few pings as a level, and its mean slant range; NaN where fewer than half were heard. */
function groupLevel(levels: AngleLevels, side: Side, start: number, end: number, bin: number): { levelDb: number; slantM: number } {
  let amplitude = 0;
  let slant = 0;
  let n = 0;
  for (let ping = start; ping < end; ping++) {
    const level = levels.levelDb[side][ping * ANGLE_BINS + bin]!;
    if (Number.isNaN(level)) continue;
    amplitude += 10 ** (level / 20);
    slant += levels.slantM[side][ping * ANGLE_BINS + bin]!;
    n++;
  }
  return 2 * n < end - start || n === 0 ? { levelDb: NaN, slantM: NaN } : { levelDb: 20 * Math.log10(amplitude / n), slantM: slant / n };
}

/** Medians by bin; a bin with too few is filled from its neighbours, the ends carried on; 0 where nothing is known. */
function mediansBy(bin: readonly number[], bins: number, value: (i: number) => number, n: number): number[] {
  const groups: number[][] = Array.from({ length: bins }, () => []);
  for (let i = 0; i < n; i++) groups[bin[i]!]!.push(value(i));
  const found = groups.map((group) => (group.length < LEAST_IN_BIN ? NaN : median(group)));
  const known = found.flatMap((each, index) => (Number.isNaN(each) ? [] : [index]));
  if (known.length === 0) return new Array<number>(bins).fill(0);
  return found.map((each, index) => {
    if (!Number.isNaN(each)) return each;
    const before = known.filter((at) => at < index).pop();
    const after = known.find((at) => at > index);
    if (before === undefined) return found[after!]!;
    if (after === undefined) return found[before]!;
    return found[before]! + ((found[after]! - found[before]!) * (index - before)) / (after - before);
  });
}

/** Level of each ping against the learned gain: the median over its angles [dB]; NaN where too little was heard. Shape [pings]. */
export function pingLevelsDb({ pings, levelDb, slantM }: AngleLevels, gain: LearnedGain, side: Side): Float32Array {
  const result = new Float32Array(pings).fill(NaN);
  const off = new Float64Array(ANGLE_BINS);
  for (let ping = 0; ping < pings; ping++) {
    let n = 0;
    for (let bin = 0; bin < ANGLE_BINS; bin++) {
      const at = ping * ANGLE_BINS + bin;
      const level = levelDb[side][at]!;
      if (Number.isNaN(level)) continue;
      const range = Math.min(RANGE_BINS - 1, Math.floor(slantM[side][at]! / gain.rangeStepM));
      off[n++] = level - gain.angleDb[side][bin]! - gain.rangeDb[side][range]!;
    }
    if (n >= 6) result[ping] = median(off.subarray(0, n));
  }
  return result;
}

/** Pings to either side that a ping's level is held against. */
export const STRIPE_REACH = 20;
/** A ping that is off by more than this was lost, or drowned by another sound [dB]. */
const STRIPE_MOST_DB = 12;

/**
 * What each ping is louder than its neighbours: stripes across the picture, which no floor makes. What varies more slowly than
 * twenty pings is the floor and stays.
 * @param levelDb of `pingLevelsDb`, with STRIPE_REACH pings more to either side where there are any
 * @returns shape [n]; NaN for a ping that was lost, which has no level; 0 where its neighbours are not known
 */
export function stripesDb(levelDb: Float32Array): Float32Array {
  const n = levelDb.length;
  const stripes = new Float32Array(n);
  const near = new Float64Array(2 * STRIPE_REACH + 1);
  for (let ping = 0; ping < n; ping++) {
    let count = 0;
    for (let at = Math.max(0, ping - STRIPE_REACH); at <= Math.min(n - 1, ping + STRIPE_REACH); at++) if (!Number.isNaN(levelDb[at]!)) near[count++] = levelDb[at]!;
    if (count < 5) continue;
    const off = levelDb[ping]! - median(near.subarray(0, count));
    stripes[ping] = Math.abs(off) <= STRIPE_MOST_DB ? off : NaN;
  }
  return stripes;
}
