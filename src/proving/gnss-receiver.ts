import type { Random } from '../base/random.js';
import { episodes } from './ping-faults.js';
import type { FaultRates } from './proving-options.js';
import { createGaussMarkov } from './random-process.js';
import { POSITION_FAULTS } from './truth.js';

const CODE = Object.fromEntries(POSITION_FAULTS.map((name, code) => [name, code])) as Record<(typeof POSITION_FAULTS)[number], number>;

/** A receiver's error at one epoch. */
export interface GnssError {
  eastM: number;
  northM: number;
  upM: number;
  /** One sigma, one dimension, as the receiver says and as it is [m]. */
  sigmaM: number;
  /** Code of POSITION_FAULTS. */
  fault: number;
  /** In a gap: whether the receiver says so (quality 0) or says nothing. */
  silent: boolean;
}

/** A GNSS receiver's errors at any epochs in order, and what was wrong at any time. */
export interface GnssReceiver {
  /** Fills `out` for an epoch; epochs must not go back. */
  errorInto(epochS: number, out: GnssError): void;
  /** Code of POSITION_FAULTS at an epoch, in any order. */
  faultAt(epochS: number): number;
}

/**
 * Errors of stated size: variance 80 % correlated over 120 s, 19 % over 6 s, 1 % white; the size swells and shrinks by a
 * quarter over half an hour, and the receiver says so truthfully (GST). Jumps of 4 to 30 m: half for one epoch, half for
 * 2 to 15 s, of which the receiver says nothing. Gaps of 1 to 18 s.
 */
export function createGnssReceiver(sigmaM: number, rates: FaultRates, random: Random, epochStepS: number, startS: number, endS: number): GnssReceiver {
  const slow = [createGaussMarkov(random.fork('slow east'), Math.sqrt(0.8), 120), createGaussMarkov(random.fork('slow north'), Math.sqrt(0.8), 120)] as const;
  const quick = [createGaussMarkov(random.fork('quick east'), Math.sqrt(0.19), 6), createGaussMarkov(random.fork('quick north'), Math.sqrt(0.19), 6)] as const;
  const up = createGaussMarkov(random.fork('up'), 1, 60);
  const white = random.fork('white');
  const swellPhase = random.between(0, 2 * Math.PI);
  const jumpRandom = random.fork('jumps');
  const jumps = episodes(random.fork('jump times'), rates.jumpsPerHour, startS, endS, 2, 15).map((episode) => {
    const single = jumpRandom.uniform() < 0.5;
    const sizeM = jumpRandom.between(4, 30);
    const angle = jumpRandom.between(0, 2 * Math.PI);
    // A jump of one epoch: the first epoch at or after its start and no other.
    const endsS = single ? (Math.ceil(episode.startS / epochStepS) + 0.5) * epochStepS : episode.endS;
    return { startS: episode.startS, endS: endsS, eastM: sizeM * Math.cos(angle), northM: sizeM * Math.sin(angle) };
  });
  const gapRandom = random.fork('gaps');
  const gaps = episodes(random.fork('gap times'), rates.fixGapsPerHour, startS, endS, 1, 18).map((episode) => ({ ...episode, silent: gapRandom.uniform() < 0.5 }));
  const within = <T extends { readonly startS: number; readonly endS: number }>(list: readonly T[], timeS: number): T | undefined =>
    list.find((episode) => timeS >= episode.startS && timeS <= episode.endS);
  return {
    faultAt: (epochS) => (within(gaps, epochS) !== undefined ? CODE.gap : within(jumps, epochS) !== undefined ? CODE.jump : CODE.none),
    errorInto(epochS, out) {
      out.sigmaM = sigmaM * (1 + 0.25 * Math.sin((2 * Math.PI * epochS) / 1800 + swellPhase));
      out.eastM = out.sigmaM * (slow[0].at(epochS) + quick[0].at(epochS) + 0.1 * white.normal());
      out.northM = out.sigmaM * (slow[1].at(epochS) + quick[1].at(epochS) + 0.1 * white.normal());
      out.upM = 1.6 * out.sigmaM * up.at(epochS);
      out.silent = false;
      out.fault = CODE.none;
      const gap = within(gaps, epochS);
      if (gap !== undefined) {
        out.fault = CODE.gap;
        out.silent = gap.silent;
        return;
      }
      const jump = within(jumps, epochS);
      if (jump === undefined) return;
      out.fault = CODE.jump;
      out.eastM += jump.eastM;
      out.northM += jump.northM;
    },
  };
}
