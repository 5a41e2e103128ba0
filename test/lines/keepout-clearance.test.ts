import { describe, expect, it } from 'vitest';
import { segmentPolygonDistanceM } from '../../src/geo/segment.js';
import type { LinePlan, SurveyLine } from '../../src/lines/line-plan.js';
import { runEnds } from '../../src/lines/line-plan.js';
import { planLines } from '../../src/lines/plan-lines.js';
import { frame, options, polygon, rectangle, turned, X, Y } from './grounds.js';

const area = [rectangle(0, 0, 400, 300)];
const rock = rectangle(180, 130, 40, 40);

const plan = (more: Partial<typeof options>, keepouts = [rock], over = area): LinePlan => planLines({ area: over, keepouts, frame, options: { ...options, ...more } });

/** The nearest any line, run-in and run-out with it, comes to a polygon [m]. */
function nearestM(lines: readonly SurveyLine[], to = rock): number {
  return Math.min(
    ...lines.map((line) => {
      const run = runEnds(line);
      return segmentPolygonDistanceM(to, run.fromXM, run.fromYM, run.toXM, run.toYM);
    }),
  );
}

describe('keepoutM: how far lines stop short of keep-outs', () => {
  it('planLines: lines end exactly keepoutM short of a keep-out square to them, and reach the area\'s edge all the same', () => {
    const made = plan({ headingDeg: 0, keepoutM: 12 });
    // Levels at x = 10, 30, ... 390; the one at 190 meets the rock's south side, at y = 130.
    const below = made.main.filter((line) => Math.abs(line.startXM - X - 190) < 0.01 && Math.max(line.startYM, line.endYM) < Y + 150);
    expect(below.length).toBe(1);
    expect(Math.max(below[0]!.startYM, below[0]!.endYM) - Y).toBeCloseTo(118, 2);
    expect(Math.min(below[0]!.startYM, below[0]!.endYM) - Y).toBeCloseTo(0, 6);
    expect(Math.min(...made.main.map((line) => Math.min(line.startYM, line.endYM))) - Y).toBeCloseTo(0, 6);
  });

  for (const keepoutM of [0.5, 5, 12, 35]) {
    it(`planLines: no line, run-in or run-out within ${keepoutM} m of keep-outs aslant, cross lines and covering edges with them`, () => {
      const aslant = turned(rectangle(150, 100, 70, 45), 23);
      const made = plan({ keepoutM, crossShare: 0.1, runInM: 8, runOutM: 8, cells: true, edges: 'cover' }, [aslant]);
      expect(nearestM([...made.main, ...made.cross], aslant)).toBeGreaterThanOrEqual(keepoutM - 1e-3);
    });
  }

  it('planLines: covering edges are run keepoutM off the keep-out, also where that is more than a quarter of the spacing', () => {
    const aslant = turned(rectangle(150, 100, 90, 60), 23);
    const cut = plan({ headingDeg: 90, keepoutM: 8, edges: 'cut' }, [aslant]);
    const cover = plan({ headingDeg: 90, keepoutM: 8, edges: 'cover' }, [aslant]);
    const along = cover.main.filter((line) => Math.abs(line.endYM - line.startYM) > 0.1 * line.lengthM);
    expect(cut.main.every((line) => Math.abs(line.endYM - line.startYM) < 0.1)).toBe(true);
    expect(along.length).toBeGreaterThan(0);
    // Along an edge: both ends as far off it, the clearance and a centimetre.
    for (const line of along) expect(nearestM([line], aslant)).toBeCloseTo(8.01, 2);
  });

  it('planLines: a hole of the area counts as a keep-out', () => {
    const holed = polygon([[0, 0], [400, 0], [400, 300], [0, 300]], [[180, 130], [180, 170], [220, 170], [220, 130]]);
    const made = plan({ keepoutM: 10 }, [], [holed]);
    expect(nearestM(made.main)).toBeGreaterThanOrEqual(10 - 1e-3);
  });

  it('planLines: the larger of inset and keepoutM holds at keep-outs', () => {
    expect(nearestM(plan({ headingDeg: 0, insetM: 15, keepoutM: 5 }).main)).toBeGreaterThanOrEqual(15 - 1e-3);
    expect(nearestM(plan({ headingDeg: 0, insetM: 5, keepoutM: 15 }).main)).toBeGreaterThanOrEqual(15 - 1e-3);
  });

  it('planLines: transit keeps keepoutM off as well, where no clearance of its own is set', () => {
    const made = plan({ headingDeg: 90, keepoutM: 9 });
    let nearest = Infinity;
    for (const { path } of made.transits) for (let i = 0; i + 3 < path.length; i += 2) nearest = Math.min(nearest, segmentPolygonDistanceM(rock, path[i]!, path[i + 1]!, path[i + 2]!, path[i + 3]!));
    expect(nearest).toBeGreaterThanOrEqual(9 - 1e-3);
  });

  it('planLines: with 0 it says that lines run right up to the keep-outs, with more it does not', () => {
    expect(plan({}).notes.join('\n')).toContain('lines.keepoutM');
    expect(plan({ keepoutM: 4 }).notes.join('\n')).not.toContain('lines.keepoutM');
  });

  it('planLines: names keepoutM and its limit when it is below 0 or no number', () => {
    for (const keepoutM of [-1, NaN, Infinity]) expect(() => plan({ keepoutM })).toThrow(RangeError);
    expect(() => plan({ keepoutM: -1 })).toThrow('keepoutM -1: expected 0 or more');
  });
});
