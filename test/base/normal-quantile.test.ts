import { describe, expect, it } from 'vitest';
import { normalQuantile } from '../../src/base/normal-quantile.js';

describe('normalQuantile', () => {
  // scipy 1.10 stats.norm.ppf.
  it('normalQuantile: gives scipy\'s values from far out to the middle', () => {
    for (const [share, value] of [[0.5, 0], [0.975, 1.959963984540054], [0.95, 1.6448536269514722], [0.995, 2.5758293035489004], [0.0125, -2.241402727604947], [1e-6, -4.753424308822899]] as const) {
      expect(normalQuantile(share)).toBeCloseTo(value, 10);
    }
  });
  it('normalQuantile: refuses 0 and 1', () => {
    for (const share of [0, 1, -0.1, NaN]) expect(() => normalQuantile(share)).toThrow(`share ${share}: expected over 0 and under 1`);
  });
});
