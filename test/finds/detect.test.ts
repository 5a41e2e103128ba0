import { describe, expect, test } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { detect, thresholdFor, type DetectOptions } from '../../src/finds/detect.js';
import { normalTail, normalTailQuantile } from '../../src/finds/normal-tail.js';
import { measure } from '../../src/finds/measure.js';
import { readOff } from '../../src/finds/read-off.js';
import { countIn, sumIn, windowSums } from '../../src/finds/window-sums.js';
import { drawScene, type Planted } from './scene.js';

const OPTIONS: DetectOptions = { objectM: 0.6, objectHeightM: 0.3, beamDeg: 1, falsePerHa: 0.5 };

function plant(seed: number, topM: number): Planted[] {
  const random = createRandom(seed * 77);
  return Array.from({ length: 7 }, (_, k) => ({ nearM: random.between(5, 37), alongM: 8 + k * 14 + random.between(-3, 3), sizeM: 0.6, topM, echoDb: 8 }));
}

const isHit = (candidate: { ping: number; bin: number }, object: Planted): boolean => Math.abs(candidate.ping * 0.19 - object.alongM) < 0.8 && Math.abs(candidate.bin * 0.1 - object.nearM - 0.3) < 1;

describe('normal tail', () => {
  // Abramowitz & Stegun table 26.1 and R pnorm(z, lower.tail = FALSE).
  test.each([[0, 0.5], [1, 0.15865525393145705], [1.96, 0.024997895148220435], [3, 0.0013498980316300933], [5, 2.866515718791933e-7], [-1, 0.8413447460685429]])('normalTail(%s) is %s', (z, expected) => {
    expect(normalTail(z) / expected).toBeCloseTo(1, 7);
  });

  test('normalTailQuantile: the inverse', () => {
    for (const chance of [0.4, 0.05, 1e-5, 1e-9]) expect(normalTail(normalTailQuantile(chance)) / chance).toBeCloseTo(1, 9);
    expect(() => normalTailQuantile(0)).toThrow('chance 0');
  });
});

test('windowSums: as adding up cell by cell, NaN left out, windows cut to the table', () => {
  const random = createRandom(2);
  const values = Float32Array.from({ length: 7 * 9 }, () => (random.uniform() < 0.2 ? NaN : random.normal()));
  const sums = windowSums(values, 7, 9);
  for (const [r0, r1, c0, c1] of [[0, 7, 0, 9], [-3, 4, 2, 30], [2, 3, 5, 6], [5, 5, 1, 4], [6, 2, 0, 9]] as const) {
    let [sum, count] = [0, 0];
    for (let r = Math.max(0, r0); r < Math.min(7, r1); r++) for (let c = Math.max(0, c0); c < Math.min(9, c1); c++) if (!Number.isNaN(values[r * 9 + c]!)) [sum, count] = [sum + values[r * 9 + c]!, count + 1];
    expect(sumIn(sums, r0, r1, c0, c1)).toBeCloseTo(sum, 9);
    expect(countIn(sums, r0, r1, c0, c1)).toBe(count);
  }
});

describe('detect on drawn scenes', () => {
  test('plain ground with default settings: 90 % of 0.6 m objects and no more than 2 false candidates a hectare', { timeout: 120_000 }, () => {
    let [found, planted, wrong, areaHa] = [0, 0, 0, 0];
    for (let seed = 1; seed <= 6; seed++) {
      const objects = plant(seed, 0.3);
      const candidates = detect(drawScene({ seed, lengthM: 100, rangeM: 40, heightM: 5, ground: 'plain', planted: objects }), OPTIONS);
      planted += objects.length;
      found += objects.filter((object) => candidates.some((one) => isHit(one, object))).length;
      wrong += candidates.filter((one) => !objects.some((object) => isHit(one, object))).length;
      areaHa += 0.4;
    }
    expect(found / planted).toBeGreaterThanOrEqual(0.9);
    expect(wrong / areaHa).toBeLessThanOrEqual(2);
  });

  test('an empty floor twice as rough gives no more candidates: the threshold is one of spreads', { timeout: 60_000 }, () => {
    const scene = drawScene({ seed: 3, lengthM: 100, rangeM: 40, heightM: 5, ground: 'ripples', planted: [] });
    const doubled = { ...scene, levelDb: scene.levelDb.map((level) => Math.max(-17, Math.min(17, level)) * 0.9) };
    const plain = { ...scene, levelDb: scene.levelDb.map((level) => Math.max(-17, Math.min(17, level))) };
    const [a, b] = [detect(plain, OPTIONS), detect(doubled, OPTIONS)];
    expect(a.map(({ ping, bin }) => [ping, bin])).toEqual(b.map(({ ping, bin }) => [ping, bin]));
  });

  test('a bright patch without a shadow, and a dark one without an echo, are no candidates', () => {
    const scene = drawScene({ seed: 5, lengthM: 60, rangeM: 40, heightM: 5, ground: 'plain', planted: [] });
    const before = detect(scene, OPTIONS).length;
    const levelDb = Float32Array.from(scene.levelDb);
    for (let row = 100; row < 105; row++) for (let bin = 200; bin < 206; bin++) levelDb[row * scene.width + bin] = 14;
    for (let row = 200; row < 204; row++) for (let bin = 200; bin < 215; bin++) levelDb[row * scene.width + bin] = -15;
    expect(detect({ ...scene, levelDb }, OPTIONS).length).toBe(before);
  });

  test('a picture without data, without height or of one ping: nothing, and no error', () => {
    const scene = drawScene({ seed: 5, lengthM: 20, rangeM: 20, heightM: 5, ground: 'plain', planted: [] });
    expect(detect({ ...scene, levelDb: new Float32Array(scene.levelDb.length).fill(NaN) }, OPTIONS)).toEqual([]);
    expect(detect({ ...scene, heightM: new Float32Array(scene.n).fill(NaN) }, OPTIONS)).toEqual([]);
    expect(detect({ ...scene, n: 1, levelDb: scene.levelDb.slice(0, scene.width), heightM: [5] }, OPTIONS)).toEqual([]);
    expect(detect({ ...scene, n: 0, levelDb: new Float32Array(0), heightM: [] }, OPTIONS)).toEqual([]);
  });

  test('thresholdFor: fewer false candidates asked for, a higher threshold; a rate that is none is refused', () => {
    expect(thresholdFor({ ...OPTIONS, falsePerHa: 0.1 })).toBeGreaterThan(thresholdFor(OPTIONS));
    expect(() => thresholdFor({ ...OPTIONS, falsePerHa: 0 })).toThrow('falsePerHa 0');
  });

  test('readOff and measure: height from a shadow of a metre and more, most within 15 %, and the 95 % hold the truth', { timeout: 120_000 }, () => {
    const off: number[] = [];
    let held = 0;
    for (let seed = 1; seed <= 4; seed++) {
      const objects = plant(seed, 0.6).filter(({ nearM }) => nearM > 8);
      const scene = drawScene({ seed, lengthM: 100, rangeM: 45, heightM: 5, ground: 'plain', planted: objects });
      const candidates = detect(scene, OPTIONS);
      for (const object of objects) {
        const hit = candidates.find((one) => isHit(one, object));
        const outline = hit === undefined ? null : readOff(scene, hit, Math.PI / 180, 0.05);
        if (outline === null) continue;
        const { height } = measure(outline.read);
        if (Number.isNaN(height.value)) continue;
        off.push(height.value / 0.6 - 1);
        if (Math.abs(height.value - 0.6) <= 1.96 * height.sigma) held++;
      }
    }
    expect(off.length).toBeGreaterThan(15);
    expect(off.filter((one) => Math.abs(one) <= 0.15).length / off.length).toBeGreaterThanOrEqual(0.85);
    expect(held / off.length).toBeGreaterThan(0.85);
  });
});
