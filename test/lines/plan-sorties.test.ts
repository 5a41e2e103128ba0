import { describe, expect, it } from 'vitest';
import { UseError } from '../../src/base/errors.js';
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

  it('planSorties: a line that one charge does not afford is named, with what to draw', () => {
    let error: unknown;
    try {
      planSorties(request({ model: boat({ batteryWh: 10, battery95Wh: 1 }) }));
    } catch (caught) {
      error = caught;
    }
    expect(error).toBeInstanceOf(UseError);
    expect((error as UseError).message).toMatch(/^line \d+: one charge does not run it and come home: expected at most 8 Wh above the reserve, found [\d]+ Wh/);
    expect((error as UseError).what.where![0]!.length).toBe(4);
  });

  it('planSorties: says so when the launch point is in a keep-out, the start outside the table, the speed beyond the boat, the current too strong', () => {
    expect(() => planSorties(request({ keepouts: [polygon([[-60, -10], [-40, -10], [-40, 10], [-60, 10]])] }))).toThrow(/launch point .* lies in a keep-out/);
    const table = { ...constantCurrent(0, 0, 0), startS: 1000, endS: 2000 };
    expect(() => planSorties(request({ current: table }))).toThrow(/start 2027-01-15T08:00:00Z: outside the time the current is known for/);
    expect(() => planSorties(request({ speedMps: 4 }))).toThrow(/more than the boat makes: expected at most 2.80 m\/s/);
    expect(() => planSorties(request({ current: constantCurrent(2, 0, 0) }))).toThrow(/the current on the way is never one the boat can beat/);
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
    expect(made.notes.join()).toMatch(/of waiting for a current the boat can beat/);
    expect(made.sorties[0]!.timeS).toBeGreaterThan(3000);
  });
});
