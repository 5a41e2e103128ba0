import { describe, expect, it } from 'vitest';
import { prove } from '../../src/survey/prove.js';

/** What the whole chain must do on the proving ground; limits are those of the project's issue for this chain. */
describe('proving ground', () => {
  // TALLOW_THOROUGH=1 takes three.
  for (const seed of process.env['TALLOW_THOROUGH'] === '1' ? [1, 2, 3] : [1]) {
    it(`the whole chain keeps every promise: seed ${seed}`, { timeout: 240_000 }, async () => {
      const { figures, promises } = await prove(null, seed, 'demo', Date.now, {});
      for (const promise of promises) expect(promise.met, `${promise.what}: ${promise.found}, wanted ${promise.limit}`).toBe(true);
      expect(figures.pings.strangers).toBe(0);
      expect(figures.surface?.gentle.n).toBeGreaterThan(100_000);
    });
  }
});
