import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createFloor, HIGH_WATER_M, ORIGIN_E_M, ORIGIN_N_M, OUTCROP, ROCK_AWASH } from '../../src/proving/floor.js';
import { createValueNoise } from '../../src/proving/value-noise.js';

const floor = createFloor(17);
const at = (eastM: number, northM: number): number => floor.depthM(ORIGIN_E_M + eastM, ORIGIN_N_M + northM);
const east = fc.double({ min: -640, max: 640, noNaN: true });
const north = fc.double({ min: -360, max: 360, noNaN: true });
const runs = { seed: 20260617, numRuns: 3000 };

describe('floor of Hollin Sound', () => {
  it('depthM: a finite number everywhere, whatever the seed', () => {
    fc.assert(
      fc.property(east, north, fc.integer({ min: 0, max: 2 ** 28 }), (e, n, seed) => {
        const depth = createFloor(seed).depthM(ORIGIN_E_M + e, ORIGIN_N_M + n);
        expect(depth).toBeGreaterThan(-13);
        expect(depth).toBeLessThan(15);
      }),
      { ...runs, numRuns: 500 },
    );
  });

  it('depthM: continuous: a centimetre of way changes depth by less than the steepest slope there is (55 deg) allows', () => {
    fc.assert(
      fc.property(east, north, fc.double({ min: 0, max: 2 * Math.PI, noNaN: true }), (e, n, angle) => {
        const change = at(e + 0.01 * Math.cos(angle), n + 0.01 * Math.sin(angle)) - at(e, n);
        expect(Math.abs(change)).toBeLessThan(0.01 * Math.tan((55 * Math.PI) / 180));
      }),
      runs,
    );
  });

  it('slopeDeg: that of the depths half a metre apart', () => {
    fc.assert(
      fc.property(east, north, (e, n) => {
        const dx = (at(e + 0.25, n) - at(e - 0.25, n)) / 0.5;
        const dy = (at(e, n + 0.25) - at(e, n - 0.25)) / 0.5;
        expect(floor.slopeDeg(ORIGIN_E_M + e, ORIGIN_N_M + n)).toBeCloseTo((Math.atan(Math.hypot(dx, dy)) * 180) / Math.PI, 4);
      }),
      { ...runs, numRuns: 300 },
    );
  });

  it('depthM: holds the channel, the bank, the flat, the foreshore and the rock that its description names', () => {
    const deepest = Math.max(...Array.from({ length: 400 }, (_, i) => at(100, -150 + i)));
    expect(deepest).toBeGreaterThan(12);
    expect(deepest).toBeLessThan(14);
    const bank: number[] = [];
    for (let e = -190; e <= -110; e += 4) for (let n = -140; n <= -115; n += 4) bank.push(at(e, n));
    expect(Math.min(...bank)).toBeGreaterThan(2.5);
    expect(Math.min(...bank)).toBeLessThan(5);
    expect(at(ROCK_AWASH.eastM, ROCK_AWASH.northM)).toBeLessThan(0);
    expect(at(ROCK_AWASH.eastM, ROCK_AWASH.northM)).toBeGreaterThan(-HIGH_WATER_M);
    expect(at(0, 330)).toBeLessThan(-HIGH_WATER_M);
    expect(at(40, -300)).toBeLessThan(-HIGH_WATER_M);
  });

  it('outcrop: rises in steps of 1 to 2 m within a few metres, nowhere steeper than 50 deg', () => {
    const cos = Math.cos(OUTCROP.turnRad);
    const sin = Math.sin(OUTCROP.turnRad);
    const profile = Array.from({ length: 81 }, (_, i) => at(OUTCROP.eastM - (i - 40) * sin, OUTCROP.northM + (i - 40) * cos));
    const steepSteps = profile.slice(1).filter((depth, i) => Math.abs(depth - profile[i]!) > 0.3).length;
    expect(steepSteps).toBeGreaterThan(8);
    expect(Math.max(...profile) - Math.min(...profile)).toBeGreaterThan(3);
    let steepest = 0;
    for (let e = -40; e <= 40; e += 0.5) {
      for (let n = -40; n <= 40; n += 0.5) steepest = Math.max(steepest, floor.slopeDeg(ORIGIN_E_M + OUTCROP.eastM + e, ORIGIN_N_M + OUTCROP.northM + n));
    }
    expect(steepest).toBeGreaterThan(30);
    expect(steepest).toBeLessThan(50);
    expect(floor.bottom(ORIGIN_E_M + OUTCROP.eastM, ORIGIN_N_M + OUTCROP.northM)).toBe('rock');
  });

  it('bottom: mud in the north-east, gravel or sand in the channel', () => {
    expect(floor.bottom(ORIGIN_E_M + 250, ORIGIN_N_M + 110)).toBe('mud');
    expect(floor.bottom(ORIGIN_E_M - 250, ORIGIN_N_M - 60)).toBe('sand');
    expect(floor.bottom(ORIGIN_E_M + 100, ORIGIN_N_M - 15)).toBe('gravel');
  });

  it('createFloor: the same seed the same floor, another seed another texture under 0.5 m', () => {
    let most = 0;
    for (let e = -200; e <= 200; e += 7) {
      for (let n = -120; n <= 40; n += 7) {
        expect(createFloor(17).depthM(ORIGIN_E_M + e, ORIGIN_N_M + n)).toBe(at(e, n));
        const away = Math.hypot(e - OUTCROP.eastM, n - OUTCROP.northM) > 45;
        if (away) most = Math.max(most, Math.abs(createFloor(18).depthM(ORIGIN_E_M + e, ORIGIN_N_M + n) - at(e, n)));
      }
    }
    expect(most).toBeGreaterThan(0.01);
    expect(most).toBeLessThan(0.5);
  });
});

describe('value noise', () => {
  it('createValueNoise: within -1 and 1, mean near 0, smooth across squares', () => {
    const noise = createValueNoise(5);
    let sum = 0;
    let count = 0;
    for (let x = 0.05; x < 60; x += 0.31) {
      for (let y = 0.05; y < 60; y += 0.31) {
        const value = noise(x, y);
        expect(Math.abs(value)).toBeLessThanOrEqual(1);
        sum += value;
        count++;
      }
    }
    // 3600 corners of variance 1/3: the mean's own standard deviation is 0.0096.
    expect(Math.abs(sum / count)).toBeLessThan(0.03);
    for (let k = -20; k < 20; k++) expect(Math.abs(noise(k - 1e-6, 0.4) - noise(k + 1e-6, 0.4))).toBeLessThan(1e-8);
  });
});
