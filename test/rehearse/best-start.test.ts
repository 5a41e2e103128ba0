import { describe, expect, it } from 'vitest';
import { bestStart } from '../../src/rehearse/best-start.js';
import { rehearseSortie } from '../../src/rehearse/rehearse-sortie.js';
import type { StartSearch } from '../../src/rehearse/start-search.js';
import { constantCurrent, type CurrentField } from '../../src/water/current-field.js';
import { leg, plainBoat, sortieOf } from './plain-sortie.js';

const FROM_S = 1_781_686_800;
const HOUR_S = 3600;
const END_S = FROM_S + 30 * HOUR_S;
/** A stream along y that turns every 6.2 h, up to 1.8 m/s: stronger than the boat at 1.5 m/s for a part of it. */
const stream: CurrentField = { at: (_x, _y, timeS, out) => void (timeS <= END_S ? out.set([0, 1.8 * Math.sin((2 * Math.PI * (timeS - FROM_S)) / 44_714), 0.02]) : out.fill(NaN)), startS: FROM_S - HOUR_S, endS: END_S, maxMps: 1.8, source: 'test' };
const sortie = sortieOf([leg('launch', 1, 1.5, 0, 0, 30, 0), leg('line', 1, 1.5, 30, 0, 30, 900), leg('turn', 2, 1.5, 30, 900, 50, 900), leg('line', 2, 1.5, 50, 900, 50, 0), leg('home', null, 1.5, 50, 0, 0, 0)]);
const common = { boat: plainBoat(), current: stream };
const search = (changes: Partial<StartSearch> = {}): StartSearch => ({ common, sorties: [sortie], swapS: 600, fromS: FROM_S, toS: FROM_S + 13 * HOUR_S, stepS: 600, ...changes });
const still = { ...common, current: constantCurrent(0, 0, 0.02) };

describe('bestStart', () => {
  it('has an hour of room where there is one, costs within 2 % of the battery of the cheapest such start, and is a go in full', () => {
    const found = bestStart(search());
    expect(found.rehearsals[0]!.verdict.go).toBe(true);
    const { margin } = found;
    // Every five minutes in full, and how far each stands from the next no-go.
    const looks = Array.from({ length: 13 * 12 + 1 }, (_, i) => ({ startS: FROM_S + i * 300, rehearsal: rehearseSortie({ ...common, sortie, startS: FROM_S + i * 300 }) }));
    const roomOf = (startS: number): number => Math.min(startS - FROM_S, FROM_S + 13 * HOUR_S - startS, ...looks.filter(({ rehearsal }) => !rehearsal.verdict.go).map((look) => Math.abs(look.startS - startS)));
    const roomy = looks.filter(({ startS, rehearsal }) => rehearsal.verdict.go && roomOf(startS) >= HOUR_S + 300);
    expect(roomy.length).toBeGreaterThan(3);
    const least = Math.min(...roomy.map(({ rehearsal: { totals } }) => totals.energyWh + totals.energy95Wh));
    const { totals } = found.rehearsals[0]!;
    expect(totals.energyWh + totals.energy95Wh).toBeLessThan(1.02 * least + 0.02 * 0.8 * 1100);
    expect(Math.min(margin!.earlierS, margin!.laterS)).toBeGreaterThanOrEqual(HOUR_S - 60);
    // Half an hour either way about slack water there is no leg that the boat cannot make.
    expect(found.windows.some((window) => !window.go && window.kind === 'current')).toBe(true);
    const covered = found.windows.reduce((sum, window) => sum + (window.toS - window.fromS) / 600 + 1, 0);
    expect(covered).toBe(13 * 6 + 1);
    expect(found.why).toMatch(/^2026-06-17T\d\d:\d\d:\d\dZ: it could leave .* earlier .*, or .* later .*; \d+ Wh above the reserve with the 95 % taken off; .* of 79 starts looked at are a go$/);
  });

  it('of equal starts it takes the middle of daylight, not its edge, and says what stands at either side', () => {
    // The sun is up from 3 h to 9 h after the first start; the sortie takes some 23 min in still water.
    const sunAltitudeDeg = (timeS: number): number => 10 * Math.sin((Math.PI * (timeS - FROM_S - 3 * HOUR_S)) / (6 * HOUR_S));
    const found = bestStart(search({ common: { ...still, sunAltitudeDeg, options: { leastSunDeg: 0 } } }));
    const took = found.rehearsals[0]!.totals.timeS;
    const middle = FROM_S + 6 * HOUR_S - took / 2;
    expect(Math.abs(found.startS! - middle)).toBeLessThan(300);
    expect(found.margin!.before).toMatch(/^the sun is .* high at the start/);
    expect(found.margin!.after).toMatch(/^the sun sinks below/);
    expect(Math.abs(found.margin!.earlierS - (found.startS! - FROM_S - 3 * HOUR_S))).toBeLessThan(120);
    expect(found.why).toMatch(/earlier \(then: the sun is .*later \(then: the sun sinks/);
  });

  it('a window cut by the tide: the middle of what the water leaves', () => {
    // High water 5 h on: 0.7 m is needed over a bottom at the datum, acos(0.7) of the tide to either side.
    const level = { levelsAt: (timeS: Float64Array) => timeS.map((at) => Math.cos((2 * Math.PI * (at - FROM_S - 5 * HOUR_S)) / 44_712)) };
    const found = bestStart(search({ common: { ...still, level, bottomDepthM: () => 0 }, toS: FROM_S + 10 * HOUR_S }));
    const half = (Math.acos(0.7) / (2 * Math.PI)) * 44_712;
    const took = found.rehearsals[0]!.totals.timeS;
    expect(Math.abs(found.startS! - (FROM_S + 5 * HOUR_S - took / 2))).toBeLessThan(300);
    expect(Math.abs(found.margin!.earlierS + found.margin!.laterS - (2 * half - took))).toBeLessThan(240);
    expect(found.margin!.before).toMatch(/under the boat|aground/);
  });

  it('two sorties: the second leaves when the battery is changed, and both have to go', () => {
    const found = bestStart(search({ common: still, sorties: [sortie, sortie], swapS: 900, toS: FROM_S + 2 * HOUR_S }));
    const [first, second] = found.rehearsals;
    expect(second!.totals.startS).toBeCloseTo(first!.totals.endS + 900, 6);
    expect(found.margin!.timeS).toBeCloseTo(second!.totals.endS - found.startS!, 6);
    expect(found.margin!.before).toBeNull();
    expect(found.why).toMatch(/at least \(no further was looked\)/);
  });

  it('a start whose lost link would end in a keep-out is passed over in full: none is a go, and it says why', () => {
    const keepout = { outer: Float64Array.of(12, 100, 18, 100, 18, 110, 12, 110), holes: [] };
    const found = bestStart(search({ common: { ...still, keepouts: [keepout], linkMarginDb: () => 3 }, toS: FROM_S + HOUR_S }));
    expect(found.startS).toBeNull();
    expect(found.why).toMatch(/^the starts that looked possible in the quick look are not when rehearsed in full; at 2026.*: where the link may be lost/);
  });

  it('each no-go window tells why: current, then dark, then outside the table', () => {
    const { windows } = bestStart(search({ common: { ...common, sunAltitudeDeg: (timeS) => 10 - (timeS - FROM_S) / 1200 }, toS: FROM_S + 32 * HOUR_S, stepS: 1800 }));
    for (const window of windows.filter((one) => !one.go)) {
      expect(window.reason.length).toBeGreaterThan(20);
      expect(['current', 'daylight', 'data']).toContain(window.kind);
    }
    expect(windows.find((window) => window.kind === 'data')!.reason).toMatch(/outside the times of the current|is not known on/);
    expect(windows.find((window) => window.kind === 'daylight')!.reason).toMatch(/^the sun /);
  });

  it('where none is a go: each reason with the spans it bars and would allow by itself, and the first start after the span', () => {
    // Dark until 2 h on; from 1 h on until 4 h on too little water: no start of the first three hours.
    const sunAltitudeDeg = (timeS: number): number => (timeS < FROM_S + 2 * HOUR_S ? -5 : 20);
    const level = { levelsAt: (timeS: Float64Array) => timeS.map((at) => (at > FROM_S + HOUR_S && at < FROM_S + 4 * HOUR_S ? -1 : 2)) };
    const none = bestStart(search({ common: { ...still, sunAltitudeDeg, level, bottomDepthM: () => 0.5 }, toS: FROM_S + 3 * HOUR_S }));
    expect(none.startS).toBeNull();
    expect(none.rehearsals).toEqual([]);
    const limit = (kind: string) => none.limits.find((each) => each.kind === kind)!;
    expect(limit('daylight').bars).toEqual([{ fromS: FROM_S, toS: FROM_S + 2 * HOUR_S - 600 }]);
    expect(limit('daylight').allows).toEqual([{ fromS: FROM_S + 2 * HOUR_S, toS: FROM_S + 3 * HOUR_S }]);
    expect(limit('water').allows[0]!.fromS).toBe(FROM_S);
    expect(none.nextS).toBe(FROM_S + 4 * HOUR_S);
    expect(none.why).toMatch(/^no start from 2026-06-17T09:00:00Z to 2026-06-17T12:00:00Z is a go$/);
  });

  it('a battery that is too small bars every start, and it is not looked on', () => {
    const none = bestStart(search({ common: { ...still, boat: plainBoat({ batteryWh: 1, battery95Wh: 0.1 }) }, toS: FROM_S + HOUR_S }));
    expect(none.limits).toMatchObject([{ kind: 'battery', allows: [] }]);
    expect(none.limits[0]!.text).toMatch(/^the sortie needs \d+ ± \d+ Wh \(95 %\), the battery holds 1 Wh/);
    expect(none.nextS).toBeNaN();
  });

  it('a span or step out of range is the caller\'s mistake', () => {
    expect(() => bestStart(search({ toS: FROM_S - 1 }))).toThrow('expected 1781686800 or later');
    expect(() => bestStart(search({ toS: FROM_S + 1e6, stepS: 1 }))).toThrow('20000 at most');
    expect(() => bestStart(search({ sorties: [] }))).toThrow('expected one or more');
  });
});
