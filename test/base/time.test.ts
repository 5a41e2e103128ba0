import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { civilFromDays, daysFromCivil, daysInMonth, formatUtc, formatUtcDate, isCivilDate, parseUtc, utcSeconds } from '../../src/base/time.js';

// Outside check: the platform's own calendar (ECMA-262, Date).

describe('civil calendar', () => {
  it('daysFromCivil: agrees with the platform on every day of 1890..2110', () => {
    const last = Date.UTC(2110, 11, 31) / 86_400_000;
    for (let days = Date.UTC(1890, 0, 1) / 86_400_000; days <= last; days++) {
      const date = new Date(days * 86_400_000);
      const civil = civilFromDays(days);
      if (civil.year !== date.getUTCFullYear() || civil.month !== date.getUTCMonth() + 1 || civil.day !== date.getUTCDate()) {
        expect(civil).toEqual(date.toISOString());
      }
      if (daysFromCivil(civil.year, civil.month, civil.day) !== days) expect(civil).toBe(days);
    }
  });

  it('daysFromCivil: round-trips over ten thousand years', () => {
    fc.assert(
      fc.property(fc.integer({ min: -719_528, max: 2_932_896 }), (days) => {
        const { year, month, day } = civilFromDays(days);
        expect(daysFromCivil(year, month, day)).toBe(days);
      }),
      { seed: 1 },
    );
  });

  it('isCivilDate: knows leap years of both rules', () => {
    expect([2000, 2024, 1900, 2100, 2026].map((year) => daysInMonth(year, 2))).toEqual([29, 29, 28, 28, 28]);
    expect(isCivilDate(2026, 2, 29)).toBe(false);
    expect(() => daysFromCivil(2026, 4, 31)).toThrow(RangeError);
    expect(utcSeconds(2026, 5, 4, 3600.5)).toBe(Date.UTC(2026, 4, 4, 1) / 1000 + 0.5);
  });
});

describe('parseUtc', () => {
  const at = Date.UTC(2026, 4, 4, 9, 14, 2) / 1000;

  it.each([
    ['2026-05-04T09:14:02Z', at],
    ['2026-05-04 09:14:02', at],
    ['2026-05-04T09:14:02.25Z', at + 0.25],
    ['2026-05-04T09:14:02,25Z', at + 0.25],
    ['20260504T091402Z', at],
    ['2026-05-04T11:14:02+02:00', at],
    ['2026-05-04T05:44:02-0330', at],
    ['2026-05-04T09:14Z', at - 2],
    ['2026-05-04', at - 9 * 3600 - 14 * 60 - 2],
    ['2026-05-03T24:00:00Z', at - 9 * 3600 - 14 * 60 - 2],
    ['2016-12-31T23:59:60Z', Date.UTC(2017, 0, 1) / 1000],
    [' 2026-05-04T09:14:02z ', at],
  ])('reads %s', (text, expected) => {
    expect(parseUtc(text)).toBe(expected);
  });

  it.each(['', 'now', '2026-02-29', '2026-13-01', '2026-05-04T25:00', '2026-05-04T09:60', '2026-05-04T24:00:01Z', '2026-05-04T09:14:61Z', '04/05/2026', '1714814042', '2026-05-04T09:14:02+99:00'])(
    'gives NaN for %j',
    (text) => {
      expect(parseUtc(text)).toBeNaN();
    },
  );

  it('round-trips with formatUtc to the decimals written', () => {
    fc.assert(
      fc.property(fc.integer({ min: -2_000_000_000_000, max: 4_000_000_000_000 }), (ms) => {
        expect(parseUtc(formatUtc(ms / 1000, 3))).toBeCloseTo(ms / 1000, 6);
        expect(formatUtc(ms / 1000, 3)).toBe(new Date(ms).toISOString());
      }),
      { seed: 2 },
    );
  });
});

describe('formatUtc', () => {
  it('carries a rounded second into the day and the year', () => {
    expect(formatUtc(Date.UTC(2026, 11, 31, 23, 59, 59) / 1000 + 0.9996, 3)).toBe('2027-01-01T00:00:00.000Z');
    expect(formatUtc(-0.25, 2)).toBe('1969-12-31T23:59:59.75Z');
    expect(formatUtcDate(Date.UTC(2026, 4, 4, 23, 59, 59) / 1000 + 0.9)).toBe('2026-05-04');
  });

  it('writes NaN as nothing and refuses what it cannot write', () => {
    expect(formatUtc(NaN)).toBe('');
    expect(() => formatUtc(1e15)).toThrow(RangeError);
    expect(() => formatUtc(0, 7)).toThrow(RangeError);
  });
});
