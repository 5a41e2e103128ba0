import { describe, expect, it } from 'vitest';
import { DEPTH_FROM } from '../../src/base/observations.js';
import { levelArmInto } from '../../src/depths/attitude.js';
import { ALL_ON, CORRECTIONS, isOn } from '../../src/depths/corrections.js';
import { measuredBelowTransducer, reducedDepth } from '../../src/depths/reduced-depth.js';
import { reduceSoundings } from '../../src/depths/reduce.js';
import { reasonCode } from '../../src/depths/soundings.js';
import { constantLevel, seriesLevel } from '../../src/water/level.js';
import { createSoundProfile, uniformSoundProfile } from '../../src/water/sound-profile.js';
import { madePings, madeSeries, PLAIN, straightTrack } from './made-logs.js';

const STILL = { draftM: 0, squatM: 0, heaveM: 0, waterLevelM: 0, soundSpeedSetMps: 1500, profile: null };
const reduced = (change: Partial<Parameters<typeof reducedDepth>[1]>): number => reducedDepth(10, { ...STILL, ...change });

// Source: IHO C-13 (2005), ch. 3: reduced depth = (measured - set draft) x c_h/c_set + draft - heave - water level.
describe('reducedDepth, one term at a time', () => {
  it('nothing to reduce: the measured depth', () => expect(reduced({})).toBe(10));
  it('draft: the transducer lies deeper, the bottom is deeper', () => expect(reduced({ draftM: 0.4 })).toBeCloseTo(10.4, 12));
  it('squat: adds like draft', () => expect(reduced({ squatM: 0.05 })).toBeCloseTo(10.05, 12));
  it('heave up: the boat measured too much', () => expect(reduced({ heaveM: 0.3 })).toBeCloseTo(9.7, 12));
  it('water level above datum: the depth below datum is less', () => expect(reduced({ waterLevelM: 1.2 })).toBeCloseTo(8.8, 12));
  it('water level below datum: the depth below datum is more', () => expect(reduced({ waterLevelM: -0.2 })).toBeCloseTo(10.2, 12));
  it('sound faster than set: the bottom is farther', () => expect(reduced({ profile: uniformSoundProfile(1530) })).toBeCloseTo(10.2, 12));
  it('sound speed scales the water below the transducer only', () =>
    expect(reduced({ profile: uniformSoundProfile(1530), draftM: 1 })).toBeCloseTo(11.2, 12));
  it('everything at once: 9.5 set to 1500 in 1485 m/s, draft 0.3, squat 0.02, heave -0.1, level 0.8', () => {
    const depth = reducedDepth(9.5, { draftM: 0.3, squatM: 0.02, heaveM: -0.1, waterLevelM: 0.8, soundSpeedSetMps: 1500, profile: uniformSoundProfile(1485) });
    expect(depth).toBeCloseTo(9.5 * 0.99 + 0.3 + 0.02 + 0.1 - 0.8, 12);
  });
  it('the profile is entered at the transducer: draft + squat - heave', () => {
    const profile = createSoundProfile([0, 0.5, 0.51, 30], [1400, 1400, 1500, 1500]);
    const state = { ...STILL, profile, waterLevelM: 0 };
    expect(reducedDepth(10, { ...state, draftM: 0.51 })).toBeCloseTo(10.51, 9);
    // Lifted by 0.51 the beam crosses the slow layer.
    expect(reducedDepth(10, { ...state, draftM: 0.51, heaveM: 0.51 })).toBeLessThan(9.98);
  });
  it('NaN in, NaN out', () => {
    expect(reducedDepth(NaN, STILL)).toBeNaN();
    expect(reduced({ waterLevelM: NaN })).toBeNaN();
  });
});

describe('measuredBelowTransducer', () => {
  it('from the transducer: as it is, whatever the offset', () => expect(measuredBelowTransducer(5, DEPTH_FROM.transducer, 0.4, 0.3)).toBe(5));
  it('from the surface: less the logged offset, else less the draft', () => {
    expect(measuredBelowTransducer(5, DEPTH_FROM.surface, 0.4, 0.3)).toBeCloseTo(4.6, 12);
    expect(measuredBelowTransducer(5, DEPTH_FROM.surface, NaN, 0.3)).toBeCloseTo(4.7, 12);
  });
  it('from the keel: plus the keel below the transducer', () => {
    expect(measuredBelowTransducer(5, DEPTH_FROM.keel, -0.25, 0.3)).toBeCloseTo(5.25, 12);
    expect(measuredBelowTransducer(5, DEPTH_FROM.keel, NaN, 0.3)).toBe(5);
  });
});

describe('reduceSoundings', () => {
  // North-east at 2 m/s for a minute.
  const track = straightTrack(60, 2, 45);
  const along = Math.SQRT1_2 * 2;
  const level = constantLevel(0);
  const reduce = (pings: ReturnType<typeof madePings>, change: Partial<typeof PLAIN> = {}, extra: object = {}): ReturnType<typeof reduceSoundings> =>
    reduceSoundings([{ log: 0, pings, ...extra }], track, null, level, { ...PLAIN, ...change });

  it('places a ping where the boat was at its true time: stamp + clock offset - latency', () => {
    const { soundings } = reduce(madePings([20], [5]), { loggerOffsetS: 10, depthLatencyS: 0.25 });
    expect(soundings.timeS[0]).toBe(29.75);
    expect(soundings.xM[0]).toBeCloseTo(29.75 * along, 9);
    expect(soundings.yM[0]).toBeCloseTo(29.75 * along, 9);
  });

  it.each([
    [0, 1, 0, 0, 1],
    [90, 1, 0, 1, 0],
    [180, 1, 0, 0, -1],
    [0, 0, 1, 1, 0],
    [90, 0, 1, 0, -1],
    [270, 2, 1, -2, 1],
  ])('heading %i: a transducer %d m ahead and %d m to starboard of the antenna lies %d m east, %d m north of it', (heading, forwardM, starboardM, east, north) => {
    const compass = madeSeries([0, 60], [heading, heading]);
    const { soundings } = reduce(madePings([30], [5]), { maxGapS: 100, transducer: { forwardM, starboardM, downM: 0 } }, { headingTrueDeg: compass });
    expect(soundings.xM[0]! - 30 * along).toBeCloseTo(east, 6);
    expect(soundings.yM[0]! - 30 * along).toBeCloseTo(north, 6);
    const moved = reduce(madePings([30], [5]), { maxGapS: 100, antenna: { forwardM: -forwardM, starboardM: -starboardM, downM: 0 } }, { headingTrueDeg: compass });
    expect(moved.soundings.xM[0]).toBeCloseTo(soundings.xM[0]!, 9);
  });

  it('turns the lever arm by the grid bearing: true heading less convergence', () => {
    const compass = madeSeries([0, 60], [10, 10]);
    const { soundings } = reduce(madePings([30], [5]), { maxGapS: 100, convergenceDeg: 10, transducer: { forwardM: 3, starboardM: 0, downM: 0 } }, { headingTrueDeg: compass });
    expect(soundings.xM[0]! - 30 * along).toBeCloseTo(0, 5);
    expect(soundings.yM[0]! - 30 * along).toBeCloseTo(3, 5);
  });

  it('takes heave and water level at the time of the ping', () => {
    const heave = madeSeries([29, 30, 31], [0, 0.2, 0.4]);
    const rising = seriesLevel([0, 60], [1, 2], 100);
    const { soundings, basis } = reduceSoundings([{ log: 0, pings: madePings([30.5], [5]), heaveM: heave }], track, null, rising, { ...PLAIN, loggerOffsetS: 0 });
    expect(basis.heaveM[0]).toBeCloseTo(0.3, 6);
    expect(soundings.waterLevelM[0]).toBeCloseTo(1 + 30.5 / 60, 6);
    expect(soundings.depthM[0]).toBeCloseTo(5 - 0.3 - 1 - 30.5 / 60, 5);
  });

  it('merges logs in time order and takes a ping logged twice once', () => {
    const { soundings } = reduceSoundings(
      [
        { log: 0, pings: madePings([10, 11], [5, 6]) },
        { log: 2, pings: madePings([9, 10, 11], [4, 5, 7]) },
      ],
      track,
      null,
      level,
      PLAIN,
    );
    expect([...soundings.timeS]).toEqual([9, 10, 11, 11]);
    expect([...soundings.depthM]).toEqual([4, 5, 6, 7]);
    expect([...soundings.log]).toEqual([2, 0, 0, 2]);
  });

  it('says why a sounding cannot be used, the first reason in the order of the rules', () => {
    const pings = madePings([-5, 30, 31, 32, 33], [5, NaN, 0, 5, 5]);
    const gone = { levelsAt: (times: Float64Array) => times.map((time) => (time === 33 ? NaN : 0)) };
    const { soundings } = reduceSoundings([{ log: 0, pings }], { ...track, jump: track.jump.map((_, i) => (i > 20 && i < 28 ? 1 : 0)) }, null, gone, PLAIN);
    expect([...soundings.reason]).toEqual(['no-position', 'no-depth', 'no-depth', 'good', 'no-water-level'].map((name) => reasonCode(name as never)));
    const jumped = reduceSoundings([{ log: 0, pings: madePings([24], [5]) }], { ...track, jump: track.jump.map((_, i) => (i > 20 && i < 28 ? 1 : 0)) }, null, level, PLAIN);
    expect(jumped.soundings.reason[0]).toBe(reasonCode('position-jump'));
  });

  it('gives nothing of nothing and refuses senseless options', () => {
    expect(reduce(madePings([], [])).soundings.n).toBe(0);
    expect(() => reduce(madePings([], []), { draftM: NaN })).toThrow('draftM NaN: expected a number');
    expect(() => reduce(madePings([], []), { soundSpeedSetMps: 0 })).toThrow(RangeError);
  });
});

describe('corrections, each with its own curve', () => {
  const track = straightTrack(60, 2, 30);
  const rolling = {
    rollDeg: madeSeries(Array.from({ length: 121 }, (_, i) => i * 0.5), Array.from({ length: 121 }, (_, i) => 9 * Math.sin(i))),
    pitchDeg: madeSeries(Array.from({ length: 121 }, (_, i) => i * 0.5), Array.from({ length: 121 }, (_, i) => 6 * Math.cos(i))),
    heaveM: madeSeries(Array.from({ length: 121 }, (_, i) => i * 0.5), Array.from({ length: 121 }, (_, i) => 0.2 * Math.sin(i / 2))),
    headingTrueDeg: madeSeries([0, 60], [33, 33]),
  };
  const options = {
    ...PLAIN,
    maxGapS: 100,
    loggerOffsetS: 3,
    depthLatencyS: 0.4,
    gnssLatencyS: 0.1,
    draftM: 0.3,
    squatM: 0.02,
    antenna: { forwardM: -0.5, starboardM: 0.1, downM: -1 },
    transducer: { forwardM: 0.6, starboardM: 0.2, downM: 0.25 },
    beamWidthDeg: 6,
  };
  const times = Array.from({ length: 100 }, (_, i) => 5 + i / 3);
  const reduce = (change: object = {}): ReturnType<typeof reduceSoundings> =>
    reduceSoundings([{ log: 0, pings: madePings(times, times.map((t) => 8 + Math.sin(t))), ...rolling }], track, uniformSoundProfile(1488), seriesLevel([-100, 100], [0.5, 2.5], 1000), { ...options, ...change });
  const VERTICAL = CORRECTIONS.filter(({ horizontal }) => !horizontal);

  it.each([null, ...VERTICAL.map((one) => one.switch).filter((one) => one !== null)])('measured depth and the curves that are on add up to the depth, off: %s', (off) => {
    const { soundings, corrections, on } = reduce(off === null ? {} : { on: { ...ALL_ON, [off]: false } });
    for (let i = 0; i < soundings.n; i++) {
      const sum = VERTICAL.reduce((total, { column }) => total + (isOn(on, column) ? corrections[column][i]! : 0), soundings.measuredM[i]!);
      // The contract of derived/corrections.parquet.
      expect(Math.abs(sum - soundings.depthM[i]!)).toBeLessThan(0.001);
    }
  });

  it('a correction that is off keeps its size, and the depth is without it', () => {
    const all = reduce();
    const off = reduce({ on: { ...ALL_ON, draft: false } });
    for (let i = 0; i < all.soundings.n; i++) {
      expect(off.corrections.draftM[i]).toBeCloseTo(0.3, 6);
      expect(all.soundings.depthM[i]! - off.soundings.depthM[i]!).toBeCloseTo(0.3, 5);
    }
  });

  it('horizontal curves, turned by the heading, are what the place moved by', () => {
    const all = reduce();
    const none = reduce({ on: { ...ALL_ON, leverArms: false, beamTilt: false } });
    const rad = (33 * Math.PI) / 180;
    for (let i = 0; i < all.soundings.n; i++) {
      const along = all.corrections.leverArmAlongM[i]! + all.corrections.beamTiltAlongM[i]!;
      const across = all.corrections.leverArmAcrossM[i]! + all.corrections.beamTiltAcrossM[i]!;
      expect(all.soundings.xM[i]! - none.soundings.xM[i]!).toBeCloseTo(along * Math.sin(rad) + across * Math.cos(rad), 5);
      expect(all.soundings.yM[i]! - none.soundings.yM[i]!).toBeCloseTo(along * Math.cos(rad) - across * Math.sin(rad), 5);
    }
  });

  it('latency moves the place back along the track by speed times the difference of the two latencies', () => {
    const { corrections } = reduce();
    // 2 m/s on 30 deg, heading 33: 0.3 s late is 0.6 m astern, 3 deg off the bow.
    expect(corrections.latencyAlongM[50]).toBeCloseTo(-0.6 * Math.cos((3 * Math.PI) / 180), 5);
    expect(corrections.latencyAcrossM[50]).toBeCloseTo(0.6 * Math.sin((3 * Math.PI) / 180), 5);
  });

  it('the clock offset is the tide between the wrong time and the right one', () => {
    // Rises 1 cm a second; 3 s late is 3 cm more water, less depth.
    expect(reduce().corrections.clockM[10]).toBeCloseTo(-0.03, 6);
  });
});

describe('levelArmInto', () => {
  const out = new Float64Array(3);
  it.each([
    // arm, roll, pitch -> forward, starboard, down: worked by hand from the axes.
    [[1, 0, 0], 0, 90, [0, 0, -1], 'bow straight up: what was ahead is above'],
    [[0, 1, 0], 90, 0, [0, 0, 1], 'rolled onto the starboard side: what was to starboard is below'],
    [[0, 0, 1], 90, 0, [0, -1, 0], 'rolled onto the starboard side: what was below is to port'],
    [[0, 0, 1], 0, 90, [1, 0, 0], 'bow straight up: what was below is ahead'],
    [[0, 1, 0], 30, 60, [Math.sin(Math.PI / 3) / 2, Math.sqrt(3) / 2, 0.25], 'both: pitch about the level axis, roll about the boat\'s own'],
  ])('arm %j, roll %d, pitch %d: %j (%s)', (arm, roll, pitch, expected) => {
    levelArmInto({ forwardM: arm[0]!, starboardM: arm[1]!, downM: arm[2]! }, (roll * Math.PI) / 180, (pitch * Math.PI) / 180, out);
    for (let k = 0; k < 3; k++) expect(out[k]).toBeCloseTo(expected[k]!, 12);
  });
});
