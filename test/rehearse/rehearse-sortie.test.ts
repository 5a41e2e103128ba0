import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { normalChance } from '../../src/rehearse/normal-chance.js';
import type { RehearsalRequest } from '../../src/rehearse/rehearsal.js';
import { rehearseSortie } from '../../src/rehearse/rehearse-sortie.js';
import { constantCurrent, type CurrentField } from '../../src/water/current-field.js';
import { constantLevel, seriesLevel } from '../../src/water/level.js';
import { leg, linesSortie, plainBoat, sortieOf } from './plain-sortie.js';

const START_S = 1.7e9;
const SEED = { seed: 20261125 };
const STILL = constantCurrent(0, 0, 0);
/** No lag of speed, at once round: what a boat without dynamics would do. */
const AT_ONCE = plainBoat({ coastLengthM: 1e-6, tauS: 1e-6, yawTS: 0, yawK: 1e6, spinRateDegps: Infinity, turnDiameterM: () => 1e-9, turnSpeedKept: () => 1 });

const request = (changes: Partial<RehearsalRequest> = {}): RehearsalRequest => ({ sortie: linesSortie(4, 200, 15, 1.5), boat: plainBoat(), startS: START_S, current: constantCurrent(0.1, -0.2, 0.02), ...changes });
const straight = (xM: number, yM: number, speedMps: number) => sortieOf([leg('line', 1, speedMps, 0, 0, xM, yM)]);

describe('rehearseSortie: what it must be by hand', () => {
  it('still water, no lag, at once round: the time is length over speed', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 6 }), fc.double({ min: 50, max: 400, noNaN: true }), fc.double({ min: 0.5, max: 2.7, noNaN: true }), (count, lengthM, speedMps) => {
        const sortie = linesSortie(count, lengthM, 20, speedMps);
        const { totals } = rehearseSortie({ sortie, boat: AT_ONCE, startS: START_S, current: STILL, options: { acceptanceM: 0.05 } });
        // A step of 0.2 s at each of the corners at most.
        expect(Math.abs(totals.timeS - sortie.lengthM / speedMps)).toBeLessThan(0.2 * (sortie.legs.length + 1));
        // Straight running only: hotel and a v^n; turns cost by the helm they need, a little.
        const straightWh = ((9 + 16 * speedMps ** 3) * totals.timeS) / 3600;
        expect(totals.energyWh).toBeGreaterThan(0.999 * straightWh);
        expect(totals.energyWh).toBeLessThan(1.02 * straightWh + 0.01);
      }),
      { ...SEED, numRuns: 40 },
    );
  });

  // By hand: 1.5 m/s through the water, 0.9 across: sqrt(2.25 - 0.81) = 1.2 m/s over the ground, bow asin(0.6) = 36.870 deg up.
  it('current triangle: 3-4-5, bow to port of the course against a set to starboard', () => {
    const { columns, legs } = rehearseSortie(request({ sortie: straight(0, 600, 1.5), current: constantCurrent(0.9, 0, 0) }));
    const middle = columns.n >> 1;
    expect(columns.speedOverGroundMps[middle]).toBeCloseTo(1.2, 3);
    expect(columns.headingDeg[middle]).toBeCloseTo(360 - 36.87, 1);
    expect(legs[0]!.crabDeg).toBeCloseTo(-36.87, 0);
    expect(columns.currentMps[middle]).toBeCloseTo(0.9, 6);
    expect(columns.currentSetDeg[middle]).toBeCloseTo(90, 3);
    expect(Math.abs(columns.crossTrackM[middle]!)).toBeLessThan(0.05);
  });

  // By hand: 2 m/s, current 1 m/s setting 30 deg off the bow quarter: along 1 cos 30 = 0.866, across 0.5; sqrt(4 - 0.25) + 0.866 = 2.802; bow asin(0.25) = 14.478.
  it('current triangle: a current on the quarter', () => {
    const { columns } = rehearseSortie(request({ sortie: straight(800, 0, 2), current: constantCurrent(Math.cos(Math.PI / 6), Math.sin(Math.PI / 6), 0) }));
    const middle = columns.n >> 1;
    expect(columns.speedOverGroundMps[middle]).toBeCloseTo(2.8025, 3);
    expect(columns.headingDeg[middle]).toBeCloseTo(90 + 14.478, 1);
  });

  it('leeway: wind from the north drifts the boat south with its share, and is no current', () => {
    const { columns } = rehearseSortie(request({ sortie: straight(0, 600, 1.5), current: STILL, wind: { speedMps: 10, fromDeg: 0 }, options: { leewayShare: 0.03 } }));
    const middle = columns.n >> 1;
    expect(columns.speedOverGroundMps[middle]).toBeCloseTo(1.2, 3);
    expect(columns.currentMps[middle]).toBe(0);
  });

  it('bearings are true: the convergence is added to the frame\'s', () => {
    const { columns } = rehearseSortie(request({ sortie: straight(0, 300, 1.5), current: STILL, convergenceDeg: -1.25 }));
    expect(columns.headingDeg[columns.n >> 1]).toBeCloseTo(358.75, 3);
  });

  // From rest v = V tanh(V t / L): way V t - L ln 2 when settled, so a leg takes L ln 2 / V longer.
  it('from rest a leg takes L ln 2 / V longer', () => {
    const boat = plainBoat({ coastLengthM: 6 });
    const { totals } = rehearseSortie(request({ sortie: straight(0, 500, 1.5), current: STILL, boat, options: { acceptanceM: 0.01 } }));
    expect(Math.abs(totals.timeS - (500 + 6 * Math.LN2) / 1.5)).toBeLessThan(0.2);
  });

  it('water under the boat is depth and level less draft; the sun and the link are told along the track', () => {
    const { columns, totals } = rehearseSortie(request({ level: constantLevel(1.5), bottomDepthM: (_x, y) => 2 + 0.01 * y, sunAltitudeDeg: (timeS) => 10 + (timeS - START_S) / 100, linkMarginDb: (x, y) => 30 - Math.hypot(x, y) / 20, options: { draftM: 0.25 } }));
    for (let i = 0; i < columns.n; i += 37) {
      expect(columns.waterUnderM[i]).toBeCloseTo(3.25 + 0.01 * columns.yM[i]!, 4);
      expect(columns.sunAltitudeDeg[i]).toBeCloseTo(10 + (columns.timeS[i]! - START_S) / 100, 3);
      expect(columns.linkMarginDb[i]).toBeCloseTo(30 - Math.hypot(columns.xM[i]!, columns.yM[i]!) / 20, 4);
    }
    expect(totals.leastWaterM).toBeCloseTo(Math.min(...columns.waterUnderM), 6);
    expect(totals.leastLinkDb).toBeCloseTo(Math.min(...columns.linkMarginDb), 6);
  });

  it('what was not given is NaN', () => {
    const { columns, totals } = rehearseSortie(request());
    for (const column of [columns.waterUnderM, columns.sunAltitudeDeg, columns.linkMarginDb]) expect(column.every(Number.isNaN)).toBe(true);
    expect(totals.leastWaterM).toBeNaN();
  });

  it('95 % of the energy from the power curve alone: time x sigma of the hotel load, and of a v^n', () => {
    const boat = plainBoat({ powerCovariance: [0.25, 0, 0, 0, 0, 0, 0, 0, 0], topSpeed95Mps: 0 });
    const known = rehearseSortie(request({ sortie: straight(0, 1000, 1.5), boat, current: STILL, options: { turnSigmaShare: 0 } })).totals;
    expect(known.energy95Wh).toBeCloseTo((1.96 * 0.5 * known.timeS) / 3600, 6);
    const byA = rehearseSortie(request({ sortie: straight(0, 1000, 1.5), boat: { ...boat, powerCovariance: [0, 0, 0, 0, 1, 0, 0, 0, 0] }, current: STILL, options: { turnSigmaShare: 0 } })).totals;
    expect(byA.energy95Wh).toBeCloseTo((1.96 * 1.5 ** 3 * byA.timeS) / 3600, 4);
  });

  it('95 % of the time from the current alone: length / ground speed^2 x sigma against it; nearly nothing out and home', () => {
    const boat = plainBoat({ topSpeed95Mps: 0 });
    const out = rehearseSortie(request({ sortie: straight(0, 1000, 1.5), boat, current: constantCurrent(0, -0.5, 0.02), options: { turnSigmaShare: 0 } })).totals;
    expect(out.time95S).toBeGreaterThan(0.98 * 1.96 * 1000 * 0.02);
    expect(out.time95S).toBeLessThan(1.02 * 1.96 * 1000 * 0.02);
  });
});

describe('rehearseSortie: properties', () => {
  const current = fc.record({ x: fc.double({ min: -0.6, max: 0.6, noNaN: true }), y: fc.double({ min: -0.6, max: 0.6, noNaN: true }) });

  it('legs follow each other in time, and their energies add up to the whole', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 5 }), current, fc.constantFrom('on-the-go', 'stop-and-turn'), fc.constantFrom('full', 'quick'), (count, { x, y }, turning, effort) => {
        const { legs, totals, stopped } = rehearseSortie(request({ sortie: linesSortie(count, 120, 12, 1.4), current: constantCurrent(x, y, 0.02), options: { turning }, effort }));
        expect(stopped).toBeNull();
        expect(legs[0]!.startS).toBe(START_S);
        for (let i = 1; i < legs.length; i++) expect(legs[i]!.startS).toBe(legs[i - 1]!.endS);
        expect(legs[legs.length - 1]!.endS).toBe(totals.endS);
        expect(legs.reduce((sum, one) => sum + one.energyWh, 0)).toBeCloseTo(totals.energyWh, 9);
      }),
      { ...SEED, numRuns: 60 },
    );
  });

  it('a following current never makes a leg slower', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 2 * Math.PI, noNaN: true }), fc.double({ min: 0, max: 0.9, noNaN: true }), fc.double({ min: 0.01, max: 0.5, noNaN: true }), (bearing, drift, more) => {
        const time = (mps: number): number => rehearseSortie(request({ sortie: straight(300 * Math.sin(bearing), 300 * Math.cos(bearing), 1.3), current: constantCurrent(mps * Math.sin(bearing), mps * Math.cos(bearing), 0) })).totals.timeS;
        expect(time(drift + more)).toBeLessThanOrEqual(time(drift));
      }),
      { ...SEED, numRuns: 40 },
    );
  });

  it('energy drawn, its 95 % and time never go down; the same request gives the same bytes', () => {
    const one = rehearseSortie(request());
    const two = rehearseSortie(request());
    for (let i = 1; i < one.columns.n; i++) {
      expect(one.columns.timeS[i]!).toBeGreaterThan(one.columns.timeS[i - 1]!);
      expect(one.columns.energyWh[i]!).toBeGreaterThanOrEqual(one.columns.energyWh[i - 1]!);
    }
    expect(two).toEqual(one);
  });

  it('shifted and turned as a whole, it takes the same', () => {
    const base = rehearseSortie(request()).totals;
    const turn = 0.7;
    const move = (x: number, y: number): [number, number] => [5e5 + x * Math.cos(turn) + y * Math.sin(turn), 5.1e6 - x * Math.sin(turn) + y * Math.cos(turn)];
    const sortie = request().sortie;
    const legs = sortie.legs.map((one) => ({ ...one, path: Float64Array.from([...move(one.path[0]!, one.path[1]!), ...move(one.path[2]!, one.path[3]!)]) }));
    const [cx, cy] = [0.1 * Math.cos(turn) - 0.2 * Math.sin(turn), -0.1 * Math.sin(turn) - 0.2 * Math.cos(turn)];
    const moved = rehearseSortie(request({ sortie: { ...sortie, legs }, current: constantCurrent(cx, cy, 0.02) })).totals;
    expect(moved.timeS).toBeCloseTo(base.timeS, 0);
    expect(moved.energyWh / base.energyWh).toBeCloseTo(1, 3);
  });

  it('quick is within 3 % of full in time and energy', () => {
    fc.assert(
      fc.property(fc.integer({ min: 2, max: 8 }), current, fc.constantFrom('on-the-go', 'stop-and-turn'), (count, { x, y }, turning) => {
        const asked = request({ sortie: linesSortie(count, 250, 20, 1.5), current: constantCurrent(x, y, 0.02), options: { turning } });
        const full = rehearseSortie(asked).totals;
        const quick = rehearseSortie({ ...asked, effort: 'quick' }).totals;
        expect(Math.abs(quick.timeS / full.timeS - 1)).toBeLessThan(0.03);
        expect(Math.abs(quick.energyWh / full.energyWh - 1)).toBeLessThan(0.03);
      }),
      { ...SEED, numRuns: 40 },
    );
  });
});

describe('rehearseSortie: what will be painted', () => {
  it('a line held exactly: the chance of the card\'s error within tolerance, no gaps where that is enough', () => {
    const { lines } = rehearseSortie(request({ sortie: linesSortie(1, 300, 0, 1.5, 60), current: STILL, options: { toleranceM: 0.588 } }));
    // 0.588 m of 0.3 m RMS is 1.96 sigma: 95.0 %.
    expect(lines[0]!.paintedShare).toBeCloseTo(0.95, 2);
    const loose = rehearseSortie(request({ sortie: linesSortie(1, 300, 0, 1.5, 60), current: STILL, options: { toleranceM: 0.7 } }));
    expect(loose.lines[0]!.gaps).toEqual([]);
  });

  it('without a run-in the line\'s start is a gap after the turn; with one it is not', () => {
    const sharp = sortieOf([leg('launch', 1, 1.5, 0, 0, 100, 0), leg('line', 1, 1.5, 100, 0, 100, 200), leg('home', null, 1.5, 100, 200, 0, 0)]);
    const [line] = rehearseSortie(request({ sortie: sharp, current: STILL, options: { toleranceM: 1, acceptanceM: 1 } })).lines;
    // Within a metre of the corner it is on the line still.
    expect(line!.gaps[0]!).toBeLessThanOrEqual(1);
    expect(line!.gaps[1]!).toBeGreaterThan(1);
    expect(line!.gaps[1]!).toBeLessThan(40);
    const eased = sortieOf([leg('launch', 1, 1.5, 0, 0, 100, -60), leg('run-in', 1, 1.5, 100, -60, 100, 0), leg('line', 1, 1.5, 100, 0, 100, 200), leg('run-out', 1, 1.5, 100, 200, 100, 220), leg('home', null, 1.5, 100, 220, 0, 0)]);
    expect(rehearseSortie(request({ sortie: eased, current: STILL, options: { toleranceM: 1, acceptanceM: 1 } })).lines[0]!.gaps).toEqual([]);
  });

  it('lines never come to are gaps from end to end', () => {
    const ebb: CurrentField = { at: (_x, y, _t, out) => void out.set([0, y > 150 ? -2 : 0, 0]), startS: -Infinity, endS: Infinity, maxMps: 2, source: 'test' };
    const { lines, stopped } = rehearseSortie(request({ current: ebb }));
    expect(stopped?.why).toBe('current');
    expect(lines[3]).toEqual({ line: 4, lengthM: 200, paintedShare: 0, gaps: [0, 200] });
  });
});

describe('normalChance', () => {
  // Abramowitz & Stegun (1964), table 26.1.
  it.each([[0, 0.5], [1, 0.8413447461], [1.96, 0.9750021049], [-2.5, 0.0062096653], [4, 0.9999683288]])('P(%f) is %f', (z, chance) => {
    expect(Math.abs(normalChance(z) - chance)).toBeLessThan(1e-7);
  });
});

describe('rehearseSortie: level series', () => {
  it('takes the level at the time of each row', () => {
    const level = seriesLevel([START_S - 3600, START_S + 7200], [0, 3], 1e5);
    const { columns } = rehearseSortie(request({ level, bottomDepthM: () => 1, options: { draftM: 0 } }));
    const last = columns.n - 1;
    expect(columns.waterUnderM[last]).toBeCloseTo(1 + (3 * (columns.timeS[last]! - START_S + 3600)) / 10800, 4);
  });
});
