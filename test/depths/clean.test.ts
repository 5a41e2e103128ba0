import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import type { CleanOptions } from '../../src/depths/clean.js';
import { cleanSoundings } from '../../src/depths/clean.js';
import { applyDecisions } from '../../src/depths/decisions.js';
import { reduceSoundings } from '../../src/depths/reduce.js';
import type { Reduction } from '../../src/depths/reduce.js';
import { reasonCode, REASONS } from '../../src/depths/soundings.js';
import type { ReasonName } from '../../src/depths/soundings.js';
import { constantLevel } from '../../src/water/level.js';
import { madePings, PLAIN, straightTrack } from './made-logs.js';

const OPTIONS: CleanOptions = {
  minDepthM: 0.3,
  maxDepthM: 100,
  slopeDeg: 50,
  windowS: 6,
  outlierSigmas: 5,
  outlierFloorM: 0.25,
  repeatCount: 20,
  beamWidthDeg: 8,
  draftM: 0.2,
};
const SPEED_MPS = 1.5;

/** A boat at 1.5 m/s over a bottom given along the track, with white noise, written to the centimetre. */
function sounded(n: number, pingHz: number, bottomM: (alongM: number) => number, change: (depthM: number, i: number) => number = (depth) => depth, noiseM = 0.04, stepM = 0.01): Reduction {
  const random = createRandom(n + Math.ceil(pingHz));
  const steps = Array.from({ length: n }, (_, i) => i);
  const depths = steps.map((i) => change(Math.round((bottomM((i * SPEED_MPS) / pingHz) + noiseM * random.normal()) / stepM) * stepM, i));
  const track = straightTrack(Math.ceil(n / pingHz) + 1, SPEED_MPS, 70);
  return reduceSoundings([{ log: 0, pings: madePings(steps.map((i) => i / pingHz), depths) }], track, null, constantLevel(0), PLAIN);
}
const reasonsOf = (reduction: Reduction, change: Partial<CleanOptions> = {}): Uint8Array => cleanSoundings(reduction, { ...OPTIONS, ...change }).reason;
const flagged = (reason: Uint8Array): number[] => [...reason.keys()].filter((i) => reason[i] !== 0);
const range = (start: number, end: number): number[] => Array.from({ length: end - start }, (_, i) => start + i);
const code = (name: ReasonName): number => reasonCode(name);

const FLAT = (): number => 8;
const SLOPE = (alongM: number): number => 5 + 0.6 * ((alongM % 40) < 20 ? alongM % 40 : 40 - (alongM % 40));
/** Steps of 1.2 m with faces of 0.1 m, every 12 m, up and down. */
const STEPS = (alongM: number): number => 8 - 1.2 * (Math.floor(alongM / 12) % 3) - 0.15 * Math.sin(alongM * 1.7);
/** Boulders 1.5 m high and 2.5 m wide every 15 m, with upright sides. */
const BOULDERS = (alongM: number): number => (alongM % 15 < 2.5 ? 6.5 : 8);

describe('good soundings stay good', () => {
  it.each([
    ['flat', FLAT, 10],
    ['flat, one ping a second', FLAT, 1],
    ['slopes of 31 deg', SLOPE, 10],
    ['slopes of 31 deg, two pings a second', SLOPE, 2],
    ['steps of rock', STEPS, 10],
    ['steps of rock, four pings a second', STEPS, 4],
    ['boulders', BOULDERS, 10],
    ['boulders, five pings a second', BOULDERS, 5],
  ])('%s: under 0.5 %% set aside', (_, bottom, pingHz) => {
    const n = 4000;
    expect(flagged(reasonsOf(sounded(n, pingHz, bottom))).length / n).toBeLessThan(0.005);
  });

  it('noise between close pings is not steep', () => {
    // 20 pings a second, 7 cm apart: noise of 8 cm is a slope of 45 deg between neighbours.
    expect(flagged(reasonsOf(sounded(4000, 20, FLAT, undefined, 0.08))).length).toBe(0);
  });
});

describe('spikes', () => {
  const cases = [
    ['flat', FLAT],
    ['slope', SLOPE],
    ['steps', STEPS],
    ['boulders', BOULDERS],
  ] as const;

  /**
   * Whether a false depth lies 0.7 m or more above or below all of the bottom some pings around. One that does not could be
   * the bottom a ping early or late: nobody can tell a spike as high as a rock beside the rock from the rock.
   */
  const apart = (bottom: (alongM: number) => number, i: number, depthM: number, pings: number): boolean => {
    const around = range(i - pings, i + pings + 1).map((k) => bottom((k * SPEED_MPS) / 10));
    return depthM <= Math.min(...around) - 0.7 || depthM >= Math.max(...around) + 0.7;
  };

  it.each(cases)('%s: single spikes over 1 m, either way, are all set aside and their neighbours are not', (_, bottom) => {
    const size = (i: number): number => (i % 97 !== 50 ? 0 : (i % 2 === 0 ? 1 : -1) * (1.05 + (i % 5)));
    const falseM = (depth: number, i: number): number => Math.max(0.4, depth + size(i));
    const reason = reasonsOf(sounded(6000, 10, bottom, falseM));
    const spikes = range(0, 6000).filter((i) => size(i) !== 0 && apart(bottom, i, falseM(bottom(i * 0.15), i), 2));
    expect(spikes.length).toBeGreaterThan(50);
    expect(spikes.filter((i) => reason[i] === 0)).toEqual([]);
    expect(flagged(reason).filter((i) => size(i) === 0).length).toBeLessThan(30);
  });

  it.each(cases)('%s: bursts of two to five in step are all set aside', (_, bottom) => {
    const burst = (i: number): number => {
      const at = i % 131;
      const length = 2 + (Math.floor(i / 131) % 4);
      return at >= 60 && at < 60 + length ? (Math.floor(i / 131) % 2 === 0 ? 1 : -1) * 1.6 : 0;
    };
    const reason = reasonsOf(sounded(6000, 10, bottom, (depth, i) => depth + burst(i)));
    // On the slope the bottom itself changes by more than a burst within two metres: there, three pings around.
    const tells = (i: number): boolean => apart(bottom, i, bottom(i * 0.15) + burst(i), bottom === SLOPE ? 3 : 24);
    const bursts = range(0, 6000).filter((i) => burst(i) !== 0 && tells(i));
    expect(bursts.length).toBeGreaterThan(30);
    expect(bursts.filter((i) => reason[i] === 0)).toEqual([]);
    const doubtful = (i: number): boolean => range(i - 20, i + 20).some((k) => burst(k) !== 0 && !tells(k));
    expect(flagged(reason).filter((i) => burst(i) === 0 && !doubtful(i)).length).toBeLessThan(30);
  });

  it('every second ping false: only those', () => {
    const reason = reasonsOf(sounded(600, 10, FLAT, (depth, i) => (i >= 300 && i < 310 && i % 2 === 0 ? depth + 2 + (i % 3) : depth)));
    expect(flagged(reason)).toEqual([300, 302, 304, 306, 308]);
  });

  it('first and last pings of a log', () => {
    const reason = reasonsOf(sounded(600, 10, FLAT, (depth, i) => (i < 2 || i >= 597 ? depth - 3 : depth)));
    expect(flagged(reason)).toEqual([0, 1, 597, 598, 599]);
  });

  it('one a second: a single spike of 1.2 m on a slope', () => {
    expect(flagged(reasonsOf(sounded(600, 1, SLOPE, (depth, i) => (i === 300 ? depth - 1.2 : depth))))).toEqual([300]);
  });

  it('a ping every six metres: second echoes among recorded pings do not take the floor with them', () => {
    // As recorded at sea, a ping every 2 s at 3 m/s (gulf-4h.log of signalk-server 2.23.0, 13:32:25 to 13:33:34).
    const recorded = [11.13, 11.37, 11.59, 11.91, 12.13, 12.21, 12.24, 12.21, 12.07, 11.94, 11.24, 22.1, 10.72, 21.09, 10.1, 10.47, 10.48, 10.41, 10.29, 10.72, 10.29, 9.7, 9.08, 7.03, 12.1, 5.92, 6.96, 7.75, 7.35, 8.08, 9.24, 9.38, 7.41, 6.81];
    const times = recorded.map((_, i) => 2 * i);
    const reason = cleanSoundings(reduceSoundings([{ log: 0, pings: madePings(times, recorded) }], straightTrack(80, 3, 70), null, constantLevel(0), PLAIN), OPTIONS).reason;
    const aside = flagged(reason);
    // The two second echoes and the one deep ping between shoal ones go.
    for (const depth of [22.1, 21.09, 12.1]) expect(aside).toContain(recorded.indexOf(depth));
    // What follows in step is the floor: nothing shoal is lost but pings beside a false one.
    expect(aside.length).toBeLessThanOrEqual(6);
    for (const i of range(14, 23)) expect([i, reason[i]]).toEqual([i, 0]);
  });

  it('a boulder seen over more than the footprint and its height is kept; the same rise for a shorter way is not', () => {
    // 1 m high at 8 m: footprint 1.12 m, half a metre more is needed.
    const rise = (pings: number): number[] => flagged(reasonsOf(sounded(600, 10, FLAT, (depth, i) => (i >= 300 && i < 300 + pings ? depth - 1 : depth))));
    expect(rise(14)).toEqual([]);
    expect(rise(6)).toEqual(range(300, 306));
  });

  it('a hole of up to five pings with upright sides is false, a longer one is kept: a beam does not see into it', () => {
    const hole = (pings: number): number[] => flagged(reasonsOf(sounded(600, 2, FLAT, (depth, i) => (i >= 300 && i < 300 + pings ? depth + 2.5 : depth))));
    expect(hole(5)).toEqual(range(300, 305));
    expect(hole(8)).toEqual([]);
  });

  it('the bottom between two rocks is no hole: a ping every three metres', () => {
    const reason = reasonsOf(sounded(600, 0.5, () => 6.5, (depth, i) => ([300, 301, 307, 308].includes(i) ? depth - 3 : depth)));
    expect(flagged(reason)).toEqual([]);
  });

  it('does not depend on the depth, nor on where in the log a burst lies', () => {
    fc.assert(
      fc.property(fc.integer({ min: 20, max: 570 }), fc.integer({ min: 1, max: 4 }), fc.double({ min: 1.2, max: 3, noNaN: true }), fc.integer({ min: 0, max: 40 }), (start, length, size, shift) => {
        const reason = reasonsOf(sounded(600, 10, () => 6 + shift, (depth, i) => (i >= start && i < start + length ? depth - size : depth)));
        expect(flagged(reason)).toEqual(range(start, start + length));
      }),
      { seed: 51, numRuns: 60 },
    );
  });

  it('beside a gap in the positions', () => {
    const reduction = sounded(600, 10, FLAT, (depth, i) => (i >= 293 && i < 304 ? depth + 4 : depth));
    const reason = reduction.soundings.reason.map((_, i) => (i >= 300 && i < 350 ? code('no-position') : 0));
    const xM = reduction.soundings.xM.map((x, i) => (reason[i] === 0 ? x : NaN));
    const { reason: found, alongSlope } = cleanSoundings({ ...reduction, soundings: { ...reduction.soundings, reason, xM } }, OPTIONS);
    expect([alongSlope[100], alongSlope[500]].map(Number.isNaN)).toEqual([false, false]);
    expect(flagged(found)).toEqual(range(293, 350));
    expect(found[300]).toBe(code('no-position'));
  });
});

describe('rules', () => {
  it('depth gate: outside the instrument range', () => {
    const reason = reasonsOf(sounded(300, 10, FLAT, (depth, i) => (i === 100 ? 0.2 : i === 200 ? 140 : depth)));
    expect([reason[100], reason[200], flagged(reason).length]).toEqual([code('depth-gate'), code('depth-gate'), 2]);
  });

  it('double echo: single, in runs, and for half a minute', () => {
    for (const length of [1, 4, 40, 300]) {
      const reason = reasonsOf(sounded(1500, 10, SLOPE, (depth, i) => (i >= 600 && i < 600 + length ? 2 * depth + 0.2 : depth)));
      expect(flagged(reason)).toEqual(range(600, 600 + length));
      expect(reason[600]).toBe(code('double-echo'));
    }
  });

  it('slope gate: a spike with both sides steeper than the gate; a smaller one is an outlier', () => {
    const reason = reasonsOf(sounded(300, 2, FLAT, (depth, i) => (i === 100 ? depth - 4 : i === 200 ? depth - 0.6 : depth)));
    expect([reason[100], reason[200]]).toEqual([code('slope-gate'), code('outlier')]);
  });

  it('repeated: a frozen instrument over a moving boat, all but its first ping', () => {
    let frozen = NaN;
    const reason = reasonsOf(sounded(2000, 10, SLOPE, (depth, i) => {
      if (i === 1000) frozen = depth;
      return i >= 1000 && i < 1040 ? frozen : depth;
    }));
    expect(flagged(reason).filter((i) => reason[i] === code('repeated'))).toEqual(range(1001, 1040));
  });

  it.each([
    ['decimetres over a flat bottom', FLAT, 0.1, 0.02],
    ['decimetres, no noise, on gentle waves', (alongM: number) => 8 + 0.3 * Math.sin(alongM / 12), 0.1, 0],
    ['centimetres, no noise, on gentle waves', (alongM: number) => 8 + 0.3 * Math.sin(alongM / 12), 0.01, 0],
    ['half metres', (alongM: number) => 8 + 0.02 * alongM, 0.5, 0.05],
  ])('repeated: honest repeats stay good: %s', (_, bottom, stepM, noiseM) => {
    expect(flagged(reasonsOf(sounded(6000, 10, bottom, undefined, noiseM, stepM), { outlierFloorM: Math.max(0.25, 1.2 * stepM) })).length / 6000).toBeLessThan(0.005);
  });

  it('repeated: honest repeats that end with a spike stay good', () => {
    const reason = reasonsOf(sounded(6000, 10, () => 8.02, (depth, i) => (i % 61 === 30 ? depth + 1.5 : depth), 0.03, 0.1));
    expect(flagged(reason).filter((i) => i % 61 !== 30).length).toBe(0);
  });

  it('repeated: a frozen instrument that gives decimetres on a slope', () => {
    let frozen = NaN;
    const reason = reasonsOf(sounded(3000, 10, SLOPE, (depth, i) => {
      if (i === 1500) frozen = depth;
      return i >= 1500 && i < 1590 ? frozen : depth;
    }, 0.04, 0.1));
    expect(range(1501, 1590).filter((i) => reason[i] !== 0).length).toBeGreaterThan(80);
  });

  it('reasons of the reduction stay, and are not overruled', () => {
    const reduction = sounded(300, 10, FLAT, (depth, i) => (i === 50 ? NaN : i === 60 ? 0 : depth));
    const reason = reasonsOf(reduction);
    expect([reason[50], reason[60]]).toEqual([code('no-depth'), code('no-depth')]);
  });

  it('nothing, one and two soundings pass', () => {
    for (const n of [0, 1, 2, 3]) expect(flagged(reasonsOf(sounded(n, 10, FLAT)))).toEqual([]);
  });

  it('alongSlope: the slope of the bottom along the track, deeper ahead positive', () => {
    const { alongSlope } = cleanSoundings(sounded(600, 10, (alongM) => 4 + 0.2 * alongM), OPTIONS);
    for (const slope of alongSlope.subarray(60, 540)) expect(Math.abs(slope - 0.2)).toBeLessThan(0.06);
    const mean = alongSlope.subarray(60, 540).reduce((sum, one) => sum + one, 0) / 480;
    expect(Math.abs(mean - 0.2)).toBeLessThan(0.005);
  });

  it('alongSlope: NaN where the boat lay still', () => {
    const random = createRandom(8);
    const steps = range(0, 300);
    const pings = madePings(steps.map((i) => i / 10), steps.map(() => 8 + 0.04 * random.normal()));
    const still = reduceSoundings([{ log: 0, pings }], straightTrack(31, 0.05, 0), null, constantLevel(0), PLAIN);
    expect([...cleanSoundings(still, OPTIONS).alongSlope].every(Number.isNaN)).toBe(true);
  });

  it('refuses senseless options', () => {
    const reduction = sounded(3, 10, FLAT);
    expect(() => reasonsOf(reduction, { slopeDeg: 90 })).toThrow('slopeDeg 90: expected more than 0, less than 90');
    expect(() => reasonsOf(reduction, { repeatCount: 2 })).toThrow(RangeError);
    expect(() => reasonsOf(reduction, { windowS: 0 })).toThrow(RangeError);
  });
});

describe('decisions by hand', () => {
  const ruleReason = Uint8Array.of(0, 8, 1, 0, 0, 8);
  const soundings = { n: 6, ruleReason, log: Uint16Array.of(0, 0, 0, 0, 1, 1), record: Uint32Array.of(10, 20, 30, 40, 10, 20) };

  it('set aside and restore by log and half-open range of records; the later decision counts', () => {
    const reason = applyDecisions(soundings, [
      { log: 0, recordStart: 10, recordEnd: 40, outcome: 'set-aside' },
      { log: 0, recordStart: 20, recordEnd: 21, outcome: 'restore' },
      { log: 1, recordStart: 0, recordEnd: 20, outcome: 'set-aside' },
    ]);
    expect([...reason]).toEqual([10, 0, 10, 0, 10, 8]);
    expect([...ruleReason]).toEqual([0, 8, 1, 0, 0, 8]);
  });

  it('cannot restore a sounding without a position', () => {
    expect([...applyDecisions(soundings, [{ log: 0, recordStart: 0, recordEnd: 100, outcome: 'restore' }])]).toEqual([0, 0, 1, 0, 0, 8]);
  });

  it('none: the rules stand; a range that ends before it starts is refused', () => {
    expect([...applyDecisions(soundings, [])]).toEqual([...ruleReason]);
    expect(() => applyDecisions(soundings, [{ log: 0, recordStart: 5, recordEnd: 4, outcome: 'restore' }])).toThrow(RangeError);
    expect(REASONS[10].name).toBe('by-hand');
  });
});
