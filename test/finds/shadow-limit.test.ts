import { describe, expect, test } from 'vitest';
import { limitByRelief } from '../reference/finds/shadow-limit.js';

/** Share of heights within 15 %, over both heights of the sonar. */
function within(ground: 'plain' | 'rippled', sizeM: number): number {
  const errors = [101, 102].flatMap((seed) => limitByRelief(ground, sizeM, seed % 2 === 0 ? 7 : 3.5, seed, 150));
  return errors.filter((error) => Math.abs(error) <= 0.15).length / errors.length;
}

describe('heights from shadows whose ends are known without error', () => {
  test('plain ground: 15 % is within reach for 0.6 m boxes', () => {
    expect(within('plain', 0.6)).toBeGreaterThan(0.95);
  });

  test('ripples 0.11 m high: not for 0.6 m boxes, whatever the sonar and the method; for 2 m ones it is', () => {
    expect(within('rippled', 0.6)).toBeLessThan(0.65);
    expect(within('rippled', 2)).toBeGreaterThan(0.93);
  });
});
