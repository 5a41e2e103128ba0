import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { quantile } from '../../src/base/statistics.js';
import { bottomSlopes, correctForSlope, slopeBiasM } from '../../src/depths/bottom-slope.js';
import { cleanSoundings } from '../../src/depths/clean.js';
import { ORDER_LIMITS, ORDERS, orderStanding, thuLimitM, tvuLimitM } from '../../src/depths/orders.js';
import { reducedDepth } from '../../src/depths/reduced-depth.js';
import { reduceSoundings } from '../../src/depths/reduce.js';
import type { UncertaintyOptions } from '../../src/depths/uncertainty.js';
import { biasedRadius95, ellipseRadius95, soundingUncertainty } from '../../src/depths/uncertainty.js';
import { constantLevel } from '../../src/water/level.js';
import { uniformSoundProfile } from '../../src/water/sound-profile.js';
import { HAVE_SHARED, reference, SHARED_NOTE, sharedText } from '../water/recorded.js';
import { madePings, madeSeries, madeTrack, PLAIN, straightTrack } from './made-logs.js';

const radii = reference('uncertainty/reference.json') as { ellipse: [number, number][]; biased: [number, number][] };

const NO_TERMS = { sounderM: 0, sounderShare: 0, draftM: 0, squatM: 0, heaveM: 0, waterLevelM: 0, zoningM: 0, soundSpeedMps: 0, timeS: 0 };
const arm = (forwardM: number, starboardM = 0): typeof PLAIN.antenna => ({ forwardM, starboardM, downM: 0 });
const BUDGET: UncertaintyOptions = {
  terms: { sounderM: 0.03, sounderShare: 0.004, draftM: 0.05, squatM: 0.02, heaveM: 0.06, waterLevelM: 0.05, zoningM: 0.02, soundSpeedMps: 4, timeS: 0.2 },
  headingSigmaDeg: 4,
  antenna: arm(0),
  transducer: arm(3, 1),
  beamWidthDeg: 8,
  soundSpeedMps: 1490,
};

/** One sounding 12 m below the transducer, boat at 2 m/s to the east, GNSS sigma 0.5 m. */
function oneSounding(compass: boolean): ReturnType<typeof reduceSoundings> {
  const track = straightTrack(60, 2, 90);
  const heading = compass ? { headingTrueDeg: madeSeries([0, 60], [90, 90]) } : {};
  return reduceSoundings([{ log: 0, pings: madePings([30], [12]), ...heading }], track, null, constantLevel(0), {
    ...PLAIN,
    maxGapS: 100,
    transducer: BUDGET.transducer,
    heading: { source: 'true', variationDeg: null },
  });
}
const uncertaintyOf = (change: Partial<UncertaintyOptions>, slope = 0): { tvu: number; thu: number } => {
  const { tvuM, thuM } = soundingUncertainty(oneSounding(true), [slope], { ...BUDGET, ...change });
  return { tvu: tvuM[0]!, thu: thuM[0]! };
};

describe('radii of 95 %', () => {
  it.each(radii.ellipse)('ellipse with axes 1 and %f: %f, within 0.05 %%', (c, radius) => {
    // Source: scipy, test/reference/uncertainty/make.py; S-44: 1.96 in one dimension, 2.45 in two.
    expect(Math.abs(ellipseRadius95(1, c * c, 0) / radius - 1)).toBeLessThan(5e-4);
    expect(ellipseRadius95(4 * c * c, 4, 0)).toBeCloseTo(2 * ellipseRadius95(1, c * c, 0), 9);
  });

  it.each(radii.biased)('bias of %f sigma: %f, within 0.5 %%', (ratio, radius) => {
    expect(Math.abs(biasedRadius95(1, ratio) / radius - 1)).toBeLessThan(5e-3);
    expect(biasedRadius95(0.1, 0.1 * ratio)).toBeCloseTo(0.1 * biasedRadius95(1, ratio), 12);
  });

  it('turns with the axes, and is 0 of nothing', () => {
    // Variances 1 and 4 turned by 45 deg.
    expect(ellipseRadius95(2.5, 2.5, 1.5)).toBeCloseTo(ellipseRadius95(1, 4, 0), 9);
    expect(ellipseRadius95(0, 0, 0)).toBe(0);
    expect(biasedRadius95(0, 0.2)).toBe(0.2);
  });
});

describe('budget, one term at a time', () => {
  const alone = (terms: Partial<typeof NO_TERMS>): number => uncertaintyOf({ terms: { ...NO_TERMS, ...terms } }).tvu;
  it.each([
    ['sounder', { sounderM: 0.1 }, 0.1],
    ['sounder share of 12 m', { sounderShare: 0.01 }, 0.12],
    ['draft', { draftM: 0.1 }, 0.1],
    ['squat', { squatM: 0.1 }, 0.1],
    ['heave', { heaveM: 0.1 }, 0.1],
    ['water level', { waterLevelM: 0.1 }, 0.1],
    ['zoning', { zoningM: 0.1 }, 0.1],
    ['sound speed, 14.9 of 1490 m/s', { soundSpeedMps: 14.9 }, 0.12],
    ['time, on a level bottom', { timeS: 1 }, 0],
  ])('%s', (_, terms, sigma) => {
    expect(alone(terms)).toBeCloseTo(1.959964 * sigma, 5);
  });

  it('slope brings in position, time and heading, along and across the track', () => {
    const along = uncertaintyOf({ terms: { ...NO_TERMS, timeS: 1 }, headingSigmaDeg: 0, beamWidthDeg: 0.001, slopeCorrected: false }, 0);
    expect(along.tvu).toBe(0);
    const options = { ...BUDGET, terms: { ...NO_TERMS, timeS: 1 }, headingSigmaDeg: 0, beamWidthDeg: 0.001 };
    const { tvuM } = soundingUncertainty(oneSounding(true), { along: Float32Array.of(0.2), across: Float32Array.of(0.1) }, options);
    // Along: 0.5 m and 2 m/s for 1 s; across: 0.5 m. The narrow beam leaves 2e-6 m of bias.
    expect(tvuM[0]).toBeCloseTo(1.959964 * Math.hypot(0.2 * Math.hypot(0.5, 2), 0.1 * 0.5), 4);
  });

  it('horizontal: 2.45 sigma of a position alone; time adds along the track', () => {
    expect(uncertaintyOf({ terms: NO_TERMS, headingSigmaDeg: 0 }).thu).toBeCloseTo(2.4477 * 0.5, 3);
    const late = uncertaintyOf({ terms: { ...NO_TERMS, timeS: 5 }, headingSigmaDeg: 0 }).thu;
    expect(late / Math.hypot(0.5, 10)).toBeGreaterThan(1.959);
    expect(late / Math.hypot(0.5, 10)).toBeLessThan(1.97);
  });

  it('without a heading the lever arm counts whole', () => {
    const { thuM } = soundingUncertainty(oneSounding(false), [0], { ...BUDGET, terms: NO_TERMS });
    expect(thuM[0]).toBeCloseTo(2.4477 * Math.hypot(0.5, Math.sqrt(10 / 2)), 2);
  });

  it('NaN without a position; no depth leaves only the horizontal', () => {
    const track = straightTrack(10, 2, 90);
    const reduction = reduceSoundings([{ log: 0, pings: madePings([5, 6, 50], [5, NaN, 5]) }], track, null, constantLevel(0), PLAIN);
    const { tvuM, thuM } = soundingUncertainty(reduction, [0, 0, 0], BUDGET);
    expect([...tvuM].map(Number.isNaN)).toEqual([false, true, true]);
    expect([...thuM].map(Number.isNaN)).toEqual([false, false, true]);
  });

  it('refuses senseless options', () => {
    expect(() => uncertaintyOf({ terms: { ...NO_TERMS, draftM: -1 } })).toThrow('draftM -1: expected 0 or more');
    expect(() => uncertaintyOf({ beamWidthDeg: 0 })).toThrow(RangeError);
    expect(() => uncertaintyOf({ soundSpeedMps: 0 })).toThrow(RangeError);
  });
});

describe('Monte Carlo: 100 000 draws through the reduction itself', () => {
  const DRAWS = 100_000;

  it.each([0, 0.15])('slope %f: TVU and THU are the 95 % of what happens, within 2 %%', (slope) => {
    // The bottom is a plane that falls to the east; a narrow beam, so that only the budget is at work.
    const random = createRandom(77);
    const options = { ...BUDGET, beamWidthDeg: 0.5 };
    const { terms } = options;
    const depthAt = (xM: number): number => 12.3 + slope * (xM - 62);
    const errors = new Float64Array(DRAWS);
    const shifts = new Float64Array(DRAWS);
    const { soundings } = oneSounding(true);
    const track = straightTrack(60, 2, 90);
    for (let k = 0; k < DRAWS; k++) {
      // What really was: the boat and water as they were, the instrument with its errors.
      const draftM = 0.3 + terms.draftM * random.normal();
      const squatM = terms.squatM * random.normal();
      const heaveM = terms.heaveM * random.normal();
      const levelM = 0.5 + terms.waterLevelM * random.normal() + terms.zoningM * random.normal();
      const speedMps = 1490 + terms.soundSpeedMps * random.normal();
      const lateS = terms.timeS * random.normal();
      const headingErrorRad = ((options.headingSigmaDeg * Math.PI) / 180) * random.normal();
      // The transducer: 3 m ahead, 1 m to starboard of the antenna; east is ahead.
      const antennaX = 60 + 2 * lateS + 0.5 * random.normal();
      const antennaY = 0.5 * random.normal();
      const x = antennaX + 3 * Math.cos(headingErrorRad) - 1 * Math.sin(headingErrorRad);
      const y = antennaY - 3 * Math.sin(headingErrorRad) - 1 * Math.cos(headingErrorRad);
      const belowM = depthAt(x) - (draftM + squatM - heaveM) + levelM;
      const noise = Math.hypot(terms.sounderM, terms.sounderShare * belowM) * random.normal();
      const measuredM = (belowM * 1500) / speedMps + noise;
      // What the crew makes of it.
      const found = reducedDepth(measuredM, { draftM: 0.3, squatM: 0, heaveM: 0, waterLevelM: 0.5, soundSpeedSetMps: 1500, profile: uniformSoundProfile1490 });
      errors[k] = Math.abs(found - depthAt(soundings.xM[0]!));
      shifts[k] = Math.hypot(x - soundings.xM[0]!, y - soundings.yM[0]!);
    }
    const reduction = reduceSoundings(
      [{ log: 0, pings: madePings([30], [((12.3 + slope * (soundings.xM[0]! - 62) - 0.3 + 0.5) * 1500) / 1490]), headingTrueDeg: madeSeries([0, 60], [90, 90]) }],
      track,
      uniformSoundProfile1490,
      constantLevel(0.5),
      { ...PLAIN, maxGapS: 100, draftM: 0.3, transducer: options.transducer, heading: { source: 'true', variationDeg: null } },
    );
    const { tvuM, thuM } = soundingUncertainty(reduction, { along: Float32Array.of(slope), across: Float32Array.of(0) }, options);
    expect(reduction.soundings.depthM[0]).toBeCloseTo(depthAt(soundings.xM[0]!), 5);
    expect(Math.abs(tvuM[0]! / quantile(errors, 0.95) - 1)).toBeLessThan(0.02);
    expect(Math.abs(thuM[0]! / quantile(shifts, 0.95) - 1)).toBeLessThan(0.02);
  });
});
const uniformSoundProfile1490 = uniformSoundProfile(1490);

describe('slope under the beam', () => {
  it('slopeBiasM: the nearest of many rays to a plane, inside and beyond the beam', () => {
    for (const slope of [0, 0.02, 0.05, 0.0699, 0.08, 0.3, 1]) {
      const half = (4 * Math.PI) / 180;
      // Brute force: the nearest point of the plane z = d - slope x over rays of the beam.
      let nearest = Infinity;
      for (let k = 0; k <= 40_000; k++) {
        const angle = -half + (2 * half * k) / 40_000;
        nearest = Math.min(nearest, 10 / (Math.cos(angle) + slope * Math.sin(angle)));
      }
      expect(nearest + slopeBiasM(nearest, slope, half)).toBeCloseTo(10, 5);
    }
  });

  it('bottomSlopes: finds a plane in both directions from lines on it; only along from one line', () => {
    // Lines on a bearing of 30 deg; the plane falls by 0.08 to starboard of them and rises by 0.05 ahead.
    const sin = Math.sin(Math.PI / 6);
    const cos = Math.cos(Math.PI / 6);
    const plane = (x: number, y: number): number => 10 + 0.08 * (x * cos - y * sin) - 0.05 * (x * sin + y * cos);
    const lines = (count: number): ReturnType<typeof madeTrack> => {
      const times: number[] = [];
      const xs: number[] = [];
      const ys: number[] = [];
      for (let line = 0; line < count; line++) {
        for (let s = 0; s <= 80; s++) {
          times.push(line * 200 + s);
          const ahead = line % 2 === 0 ? s * 1.5 : 120 - s * 1.5;
          xs.push(line * 12 * cos + ahead * sin);
          ys.push(-line * 12 * sin + ahead * cos);
        }
      }
      return madeTrack(times, xs, ys);
    };
    for (const count of [4, 1]) {
      const track = lines(count);
      const random = createRandom(5);
      const depth = Array.from({ length: track.n }, (_, i) => plane(track.xM[i]!, track.yM[i]!) + 0.03 * random.normal());
      const reduction = reduceSoundings([{ log: 0, pings: madePings(track.timeS, depth) }], track, null, constantLevel(0), PLAIN);
      const { reason, alongSlope } = cleanSoundings(reduction, {
        minDepthM: 0.3, maxDepthM: 50, slopeDeg: 50, windowS: 6, outlierSigmas: 5, outlierFloorM: 0.25, repeatCount: 20, beamWidthDeg: 8, draftM: 0,
      });
      const slopes = bottomSlopes(reduction.soundings, reason, alongSlope);
      const northbound = [...track.timeS.keys()].filter((i) => track.timeS[i]! > 20 && track.timeS[i]! < 60);
      for (const i of northbound) {
        expect(Math.abs(slopes.along[i]! + 0.05)).toBeLessThan(0.03);
        if (count > 1) expect(Math.abs(slopes.across[i]! - 0.08)).toBeLessThan(0.01);
        else expect(slopes.across[i]).toBeNaN();
      }
      if (count > 1) {
        const southbound = track.timeS.findIndex((t) => t === 240);
        expect(Math.abs(slopes.along[southbound]! - 0.05)).toBeLessThan(0.03);
        expect(Math.abs(slopes.across[southbound]! + 0.08)).toBeLessThan(0.01);
        const { depthM, addedM } = correctForSlope(reduction, slopes, 8);
        expect(addedM[southbound]).toBeCloseTo(slopeBiasM(depth[southbound]!, Math.hypot(slopes.along[southbound]!, slopes.across[southbound]!), (4 * Math.PI) / 180), 5);
        expect(depthM[southbound]).toBeCloseTo(reduction.soundings.depthM[southbound]! + addedM[southbound]!, 5);
      }
    }
  });

  it('correctForSlope: adds nothing where no slope is known', () => {
    const reduction = oneSounding(true);
    const { addedM } = correctForSlope(reduction, { along: Float32Array.of(NaN), across: Float32Array.of(NaN) }, 8);
    expect(addedM[0]).toBe(0);
  });
});

describe('orders', () => {
  it('limits: those of S-44 ed. 6.1.0, table 1', () => {
    expect(ORDER_LIMITS['1a']).toEqual({ thuM: 5, thuShare: 0.05, tvuAM: 0.5, tvuB: 0.013 });
    expect(thuLimitM('2', 30)).toBe(23);
    expect(thuLimitM('1a', 10)).toBe(5.5);
    expect(thuLimitM('exclusive', 40)).toBe(1);
    expect(thuLimitM('1b', -2)).toBe(5);
  });

  it.skipIf(!HAVE_SHARED)(`limits: the published figures at each depth${SHARED_NOTE}`, () => {
    const { S44_ed6_1_0: table } = JSON.parse(sharedText('checks/check-values.json')) as {
      S44_ed6_1_0: { TVU_at_d: number[]; TVU: Record<string, number[]>; TVU_ab: Record<string, [number, number]> };
    };
    const names = { O2: '2', '1': '1a', special: 'special', exclusive: 'exclusive' } as const;
    for (const [published, order] of Object.entries(names)) {
      table.TVU_at_d.forEach((depth, i) => expect(Math.abs(tvuLimitM(order, depth) - table.TVU[published]![i]!)).toBeLessThanOrEqual(0.00005001));
    }
    expect(tvuLimitM('1b', 20)).toBe(tvuLimitM('1a', 20));
    expect(table.TVU_ab['special']).toEqual([ORDER_LIMITS.special.tvuAM, ORDER_LIMITS.special.tvuB]);
  });

  it('orderStanding: the strictest that 95 of 100 good soundings meet in both', () => {
    const make = (bad: number): Parameters<typeof orderStanding>[0] => ({
      n: 101,
      depthM: new Float32Array(101).fill(10),
      tvuM: Float32Array.from({ length: 101 }, (_, i) => (i < bad ? 0.4 : 0.2)),
      thuM: new Float32Array(101).fill(1.5),
      reason: Uint8Array.from({ length: 101 }, (_, i) => (i === 100 ? 8 : 0)),
    });
    expect(orderStanding(make(5)).met).toBe('special');
    expect(orderStanding(make(5)).share.special).toBe(0.95);
    expect(orderStanding(make(6)).met).toBe('1a');
    expect(orderStanding(make(5)).share.exclusive).toBe(0);
    const none = orderStanding({ ...make(0), reason: new Uint8Array(101).fill(1) });
    expect(none.met).toBeNull();
    expect(none.share['2']).toBeNaN();
    expect(ORDERS.length).toBe(5);
  });
});
