import { median } from '../base/robust.js';
import { SIDES } from '../base/sonar.js';
import { learnGain, pingLevelsDb, type AngleLevels } from './learn-gain.js';
import type { LearnedGain } from './learned-gain.js';

const ROUNDS = 3;

/** A gain, and how much louder each scale of level is than what it says [dB]. */
export interface ScaledGain {
  readonly gain: LearnedGain;
  /** Shape [scales]; 0 for one that nothing was heard of. */
  readonly scaleDb: Float64Array;
}

/**
 * Learns one gain from pings whose amplitudes have no common scale, such as those of different recorders: the floor's law by
 * angle and range is one, and each scale is shifted as a whole so that its pings are as loud as the others' at the median. What
 * the floors of two scales differ by over all is lost with it.
 *
 * @param scaleOf scale of each of `levels`, from 0. Shape [levels.length]
 */
export function learnScaledGain(levels: readonly AngleLevels[], scaleOf: readonly number[], scales: number, options: Pick<LearnedGain, 'spreadingDb' | 'absorptionDbPerKm'>): ScaledGain {
  const scaleDb = new Float64Array(scales);
  let gain = learnGain(levels, options);
  for (let round = 0; scales > 1 && round < ROUNDS; round++) {
    for (let scale = 0; scale < scales; scale++) {
      const off = usualOffDb(levels.filter((_, i) => scaleOf[i] === scale), gain);
      if (Number.isFinite(off)) scaleDb[scale] = off;
    }
    gain = learnGain(levels.map((one, i) => shifted(one, scaleDb[scaleOf[i]!]!)), options);
  }
  return { gain, scaleDb };
}

/** Median over pings and sides of what they are louder than the gain says [dB]; NaN where nothing was heard. */
export function usualOffDb(levels: readonly AngleLevels[], gain: LearnedGain): number {
  const off = levels.flatMap((one) => SIDES.flatMap((side) => Array.from(pingLevelsDb(one, gain, side)).filter((each) => !Number.isNaN(each))));
  return off.length === 0 ? NaN : median(off);
}

function shifted({ pings, levelDb, slantM }: AngleLevels, byDb: number): AngleLevels {
  return { pings, slantM, levelDb: { port: levelDb.port.map((each) => each - byDb), starboard: levelDb.starboard.map((each) => each - byDb) } };
}
