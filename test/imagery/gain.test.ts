import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { SIDES } from '../../src/base/sonar.js';
import { rootMeanSquare } from '../../src/base/statistics.js';
import { median } from '../../src/base/robust.js';
import { correctStretch } from '../../src/imagery/correct-stretch.js';
import { decibels } from '../../src/imagery/decibels.js';
import { angleLevels, learnGain, pingLevelsDb, stripesDb } from '../../src/imagery/learn-gain.js';
import { angleBin, cotOfAngleBin, levelByte, normaliser, withPings } from '../../src/imagery/learned-gain.js';
import { learnScaledGain, usualOffDb } from '../../src/imagery/level-scales.js';
import { plainPings, type PlainOptions } from './plain-pings.js';

const COMMON = { n: 800, samples: 1024, rangeM: 40, pingS: 0.1, soundSpeedMps: 1500 };
const OPTIONS = { soundSpeedMps: 1500, spreadingDb: 30, absorptionDbPerKm: 0 };
const height = (ping: number): number => 5 + Math.sin(ping / 120);

function learned(options: Partial<PlainOptions> = {}, heightM = height) {
  const { heads, samples } = plainPings({ ...COMMON, random: createRandom(3), heightM, noise: 0.0005, ...options });
  const slope = options.slope ?? 0;
  const floor = {
    heightM: Float32Array.from({ length: heads.n }, (_, ping) => heightM(ping) / Math.hypot(1, slope)),
    portSlope: new Float32Array(heads.n).fill(-slope),
    starboardSlope: new Float32Array(heads.n).fill(slope),
  };
  const levels = angleLevels(samples, heads, floor, 0, 0, heads.n, OPTIONS);
  return { heads, samples, floor, levels, gain: learnGain([levels], OPTIONS) };
}

describe('learned gain', () => {
  it('angleBin: inverse of cotOfAngleBin', () => {
    for (const bin of [0, 1, 7.5, 60]) expect(angleBin(cotOfAngleBin(bin))).toBeCloseTo(bin, 9);
  });
  it('levelByte: 128 for the usual return, 4 steps a dB, held inside 1 to 255, 0 for none', () => {
    expect([0, 1, -1, 100, -100, NaN].map(levelByte)).toEqual([128, 132, 124, 255, 1, 0]);
  });
  it('learnGain: a plain floor is flat to 0.5 dB across the range on both sides, one louder by 6 dB', () => {
    const { heads, samples, floor, gain } = learned({ starboardDb: 6 });
    const { width, groundM, ...levels } = correctStretch(samples, 0, heads, floor, floor, withPings(gain, heads.n), { soundSpeedMps: 1500, binM: 0.5, maxGroundM: 39 });
    for (const side of SIDES) {
      for (let bin = 0; bin < width; bin++) {
        // Under the boat a bin is one speckled sample; the far end of some pings is short.
        if (groundM[bin]! < 1 || groundM[bin]! > 38) continue;
        const column = Float64Array.from({ length: heads.n }, (_, ping) => levels[side][ping * width + bin]!).filter((level) => !Number.isNaN(level));
        const meanDb = 20 * Math.log10(column.reduce((sum, level) => sum + 10 ** (level / 20), 0) / column.length);
        expect(Math.abs(meanDb), `${side} at ${groundM[bin]} m`).toBeLessThan(0.5);
      }
    }
  });
  it('learnGain: objects and shadows on a third of the pings do not count', () => {
    const plain = learned();
    const busy = learned({ spot: (ping, groundM) => (ping % 90 < 30 && Math.abs(groundM) > 10 && Math.abs(groundM) < 20 ? 0.05 : 1) });
    for (const side of SIDES) {
      for (let groundM = 1; groundM < 35; groundM++) {
        const slantM = Math.hypot(5, groundM);
        const off = normaliser(busy.gain, side)(slantM, groundM / 5) - normaliser(plain.gain, side)(slantM, groundM / 5);
        // A third that is all on one side moves a median to the 25 % quantile of the rest: 0.7 sigma of speckle.
        expect(Math.abs(off), `${side} at ${groundM} m`).toBeLessThan(1);
      }
    }
  });
  it('learnScaledGain: recorders of other scales are brought to one level within 0.3 dB, and the law by angle is that of either alone', () => {
    const one = learned();
    // The same floor and sonar by another recorder: other speckle, numbers 300 times as large.
    const made = plainPings({ ...COMMON, random: createRandom(8), heightM: height, noise: 0.0005 });
    const louder = { n: made.samples.n, width: made.samples.width, port: made.samples.port.map((value) => 300 * value), starboard: made.samples.starboard.map((value) => 300 * value) };
    const other = angleLevels(louder, made.heads, one.floor, 0, 0, 300, OPTIONS);
    const { gain, scaleDb } = learnScaledGain([one.levels, other], [0, 1], 2, OPTIONS);
    expect(Math.abs(scaleDb[1]! - scaleDb[0]! - 20 * Math.log10(300))).toBeLessThan(0.3);
    expect(Math.abs(usualOffDb([one.levels], gain) - scaleDb[0]!)).toBeLessThan(0.3);
    for (let groundM = 1; groundM < 35; groundM++) {
      const slantM = Math.hypot(5, groundM);
      const law = (of: typeof gain): number => normaliser(of, 'port')(slantM, groundM / 5);
      expect(Math.abs(law(gain) + scaleDb[0]! - law(one.gain)), `at ${groundM} m`).toBeLessThan(0.5);
    }
    // With one scale there is nothing to shift.
    expect([...learnScaledGain([one.levels], [0], 1, OPTIONS).scaleDb]).toEqual([0]);
  });
  it('stripesDb: finds the gain of single pings and leaves what changes slowly', () => {
    const stripe = (ping: number): number => (ping % 7 === 3 ? 4 : ping % 11 === 5 ? -3 : 0);
    const { levels, gain } = learned({ pingDb: (ping) => stripe(ping) + 3 * Math.sin(ping / 150) });
    const off = stripesDb(pingLevelsDb(levels, gain, 'port'));
    for (let ping = 30; ping < 770; ping++) expect(Math.abs(off[ping]! - stripe(ping)), `ping ${ping}`).toBeLessThan(2);
    expect(rootMeanSquare(off.subarray(30, 770).map((each, i) => each - stripe(i + 30)))).toBeLessThan(0.5);
  });
  it('stripesDb: a lost ping has no level, alone or with its neighbours lost', () => {
    const levels = Float32Array.from({ length: 200 }, (_, ping) => (ping === 50 || (ping >= 100 && ping < 112) ? -30 : ping === 150 ? NaN : 0.5 * Math.sin(ping)));
    const off = stripesDb(levels);
    for (const [ping, each] of off.entries()) expect(Number.isNaN(each), `ping ${ping}`).toBe(ping === 50 || ping === 150 || (ping >= 100 && ping < 112));
    expect(Array.from(stripesDb(new Float32Array(10).fill(NaN)))).toEqual(new Array(10).fill(0));
  });
});

describe('correctStretch', () => {
  it('correctStretch: a bright spot on a slope lies at its place on the ground', () => {
    const slope = 0.2;
    const { heads, samples, floor, gain } = learned({ slope, spot: (_, groundM) => (Math.abs(groundM - 12) < 0.4 ? 6 : Math.abs(groundM + 15) < 0.4 ? 6 : 1) }, () => 6);
    const flat = { ...gain, angleDb: { port: gain.angleDb.port.map(() => 60), starboard: gain.angleDb.starboard.map(() => 60) }, rangeDb: { port: gain.rangeDb.port.map(() => 0), starboard: gain.rangeDb.starboard.map(() => 0) } };
    const { width, groundM, starboard, port } = correctStretch(samples, 0, heads, floor, floor, withPings(flat, heads.n), { soundSpeedMps: 1500, binM: 0.1, maxGroundM: 25 });
    const centre = (levels: Float32Array, from: number, to: number): number => {
      const means = Array.from(groundM, (_, bin) => median(Float64Array.from({ length: 200 }, (_, ping) => levels[ping * width + bin]!)));
      const bins = means.flatMap((mean, bin) => (groundM[bin]! > from && groundM[bin]! < to ? [[groundM[bin]!, 10 ** (mean / 20)] as const] : []));
      const base = Math.max(...bins.map(([, level]) => level)) / 2;
      const loud = bins.filter(([, level]) => level > base);
      return loud.reduce((sum, [ground]) => sum + ground, 0) / loud.length;
    };
    expect(centre(starboard, 10, 14)).toBeCloseTo(12, 0.9);
    expect(centre(port, 13, 17)).toBeCloseTo(15, 0.9);
  });
  it('correctStretch: the same when a stretch is cut in two', () => {
    const { heads, samples, floor, gain } = learned();
    const options = { soundSpeedMps: 1500, binM: 0.25, maxGroundM: 39 };
    const whole = correctStretch(samples, 0, heads, floor, floor, withPings(gain, heads.n), options);
    const half = { n: 300, width: samples.width, port: samples.port.subarray(500 * samples.width), starboard: samples.starboard.subarray(500 * samples.width) };
    const part = correctStretch(half, 500, heads, floor, floor, withPings(gain, heads.n), options);
    expect(part.port).toEqual(whole.port.subarray(500 * whole.width, 800 * whole.width));
  });
  it('correctStretch: no data where the height is not known, and beyond the samples', () => {
    const { heads, samples, floor, gain } = learned();
    floor.heightM[4] = NaN;
    const { port, width } = correctStretch(samples, 0, heads, floor, floor, withPings(gain, heads.n), { soundSpeedMps: 1500, binM: 0.5, maxGroundM: 60 });
    expect(port.subarray(4 * width, 5 * width).every(Number.isNaN)).toBe(true);
    expect(port.subarray(width - 10, width).every(Number.isNaN)).toBe(true);
    expect(port.subarray(0, 60).some((level) => !Number.isNaN(level))).toBe(true);
  });
});

describe('decibels', () => {
  it('decibels: within 0.003 dB of 20 log10 over 200 dB', () => {
    for (let level = -100; level <= 100; level += 0.0137) expect(Math.abs(decibels(10 ** (level / 20)) - level)).toBeLessThan(0.003);
  });
});
