import { describe, expect, it } from 'vitest';
import { depthsBelow, isReducedToDatum } from '../../src/water/depth-datum.js';

const ground = (kind: string, waterLevel: boolean) => ({ datum: 'lowest astronomical tide', water: { level: { kind } }, corrections: { waterLevel } });

describe('depthsBelow', () => {
  it('the datum where a water level is given and taken off, and only there', () => {
    expect(depthsBelow(ground('series', true))).toBe('lowest astronomical tide');
    expect(depthsBelow(ground('constant', true))).toBe('lowest astronomical tide');
    expect(depthsBelow(ground('series', false))).toBe('the water surface of the day');
    expect(depthsBelow(ground('none', true))).toBe('the water surface of the day');
    expect(isReducedToDatum(ground('gnss-height', true))).toBe(true);
  });
});
