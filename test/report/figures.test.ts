import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import * as figures from '../../src/report/figures.js';

describe('figures', () => {
  it('formatNumber: thousands apart, U+2212 for minus, never minus nought', () => {
    expect(figures.formatNumber(68412)).toBe('68 412');
    expect(figures.formatNumber(1234567.891, 2)).toBe('1 234 567.89');
    expect(figures.formatNumber(1500, 1)).toBe('1500.0');
    expect(figures.formatNumber(-0.004, 2)).toBe('0.00');
    expect(figures.formatNumber(-0.005001, 2)).toBe('−0.01');
    expect(figures.formatNumber(NaN)).toBe('–');
    expect(figures.formatNumber(Infinity, 1)).toBe('–');
  });

  it('formatNumber: reads back to the value within half a step, whatever the value', () => {
    fc.assert(
      fc.property(fc.double({ min: -1e9, max: 1e9, noNaN: true }), fc.integer({ min: 0, max: 4 }), (value, decimals) => {
        const text = figures.formatNumber(value, decimals);
        expect(text).toMatch(/^−?\d{1,3}( \d{3})*(\.\d+)?$|^−?\d{4}\.\d+$/);
        const back = Number(text.replace(/ /g, '').replace('−', '-'));
        expect(Math.abs(back - value)).toBeLessThanOrEqual(0.5 * 10 ** -decimals * (1 + 1e-6) + 1e-9);
      }),
      { seed: 7, numRuns: 500 },
    );
  });

  it('lengths and areas: the unit changes where the figure would be clumsy', () => {
    expect(figures.formatLength(8.5)).toBe('8.5 m');
    expect(figures.formatLength(310.4)).toBe('310 m');
    expect(figures.formatLength(999.6)).toBe('1.00 km');
    expect(figures.formatLength(12_341)).toBe('12.34 km');
    expect(figures.formatArea(310)).toBe('310 m²');
    expect(figures.formatArea(24_300)).toBe('2.43 ha');
    expect(figures.formatArea(1_234_000)).toBe('1.23 km²');
    expect(figures.formatArea(NaN)).toBe('–');
  });

  it('formatDuration: no figure of 60 at any boundary', () => {
    expect(figures.formatDuration(4.2)).toBe('4.2 s');
    expect(figures.formatDuration(59.96)).toBe('1 min 00 s');
    expect(figures.formatDuration(725)).toBe('12 min 05 s');
    expect(figures.formatDuration(3599.6)).toBe('1 h 00 min');
    expect(figures.formatDuration(6720)).toBe('1 h 52 min');
    expect(figures.formatDuration(2 * 86400 + 3 * 3600)).toBe('2 d 03 h');
    expect(figures.formatDuration(-30)).toBe('−30.0 s');
    const clumsy = Array.from({ length: 280_000 }, (_, i) => figures.formatDuration(i * 0.7)).filter((text) => /\b60(\.0)? (s|min)/.test(text));
    expect(clumsy).toEqual([]);
  });

  it('times: UTC, one date where both are the same day, none where there is none', () => {
    const start = Date.UTC(2026, 4, 13, 9, 14, 2) / 1000;
    expect(figures.formatUtc(start)).toBe('2026-05-13 09:14:02 UTC');
    expect(figures.formatUtcSpan(start, start + 7080)).toBe('2026-05-13 09:14 to 11:12 UTC');
    expect(figures.formatUtcSpan(start, start + 86400)).toBe('2026-05-13 09:14 to 2026-05-14 09:14 UTC');
    expect(figures.formatDays(start, start + 3600)).toBe('13 May 2026');
    expect(figures.formatDays(start, start + 2 * 86400)).toBe('13 to 15 May 2026');
    expect(figures.formatDays(start, start + 20 * 86400)).toBe('13 May to 2 June 2026');
    expect(figures.formatUtc(NaN)).toBe('–');
    expect(figures.formatUtc(1e18)).toBe('–');
  });

  it('formatShare: only the whole is 100 %, only nothing is 0 %', () => {
    expect(figures.formatShare(1)).toBe('100 %');
    expect(figures.formatShare(0.99999)).toBe('over 99.9 %');
    expect(figures.formatShare(0)).toBe('0 %');
    expect(figures.formatShare(0.00001)).toBe('under 0.1 %');
    expect(figures.formatShare(0.992)).toBe('99.2 %');
  });

  it('positions: minutes never reach 60', () => {
    expect(figures.formatPosition(46.0366666, -29.9633333)).toBe('46°02.200′ N 029°57.800′ W');
    expect(figures.formatLatitude(45.9999999)).toBe('46°00.000′ N');
    expect(figures.formatLongitude(-0.5)).toBe('000°30.000′ W');
    expect(figures.formatLatitude(-33.5, 1)).toBe('33°30.0′ S');
  });

  it('angles, speeds, sizes', () => {
    expect(figures.formatDirection(7.5)).toBe('007.5°');
    expect(figures.formatDirection(359.98)).toBe('000.0°');
    expect(figures.formatDirection(-90, 0)).toBe('270°');
    expect(figures.formatVariation(-9.1)).toBe('9.1° W');
    expect(figures.formatVariation(-0.01)).toBe('0.0°');
    /* 1 knot is 1852 m an hour: International Hydrographic Conference, 1929. */
    expect(figures.formatSpeed(1852 / 3600)).toBe('0.51 m/s (1.0 kn)');
    expect(figures.formatBytes(812)).toBe('812 B');
    expect(figures.formatBytes(12_300_000)).toBe('12.3 MB');
    expect(figures.formatBytes(999_700)).toBe('1.00 MB');
    expect(figures.formatDifference(0.02)).toBe('+0.02 m');
    expect(figures.formatDifference(-0.001)).toBe('0.00 m');
    expect(figures.formatUncertainty(-0.14)).toBe('±0.14 m');
    expect(figures.formatScale(2500)).toBe('1:2 500');
    expect(figures.formatOrder('1a')).toBe('Order 1a');
    expect(figures.formatOrder('special')).toBe('Special Order');
  });
});
