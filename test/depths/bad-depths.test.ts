import { existsSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import type { PingColumns } from '../../src/base/observations.js';
import { createRandom } from '../../src/base/random.js';
import { mixedSounders } from '../../src/depths/mixed-sounders.js';
import { unitSuspects } from '../../src/depths/unit-suspect.js';
import { castsReach, castStarts } from '../../src/water/sound-cast-check.js';
import { createSoundProfile } from '../../src/water/sound-profile.js';

const NMEA = new URL('../../../shared/data/nmea/', import.meta.url);
const HAVE = existsSync(new URL('gulf-4h.log', NMEA));
const NOTE = HAVE ? '' : ' (SKIPPED: ../shared/data/nmea is not here)';

/** Depths of DBT sentences, found by plain text search. */
const dbtDepths = (file: string): number[] => [...readFileSync(new URL(file, NMEA), 'latin1').matchAll(/..DBT,[^,]*,f,([\d.]+),M/g)].map((match) => Number(match[1]));
const pingsOf = (depthM: readonly number[]): PingColumns => ({ n: depthM.length, depthM: Float64Array.from(depthM), from: new Uint8Array(depthM.length) }) as unknown as PingColumns;

describe('mixedSounders', () => {
  it.skipIf(!HAVE)(`finds none in recorded logs, and two where every other depth is a second sounder's${NOTE}`, () => {
    for (const [file, count] of [['gulf-4h.log', 7250], ['lake-mixed-rates.log', 148]] as const) {
      const depths = dbtDepths(file);
      expect(depths.length).toBe(count);
      expect(mixedSounders(pingsOf(depths))).toBeNull();
    }
    const two = mixedSounders(pingsOf(dbtDepths('lake-mixed-rates.log').concat(dbtDepths('gulf-4h.log').slice(0, 800)).map((depthM, i) => (i % 2 === 0 ? depthM : depthM * 1.5))));
    expect(two!.ratio).toBeCloseTo(1.5, 1);
  });

  it('takes coarse depths, steps of the floor, spikes and rough ground for one sounder', () => {
    const random = createRandom(8);
    const floors: Record<string, (i: number) => number> = {
      'written in tenths': () => Math.round(10 * (5.05 + 0.03 * random.normal())) / 10,
      'written in half metres': () => Math.round(2 * (5.25 + 0.2 * random.normal())) / 2,
      'noise of a fifth of a metre': () => 6 + 0.2 * random.normal(),
      'noise of half a metre': () => 9 + 0.5 * random.normal(),
      'a step every ten pings': (i) => 5 + (Math.floor(i / 10) % 2) + 0.02 * random.normal(),
      'one ping in eight a second echo': () => (random.uniform() < 0.125 ? 2 : 1) * 5 + 0.02 * random.normal(),
      'a slope of one in two': (i) => 5 + 0.1 * (i % 100) + 0.03 * random.normal(),
    };
    for (const [name, depth] of Object.entries(floors)) expect([name, mixedSounders(pingsOf(Array.from({ length: 2000 }, (_, i) => depth(i))))]).toEqual([name, null]);
  });

  it('takes one sounder that gives depths below the transducer and below the surface for one', () => {
    const pings = pingsOf(Array.from({ length: 400 }, (_, i) => 5 + 0.4 * (i % 2) + 0.01 * (i % 3)));
    expect(mixedSounders(pings)).not.toBeNull();
    pings.from.forEach((_, i) => (pings.from[i] = i % 2));
    expect(mixedSounders(pings)).toBeNull();
  });

  it('finds no pair in too short a log, and none in an empty one', () => {
    expect(mixedSounders(pingsOf([]))).toBeNull();
    expect(mixedSounders(pingsOf(Array.from({ length: 100 }, (_, i) => 5 + (i % 2))))).toBeNull();
    expect(mixedSounders(pingsOf(Array.from({ length: 400 }, (_, i) => 5 + (i % 2) + 0.01 * (i % 3))))!.share).toBe(1);
  });
});

describe('unitSuspects', () => {
  const both = (factor: number, scatter: number, deeperM = 1) => {
    const random = createRandom(2);
    const n = 400;
    return {
      n,
      xM: Float64Array.from({ length: n }, (_, i) => 3 * (i % 200)),
      yM: new Float64Array(n),
      measuredM: Float32Array.from({ length: n }, (_, i) => (6 + Math.sin((i % 200) / 20) + scatter * random.normal()) + (i < 200 ? 0 : deeperM)).map((depthM, i) => (i < 200 ? depthM : depthM * factor)),
      log: Uint16Array.from({ length: n }, (_, i) => (i < 200 ? 0 : 1)),
      // The second log at more of water.
      waterLevelM: Float32Array.from({ length: n }, (_, i) => (i < 200 ? 0.2 : 0.2 + deeperM)),
    } as unknown as Parameters<typeof unitSuspects>[0];
  };
  it('names the log and the unit, and nothing for other ratios or too wide a scatter', () => {
    expect(unitSuspects(both(1 / 0.3048, 0.05))).toMatchObject([{ log: 1, against: 0, unit: 'feet', places: 200 }]);
    expect(unitSuspects(both(0.3048, 0.05, 0))).toMatchObject([{ log: 0, against: 1, unit: 'feet' }]);
    expect(unitSuspects(both(1 / 1.8288, 0.05))).toMatchObject([{ log: 1, against: 0, unit: 'fathoms' }]);
    for (const factor of [1, 1.1, 2, 0.9, 4, 0.4]) expect(unitSuspects(both(factor, 0.05, 0))).toEqual([]);
    expect(unitSuspects(both(1 / 0.3048, 3))).toEqual([]);
  });
});

describe('casts', () => {
  const starts = (...depths: number[]): number[] => [...castStarts(Float64Array.from(depths))];
  it('castStarts: a second cast where depth starts again; none in a cast down and up, coarse, or from the bottom up', () => {
    expect(starts(0, 1, 2, 3, 0, 1, 2, 3)).toEqual([4]);
    expect(starts(3, 2, 1, 0, 3, 2, 1)).toEqual([4]);
    expect(starts(0, 1, 2, NaN, 3, 0.5, NaN, 1, 2, 0, 1, 2)).toEqual([5, 9]);
    expect(starts(0, 1, 2, 3, 2, 1, 0)).toEqual([]);
    expect(starts(0, 1, 2, 5, 20, 50)).toEqual([]);
    expect(starts(50, 20, 5, 2, 1)).toEqual([]);
    expect(starts(0, 10, 20, 5, 0)).toEqual([]);
    expect(starts()).toEqual([]);
    expect(starts(2)).toEqual([]);
  });

  it('castsReach: a cast far deeper than the floor or far short of it is said, one in between is not', () => {
    const cast = (name: string, reachM: number) => ({ name, profile: createSoundProfile([0, reachM], [1500, 1490]) });
    expect(castsReach([cast('a', 8)], 8)).toEqual([]);
    expect(castsReach([cast('a', 20)], 8)).toEqual([]);
    expect(castsReach([cast('a', 26.2)], 8)[0]).toContain('Sound-speed cast a reaches down to 26.2 m, where nothing deeper than 8.0 m was sounded');
    expect(castsReach([cast('a', 4)], 8)[0]).toContain('below it the last speed is used');
    expect(castsReach([cast('a', 4), cast('b', 8)], 8)).toEqual([]);
    expect(castsReach([{ name: 'constant', profile: createSoundProfile([0], [1500]) }], 8)).toEqual([]);
  });
});
