import { pascalWeights } from './mean-of-means.js';
import { studentT95 } from './student.js';
import type { TrialAim } from './trial-plan-shape.js';

/**
 * Accuracy wanted of each figure where none is asked for: 95 % half width as a share of the figure.
 *
 * Speed 2 %: the time of a sortie goes with it, ten minutes in a day of eight hours. Ways and times of starts and stops 10 %: some
 * decimetres of some metres, no more than the positions' own error. Turns 10 %: under a metre of the margin between lines. Power
 * 10 % and hotel 5 %: what is left then is the battery, 10 %. Yaw response 20 % and track keeping 25 %: they set margins, which are
 * rounded up. Common practice, no source.
 */
export const WANTED_95: Readonly<Record<TrialAim, number>> = {
  topSpeed: 0.02,
  timeTo63: 0.1,
  timeTo90: 0.1,
  timeTo95: 0.1,
  distanceTo90: 0.1,
  coastLength: 0.12,
  coastTo10: 0.12,
  stopAstern: 0.1,
  stopAsternTime: 0.1,
  spinRate: 0.08,
  spinWander: NaN,
  nomotoK: 0.2,
  nomotoT: 0.2,
  overshootFirst: 0.25,
  hotelPower: 0.05,
  powerCoefficient: 0.1,
  powerExponent: 0.1,
  batteryEnergy: 0.1,
  trackMean: NaN,
  trackRms: 0.25,
  track95: 0.25,
  settleDistance: 0.4,
  turning: 0.1,
};

/** Standard deviation of the speed from one 10 s to the next, over the speed: waves, wind and speed control on a fair day. Common practice, no source. */
export const UNSTEADY_SHARE = 0.02;
/** Blocks in which that scatter is new [s]; as the analysis of runs takes them. */
const BLOCK_S = 10;
const MOST_BLOCKS = 10;
/** A run shorter than three blocks does not show how steady it was. */
export const LEAST_RUN_S = 30;
/** Longer runs meet another current at their end than at their start [s]. */
export const LONGEST_RUN_S = 240;
const RUN_STEP_S = 5;

/**
 * The worst that errors of position, alike for a while, do to a least-squares slope: its variance is at most so many
 * sigma^2 / T^2, reached where they keep for 0.3 T. White errors do less, by 12 sigma^2 / (n T^2).
 *
 * From the integral of w(t) w(t') exp(-|t - t'| / tau) with w = 12 t / T^3, largest over tau: 2.46.
 */
export const SLOPE_WORST = 2.5;

/**
 * One standard error of the speed over the ground of a run [m/s]: positions and unsteadiness.
 * @param durationS counted from steady speed
 */
export function runSpeedSigma(durationS: number, speedMps: number, positionSigmaM: number): number {
  return Math.sqrt((SLOPE_WORST * positionSigmaM ** 2) / durationS ** 2 + ((UNSTEADY_SHARE * speedMps) ** 2 * BLOCK_S) / durationS);
}

/**
 * 95 % half width of the speed through the water from reciprocal runs, as a share of it: their errors under the weights of the
 * mean of means, with as many degrees of freedom as the runs hold blocks over one each.
 *
 * @param runs 2 to 6
 * Source: ITTC 7.5-04-01-01.1 (double runs, mean of means).
 */
export function doubleRunShare95(runs: number, durationS: number, speedMps: number, positionSigmaM: number): number {
  let weight = 0;
  for (const each of pascalWeights(runs)) weight += each * each;
  const blocks = Math.max(1, Math.min(MOST_BLOCKS, Math.floor(durationS / BLOCK_S)));
  return (studentT95(runs * Math.max(1, blocks - 1)) * Math.sqrt(weight) * runSpeedSigma(durationS, speedMps, positionSigmaM)) / speedMps;
}

/** Runs and their length. */
export interface RunsNeeded {
  readonly runs: number;
  readonly durationS: number;
  readonly share95: number;
}

/**
 * The fewest reciprocal runs (2, 4 or 6), and of these the shortest, that give a speed to a wanted share; the most and longest
 * where none do.
 *
 * @param longestS how long a run may last at most; null is returned where that is under `LEAST_RUN_S`
 */
export function runsFor(wanted95: number, speedMps: number, positionSigmaM: number, longestS: number): RunsNeeded | null {
  const most = Math.floor(Math.min(longestS, LONGEST_RUN_S) / RUN_STEP_S + 1e-9) * RUN_STEP_S;
  if (!(most >= LEAST_RUN_S)) return null;
  for (const runs of [2, 4, 6]) {
    for (let durationS = LEAST_RUN_S; durationS <= most; durationS += RUN_STEP_S) {
      const share95 = doubleRunShare95(runs, durationS, speedMps, positionSigmaM);
      if (share95 <= wanted95) return { runs, durationS, share95 };
    }
  }
  return { runs: 6, durationS: most, share95: doubleRunShare95(6, most, speedMps, positionSigmaM) };
}

/** Degrees of freedom that one trial's own error counts for beside its repeats; as the card combines them. */
const TRUST = 2;
const LEAST_REPEATS = 2;
export const MOST_REPEATS = 6;

/** 95 % half width of the mean of repeats, as a share, from the standard deviation of one: t of n + 1 degrees of freedom. */
export function repeatsShare95(repeats: number, scatter: number): number {
  return (studentT95(TRUST + repeats - 1) * scatter) / Math.sqrt(repeats);
}

/** The fewest repeats, 2 to 6, whose mean is good to a wanted share; 6 where that is not enough. */
export function repeatsFor(wanted95: number, scatter: number): { readonly repeats: number; readonly share95: number } {
  for (let repeats = LEAST_REPEATS; repeats < MOST_REPEATS; repeats++) {
    const share95 = repeatsShare95(repeats, scatter);
    if (share95 <= wanted95) return { repeats, share95 };
  }
  return { repeats: MOST_REPEATS, share95: repeatsShare95(MOST_REPEATS, scatter) };
}

/**
 * Scatter of a root mean square of cross-track error over one leg, as a share: 1 / sqrt(2 N) of N independent swings, one
 * every `swingM` of the way that is looked at.
 */
export function rmsScatter(lengthM: number, swingM: number): number {
  return 1 / Math.sqrt(2 * Math.max(1, lengthM / swingM));
}

/** Scatter of one trial, one sigma as a share of the figure, before this boat has shown its own. Common practice, no source. */
export const USUAL_SCATTER = { start: 0.06, coast: 0.07, stop: 0.06, turning: 0.06, spin: 0.04, zigZag: 0.1 } as const;

/** Errors of position are alike for about this long: their difference over a shorter time is less. From memory [s]. */
const MEMORY_S = 30;

/**
 * Scatter of one trial that holds the error of a way measured by positions at its ends: sigma sqrt(2 (1 - exp(-t / 30 s))), as
 * of errors that fade exponentially.
 * @param durationS between the ends
 */
export function withPositions(scatter: number, positionSigmaM: number, wayM: number, durationS: number): number {
  return Math.hypot(scatter, (positionSigmaM * Math.sqrt(2 * (1 - Math.exp(-durationS / MEMORY_S)))) / wayM);
}
