import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { angleField, dayNumber, decimalField, timeOfDayField } from '../../src/formats/nmea/fields.js';

const bytes = (text: string): Uint8Array => Uint8Array.from(text, (c) => c.charCodeAt(0));
const decimal = (text: string): number => decimalField(bytes(text), 0, text.length);

describe('decimalField', () => {
  it('gives the double that Number gives, for every form of number and length', () => {
    const digits = fc.stringMatching(/^[0-9]{0,22}$/);
    fc.assert(
      fc.property(fc.constantFrom('', '+', '-'), digits, fc.boolean(), digits, (sign, whole, point, fraction) => {
        const text = `${sign}${whole}${point ? `.${fraction}` : ''}`;
        fc.pre(/\d/.test(text));
        expect(Object.is(decimal(text), Number(text))).toBe(true);
      }),
      { seed: 20260501, numRuns: 20_000 },
    );
  });

  it('gives the double that Number gives at the lengths met in logs, for all three-decimal depths', () => {
    for (let k = 0; k < 100_000; k++) {
      const text = (k / 1000).toFixed(3);
      if (decimal(text) !== Number(text)) expect(text).toBe('');
    }
  });

  it('gives NaN for an empty field and for what is no number', () => {
    for (const text of ['', ' ', '.', '-', '1.2.3', '1e3', '0x10', 'A', '1,2', '--1', '1-', '12 3', 'NaN', 'Infinity']) expect(decimal(text), text).toBeNaN();
  });

  it('passes over spaces around a number', () => {
    expect(decimal('  12.5 ')).toBe(12.5);
  });
});

describe('angleField', () => {
  it('parts degrees and minutes: within one unit in the last place of exact arithmetic', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 179 }), fc.integer({ min: 0, max: 59_999_999 }), (degrees, micro) => {
        const text = `${String(degrees).padStart(3, '0')}${(micro / 1e6).toFixed(6).padStart(9, '0')}`;
        const exact = (degrees * 60_000_000 + micro) / 60_000_000; // integers below 2^53, one rounding
        expect(Math.abs(angleField(bytes(text), 0, text.length) - exact)).toBeLessThan(6e-14);
      }),
      { seed: 20260502, numRuns: 5000 },
    );
  });

  it('gives NaN at 60 minutes and beyond, and for what is no angle', () => {
    for (const text of ['4660.000', '12', '', '46.5', '-4610.0', '4610.0.0', '46x0.0']) expect(angleField(bytes(text), 0, text.length), text).toBeNaN();
  });
});

describe('timeOfDayField', () => {
  const time = (text: string): number => timeOfDayField(bytes(text), 0, text.length);
  it('reads whole and broken seconds exactly', () => {
    expect(time('000000')).toBe(0);
    expect(time('235959.999')).toBe(86_399.999);
    expect(time('095559.1')).toBe(35_759.1);
    expect(time('120000.123456789')).toBe(43_200.123456789);
  });
  it('takes a leap second and no other 61st second', () => {
    expect(time('235960')).toBe(86_400);
    expect(time('120060')).toBeNaN();
  });
  it('gives NaN outside a day and for what is no time', () => {
    for (const text of ['', '1200', '240000', '126000', '12000a', '120000,5', '-20000', '120000.5x']) expect(time(text), text).toBeNaN();
  });
});

describe('dayNumber', () => {
  it('agrees with Date.UTC on every day from 1900 to 2200', () => {
    for (let day = Date.UTC(1900, 0, 1) / 86_400_000; day <= Date.UTC(2200, 11, 31) / 86_400_000; day++) {
      const date = new Date(day * 86_400_000);
      const number = dayNumber(date.getUTCFullYear(), date.getUTCMonth() + 1, date.getUTCDate());
      if (number !== day) expect(`${date.toISOString()} ${number}`).toBe(String(day));
    }
  });
  it('counts days since 1970, leap years included, and knows no 30 February', () => {
    expect(dayNumber(1970, 1, 1)).toBe(0);
    expect(dayNumber(2000, 2, 29)).toBe(11_016); // POSIX day count: 951782400 s / 86400
    expect(dayNumber(2023, 2, 29)).toBeNaN();
    expect(dayNumber(2024, 2, 30)).toBeNaN();
    expect(dayNumber(2024, 13, 1)).toBeNaN();
    expect(dayNumber(2024, 0, 1)).toBeNaN();
  });
});
