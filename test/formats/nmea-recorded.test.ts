import { existsSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import type { LogObservations, LogSummary } from '../../src/base/observations.js';
import recorded from '../reference/nmea-recorded.json';
import { read, rejects } from './nmea-log-text.js';

// Expected values: test/reference/nmea_recorded.py, an independent reading with the Python standard library (SOURCES-nmea.md).
const FOLDER = new URL('../../../shared/data/nmea/', import.meta.url);
const present = existsSync(FOLDER);

interface Expected {
  lines: number;
  counts: Record<string, number>;
  epochs: number;
  firstTimeOfDayS: number;
  lastTimeOfDayS: number;
  dates: string[];
  first: number[];
  last: number[];
  bbox: number[];
  trackM: number;
  depths: Record<string, { n: number; min: number; max: number; sum: number; keptWhileClockRuns: number }>;
  offsets: number[];
}

/** Length on the sphere of the reference script, formed independently: angle between unit vectors. */
function trackM({ fixes }: LogObservations): number {
  const vector = (i: number): [number, number, number] => {
    const lat = ((fixes.latDeg[i] as number) * Math.PI) / 180;
    const lon = ((fixes.lonDeg[i] as number) * Math.PI) / 180;
    return [Math.cos(lat) * Math.cos(lon), Math.cos(lat) * Math.sin(lon), Math.sin(lat)];
  };
  let sum = 0;
  for (let i = 1; i < fixes.n; i++) {
    const [a, b, c] = vector(i - 1);
    const [d, e, f] = vector(i);
    sum += 6371008.8 * 2 * Math.asin(Math.hypot(a - d, b - e, c - f) / 2);
  }
  return sum;
}

describe.skipIf(!present)('readLog: recorded logs against an independent reading', () => {
  const cases = Object.entries(recorded as unknown as Record<string, Expected>);
  for (const [file, expected] of cases) {
    const result = present ? read(readFileSync(new URL(file, FOLDER)), { noDate: '2014-07-01' }) : Promise.resolve({} as { observations: LogObservations; summary: LogSummary });

    it(`${file}: sentences by type and lines`, async () => {
      const { summary } = await result;
      expect(summary.counts).toEqual(expected.counts);
      expect(summary.lines).toBe(expected.lines);
    });

    it(`${file}: epochs, times, first and last position, box, length of track`, async () => {
      const { observations, summary } = await result;
      const { fixes } = observations;
      expect(fixes.n).toBe(expected.epochs);
      expect((fixes.timeS[0] as number) % 86_400).toBe(expected.firstTimeOfDayS);
      expect((fixes.timeS[fixes.n - 1] as number) % 86_400).toBe(expected.lastTimeOfDayS);
      const date = expected.dates[0];
      const day = date === undefined ? '2014-07-01' : `20${date.slice(4)}-${date.slice(2, 4)}-${date.slice(0, 2)}`;
      expect(new Date((fixes.timeS[0] as number) * 1000).toISOString().slice(0, 10)).toBe(day);
      expect([fixes.latDeg[0], fixes.lonDeg[0]]).toEqual(expected.first.map((v) => expect.closeTo(v, 11) as number));
      expect([fixes.latDeg[fixes.n - 1], fixes.lonDeg[fixes.n - 1]]).toEqual(expected.last.map((v) => expect.closeTo(v, 11) as number));
      const box = summary.bbox as NonNullable<typeof summary.bbox>;
      expect([box.south, box.west, box.north, box.east]).toEqual(expected.bbox.map((v) => expect.closeTo(v, 11) as number));
      expect(trackM(observations)).toBeCloseTo(expected.trackM, 0);
      for (let i = 1; i < fixes.n; i++) expect(fixes.timeS[i] as number).toBeGreaterThan(fixes.timeS[i - 1] as number);
    });

    it(`${file}: depths`, async () => {
      const { observations: { pings }, summary } = await result;
      const kind = 'DPT' in expected.depths ? 'DPT' : 'DBT';
      const depths = expected.depths[kind] as Expected['depths'][string];
      expect(pings.n).toBe(depths.keptWhileClockRuns);
      expect(summary.depthMinM).toBeCloseTo(depths.min, 6);
      expect(summary.depthMaxM).toBeCloseTo(depths.max, 5);
      if (depths.keptWhileClockRuns === depths.n) {
        let sum = 0;
        for (const depth of pings.depthM) sum += depth;
        expect(sum).toBeCloseTo(depths.sum, 1);
      }
      if (kind === 'DPT') expect([...new Set(pings.offsetM)]).toEqual(expected.offsets.map(Math.fround));
    });
  }

  it('gulf-4h.log: no reject; the figures its manifest gives', async () => {
    const { observations, summary } = await read(readFileSync(new URL('gulf-4h.log', FOLDER)));
    expect(summary.rejects).toEqual([]);
    expect(summary.fixes).toBe(7250);
    expect([summary.depthMinM.toFixed(2), summary.depthMaxM.toFixed(2)]).toEqual(['1.43', '38.05']);
    expect((trackM(observations) / 1000).toFixed(1)).toBe('35.1');
    expect(summary.timeEndS - summary.timeStartS).toBeCloseTo(4 * 3600 + 7 * 60 + 25, -1);
    // Depth and position of one burst belong together. In 1973 bursts GLL is a second later than the ZDA before the depth.
    const late = Array.from({ length: 7250 }, (_, i) => (observations.fixes.timeS[i] as number) - (observations.pings.timeS[i] as number));
    expect(Math.min(...late)).toBe(0);
    expect(Math.max(...late)).toBeLessThanOrEqual(1);
    expect(late.filter((s) => s > 0).length).toBeLessThanOrEqual(1973);
  });

  it('river-clock-backwards.log: the nine positions after the clock went back, and what came with them, are rejected and located', async () => {
    const { summary } = await read(readFileSync(new URL('river-clock-backwards.log', FOLDER)));
    // Nine positions, eight depths (33 - 25), four temperatures (16 - 12) and five variations (RMC, 17 - 12) from line 74 on.
    expect(rejects(summary)).toEqual({ 'time-backwards': 9 + 8 + 4 + 5 });
    expect(summary.rejects[0]?.firstLines[0]).toBe(74);
  });
});
