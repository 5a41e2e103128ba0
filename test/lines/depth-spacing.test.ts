import { describe, expect, it } from 'vitest';
import { lineAreas } from '../../bench/line-areas.js';
import { createRandom } from '../../src/base/random.js';
import { pointInPolygons } from '../../src/geo/ring.js';
import type { Polygon } from '../../src/geo/shapes.js';
import type { SpacingAt } from '../../src/lines/depth-levels.js';
import type { SurveyLine } from '../../src/lines/line-plan.js';
import { planLines } from '../../src/lines/plan-lines.js';
import { frame, options, rectangle, X, Y } from './grounds.js';

/** A fan of 120 degrees with 10 % overlap, as the derivation has it: spacing 0.9 x 2 d tan 60. */
const perDepth = 0.9 * 2 * Math.tan(Math.PI / 3);

/** Depths that fall from 4 m to about 20 m across 1.2 km, with a bank and a pit. */
const depthAt = (x: number, y: number): number => {
  const fall = 4 + (16 * (x - X + 600)) / 1800;
  const bank = 3 * Math.exp(-((x - X - 300) ** 2 + (y - Y - 250) ** 2) / 120 ** 2);
  const pit = 5 * Math.exp(-((x - X + 100) ** 2 + (y - Y + 150) ** 2) / 90 ** 2);
  return Math.max(3, fall - bank + pit);
};
const spacingAt: SpacingAt = (x, y) => perDepth * depthAt(x, y);

/** Share of places dropped in an area that lie within half their own spacing of some line, by a plain look at each. */
function oracle(area: readonly Polygon[], keepouts: readonly Polygon[], lines: readonly SurveyLine[], at: SpacingAt, count: number): number {
  const random = createRandom(5);
  let xs = [Infinity, -Infinity];
  let ys = [Infinity, -Infinity];
  for (const { outer } of area) {
    for (let i = 0; i < outer.length; i += 2) {
      xs = [Math.min(xs[0]!, outer[i]!), Math.max(xs[1]!, outer[i]!)];
      ys = [Math.min(ys[0]!, outer[i + 1]!), Math.max(ys[1]!, outer[i + 1]!)];
    }
  }
  let seen = 0;
  let covered = 0;
  while (seen < count) {
    const x = random.between(xs[0]!, xs[1]!);
    const y = random.between(ys[0]!, ys[1]!);
    if (!pointInPolygons(area, x, y) || pointInPolygons(keepouts, x, y)) continue;
    seen++;
    const halfM = at(x, y) / 2;
    const near = lines.some((line) => {
      const [dx, dy] = [line.endXM - line.startXM, line.endYM - line.startYM];
      const t = ((x - line.startXM) * dx + (y - line.startYM) * dy) / (dx * dx + dy * dy);
      return t >= -1e-9 && t <= 1 + 1e-9 && Math.hypot(x - line.startXM - t * dx, y - line.startYM - t * dy) <= halfM + 1e-9;
    });
    if (near) covered++;
  }
  return covered / seen;
}

const narrowest = (area: readonly Polygon[]): number => {
  let least = Infinity;
  for (let x = X - 900; x <= X + 1500; x += 10) for (let y = Y - 1000; y <= Y + 1200; y += 10) if (pointInPolygons(area, x, y)) least = Math.min(least, spacingAt(x, y));
  return least;
};

describe('spacing that follows the depth', () => {
  it('planLines: every place of a rectangle is within half its own spacing of a line, on any heading; fewer lines than evenly', () => {
    const area = [rectangle(-500, -400, 1200, 800)];
    const spacingM = narrowest(area);
    for (const headingDeg of [0, 30, 90]) {
      const request = { area, keepouts: [], frame, options: { ...options, headingDeg, spacingM, minLengthM: 0, edges: 'cover' as const } };
      const made = planLines({ ...request, options: { ...request.options, spacingAtM: spacingAt } });
      const even = planLines(request);
      expect(oracle(area, [], made.main, spacingAt, 4000), `heading ${headingDeg}`).toBe(1);
      // Along the fall of the bottom every line meets the shallowest part: nothing is to be saved.
      expect(made.main.length).toBeLessThanOrEqual(even.main.length);
      if (headingDeg === 0) expect(made.lengths.mainM).toBeLessThan(0.7 * even.lengths.mainM);
      expect(made.why.join()).toMatch(/spacing follows the depth, .* lines, .* km, instead of \d+, .* km, at that spacing throughout; 100\.00 % of the water/);
    }
  });

  it('planLines: lines no closer than they must be: over an even bottom as many as evenly spaced', () => {
    const area = [rectangle(0, 0, 600, 400)];
    const request = { area, keepouts: [], frame, options: { ...options, headingDeg: 90, spacingM: 20, minLengthM: 0 } };
    const made = planLines({ ...request, options: { ...request.options, spacingAtM: () => 20 } });
    // The grid costs a step of a twelfth of the spacing.
    expect(made.main.length).toBeLessThanOrEqual(Math.ceil(planLines(request).main.length * (12 / 11)) + 1);
    expect(oracle(area, [], made.main, () => 20, 3000)).toBe(1);
  });

  it('planLines: while dragging the spacing follows the depth as well, with at most a tenth more lines than settled, nothing left out', () => {
    const area = [rectangle(-500, -400, 1200, 800)];
    const request = { area, keepouts: [], frame, options: { ...options, headingDeg: 0, spacingM: narrowest(area), minLengthM: 0, edges: 'cover' as const, spacingAtM: spacingAt } };
    const settled = planLines(request).main.length;
    const dragged = planLines({ ...request, options: { ...request.options, effort: 'drag' } });
    const even = planLines({ ...request, options: { ...request.options, effort: 'drag', spacingAtM: null } }).main.length;
    expect(dragged.main.length).toBeLessThan(0.85 * even);
    expect(dragged.main.length).toBeLessThanOrEqual(Math.ceil(1.1 * settled));
    expect(oracle(area, [], dragged.main, spacingAt, 4000)).toBe(1);
  });

  it('planLines: the narrowest spacing is kept where no depth is known', () => {
    const area = [rectangle(0, 0, 600, 400)];
    const known: SpacingAt = (x) => (x < X + 300 ? 60 : NaN);
    const made = planLines({ area, keepouts: [], frame, options: { ...options, headingDeg: 0, spacingM: 20, minLengthM: 0, edges: 'cover', spacingAtM: known } });
    expect(oracle(area, [], made.main, (x) => (x < X + 300 ? 60 : 20), 3000)).toBe(1);
    expect(made.main.filter((line) => line.startXM > X + 310).length).toBeGreaterThan(2 * made.main.filter((line) => line.startXM < X + 290).length);
  });

  it('planLines: 99.9 % covered and way saved against even spacing on seeded areas', () => {
    let own = 0;
    let plain = 0;
    for (const one of lineAreas(X, Y, 11, 2).filter(({ kind }) => kind !== 'holed' && kind !== 'current')) {
      const area = [one.area];
      const spacingM = narrowest(area);
      const request = { area, keepouts: [], frame, options: { ...options, headingDeg: 0, spacingM, minLengthM: 0, edges: 'cover' as const } };
      const made = planLines({ ...request, options: { ...request.options, spacingAtM: spacingAt } });
      expect(oracle(area, [], made.main, spacingAt, 3000), one.name).toBeGreaterThanOrEqual(0.999);
      own += made.lengths.mainM;
      plain += planLines(request).lengths.mainM;
    }
    expect(own).toBeLessThan(0.8 * plain);
  });
}, 60_000);
