import { DEPTH_FROM } from '../base/observations.js';
import type { SoundProfile } from '../water/sound-profile.js';
import { correctForSoundSpeed } from '../water/sound-profile.js';

/** What is known about a ping's vertical when it is reduced. Depths positive down, heights positive up. */
export interface VerticalState {
  /** Transducer below the water surface at rest [m]. */
  readonly draftM: number;
  /** Extra draft under way [m]. */
  readonly squatM: number;
  /** The boat above its mean height, up positive [m]. */
  readonly heaveM: number;
  /** Water surface above datum [m]. */
  readonly waterLevelM: number;
  /** What the instrument multiplied travel times by [m/s]. */
  readonly soundSpeedSetMps: number;
  /** Sound speed by depth below the mean water surface; null: the instrument was set right. */
  readonly profile: SoundProfile | null;
}

/**
 * Distance below the transducer as the instrument measured it, whatever point its depths were logged from [m].
 *
 * - from the transducer: the logged depth itself;
 * - from the surface: the instrument added its draft setting, which is taken off: DPT's offset where it was logged (positive),
 *   otherwise the draft of the settings;
 * - from the keel: the instrument took off the keel's distance below the transducer, which is added: DPT's offset where it
 *   was logged (negative), otherwise nothing.
 *
 * Source: NMEA 0183 DPT: offset positive is transducer to water line, negative is transducer to keel (common practice).
 */
export function measuredBelowTransducer(loggedM: number, from: number, offsetM: number, draftM: number): number {
  if (from === DEPTH_FROM.surface) return loggedM - (offsetM > 0 ? offsetM : draftM);
  if (from === DEPTH_FROM.keel) return loggedM + (offsetM < 0 ? -offsetM : 0);
  return loggedM;
}

/**
 * Depth below the survey datum of one ping: the one place where the signs are.
 *
 *     depth = (measured - set draft) x c_h/c_set + draft at that moment (static + squat) - heave - water level above datum
 *
 * `measured - set draft` is `measuredBelowTransducer`. It becomes a true distance by running its travel time through the
 * sound profile from the transducer down, which is the factor c_h/c_set done exactly. The transducer is draft + squat - heave
 * below the mean water surface: a boat lifted by a wave measures too much. The surface is the water level above datum.
 *
 * @param belowTransducerM measured distance below the transducer [m]
 * @returns depth below datum, positive down [m]; NaN if an input is NaN
 *
 * Source: IHO C-13 (2005), ch. 3. Each term's sign has a test of its own.
 */
export function reducedDepth(belowTransducerM: number, state: VerticalState): number {
  const transducerM = state.draftM + state.squatM - state.heaveM;
  const belowM = state.profile === null ? belowTransducerM : correctForSoundSpeed(belowTransducerM, state.soundSpeedSetMps, transducerM, state.profile);
  return belowM + transducerM - state.waterLevelM;
}
