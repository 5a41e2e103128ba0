import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ObservationRows } from '../../src/formats/log-columns.js';
import { LogTally } from '../../src/formats/log-tally.js';
import { MarkIndex } from '../../src/formats/nmea/mark-index.js';
import { NmeaLog } from '../../src/formats/nmea/nmea-log.js';
import { gga, rmc, sentence } from './nmea-log-text.js';

const MARKS = new Set([...'\n\r!$*,'].map((c) => c.charCodeAt(0)));

describe('MarkIndex', () => {
  const index = MarkIndex.create(100_000) as MarkIndex;

  it('finds the marks and the running exclusive or that a loop over the bytes finds', () => {
    const oftenMarks = fc.oneof(fc.nat(255), fc.constantFrom(...MARKS));
    fc.assert(
      fc.property(fc.array(oftenMarks, { maxLength: 300 }), (bytes) => {
        index.bytes.fill(0, 0, 400);
        index.bytes.set(bytes);
        const count = index.find(bytes.length);
        const positions = [...index.positions.subarray(0, count)].filter((p) => p < bytes.length);
        expect(positions).toEqual(bytes.flatMap((c, i) => (MARKS.has(c) ? [i] : [])));
        let sum = 0;
        bytes.forEach((c, i) => expect(index.prefix[i]).toBe((sum ^= c)));
      }),
      { seed: 20260508, numRuns: 500 },
    );
  });

  it('takes any of the 256 bytes at any of 16 places', () => {
    for (let c = 0; c < 256; c++) {
      index.bytes.fill(65, 0, 64);
      index.bytes[c % 48] = c;
      expect([...index.positions.subarray(0, index.find(48))]).toEqual(MARKS.has(c) ? [c % 48] : []);
    }
  });

  it('nothing in nothing; beyond its capacity is a mistake', () => {
    expect(index.find(0)).toBe(0);
    expect(() => index.find(index.bytes.length + 1)).toThrow('end: expected 0 to 131072, got 131073');
  });

  it('fills with marks alone', () => {
    index.bytes.fill(44);
    expect(index.find(index.bytes.length)).toBe(index.bytes.length);
    expect(index.positions[index.bytes.length - 1]).toBe(index.bytes.length - 1);
  });
});

describe('NmeaLog: with the index of marks and without', () => {
  const bytesOf = (text: string): Uint8Array => Uint8Array.from(text, (c) => c.charCodeAt(0));
  const dpt = (depth: number): string => sentence(`SDDPT,${depth.toFixed(2)},0.0`);
  const read = (bytes: Uint8Array, piece: number, plain: boolean): unknown => {
    const tally = new LogTally();
    const log = new NmeaLog(tally, { noDate: null, chunkRows: 500, plain });
    for (let at = 0; at < bytes.length; at += piece) log.feed(bytes.subarray(at, at + piece));
    log.finish();
    const rows = new ObservationRows();
    for (const chunk of log.ready) {
      tally.addRows(chunk);
      rows.append(chunk);
    }
    return { observations: rows.takeObservations(), summary: tally.summary('nmea') };
  };
  const clean = Array.from({ length: 1500 }, (_, t) => [rmc(t, '010526'), gga(t, t * 1e-4), dpt(3 + (t % 50) / 10), sentence('HEHDT,90.1,T')].join('\r\n')).join('\r\n');

  it('a clean log gives the same', () => {
    const bytes = bytesOf(clean);
    expect(bytes.length).toBeGreaterThan(200_000);
    const plain = read(bytes, 1 << 20, true) as { summary: { fixes: number } };
    expect(plain.summary.fixes).toBe(1500);
    for (const piece of [1 << 20, 70_000, 65_537, 100_001]) expect(read(bytes, piece, false)).toEqual(plain);
  });

  it('so does one damaged at random, with long lines, noise and cut sentences', () => {
    const bytes = bytesOf(clean);
    fc.assert(
      fc.property(
        fc.array(fc.record({ at: fc.nat(bytes.length - 1), bytes: fc.oneof(fc.uint8Array({ minLength: 1, maxLength: 30 }), fc.constantFrom(bytesOf('$'), bytesOf('*'), bytesOf('\n'), bytesOf('x'.repeat(1100)), bytesOf(`$${','.repeat(1022)}`), bytesOf(`$${','.repeat(1023)}`), bytesOf(`$${'7'.repeat(5000)}`))) }), { minLength: 1, maxLength: 60 }),
        fc.integer({ min: 65_536, max: 200_000 }),
        (edits, piece) => {
          const damaged = bytes.slice();
          for (const edit of edits) damaged.set(edit.bytes.subarray(0, damaged.length - edit.at), edit.at);
          expect(read(damaged, piece, false)).toEqual(read(damaged, 1 << 20, true));
        },
      ),
      { seed: 20260509, numRuns: 60 },
    );
  });

  it('pieces of more than a megabyte are taken in parts', () => {
    const bytes = bytesOf(Array.from({ length: 40_000 }, (_, t) => `${gga(t)}\n`).join(''));
    expect(bytes.length).toBeGreaterThan(2_500_000);
    expect(read(bytes, 1e9, false)).toEqual(read(bytes, 1e9, true));
  });
});
