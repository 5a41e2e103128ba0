import { describe, expect, it } from 'vitest';
import { polylineLengthM } from '../../src/geo/segment.js';
import { planLines } from '../../src/lines/plan-lines.js';
import { planSorties } from '../../src/lines/plan-sorties.js';
import type { SortieRequest } from '../../src/lines/plan-sorties.js';
import type { SortiePlan } from '../../src/lines/sortie.js';
import { constantCurrent } from '../../src/water/current-field.js';
import { boat } from './boats.js';
import { frame, options, polygon, rectangle, X, Y } from './grounds.js';

const area = [rectangle(0, 0, 600, 300)];
const plan = planLines({ area, keepouts: [], frame, options: { ...options, runInM: 5, runOutM: 5, launch: { xM: X - 50, yM: Y } } });

function request(more: Partial<SortieRequest> = {}): SortieRequest {
  return {
    plan,
    keepouts: [],
    frame,
    model: boat(),
    current: constantCurrent(0, 0, 0),
    startS: 1_800_000_000,
    launch: { xM: X - 50, yM: Y },
    speedMps: 1.5,
    reserveShare: 0.2,
    ...more,
  };
}

function checkJoined(sorties: SortiePlan, launch: { xM: number; yM: number }): void {
  for (const sortie of sorties.sorties) {
    let [x, y] = [launch.xM, launch.yM];
    for (const leg of sortie.legs) {
      expect(Math.hypot(leg.path[0]! - x, leg.path[1]! - y)).toBeLessThan(1e-6);
      [x, y] = [leg.path[leg.path.length - 2]!, leg.path[leg.path.length - 1]!];
      expect(polylineLengthM(leg.path) / leg.lengthM).toBeGreaterThan(0.98);
      expect(polylineLengthM(leg.path) / leg.lengthM).toBeLessThan(1.0001);
    }
    expect(Math.hypot(x - launch.xM, y - launch.yM)).toBeLessThan(1e-6);
    expect(sortie.legs[0]!.kind).toBe('launch');
    expect(sortie.legs[sortie.legs.length - 1]!.kind).toBe('home');
  }
}

describe('planSorties', () => {
  it('planSorties: one sortie with every line when the battery is enough, legs joined end to end', () => {
    const made = planSorties(request());
    expect(made.sorties.length).toBe(1);
    expect(made.sorties[0]!.lines.length).toBe(plan.main.length);
    checkJoined(made, request().launch);
    // Still water: the time is at least the way over the speed, and the energy the power over that time: 20 + 18 x 1.5^3 W.
    const [only] = made.sorties;
    expect(only!.timeS).toBeGreaterThan(only!.lengthM / 1.5 - 1e-6);
    expect(only!.energyWh).toBeCloseTo(((20 + 18 * 1.5 ** 3) * only!.timeS) / 3600, 6);
  });

  it('planSorties: more sorties when the battery is small, each line once, none above what the reserve leaves', () => {
    const model = boat({ batteryWh: 80, battery95Wh: 6 });
    const made = planSorties(request({ model }));
    expect(made.sorties.length).toBeGreaterThan(2);
    const lines = made.sorties.flatMap((sortie) => sortie.lines).sort((a, b) => a - b);
    expect(lines).toEqual(plan.main.map((line) => line.number).sort((a, b) => a - b));
    checkJoined(made, request().launch);
    for (const sortie of made.sorties) {
      const sigma = Math.hypot(sortie.energy95Wh / 1.96, (6 / 1.96) * 0.8);
      expect(sortie.energyWh + 1.6449 * sigma).toBeLessThanOrEqual(80 * 0.8 + 1e-6);
    }
  });

  it('planSorties: time along and against a current is that of the triangle by hand', () => {
    // One line of 600 m to the east and back home straight: 1.5 m/s with and against 0.5 m/s; turns cost the same.
    const one = planLines({ area: [rectangle(0, 0, 600, 10)], keepouts: [], frame, options: { ...options, headingDeg: 90, launch: { xM: X, yM: Y + 5 } } });
    const still = planSorties(request({ plan: one, launch: { xM: X, yM: Y + 5 } })).sorties[0]!;
    const moving = planSorties(request({ plan: one, launch: { xM: X, yM: Y + 5 }, current: constantCurrent(0.5, 0, 0.1) })).sorties[0]!;
    expect(moving.timeS - still.timeS).toBeCloseTo(600 / 2 + 600 / 1 - 1200 / 1.5, 2);
    expect(moving.time95S).toBeGreaterThan(still.time95S);
  });

  it('planSorties: a line longer than one charge is cut into pieces that one charge runs, all of it run once', () => {
    const one = planLines({ area: [rectangle(0, 0, 2000, 10)], keepouts: [], frame, options: { ...options, headingDeg: 90, runInM: 5, runOutM: 0, launch: { xM: X + 1000, yM: Y + 5 } } });
    const model = boat({ batteryWh: 50, battery95Wh: 2 });
    const launch = { xM: X + 1000, yM: Y + 5 };
    const made = planSorties(request({ plan: one, model, launch }));
    checkJoined(made, launch);
    expect(made.verdict.go).toBe(true);
    expect(made.notes.join()).toMatch(/line 1 is longer than one charge runs: cut into \d+ pieces that one does, each with its own run-in/);
    const pieces = made.sorties.flatMap((sortie) => sortie.legs.filter((leg) => leg.kind === 'line'));
    expect(pieces.length).toBeGreaterThan(1);
    const spans = pieces.map(({ path }) => [Math.min(path[0]!, path[2]!) - X, Math.max(path[0]!, path[2]!) - X]).sort((a, b) => a[0]! - b[0]!);
    expect(spans[0]![0]).toBeCloseTo(0, 6);
    expect(spans[spans.length - 1]![1]).toBeCloseTo(2000, 6);
    for (let k = 1; k < spans.length; k++) expect(spans[k]![0]).toBeCloseTo(spans[k - 1]![1]!, 6);
    const runIns = made.sorties.flatMap((sortie) => sortie.legs.filter((leg) => leg.kind === 'run-in'));
    expect(runIns.length).toBe(pieces.length);
    for (const sortie of made.sorties) expect(sortie.energyWh + 1.6449 * Math.hypot(sortie.energy95Wh / 1.96, (2 / 1.96) * 0.8)).toBeLessThanOrEqual(50 * 0.8 + 1e-6);
  });

  it('planSorties: what no charge reaches is left out with the reason and the verdict is no-go, the rest is planned', () => {
    // 18 Wh carry the boat some 320 m out and back: the far end of a line of 2 km is beyond it.
    const one = planLines({ area: [rectangle(0, 0, 2000, 10)], keepouts: [], frame, options: { ...options, headingDeg: 90, launch: { xM: X, yM: Y + 5 } } });
    const made = planSorties(request({ plan: one, model: boat({ batteryWh: 18, battery95Wh: 1 }), launch: { xM: X, yM: Y + 5 } }));
    expect(made.verdict.go).toBe(false);
    expect(made.verdict.reason).toMatch(/^line 1 is left out: \d+ m of it: the way there and back takes more than one charge: [\d]+ Wh with its margin, 14 Wh above the reserve/);
    expect(made.sorties.length).toBeGreaterThan(0);
    const ran = made.sorties.flatMap((sortie) => sortie.legs.filter((leg) => leg.kind === 'line')).reduce((sum, leg) => sum + leg.lengthM, 0);
    const left = made.leftOut.reduce((sum, { path }) => sum + Math.hypot(path[2]! - path[0]!, path[3]! - path[1]!), 0);
    expect(ran + left).toBeCloseTo(2000, 3);
  });

  it('planSorties: says so when the launch point is in a keep-out, the start outside the table, the speed beyond the boat, the current too strong', () => {
    expect(() => planSorties(request({ keepouts: [polygon([[-60, -10], [-40, -10], [-40, 10], [-60, 10]])] }))).toThrow(/launch point .* lies in a keep-out/);
    const table = { ...constantCurrent(0, 0, 0), startS: 1000, endS: 2000 };
    expect(() => planSorties(request({ current: table }))).toThrow(/start 2027-01-15T08:00:00Z: outside the time the current is known for/);
    expect(() => planSorties(request({ speedMps: 4 }))).toThrow(/more than the boat makes: expected at most 2.80 m\/s/);
    const race = planSorties(request({ current: constantCurrent(2, 0, 0) }));
    expect(race.sorties).toEqual([]);
    expect(race.verdict.go).toBe(false);
    expect(race.verdict.reason).toMatch(/lines 1, 2, .* are left out: the current, up to 2\.00 m\/s, is stronger than the boat at 1\.50 m\/s on it or on the way there and back, and it does not change/);
    expect(race.leftOut.length).toBe(plan.main.length);
    expect(race.leftOut[0]).toMatchObject({ kind: 'current', boatMps: 1.5, currentMps: 2 });
  });

  it('planSorties: waits for the current to slacken when it is too strong at first', () => {
    const slackS = 1_800_000_000 + 3600;
    const current = {
      ...constantCurrent(0, 0, 0),
      maxMps: 2,
      at: (_x: number, _y: number, timeS: number, out: Float64Array): void => {
        out[0] = timeS < slackS ? 2 : 0;
        out[1] = 0;
        out[2] = 0;
      },
    };
    const made = planSorties(request({ current }));
    expect(made.verdict.go).toBe(false);
    expect(made.verdict.reason).toMatch(/^sortie 1 leaves at 2027-01-15 09:00 UTC, not before: until then the current on line \d+ or the way to it and back, up to 2\.00 m\/s, is more than the boat beats at 1\.50 m\/s/);
    expect(made.sorties[0]!.notBeforeS).toBe(slackS);
    expect(made.leftOut).toEqual([]);
    expect(made.sorties[0]!.timeS).toBeLessThan(planSorties(request({ startS: slackS })).sorties[0]!.timeS + 1);
  });

  it('planSorties: lines in a race are left out with both speeds, sorties of the others are planned', () => {
    const inRace = (x: number): boolean => x > X + 310;
    const current = {
      ...constantCurrent(0, 0, 0),
      maxMps: 2,
      at: (x: number, _y: number, _t: number, out: Float64Array): void => out.set([0, inRace(x) ? 2 : 0, 0]),
    };
    const upDown = planLines({ area, keepouts: [], frame, options: { ...options, headingDeg: 0, spacingM: 40 } });
    const made = planSorties(request({ plan: upDown, current }));
    const out = made.leftOut.map(({ line }) => line);
    // The current is looked at every 150 m or less: a line 30 m within the race may do.
    const racing = (fromX: number): number[] => upDown.main.filter((line) => line.startXM > X + fromX).map(({ number }) => number);
    expect(out).toEqual(expect.arrayContaining(racing(360)));
    expect(racing(310)).toEqual(expect.arrayContaining(out));
    expect(made.sorties.flatMap(({ lines }) => lines).length).toBe(upDown.main.length - out.length);
    expect(made.verdict.go).toBe(false);
  });
});
