import { describe, expect, it } from 'vitest';
import { UseError } from '../../src/base/errors.js';
import { planLines } from '../../src/lines/plan-lines.js';
import { planSorties } from '../../src/lines/plan-sorties.js';
import { constantCurrent } from '../../src/water/current-field.js';
import { boat } from './boats.js';
import { frame, options, polygon, rectangle, X, Y } from './grounds.js';

function failure(make: () => unknown): UseError {
  try {
    make();
  } catch (error) {
    expect(error).toBeInstanceOf(UseError);
    return error as UseError;
  }
  throw new Error('planned all the same');
}

describe('what cannot be planned, said and drawn', () => {
  const area = [rectangle(0, 0, 400, 300)];

  it('planLines: an area that crosses itself is drawn with the place of the crossing', () => {
    const error = failure(() => planLines({ area: [polygon([[0, 0], [100, 100], [100, 0], [0, 100]])], keepouts: [], frame, options }));
    expect([...error.what.where![0]!].map((v, i) => v - (i === 0 ? X : Y))).toEqual([expect.closeTo(50, 6), expect.closeTo(50, 6)]);
  });

  it('planLines: a keep-out that holds the whole area is named and drawn', () => {
    const error = failure(() => planLines({ area, keepouts: [rectangle(600, 0, 20, 20), rectangle(-50, -50, 600, 500)], frame, options }));
    expect(error.message).toBe('keep-out 2: covers the whole area: expected water to survey outside it; make it smaller, or delete it if it was meant as the area');
    expect(error.what.where!.length).toBe(2);
  });

  it('planLines: a launch point in a keep-out is drawn', () => {
    const error = failure(() => planLines({ area, keepouts: [rectangle(-100, 0, 50, 50)], frame, options: { ...options, launch: { xM: X - 80, yM: Y + 20 } } }));
    expect([...error.what.where![0]!]).toEqual([X - 80, Y + 20]);
  });

  it('planSorties: a launch point behind the shore, from which no way leads, names the line and draws it', () => {
    // A lagoon: a ring of land closed round the launch point.
    const land = polygon([[-300, -100], [-100, -100], [-100, 100], [-300, 100]], [[-250, -50], [-250, 50], [-150, 50], [-150, -50]]);
    const plan = planLines({ area, keepouts: [land], frame, options });
    const made = planSorties({ plan, keepouts: [land], frame, model: boat(), current: constantCurrent(0, 0, 0), startS: 0, launch: { xM: X - 200, yM: Y }, speedMps: 1.5, reserveShare: 0.2 });
    expect(made.verdict.go).toBe(false);
    expect(made.verdict.reason).toMatch(/^lines 1, 2, .* are left out: no way leads from the launch point to it and back around the keep-outs; make the keep-outs smaller or move the launch point/);
    expect(made.leftOut.length).toBe(plan.main.length);
    expect(made.leftOut.every(({ path }) => path.length === 4)).toBe(true);
  });

  it('planLines: an outline of 100 000 corners is planned', () => {
    const n = 100_000;
    const outer = new Float64Array(2 * n);
    for (let i = 0; i < n; i++) {
      const angle = (2 * Math.PI * i) / n;
      const reach = 400 + 60 * Math.sin(7 * angle) + 0.02 * Math.sin(997 * angle);
      outer[2 * i] = X + reach * Math.cos(angle);
      outer[2 * i + 1] = Y + reach * Math.sin(angle);
    }
    const before = process.cpuUsage();
    const made = planLines({ area: [{ outer, holes: [] }], keepouts: [], frame, options: { ...options, cells: true, edges: 'cover' } });
    const { user, system } = process.cpuUsage(before);
    expect(made.main.length).toBeGreaterThan(35);
    // Processor time, which other work on the machine leaves alone: some seconds, not minutes.
    expect((user + system) / 1e6).toBeLessThan(10);
  }, 120_000);
});
