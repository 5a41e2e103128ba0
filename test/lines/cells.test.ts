import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { pointInPolygon, pointInPolygons, polygonAreaM2 } from '../../src/geo/ring.js';
import { planLines } from '../../src/lines/plan-lines.js';
import { splitPolygon } from '../../src/lines/split-polygon.js';
import { bandStretches, sweepAxes, sweptRings } from '../../src/lines/sweep.js';
import { anyArea, counter, frame, options, polygon, X, Y } from './grounds.js';

const angle = fc.double({ min: 0, max: 6.28, noNaN: true });

describe('splitPolygon', () => {
  it('splitPolygon: the parts have the whole\'s area, lie on their sides, and share no point', () => {
    let cuts = 0;
    fc.assert(
      fc.property(anyArea, angle, fc.double({ min: -200, max: 200, noNaN: true }), fc.boolean(), (area, direction, off, holed) => {
        const hole = Float64Array.of(X - 20, Y - 20, X - 20, Y + 25, X + 30, Y + 20, X + 20, Y - 30);
        const whole = holed ? { outer: area.outer, holes: [hole] } : area;
        const [ux, uy] = [Math.cos(direction), Math.sin(direction)];
        const parts = splitPolygon(whole, { xM: X - off * uy, yM: Y + off * ux, ux, uy });
        if (parts === null) return;
        cuts++;
        const areaOf = (list: readonly { outer: Float64Array; holes: readonly Float64Array[] }[]): number => list.reduce((sum, one) => sum + polygonAreaM2(one), 0);
        expect(areaOf(parts.left) + areaOf(parts.right)).toBeCloseTo(polygonAreaM2(whole), 3);
        const next = counter(Math.round(1e6 * direction));
        for (let k = 0; k < 60; k++) {
          const x = X + 800 * (next() - 0.5);
          const y = Y + 800 * (next() - 0.5);
          const side = ux * (y - Y - off * ux) - uy * (x - X + off * uy);
          if (Math.abs(side) < 0.01) continue;
          const inside = pointInPolygon(whole, x, y);
          expect(parts.left.filter((one) => pointInPolygon(one, x, y)).length).toBe(inside && side > 0 ? 1 : 0);
          expect(parts.right.filter((one) => pointInPolygon(one, x, y)).length).toBe(inside && side < 0 ? 1 : 0);
        }
      }),
      { seed: 41, numRuns: 200 },
    );
    expect(cuts).toBeGreaterThan(120);
  });

  it('splitPolygon: through corners and along an edge, and not at all beside it', () => {
    const square = polygon([[0, 0], [100, 0], [100, 100], [0, 100]]);
    const diagonal = splitPolygon(square, { xM: X, yM: Y, ux: Math.SQRT1_2, uy: Math.SQRT1_2 })!;
    expect(polygonAreaM2(diagonal.left[0]!)).toBeCloseTo(5000, 0);
    expect(splitPolygon(square, { xM: X, yM: Y + 200, ux: 1, uy: 0 })).toBeNull();
    // An edge lies on the cut: it is moved aside, one part is next to nothing or there is none.
    const edge = splitPolygon(square, { xM: X, yM: Y, ux: 1, uy: 0 });
    if (edge !== null) expect(Math.min(polygonAreaM2(edge.left[0]!), polygonAreaM2(edge.right[0]!))).toBeLessThan(1);
  });
});

it('bandStretches: exactly where some point within the band abreast is inside', () => {
  fc.assert(
    fc.property(anyArea, fc.double({ min: 0, max: 360, noNaN: true }), fc.double({ min: 2, max: 40, noNaN: true }), (area, bearingDeg, halfM) => {
      const axes = sweepAxes(X, Y, bearingDeg);
      const rings = sweptRings(axes, [area]);
      const levels = { startM: -300, stepM: 37, count: 17 };
      const bands = bandStretches(rings, levels, halfM);
      const swept = { outer: rings[0]!, holes: [] };
      const next = counter(7);
      for (let k = 0; k < 80; k++) {
        const level = Math.floor(levels.count * next());
        const along = 900 * (next() - 0.5);
        const y = levels.startM + levels.stepM * level;
        const meets = Array.from({ length: 161 }, (_, i) => y + (halfM * (i - 80)) / 80).some((c) => pointInPolygons([swept], along, c));
        const stretches = bands[level]!;
        let edgeM = Infinity;
        let inside = false;
        for (let i = 0; i < stretches.length; i += 2) {
          if (along >= stretches[i]! && along <= stretches[i + 1]!) inside = true;
          edgeM = Math.min(edgeM, Math.abs(along - stretches[i]!), Math.abs(along - stretches[i + 1]!));
        }
        // Near an end of a stretch the sampled band may miss what is there.
        if (edgeM > 5) expect(meets).toBe(inside);
      }
    }),
    { seed: 42, numRuns: 80 },
  );
});

describe('cells', () => {
  const arms = polygon([[0, 0], [1200, 0], [1200, 200], [200, 200], [200, 900], [0, 900]]);

  it('planLines: the arms of an L have headings of their own where that is quicker, and that is said', () => {
    const one = planLines({ area: [arms], keepouts: [], frame, options });
    const cells = planLines({ area: [arms], keepouts: [], frame, options: { ...options, cells: true } });
    expect(cells.time.totalS).toBeLessThan(0.96 * one.time.totalS);
    expect(cells.why.join('\n')).toMatch(/2 cells with headings of their own, \d{3} \(\d+ lines\), \d{3} \(\d+ lines\): about \d+ min less than one heading for all/);
    const headings = new Set(cells.main.map((line) => Math.round(line.headingDeg) % 180));
    expect(headings.size).toBe(2);
  });

  it('planLines: one heading stays for a rectangle, and where a heading is set', () => {
    const rectangle = polygon([[0, 0], [900, 0], [900, 300], [0, 300]]);
    const made = planLines({ area: [rectangle], keepouts: [], frame, options: { ...options, cells: true } });
    expect(made).toEqual(planLines({ area: [rectangle], keepouts: [], frame, options }));
    const set = planLines({ area: [arms], keepouts: [], frame, options: { ...options, cells: true, headingDeg: 30 } });
    expect(new Set(set.main.map((line) => Math.round(line.headingDeg) % 180))).toEqual(new Set([30]));
  });
});
