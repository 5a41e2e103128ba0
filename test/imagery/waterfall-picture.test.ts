import { describe, expect, test } from 'vitest';
import { correctStretch } from '../../src/imagery/correct-stretch.js';
import { plainGain, withPings } from '../../src/imagery/learned-gain.js';
import { waterfallPicture, type PictureGround } from '../../src/imagery/waterfall-picture.js';

const C = 1500;
const SAMPLES = 400;
/** 0.1 m of slant range a sample. */
const INTERVAL_S = (2 * 0.1) / C;

function scene(n: number, heightM: number) {
  const counts = new Uint32Array(n).fill(SAMPLES);
  const ground: PictureGround = {
    soundSpeedMps: C,
    pings: { timeS: new Float64Array(n), portSamples: counts, starboardSamples: counts, intervalS: new Float64Array(n).fill(INTERVAL_S), delayS: new Float64Array(n) },
    bottom: { heightM: new Float32Array(n).fill(heightM) },
    track: { portSlope: new Float32Array(n), starboardSlope: new Float32Array(n) },
    gain: withPings(plainGain(), n),
  };
  const port = Float32Array.from({ length: n * SAMPLES }, (_, k) => 1 + (k % SAMPLES) + 7 * Math.floor(k / SAMPLES));
  const starboard = Float32Array.from(port, (value) => 2 * value);
  return { ground, samples: { n, width: SAMPLES, port, starboard } };
}

describe('waterfallPicture', () => {
  test('as recorded in slant range: a column is the mean amplitude of its samples in decibels, the sides apart', () => {
    const { ground, samples } = scene(3, 6);
    const { rows, width, port, starboard } = waterfallPicture(samples, 0, ground, { axis: 'slant', levels: 'recorded', width: 100, rangeM: 40, step: 1 });
    expect([rows, width]).toEqual([3, 100]);
    // Column 10 of ping 2: samples 40 to 43, amplitudes 55 to 58.
    expect(port[2 * 100 + 10]).toBeCloseTo(20 * Math.log10(56.5), 4);
    expect((starboard[2 * 100 + 10] as number) - (port[2 * 100 + 10] as number)).toBeCloseTo(20 * Math.log10(2), 4);
  });

  test('evened along the floor: the very picture of the mosaic and of the search', () => {
    const { ground, samples } = scene(4, 6);
    const drawn = waterfallPicture(samples, 0, ground, { axis: 'ground', levels: 'evened', width: 150, rangeM: 39, step: 1 });
    const corrected = correctStretch(samples, 0, ground.pings, ground.bottom, ground.track, ground.gain as NonNullable<PictureGround['gain']>, { soundSpeedMps: C, binM: 39 / 150, maxGroundM: 39 });
    expect(corrected.width).toBe(150);
    expect([...drawn.port]).toEqual([...corrected.port]);
    expect([...drawn.starboard]).toEqual([...corrected.starboard]);
  });

  test('as recorded along the floor: the sample at the slant range of the place; nothing where the height is not known', () => {
    const { ground, samples } = scene(2, 6);
    const look = { axis: 'ground', levels: 'recorded', width: 320, rangeM: 32, step: 1 } as const;
    const drawn = waterfallPicture(samples, 0, ground, look);
    // 8 m of ground over 6 m of height: 10 m of slant, sample 100.
    const at = 20 * Math.log10(101);
    expect(Math.abs((drawn.port[80] as number) - at)).toBeLessThan(0.1);
    const unknown = waterfallPicture(samples, 0, { ...ground, bottom: { heightM: Float32Array.of(6, NaN) } }, look);
    expect(Number.isNaN(unknown.port[320 + 80])).toBe(true);
    expect(Number.isNaN(unknown.port[80])).toBe(false);
  });

  test('several pings to a row: the mean amplitude; the last row of what is left over; beyond the samples nothing', () => {
    const { ground, samples } = scene(5, 6);
    const look = { axis: 'slant', levels: 'recorded', width: 500, rangeM: 50 } as const;
    const one = waterfallPicture(samples, 0, ground, { ...look, step: 1 });
    const two = waterfallPicture(samples, 0, ground, { ...look, step: 2 });
    expect(two.rows).toBe(3);
    const amplitude = (db: number | undefined): number => 10 ** ((db as number) / 20);
    for (const col of [20, 200, 390]) {
      expect(amplitude(two.port[500 + col])).toBeCloseTo((amplitude(one.port[2 * 500 + col]) + amplitude(one.port[3 * 500 + col])) / 2, 2);
      expect(two.port[2 * 500 + col]).toBeCloseTo(one.port[4 * 500 + col] as number, 4);
    }
    expect(Number.isNaN(one.port[450])).toBe(true);
    expect(Number.isNaN(two.port[450])).toBe(true);
  });

  test('evened in slant range: the water column keeps its place and is held against the floor straight below', () => {
    const { ground, samples } = scene(1, 6);
    const evened = waterfallPicture(samples, 0, ground, { axis: 'slant', levels: 'evened', width: 400, rangeM: 40, step: 1 });
    const recorded = waterfallPicture(samples, 0, ground, { axis: 'slant', levels: 'recorded', width: 400, rangeM: 40, step: 1 });
    // A plain gain puts 30 log R back; before the first echo as at 6 m.
    const off = (col: number): number => (evened.port[col] as number) - (recorded.port[col] as number);
    expect(off(20)).toBeCloseTo(30 * Math.log10(6), 3);
    expect(off(199)).toBeCloseTo(30 * Math.log10(19.95), 1);
  });

  test('a size or a range that is none is refused', () => {
    const { ground, samples } = scene(1, 6);
    expect(() => waterfallPicture(samples, 0, ground, { axis: 'slant', levels: 'recorded', width: 0, rangeM: 40, step: 1 })).toThrow(RangeError);
    expect(() => waterfallPicture(samples, 0, ground, { axis: 'slant', levels: 'recorded', width: 10, rangeM: 0, step: 1 })).toThrow(/rangeM 0/);
  });
});
