import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { createGnssReceiver } from '../../src/proving/gnss-receiver.js';
import type { GnssError } from '../../src/proving/gnss-receiver.js';
import { createPingFaults, episodes } from '../../src/proving/ping-faults.js';
import { DEFAULT_FAULTS, NO_FAULTS } from '../../src/proving/proving-options.js';
import { createGaussMarkov, createSwell } from '../../src/proving/random-process.js';
import { createWaterLevel, gaugeSeriesCsv } from '../../src/proving/water-level.js';

function standardDeviation(values: readonly number[]): number {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  return Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / values.length);
}

describe('noise', () => {
  it('createGaussMarkov: stated deviation and exp(-dt / tau) correlation, at uneven steps too', () => {
    const random = createRandom(3);
    const noise = createGaussMarkov(random, 0.4, 10);
    const steps = createRandom(4);
    const values: number[] = [];
    let timeS = 0;
    let products = 0;
    let last = NaN;
    const n = 200_000;
    for (let i = 0; i < n; i++) {
      // Steps of 3 s and 7 s by turns of chance: the correlation asked for is that of the 5 s steps between.
      timeS += steps.uniform() < 0.5 ? 3 : 7;
      const value = noise.at(timeS);
      if (i > 0) products += value * last;
      last = value;
      values.push(value);
    }
    expect(standardDeviation(values)).toBeCloseTo(0.4, 2);
    const expected = (Math.exp(-0.3) + Math.exp(-0.7)) / 2;
    expect(products / n / 0.16).toBeCloseTo(expected, 1.7);
    expect(createGaussMarkov(createRandom(1), 0, 5).at(3)).toBe(0);
  });

  it('createSwell: stated deviation, and no step between close times', () => {
    for (const seed of [1, 2, 3]) {
      const swell = createSwell(createRandom(seed), 0.05, 1.8, 5, 7);
      const values = Array.from({ length: 60_000 }, (_, i) => swell(i * 0.37));
      expect(standardDeviation(values)).toBeCloseTo(0.05, 3);
      // Slowest allowed change: amplitude times the highest frequency, all sines at once.
      const most = 0.05 * Math.sqrt(2 * 7) * ((2 * Math.PI) / 1.8);
      for (let i = 0; i < 1000; i++) expect(Math.abs(swell(i + 0.001) - swell(i))).toBeLessThan(0.001 * most);
    }
    expect(Math.abs(createSwell(createRandom(1), 0, 1, 2, 5)(12.3))).toBe(0);
  });

  it('createGnssReceiver: errors as large as it says, over many receivers', () => {
    const out: GnssError = { eastM: 0, northM: 0, upM: 0, sigmaM: 0, fault: 0, silent: false };
    let squares = 0;
    let count = 0;
    for (let seed = 0; seed < 400; seed++) {
      const receiver = createGnssReceiver(0.25, NO_FAULTS, createRandom(seed), 0.2, 0, 1000);
      for (let timeS = 0; timeS < 1000; timeS += 200) {
        receiver.errorInto(timeS, out);
        expect(out.sigmaM).toBeGreaterThan(0.18);
        expect(out.sigmaM).toBeLessThan(0.32);
        squares += (out.eastM / out.sigmaM) ** 2 + (out.northM / out.sigmaM) ** 2;
        count += 2;
      }
    }
    // 4000 values, little correlated over 200 s: mean square 1 with a deviation of about 0.03.
    expect(squares / count).toBeGreaterThan(0.9);
    expect(squares / count).toBeLessThan(1.1);
  });

  it('createGnssReceiver: a jump moves what is reported by 4 to 30 m, and faultAt names the same epochs', () => {
    const out: GnssError = { eastM: 0, northM: 0, upM: 0, sigmaM: 0, fault: 0, silent: false };
    const receiver = createGnssReceiver(0.2, { ...NO_FAULTS, jumpsPerHour: 60, fixGapsPerHour: 20 }, createRandom(9), 0.2, 0, 7200);
    const codes = new Set<number>();
    for (let epoch = 0; epoch < 36_000; epoch++) {
      receiver.errorInto(epoch / 5, out);
      codes.add(out.fault);
      expect(receiver.faultAt(epoch / 5)).toBe(out.fault);
      const off = Math.hypot(out.eastM, out.northM);
      if (out.fault === 1) {
        expect(off).toBeGreaterThan(2.5);
        expect(off).toBeLessThan(31.5);
      } else expect(off).toBeLessThan(1.6);
    }
    expect([...codes].sort()).toEqual([0, 1, 2]);
  });

  it('episodes: as many an hour as asked, in order, none overlapping', () => {
    const list = episodes(createRandom(2), 12, 0, 3600 * 200, 4, 9);
    expect(list.length).toBeGreaterThan(2200);
    expect(list.length).toBeLessThan(2500);
    for (let i = 1; i < list.length; i++) expect(list[i]!.startS).toBeGreaterThanOrEqual(list[i - 1]!.endS);
    for (const { startS, endS } of list) {
      expect(endS - startS).toBeGreaterThanOrEqual(4);
      expect(endS - startS).toBeLessThan(9);
    }
    expect(episodes(createRandom(2), 0, 0, 3600, 1, 2)).toEqual([]);
  });

  it('createPingFaults: shares as asked; spikes of 0.4 m at least, a shoal one never above the water, doubles at twice the depth', () => {
    const apply = createPingFaults(DEFAULT_FAULTS, createRandom(5), 0, 40_000);
    const out = { depthM: 0, fault: 0 };
    const counts = new Array<number>(7).fill(0);
    const n = 300_000;
    let lastWritten = NaN;
    for (let i = 0; i < n; i++) {
      const depthM = 1 + (i % 700) / 100;
      apply(i / 8, depthM, out);
      counts[out.fault]!++;
      if (out.fault === 0) expect(out.depthM).toBeCloseTo(depthM, 10);
      if (out.fault === 1) {
        expect(Math.abs(out.depthM - depthM)).toBeGreaterThanOrEqual(0.395);
        expect(Math.abs(out.depthM - depthM)).toBeLessThanOrEqual(9.005);
        expect(out.depthM).toBeGreaterThanOrEqual(0.345);
      }
      if (out.fault === 3) expect(out.depthM).toBeCloseTo(2 * depthM, 1);
      if (out.fault === 4) expect(out.depthM === 0 || Number.isNaN(out.depthM)).toBe(true);
      if (out.fault === 5) expect(out.depthM).toBe(lastWritten);
      lastWritten = out.depthM;
    }
    expect(counts[1]! / n).toBeCloseTo(DEFAULT_FAULTS.spikeShare, 3);
    expect(counts[2]! / n / 3.5).toBeCloseTo(DEFAULT_FAULTS.burstShare, 3.3);
    expect(counts[3]! / n / 2.5).toBeCloseTo(DEFAULT_FAULTS.doubleShare, 3.3);
    expect(counts[4]! / n / 8).toBeCloseTo(DEFAULT_FAULTS.dropoutShare, 3);
    // 10.4 hours, 3 an hour, 6.5 s of 8 pings.
    expect(counts[5]!).toBeGreaterThan(900);
    expect(counts[5]!).toBeLessThan(2500);
  });

  it('createPingFaults: nothing changes when all is switched off', () => {
    const apply = createPingFaults(NO_FAULTS, createRandom(5), 0, 1000);
    const out = { depthM: 0, fault: 0 };
    for (let i = 0; i < 5000; i++) {
      apply(i / 8, 5.25, out);
      expect(out).toEqual({ depthM: 5.25, fault: 0 });
    }
  });
});

describe('water level', () => {
  const startS = 1_781_654_400;

  it('createWaterLevel: rises and falls twice a day within the range of its constituents', () => {
    const level = createWaterLevel(createRandom(1), 0);
    const values = Array.from({ length: 30 * 240 }, (_, i) => level.atGaugeM(startS + i * 360));
    // Mean 1.9; amplitudes 1.15 + 0.36 + 0.22 + 0.07 + 0.05 + 0.04, surge 0.05 and seiche 0.012.
    expect(Math.max(...values)).toBeLessThan(1.9 + 1.952);
    expect(Math.min(...values)).toBeGreaterThan(1.9 - 1.952);
    const highs = values.filter((value, i) => i > 5 && i < values.length - 5 && value === Math.max(...values.slice(i - 5, i + 6)) && value > 2);
    // 30 days of 24.84 h with two high waters each: 58.
    expect(highs.length).toBeGreaterThanOrEqual(56);
    expect(highs.length).toBeLessThanOrEqual(60);
  });

  it('createWaterLevel: gauge and boat differ by the stated root mean square', () => {
    const level = createWaterLevel(createRandom(4), 0.03);
    const differences = Array.from({ length: 30_000 }, (_, i) => level.atBoatM(startS + i * 11) - level.atGaugeM(startS + i * 11));
    expect(Math.sqrt(differences.reduce((sum, d) => sum + d * d, 0) / differences.length)).toBeCloseTo(0.03, 3);
  });

  it('gaugeSeriesCsv: header with units, a reading every interval that covers the span, noise as stated', () => {
    const level = createWaterLevel(createRandom(4), 0);
    const rows = gaugeSeriesCsv(level, createRandom(8), 0.02, startS + 100, startS + 3_600_000, 360).trimEnd().split('\n');
    expect(rows[0]).toBe('timeUtc,levelM');
    expect(rows[1]).toMatch(/^2026-06-17T00:00:00Z,-?\d+\.\d{3}$/);
    const residuals = rows.slice(1).map((row) => {
      const [time, value] = row.split(',');
      return Number(value) - level.atGaugeM(Date.parse(time!) / 1000);
    });
    expect(residuals.length).toBe(10_001);
    expect(standardDeviation(residuals)).toBeCloseTo(0.02, 2.5);
  });
});
