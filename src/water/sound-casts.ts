import { correctForSoundSpeed, mostApartMps, type SoundProfile } from './sound-profile.js';

/** How casts are chosen for a sounding. */
export type CastRule = 'nearest-in-time' | 'between-in-time' | 'nearest-in-place';

/** A cast: a profile with when and where it was taken. */
export interface SoundCast {
  readonly name: string;
  readonly profile: SoundProfile;
  /** UTC [s]; NaN where not known. */
  readonly timeS: number;
  /** In the survey frame [m]; NaN where not known. */
  readonly xM: number;
  readonly yM: number;
}

/** The sound speed of a survey in time and space, for what a vertical beam measures. */
export interface SoundField {
  /** The true distance below a transducer from the one measured, as `correctForSoundSpeed`, at a time and place [m]. */
  belowAt(measuredM: number, soundSpeedSetMps: number, transducerDepthM: number, timeS: number, xM: number, yM: number): number;
  /** Sound speed at a depth [m/s]: mean over casts; for making a share of an error. */
  speedAt(depthM: number): number;
  readonly casts: readonly SoundCast[];
}

/**
 * One field from one or several casts.
 *
 * `nearest-in-time` takes the cast next in time, `nearest-in-place` that next in distance, `between-in-time` runs the beam
 * through the cast before and the one after and weights the two depths by time; before the first cast and after the last it
 * takes that one. Weighting depths is weighting harmonic means, to well under a millimetre between casts of a day.
 *
 * @throws RangeError for no cast, a time or place that the rule needs and a cast does not have, or two casts at one time
 * Source: IHO C-13 (2005), 3.5.4 (harmonic mean; casts in time and area).
 */
export function soundField(casts: readonly SoundCast[], rule: CastRule): SoundField {
  if (casts.length === 0) throw new RangeError('sound-speed casts: expected at least one');
  const speedAt = (depthM: number): number => casts.reduce((sum, { profile }) => sum + profile.speedAt(depthM), 0) / casts.length;
  const below = (cast: SoundCast, measuredM: number, setMps: number, depthM: number): number => correctForSoundSpeed(measuredM, setMps, depthM, cast.profile);
  if (casts.length === 1) return { belowAt: (measuredM, setMps, depthM) => below(casts[0]!, measuredM, setMps, depthM), speedAt, casts };
  if (rule === 'nearest-in-place') {
    for (const { name, xM, yM } of casts) if (!Number.isFinite(xM + yM)) throw new RangeError(`cast ${name}: expected a place, since casts are chosen by place`);
    return {
      casts,
      speedAt,
      belowAt(measuredM, setMps, depthM, _timeS, xM, yM) {
        let best = casts[0]!;
        let bestM = Infinity;
        for (const cast of casts) {
          const awayM = Math.hypot(cast.xM - xM, cast.yM - yM);
          if (awayM < bestM) [best, bestM] = [cast, awayM];
        }
        return below(best, measuredM, setMps, depthM);
      },
    };
  }
  const sorted = [...casts].sort((a, b) => a.timeS - b.timeS);
  sorted.forEach(({ name, timeS }, i) => {
    if (!Number.isFinite(timeS)) throw new RangeError(`cast ${name}: expected a time, since casts are chosen by time`);
    if (i > 0 && timeS === sorted[i - 1]!.timeS) throw new RangeError(`casts ${sorted[i - 1]!.name} and ${name}: expected different times, found the same; they differ by up to ${mostApartMps(sorted[i - 1]!.profile, sorted[i]!.profile).toFixed(1)} m/s. Take one out, or mend its time`);
  });
  return {
    casts,
    speedAt,
    belowAt(measuredM, setMps, depthM, timeS) {
      let after = 0;
      while (after < sorted.length && sorted[after]!.timeS < timeS) after++;
      if (after === 0) return below(sorted[0]!, measuredM, setMps, depthM);
      if (after === sorted.length) return below(sorted[after - 1]!, measuredM, setMps, depthM);
      const [one, two] = [sorted[after - 1]!, sorted[after]!];
      const share = (timeS - one.timeS) / (two.timeS - one.timeS);
      if (rule === 'nearest-in-time') return below(share <= 0.5 ? one : two, measuredM, setMps, depthM);
      return (1 - share) * below(one, measuredM, setMps, depthM) + share * below(two, measuredM, setMps, depthM);
    },
  };
}
