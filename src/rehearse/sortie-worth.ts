import type { BoatModel } from '../boat/boat-model.js';

/**
 * What a sortie's time and energy depend on, summed as it goes; one array so that a fast loop makes no objects.
 * Energy and its slopes in joules and joules per unit of (hotel, a, n).
 */
export const SUM = {
  timeS: 0,
  energyJ: 1,
  byA: 2,
  byN: 3,
  /** Slope of time by a share of speed [s], sign left off. */
  bySpeedS: 4,
  /** Slopes of time by the current's error, one sigma put in: along x and y [s]. */
  byCurrentXS: 5,
  byCurrentYS: 6,
  /** Squares of the same, leg by leg, up to the leg before [s2]. */
  byLegsS2: 7,
  turnS: 8,
} as const;

export const SUMS = 9;

/** One sigma of time and energy from the sums. */
export interface SortieWorth {
  timeSigmaS(sums: Float64Array, legX?: number, legY?: number): number;
  energySigmaWh(sums: Float64Array, timeSigmaS: number): number;
}

/**
 * How well time and energy are known: first-order, each part for itself, squares added.
 *
 * Time: speed through the water for a command (the card's top speed, as a share); the current, once as one error through the
 * whole sortie and once as an error of its own on each leg, whichever counts for more; time in turns as a share of it.
 * Energy: the power curve by its covariance, alike through the sortie; and the time's error at the mean power.
 */
export function sortieWorth(boat: BoatModel, turnSigmaShare: number): SortieWorth {
  const speedShare = boat.topSpeed95Mps / 1.96 / boat.topSpeedMps;
  const turnShare = turnSigmaShare * (boat.turnSpeedKept === undefined ? 2 : 1);
  const c = boat.powerCovariance;
  return {
    timeSigmaS(sums, legX = 0, legY = 0) {
      const x = sums[SUM.byCurrentXS]!;
      const y = sums[SUM.byCurrentYS]!;
      const bySpeed = sums[SUM.bySpeedS]! * speedShare;
      const byTurns = sums[SUM.turnS]! * turnShare;
      return Math.sqrt(bySpeed * bySpeed + byTurns * byTurns + Math.max(x * x + y * y, sums[SUM.byLegsS2]! + legX * legX + legY * legY));
    },
    energySigmaWh(sums, timeSigmaS) {
      const h = sums[SUM.timeS]!;
      const a = sums[SUM.byA]!;
      const n = sums[SUM.byN]!;
      const curve = h * h * c[0]! + a * a * c[4]! + n * n * c[8]! + 2 * (h * a * c[1]! + h * n * c[2]! + a * n * c[5]!);
      const time = h > 0 ? (sums[SUM.energyJ]! / h) * timeSigmaS : 0;
      return Math.sqrt(Math.max(0, curve) + time * time) / 3600;
    },
  };
}
