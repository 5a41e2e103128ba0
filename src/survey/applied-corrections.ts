import type { CorrectionSwitches } from '../depths/corrections.js';
import type { MotionMount } from '../depths/reduce.js';
import type { Settings } from './settings.js';

/** Which corrections the settings apply. */
export function correctionsOn(settings: Settings): CorrectionSwitches {
  return { ...settings.corrections, slope: settings.sounder.slopeCorrection };
}

/** Clock offset and age of positions as they are applied to positions: 0 where the correction is off [s]. */
export function appliedTimes({ time, gnss, corrections }: Settings): { readonly loggerOffsetS: number; readonly latencyS: number } {
  return { loggerOffsetS: corrections.clock ? time.loggerOffsetS : 0, latencyS: corrections.latency ? gnss.latencyS : 0 };
}

/** How the motion sensor sits and is signed. */
export function motionMount({ motion }: Settings): MotionMount {
  return {
    sensor: motion.sensor,
    latencyS: motion.latencyS,
    rollSign: motion.rollPositive === 'starboard-down' ? 1 : -1,
    pitchSign: motion.pitchPositive === 'bow-up' ? 1 : -1,
    heaveSign: motion.heavePositive === 'up' ? 1 : -1,
    rollOffsetDeg: motion.rollOffsetDeg,
    pitchOffsetDeg: motion.pitchOffsetDeg,
  };
}
