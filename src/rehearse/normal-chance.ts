/**
 * Chance that a standard normal deviate is below z; 0.5 at 0, NaN for NaN.
 * Source: Abramowitz & Stegun (1964), 26.2.17: off by less than 7.5e-8.
 */
export function normalChance(z: number): number {
  const t = 1 / (1 + 0.2316419 * Math.abs(z));
  const tail = (Math.exp(-0.5 * z * z) / Math.sqrt(2 * Math.PI)) * t * (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  return z >= 0 ? 1 - tail : tail;
}

/** Chance that an error of this mean and one sigma lies within -tolerance to tolerance; 1 or 0 where sigma is 0. */
export function chanceWithin(tolerance: number, mean: number, sigma: number): number {
  if (!(sigma > 0)) return Math.abs(mean) <= tolerance ? 1 : 0;
  return normalChance((tolerance - mean) / sigma) - normalChance((-tolerance - mean) / sigma);
}
