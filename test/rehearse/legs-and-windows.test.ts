import { describe, expect, it } from 'vitest';
import type { RehearsalRequest } from '../../src/rehearse/rehearsal.js';
import { rehearseFully } from '../../src/rehearse/rehearse-fully.js';
import { rehearseSortie } from '../../src/rehearse/rehearse-sortie.js';
import { constantCurrent, type CurrentField } from '../../src/water/current-field.js';
import { seriesLevel, type WaterLevel } from '../../src/water/level.js';
import { leg, linesSortie, plainBoat, sortieOf } from './plain-sortie.js';

const START_S = 1_781_686_800;
const request = (changes: Partial<RehearsalRequest> = {}): RehearsalRequest => ({ sortie: linesSortie(4, 200, 15, 1.5), boat: plainBoat(), startS: START_S, current: constantCurrent(0, 0, 0.02), ...changes });
/** A tide of 1 m each way in 12.42 h, high water at the start. */
const tide: WaterLevel = { levelsAt: (timeS) => timeS.map((at) => Math.cos((2 * Math.PI * (at - START_S)) / 44_712)) };

describe('leg by leg: water, current, and legs the boat cannot make', () => {
  it('each leg has the least water and the strongest current met on it', () => {
    const current = constantCurrent(0.3, 0, 0);
    const { legs, columns } = rehearseSortie(request({ current, bottomDepthM: (_x, y) => 3 + y / 100, level: null }));
    const line = legs.findIndex(({ kind }) => kind === 'line');
    // The line begins 50 m north: 3.5 m of depth less 0.2 m of draft; the boat may still be a metre short of it.
    expect(legs[line]!.leastWaterM).toBeGreaterThan(3.27);
    expect(legs[line]!.leastWaterM).toBeLessThan(3.35);
    expect(legs[line]!.currentMps).toBeCloseTo(0.3, 6);
    expect(legs[line]!.currentSetDeg).toBeCloseTo(90, 4);
    expect(Math.min(...legs.map(({ leastWaterM }) => leastWaterM).filter(Number.isFinite))).toBeCloseTo(Math.min(...columns.waterUnderM), 6);
    expect(legs.every(({ isBeaten, possibleS }) => !isBeaten && Number.isNaN(possibleS))).toBe(true);
    expect(legs[line]!.name).toBe('line 1');
  });

  it('every leg the current bars is named with the time it becomes possible, those it helps are not', () => {
    // 2 m/s to the south falling by 1 m/s an hour: going north at 1.5 m/s makes way (5 cm/s) from 1.45 m/s on, 1980 s after the start.
    const falling: CurrentField = { at: (_x, _y, timeS, out) => void out.set([0, -(2 - (timeS - START_S) / 3600), 0.02]), startS: START_S, endS: START_S + 7200, maxMps: 2, source: 'test' };
    const sortie = sortieOf([leg('line', 1, 1.5, 0, 0, 0, 200), leg('turn', 2, 1.5, 0, 200, 15, 200), leg('line', 2, 1.5, 15, 200, 15, 0), leg('line', 3, 1.5, 30, 0, 30, 200)]);
    const { legs, stopped } = rehearseSortie(request({ sortie, current: falling }));
    expect(stopped!.why).toBe('current');
    expect(legs.map(({ isBeaten }) => isBeaten)).toEqual([true, true, false, true]);
    for (const k of [0, 3]) {
      expect(legs[k]!.possibleS).toBeGreaterThanOrEqual(START_S + 1800);
      expect(legs[k]!.possibleS).toBeLessThanOrEqual(START_S + 1980 + 600);
    }
  });
});

describe('launch and recovery: when there is water enough', () => {
  it('the window that the tide opens and closes about the launch', () => {
    // 0.2 + 0.5 m on a place that lies at the datum: 0.7 m of level is needed, acos(0.7) to either side of high water.
    const { launch, recovery, totals } = rehearseSortie(request({ level: tide, bottomDepthM: () => 0 }));
    const halfS = (Math.acos(0.7) / (2 * Math.PI)) * 44_712;
    expect(launch).toMatchObject({ isOpen: true, depthM: 0, startsWithTide: true, endsWithTide: true });
    expect(launch!.neededLevelM).toBeCloseTo(0.7, 9);
    expect(Math.abs(launch!.fromS - (START_S - halfS))).toBeLessThan(2);
    expect(Math.abs(launch!.toS - (START_S + halfS))).toBeLessThan(2);
    expect(recovery!.timeS).toBeCloseTo(totals.endS, 6);
  });

  it('too early it names the next window; a place with water at all times has no tide in it; without depths there is none', () => {
    const low = START_S + 22_356;
    const { launch } = rehearseSortie(request({ startS: low, level: tide, bottomDepthM: () => 0 }));
    expect(launch!.isOpen).toBe(false);
    const halfS = (Math.acos(0.7) / (2 * Math.PI)) * 44_712;
    expect(Math.abs(launch!.fromS - (START_S + 44_712 - halfS))).toBeLessThan(2);
    expect(rehearseSortie(request({ level: tide, bottomDepthM: () => 9 })).launch).toMatchObject({ isOpen: true, startsWithTide: false, endsWithTide: false });
    expect(rehearseSortie(request({ level: tide })).launch).toBeNull();
    expect(rehearseSortie(request({ bottomDepthM: () => 9, level: seriesLevel([0, 1], [0, 0], 10) })).launch).toBeNull();
  });
});

describe('turn back by: the last time from which the boat gets home with its reserve', () => {
  it('daylight: sunset less the longest way home and the 95 % of its time', () => {
    const sunset = START_S + 5 * 3600;
    const asked = request({ sunAltitudeDeg: (timeS) => (sunset - timeS) / 240, options: { leastSunDeg: 0 } });
    const { rehearsal, moments } = rehearseFully(asked);
    const far = Math.max(...Array.from({ length: moments.n }, (_, i) => moments.outcomes['safe-lane'].timeS[i]! - moments.timeS[i]!));
    const slack = far * (1 + rehearsal.totals.time95S / rehearsal.totals.timeS);
    expect(moments.turnBack!.limit).toBe('daylight');
    expect(moments.turnBack!.wayHomeS).toBeCloseTo(slack, 6);
    expect(Math.abs(moments.turnBack!.timeS - (sunset - slack))).toBeLessThan(2);
    expect(moments.turnBackByS).toBe(moments.turnBack!.timeS);
  });

  it('battery: past the planned end by what is left above the reserve and the way home, at the mean power of the sortie', () => {
    const needed = rehearseSortie(request()).totals;
    const boat = plainBoat({ batteryWh: 3 * needed.energyWh, battery95Wh: 0.01 });
    const { rehearsal, moments } = rehearseFully(request({ boat }));
    const { energyWh, timeS, endS } = rehearsal.totals;
    const holds = 3 * energyWh;
    const wayWh = Math.max(...Array.from({ length: moments.n }, (_, i) => holds - rehearsal.columns.energyWh[10 * i]! - moments.outcomes['safe-lane'].energyLeftWh[i]!));
    const beyondS = ((0.8 * holds - energyWh - wayWh) / (energyWh / timeS));
    expect(moments.turnBack!.limit).toBe('battery');
    expect(Math.abs(moments.turnBack!.timeS - (endS + beyondS))).toBeLessThan(1);
  });

  it('a battery that is not well known turns it back sooner', () => {
    const needed = rehearseSortie(request()).totals.energyWh;
    const by = (battery95Wh: number): number => rehearseFully(request({ boat: plainBoat({ batteryWh: 3 * needed, battery95Wh }) })).moments.turnBackByS;
    expect(by(0.9 * needed)).toBeLessThan(by(0.01));
  });

  it('a tide that closes where it comes back to, and tables that end', () => {
    const closing = rehearseFully(request({ level: tide, bottomDepthM: () => 0 }));
    const slack = closing.moments.turnBack!.wayHomeS;
    expect(closing.moments.turnBack!.limit).toBe('tide');
    expect(Math.abs(closing.moments.turnBack!.timeS - (START_S + (Math.acos(0.7) / (2 * Math.PI)) * 44_712 - slack))).toBeLessThan(2);
    const table: CurrentField = { ...constantCurrent(0.1, 0, 0.01), startS: START_S, endS: START_S + 3600 };
    const ends = rehearseFully(request({ current: table })).moments.turnBack!;
    expect(ends.limit).toBe('current table');
    expect(ends.timeS).toBeCloseTo(START_S + 3600 - ends.wayHomeS, 6);
  });
});
