/**
 * Chance that a standard normal deviate exceeds z, to 1e-7 of itself above 0.
 * Source: Numerical approximation by the continued fraction of Abramowitz & Stegun 26.2.14, its series 26.2.10 below 2.
 * Check: z 3: 1.349898e-3; z 5: 2.866516e-7.
 */
export function normalTail(z: number): number {
  if (Number.isNaN(z)) return NaN;
  if (z < 0) return 1 - normalTail(-z);
  const density = Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI);
  if (z < 2) {
    let term = z;
    let sum = z;
    for (let k = 1; k < 60; k++) {
      term *= (z * z) / (2 * k + 1);
      sum += term;
    }
    return 0.5 - density * sum;
  }
  let fraction = 0;
  for (let k = 120; k >= 1; k--) fraction = k / (z + fraction);
  return density / (z + fraction);
}

/** The z that a standard normal deviate exceeds with a chance. @throws RangeError for a chance outside 0..1 */
export function normalTailQuantile(chance: number): number {
  if (!(chance > 0 && chance < 1)) throw new RangeError(`chance ${chance}: expected more than 0 and less than 1`);
  let low = -40;
  let high = 40;
  for (let i = 0; i < 100; i++) {
    const middle = (low + high) / 2;
    if (normalTail(middle) > chance) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
