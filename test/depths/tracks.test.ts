import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { coursesAt, HEADING_FROM, headingsAt } from '../../src/depths/heading-at.js';
import { mergeTracks } from '../../src/depths/merge-tracks.js';
import { positionsAt } from '../../src/depths/position-at.js';
import { markJumps } from '../../src/depths/position-jumps.js';
import { trackNoiseM } from '../../src/depths/track.js';
import { createFrame } from '../../src/geo/frame.js';
import { madeFixes, madeSeries, madeTrack, straightTrack } from './made-logs.js';

const frame = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
const OPTIONS = { loggerOffsetS: 0, latencyS: 0, sigmaM: 1.5, maxSpeedMps: 6 };

/** A boat at 1.5 m/s and 5 Hz with a little noise; `bad(i)` shifts fix i east. */
function jumpyTrack(n: number, bad: (i: number) => number, seed = 1): { jump: Uint8Array; jumped: number } {
  const random = createRandom(seed);
  const steps = Array.from({ length: n }, (_, i) => i);
  const track = madeTrack(
    steps.map((i) => i * 0.2),
    steps.map((i) => i * 0.3 + 0.03 * random.normal() + bad(i)),
    steps.map(() => 0.03 * random.normal()),
  );
  const jump = new Uint8Array(n);
  return { jump, jumped: markJumps(track, 6, jump) };
}
const indices = (jump: Uint8Array): number[] => [...jump.keys()].filter((i) => jump[i] === 1);
const range = (start: number, end: number): number[] => Array.from({ length: end - start }, (_, i) => start + i);

describe('position jumps', () => {
  it('marks none on a good track, however noisy its fixes are against its speed', () => {
    expect(jumpyTrack(2000, () => 0).jumped).toBe(0);
    const random = createRandom(3);
    const steps = range(0, 2000);
    const noisy = madeTrack(steps.map((i) => i * 0.1), steps.map((i) => i * 0.15 + 0.4 * random.normal()), steps.map(() => 0.4 * random.normal()));
    expect(trackNoiseM(noisy)).toBeGreaterThan(0.36);
    expect(trackNoiseM(noisy)).toBeLessThan(0.44);
    expect(markJumps(noisy, 6, new Uint8Array(2000))).toBeLessThan(10);
  });

  it('marks a single jumped fix, not the good one after it', () => {
    expect(indices(jumpyTrack(300, (i) => (i === 100 ? 12 : 0)).jump)).toEqual([100]);
  });

  it.each([2, 7, 40, 150])('marks a run of %i jumped fixes as a whole and nothing else', (length) => {
    expect(indices(jumpyTrack(2000, (i) => (i >= 500 && i < 500 + length ? 20 : 0)).jump)).toEqual(range(500, 500 + length));
  });

  it('marks a run that jumps about within itself', () => {
    expect(indices(jumpyTrack(600, (i) => (i >= 200 && i < 230 ? 15 + 9 * (i % 3) : 0)).jump)).toEqual(range(200, 230));
  });

  it('marks a run at the start and one at the end', () => {
    expect(indices(jumpyTrack(600, (i) => (i < 20 ? -30 : i >= 580 ? 30 : 0)).jump)).toEqual([...range(0, 20), ...range(580, 600)]);
  });

  it('marks what jumped where it drifts back, and keeps the good track on both sides', () => {
    // 40 m off at 300, back at 2 m/s over 20 s: no step back shows.
    const { jump } = jumpyTrack(3000, (i) => (i >= 1000 && i < 1100 ? 40 * (1 - (i - 1000) / 100) : 0));
    const marked = indices(jump);
    expect(marked[0]).toBe(1000);
    expect(marked.every((i) => i >= 1000 && i < 1100)).toBe(true);
    expect(marked.length).toBeGreaterThan(20);
  });

  it('calls no jump where the boat was carried between two waters', () => {
    const first = straightTrack(600, 1.5, 90);
    const second = straightTrack(600, 1.5, 0, 1500);
    const join = (a: Float64Array, b: Float64Array, shift: number): number[] => [...a, ...b.map((value) => value + shift)];
    const track = madeTrack(join(first.timeS, second.timeS, 0), join(first.xM, second.xM, 9000), join(first.yM, second.yM, 0));
    expect(markJumps(track, 6, new Uint8Array(track.n))).toBe(0);
  });

  it('does not depend on where the frame lies', () => {
    fc.assert(
      fc.property(fc.integer({ min: 20, max: 280 }), fc.integer({ min: 1, max: 15 }), fc.integer({ min: -5_000_000, max: 5_000_000 }), (start, length, shift) => {
        const bad = (i: number): number => shift + (i >= start && i < start + length ? 25 : 0);
        expect(indices(jumpyTrack(300, bad).jump)).toEqual(range(start, start + length));
      }),
      { seed: 41, numRuns: 40 },
    );
  });
});

describe('mergeTracks', () => {
  const lon = (i: number): number => -29.96 + i * 2e-5;

  it('puts logs in time order, applies clock offset and latency, and counts what it leaves out', () => {
    const { track, counts } = mergeTracks(
      [
        { log: 0, fixes: madeFixes([10, 11, NaN, 13], [46, 46, 46, 46], [lon(10), lon(11), lon(12), lon(13)], { quality: Uint8Array.of(1, 1, 1, 0) }) },
        { log: 3, fixes: madeFixes([8, 9], [46, NaN], [lon(8), lon(9)]) },
      ],
      frame,
      { ...OPTIONS, loggerOffsetS: 100, latencyS: 0.5 },
    );
    expect([...track.timeS]).toEqual([107.5, 109.5, 110.5]);
    expect([...track.log]).toEqual([3, 0, 0]);
    expect([...track.record]).toEqual([0, 0, 1]);
    expect(counts).toEqual({ fixes: 6, invalid: 3, duplicate: 0, backwards: 0, jumped: 0 });
    const [x, y] = frame.toFrame(46, lon(8));
    expect([track.xM[0], track.yM[0]]).toEqual([x, y]);
  });

  it('keeps one fix a time: the better quality, then the smaller sigma, then the earlier log', () => {
    const fixes = (quality: number[], sigma: number[]): ReturnType<typeof madeFixes> =>
      madeFixes([1, 2, 3], [46, 46, 46], [lon(1), lon(2), lon(3)], { quality: Uint8Array.from(quality), sigmaM: Float32Array.from(sigma) });
    const { track, counts } = mergeTracks(
      [
        { log: 0, fixes: fixes([1, 4, 1], [0.5, 0.5, 0.5]) },
        { log: 1, fixes: fixes([4, 4, 1], [0.9, 0.4, 0.5]) },
      ],
      frame,
      OPTIONS,
    );
    expect([...track.log]).toEqual([1, 1, 0]);
    expect(counts.duplicate).toBe(3);
  });

  it('holds a receiver\'s sigma for two seconds, and takes the settings sigma where the log has none', () => {
    const fixes = madeFixes([1, 2, 3, 3.5], [46, 46, 46, 46], [lon(1), lon(2), lon(3), lon(3.5)], { sigmaM: Float32Array.of(0.25, NaN, NaN, NaN) });
    expect([...mergeTracks([{ log: 0, fixes }], frame, OPTIONS).track.sigmaM]).toEqual([0.25, 0.25, 0.25, 1.5]);
  });

  it('counts times that go backwards and puts those fixes in their place', () => {
    const { track, counts } = mergeTracks([{ log: 0, fixes: madeFixes([1, 2, 1.5, 3], [46, 46, 46, 46], [lon(1), lon(2), lon(1.5), lon(3)]) }], frame, OPTIONS);
    expect(counts.backwards).toBe(1);
    expect([...track.timeS]).toEqual([1, 1.5, 2, 3]);
  });

  it('gives an empty track of nothing and refuses senseless options', () => {
    expect(mergeTracks([], frame, OPTIONS).track.n).toBe(0);
    expect(() => mergeTracks([], frame, { ...OPTIONS, maxSpeedMps: 0 })).toThrow('maxSpeedMps 0: expected more than 0');
    expect(() => mergeTracks([], frame, { ...OPTIONS, latencyS: NaN })).toThrow(RangeError);
  });
});

describe('positionsAt', () => {
  const track = madeTrack([0, 1, 2, 3, 10, 11], [0, 2, 4, 6, 20, 22], [0, 0, 0, 0, 0, 0]);

  it('lies on the line between fixes; none before the first, after the last, or across a gap', () => {
    const { xM, fault, speedMps } = positionsAt(track, Float64Array.of(-0.1, 0, 0.25, 3, 5, 10.5, 11, 11.1), 5);
    expect([...xM]).toEqual([NaN, 0, 0.5, 6, NaN, 21, 22, NaN]);
    expect([...fault]).toEqual([1, 0, 0, 0, 1, 0, 0, 1]);
    expect(speedMps[2]).toBe(2);
  });

  it('passes over jumped fixes, and says jumped where no good ones are near enough', () => {
    const jumped = { ...track, jump: Uint8Array.of(0, 0, 1, 0, 0, 0) };
    expect(positionsAt(jumped, Float64Array.of(2), 5).xM[0]).toBe(4);
    const { fault } = positionsAt(jumped, Float64Array.of(2, 5), 1.5);
    expect([...fault]).toEqual([2, 1]);
  });

  it('refuses a gap that is not positive', () => {
    expect(() => positionsAt(track, Float64Array.of(0), 0)).toThrow(RangeError);
  });
});

describe('headings', () => {
  const track = straightTrack(60, 1.5, 30);
  const wanted = Float64Array.of(20, 20.5, 59.9);
  const options = { source: 'auto', variationDeg: null, loggerOffsetS: 0, maxGapS: 5 } as const;

  it('coursesAt: gives the bearing made good', () => {
    for (const course of coursesAt(track, wanted, 5)) expect(course).toBeCloseTo(30, 6);
    expect(coursesAt(straightTrack(60, 0.1, 30), wanted, 5)[0]).toBeNaN();
  });

  it('headingsAt: the compass before the course; magnetic plus variation east; grid course plus convergence', () => {
    const compass = madeSeries([19, 21], [359, 1]);
    const fromTrue = headingsAt(wanted, [compass], [], track, 0.8, options);
    expect(fromTrue.headingDeg[0]).toBeCloseTo(0, 5);
    expect([...fromTrue.from]).toEqual([HEADING_FROM.true, HEADING_FROM.true, HEADING_FROM.course]);
    expect(fromTrue.headingDeg[2]).toBeCloseTo(30.8, 4);
    const fromMagnetic = headingsAt(wanted, [], [compass], track, 0, { ...options, variationDeg: -12 });
    expect(fromMagnetic.headingDeg[0]).toBeCloseTo(348, 4);
    expect(fromMagnetic.from[0]).toBe(HEADING_FROM.magnetic);
    expect(headingsAt(wanted, [], [compass], track, 0, options).from[0]).toBe(HEADING_FROM.course);
    expect(headingsAt(wanted, [], [], track, 0, { ...options, source: 'true' }).headingDeg[0]).toBeNaN();
    expect(headingsAt(wanted, [compass], [], track, 0, { ...options, source: 'course' }).from[0]).toBe(HEADING_FROM.course);
  });
});
