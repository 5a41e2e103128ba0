import { describe, expect, it } from 'vitest';
import { ERROR_SOURCES } from '../../src/proving/error-sources.js';
import { proveSource } from '../../src/survey/prove-sources.js';

const source = (key: string) => ERROR_SOURCES.find((one) => one.key === key)!;

// A small version of tallow prove --sources: four surveys each, so that shares are looser than the 93 to 97 % of forty.
describe('proveSource', () => {
  // TALLOW_THOROUGH=1 takes them all.
  const kinds = [['heave', 0.09], ['together', 0.08], ['sounder', 0.085], ['gnss', 0.13]] as const;
  for (const [key, most] of kinds.slice(0, process.env['TALLOW_THOROUGH'] === '1' ? 4 : 2)) {
    it(`proveSource: claims hold 91 to 99.5 % of the truth, without bias, when the error is ${source(key).words}`, { timeout: 240_000 }, async () => {
      const proof = await proveSource(source(key), 1, 4, {});
      expect(proof.soundings.n).toBeGreaterThan(8000);
      expect(Math.abs(proof.soundings.biasM)).toBeLessThan(0.02);
      expect(proof.soundings.rmsM).toBeLessThan(most);
      for (const [what, { share }] of [['depths', proof.soundings.within], ['measured', proof.measured.within], ['filled', proof.filled.within]] as const) {
        expect(share, what).toBeGreaterThan(0.91);
        expect(share, what).toBeLessThan(0.995);
      }
      expect(proof.spikesMissed).toBe(0);
    });
  }

  for (const [key, share] of [['heave-measured', 3], ['gauge-elsewhere', 20], ['arms', 4]] as const) {
    it(`proveSource: the correction takes the error down ${share} times and more when it is ${source(key).words}`, { timeout: 240_000 }, async () => {
      const { corrected, soundings } = await proveSource(source(key), 3, 1, {});
      expect(corrected!.offM / corrected!.onM).toBeGreaterThan(share);
      expect(soundings.within.share).toBeGreaterThan(0.91);
    });
  }

  it('proveSource: a logger\'s clock that is off changes nothing', { timeout: 240_000 }, async () => {
    const [right, off] = [await proveSource(source('none'), 5, 1, {}), await proveSource(source('clock'), 5, 1, {})];
    expect(off.soundings.n).toBe(right.soundings.n);
    expect(off.soundings.rmsM).toBeCloseTo(right.soundings.rmsM, 3);
    expect(off.soundings.thu.share).toBeCloseTo(right.soundings.thu.share, 2);
  });

  it('proveSource: says that the claim is too small when the draft is off by three of its sigmas', { timeout: 240_000 }, async () => {
    const mistaken = { ...source('draft'), changes: { ...source('draft').changes, drawnSigmas: { draftM: 3 } } };
    const proof = await proveSource(mistaken, 2, 1, {});
    expect(proof.verdict).toBe('short');
    expect(proof.soundings.within.share).toBeLessThan(0.1);
    // A transducer that lies deeper than the crew think gives depths that are too shoal.
    expect(proof.soundings.biasM).toBeLessThan(-0.13);
    expect(proof.notes.join()).toContain('depths of soundings: claimed too little');
  });
});
