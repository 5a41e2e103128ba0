import { describe, expect, it } from 'vitest';
import type { Polygon } from '../../src/geo/shapes.js';
import type { RehearsalRequest } from '../../src/rehearse/rehearsal.js';
import { rehearseSortie } from '../../src/rehearse/rehearse-sortie.js';
import { constantCurrent, type CurrentField } from '../../src/water/current-field.js';
import { seriesLevel } from '../../src/water/level.js';
import { leg, linesSortie, plainBoat, sortieOf } from './plain-sortie.js';

/** 2026-06-17T09:00:00Z */
const START_S = 1_781_686_800;
const square = (xM: number, yM: number, halfM: number): Polygon => ({ outer: Float64Array.of(xM - halfM, yM - halfM, xM + halfM, yM - halfM, xM + halfM, yM + halfM, xM - halfM, yM + halfM), holes: [] });
const request = (changes: Partial<RehearsalRequest> = {}): RehearsalRequest => ({ sortie: linesSortie(4, 200, 15, 1.5), boat: plainBoat(), startS: START_S, current: constantCurrent(0.1, -0.2, 0.02), ...changes });
const judge = (changes: Partial<RehearsalRequest>) => rehearseSortie(request(changes)).verdict;

describe('verdict: what a survey cannot do is said, not thrown', () => {
  it('a fair day is a go, with what is nearest its limit', () => {
    const verdict = judge({});
    expect(verdict).toMatchObject({ go: true, concerns: [] });
    expect(verdict.reason).toMatch(/^nearest its limit is battery: 1[0-9] ± 1 Wh of 1100 Wh, chance of getting home over 99.9 %$/);
  });

  it('a current stronger than the boat: which line, when, and when it becomes possible', () => {
    // 2 m/s to the south, falling by 1 m/s in an hour: line 1 north at 1.5 m/s makes way from 1.47 m/s on, 1908 s after the start.
    const falling: CurrentField = { at: (_x, y, timeS, out) => void out.set([0, y < 45 ? 0 : -(2 - (timeS - START_S) / 3600), 0.02]), startS: START_S - 3600, endS: START_S + 36_000, maxMps: 2, source: 'test' };
    const { verdict, stopped } = rehearseSortie(request({ current: falling }));
    expect(verdict.go).toBe(false);
    expect(verdict.chanceHome).toBe(0);
    expect(stopped).toMatchObject({ why: 'current' });
    const told = /^the current, (1\.9\d|2\.00) m\/s, is stronger than the boat at 1\.50 m\/s on (the run-in to )?line 1.* at 2026-06-17T09:0\d:\d\dZ; it becomes possible at (2026-06-17T\d\d:\d\d:\d\dZ); at its top speed, 2\.80 m\/s, the boat would make way$/.exec(verdict.reason);
    expect(told, verdict.reason).not.toBeNull();
    const possible = Date.parse(told![3]!) / 1000 - START_S;
    expect(possible).toBeGreaterThanOrEqual(1908);
    expect(possible).toBeLessThanOrEqual(1908 + 300);
  });

  it('a current across the line as fast as the boat is beaten too; one never possible says so', () => {
    const verdict = judge({ sortie: sortieOf([leg('line', 1, 1, 0, 0, 0, 300)]), current: constantCurrent(1.1, 0, 0) });
    expect(verdict.reason).toMatch(/is stronger than the boat at 1\.00 m\/s on line 1 .*; it does not become possible in the next 24 h/);
  });

  it('a start outside the current table', () => {
    const table: CurrentField = { at: (_x, _y, timeS, out) => void out.fill(timeS >= START_S + 3600 ? 0.1 : NaN), startS: START_S + 3600, endS: START_S + 7200, maxMps: 0.2, source: 'stream.csv' };
    expect(judge({ current: table }).reason).toBe('the start, 2026-06-17T09:00:00Z, is outside the times of the current: stream.csv runs from 2026-06-17T10:00:00Z to 2026-06-17T11:00:00Z, the start is 60 min before that; choose another start, or give a current for that day');
  });

  it('a current table that ends while the boat is out', () => {
    const table: CurrentField = { at: (_x, _y, timeS, out) => void out.fill(timeS <= START_S + 300 ? 0.1 : NaN), startS: START_S - 3600, endS: START_S + 300, maxMps: 0.2, source: 'stream.csv' };
    const verdict = judge({ current: table });
    expect(verdict.go).toBe(false);
    expect(verdict.reason).toMatch(/^the current is not known on .* at 2026-06-17T09:05:01Z: stream\.csv runs from 2026-06-17T08:00:00Z to 2026-06-17T09:05:00Z$/);
  });

  it('a start outside the tide table, and a table that ends before the sortie', () => {
    const level = (fromS: number, toS: number) => seriesLevel([fromS, toS], [1, 1], 1e6);
    expect(judge({ bottomDepthM: () => 5, level: level(START_S - 7200, START_S - 3600) }).reason).toBe('the water level is not known at the start, 2026-06-17T09:00:00Z: the tide table runs from 2026-06-17T07:00:00Z to 2026-06-17T08:00:00Z, the start is 60 min after that; choose another start, or give a level for that day');
    expect(judge({ bottomDepthM: () => 5, level: level(START_S - 7200, START_S + 60) }).reason).toMatch(/^the water level is not known at the end of the sortie, 2026-06-17T09:1\d:\d\dZ: the tide table runs from 2026-06-17T07:00:00Z to 2026-06-17T09:01:00Z; leave earlier, or give a longer table$/);
  });

  it('a launch point inside a keep-out or on land', () => {
    expect(judge({ keepouts: [square(0, 0, 5)] }).reason).toBe('the launch point lies inside a keep-out');
    expect(judge({ land: [square(0, 0, 5)] }).reason).toBe('the launch point lies on land');
  });

  it('a line through a keep-out: which, and where', () => {
    const { verdict } = rehearseSortie(request({ keepouts: [square(35, 150, 4)] }));
    expect(verdict.reason).toBe('line 2 runs into a keep-out');
    expect(verdict.concerns[0]).toMatchObject({ kind: 'keep-out', legIndex: 6, xM: 35, yM: 154 });
  });

  it('a turn that swings into a keep-out beside the legs', () => {
    const sortie = sortieOf([leg('launch', 1, 2, 0, 0, 0, 100), leg('line', 1, 2, 0, 100, 100, 100)]);
    const verdict = judge({ sortie, current: constantCurrent(0, 0, 0), keepouts: [square(4, 103, 1.5)], options: { acceptanceM: 0.5 } });
    expect(verdict.reason).toMatch(/^off its leg the boat gets into a keep-out on line 1 at /);
  });

  it('a keep-out nearer than the boat keeps its track is a caution', () => {
    const verdict = judge({ keepouts: [square(14.3, 150, 5.3)], current: constantCurrent(0, 0, 0) });
    expect(verdict.go).toBe(true);
    expect(verdict.concerns[0]).toMatchObject({ kind: 'keep-out', weight: 'caution' });
    expect(verdict.concerns[0]!.text).toMatch(/^the track passes 0\.[34] m from a keep-out or land on line 1, within the boat's cross-track error of 0\.6 m \(95 %\)$/);
  });

  it('a sortie longer than the battery, into the reserve, and too uncertain', () => {
    const needed = rehearseSortie(request()).totals.energyWh;
    const empty = judge({ boat: plainBoat({ batteryWh: 0.5 * needed, battery95Wh: 0.1 }) });
    expect(empty.reason).toMatch(/^the sortie needs 1\d ± 1 Wh \(95 %\), the battery holds \d Wh: it is empty at 2026-06-17T09:0\d:\d\dZ$/);
    expect(empty.chanceHome).toBeLessThan(0.001);
    expect(judge({ boat: plainBoat({ batteryWh: 1.1 * needed, battery95Wh: 0.1 }) }).reason).toMatch(/it goes into the reserve of 20 %$/);
    const unsure = judge({ boat: plainBoat({ batteryWh: 1.3 * needed, battery95Wh: 0.4 * needed }) });
    expect(unsure.reason).toMatch(/^the chance that the battery lasts is 9\d\.\d %, 99\.0 % is wanted: /);
    // z = 0.3 / hypot(0.4 / 1.96, energy95 / 1.96 / needed)
    const { totals } = rehearseSortie(request());
    const z = (0.3 * 1.96) / Math.hypot(0.4, totals.energy95Wh / needed);
    expect(unsure.chanceHome).toBeGreaterThan(0.9);
    expect(Math.abs(unsure.chanceHome - (0.5 + 0.5 * erf(z / Math.SQRT2)))).toBeLessThan(1e-4);
  });

  it('cold: less of the battery counts', () => {
    const needed = rehearseSortie(request()).totals.energyWh;
    const boat = plainBoat({ batteryWh: 1.5 * needed, battery95Wh: 0.01 });
    expect(judge({ boat }).go).toBe(true);
    expect(judge({ boat, options: { batteryShare: 0.6 } }).reason).toMatch(/^the sortie needs .*, the battery holds/);
  });

  it('dusk before the boat is home, and a start before dawn', () => {
    expect(judge({ sunAltitudeDeg: (timeS) => 2 - (timeS - START_S) / 100 }).reason).toMatch(/^the sun sinks below -0\.833 deg at 2026-06-17T09:04:4\dZ, on line 2, before the boat is home$/);
    expect(judge({ sunAltitudeDeg: (timeS) => -2 + (timeS - START_S) / 100 }).reason).toMatch(/^the sun is -2\.0 deg high at the start, -0\.833 deg is wanted; it is from 2026-06-17T09:01:5\dZ$/);
  });

  it('too little water: where, how much, and from when there is enough', () => {
    // 0.2 m of draft on 1 m below datum; the level rises from -0.6 m by 1 m in an hour: 0.5 m under the boat at -0.3 m, 1080 s on.
    const level = seriesLevel([START_S - 3600, START_S, START_S + 3600, START_S + 7200], [-1.6, -0.6, 0.4, 1.4], 1e4);
    const shoal = judge({ level, bottomDepthM: (x) => (x > 18 && x < 22 ? 1 : 9) });
    expect(shoal.reason).toMatch(/^0\.2 m under the boat on .*line 1.* at 2026-06-17T09:00:\d\dZ, 0\.5 m wanted; there is from 2026-06-17T09:(18|19|20|21|22|23):\d\dZ$/);
    expect(judge({ level, bottomDepthM: (x) => (x > 18 && x < 22 ? 0.5 : 9) }).reason).toMatch(/^the boat is aground on .*: 0\.\d m short of water, 0\.5 m wanted; there is from /);
  });

  it('a lost link is a condition, or a no-go where it is to be one', () => {
    const linkMarginDb = (_x: number, y: number): number => (y > 200 ? -5 : 10);
    const caution = judge({ linkMarginDb });
    expect(caution.go).toBe(true);
    expect(caution.concerns[0]!.text).toMatch(/^the link is expected to be lost for [23](\.\d)? min, \d\d % of the sortie in 2 stretches, the first from line 1 at .*; at worst -5 dB; at .*, with 2\d % of its lines run, the boat breaks off and comes straight home$/);
    expect(judge({ linkMarginDb, options: { linkLostIsNoGo: true } }).go).toBe(false);
  });

  it('every other concern is ranked after the limiting one', () => {
    const verdict = judge({ boat: plainBoat({ batteryWh: 10, standIns: ['yaw rate on the spot 30 deg/s'] }), sunAltitudeDeg: () => -10, linkMarginDb: () => -1, options: { toleranceM: 0.1 } });
    expect(verdict.concerns.map(({ kind, weight }) => `${weight} ${kind}`)).toEqual(['no-go battery', 'no-go daylight', 'condition link', 'caution painting', 'note boat']);
    expect(verdict.reason).toBe(verdict.concerns[0]!.text);
  });

  it('a speed the boat does not make is rehearsed at its top speed, and said', () => {
    const verdict = judge({ sortie: linesSortie(2, 100, 20, 4) });
    expect(verdict.concerns.map((one) => one.text)).toContain('4.00 m/s is ordered, the boat makes 2.80 m/s: rehearsed at that');
  });

  it('no legs, and legs without length', () => {
    expect(judge({ sortie: sortieOf([]) }).reason).toBe('the sortie has no legs to run');
    expect(judge({ sortie: sortieOf([leg('line', 1, 1.5, 3, 3, 3, 3)]) }).reason).toBe('the sortie has no legs to run');
  });

  it('options out of their range are the caller\'s mistake', () => {
    expect(() => rehearseSortie(request({ options: { acceptanceM: 0 } }))).toThrow('acceptanceM 0: expected more than 0');
    expect(() => rehearseSortie(request({ options: { reserveShare: 1 } }))).toThrow('reserveShare 1: expected 0 up to, not including, 1');
    expect(() => rehearseSortie(request({ startS: NaN }))).toThrow('startS NaN: expected UTC seconds');
  });
});

/** Maclaurin series, apart from the project's own. */
function erf(x: number): number {
  let term = x;
  let sum = x;
  for (let n = 1; n < 80; n++) {
    term *= (-x * x) / n;
    sum += term / (2 * n + 1);
  }
  return (2 / Math.sqrt(Math.PI)) * sum;
}
