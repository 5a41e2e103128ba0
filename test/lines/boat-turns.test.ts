import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { boatTurns } from '../../src/lines/boat-turns.js';
import { dubinsPath, dubinsWay } from '../../src/lines/dubins.js';
import { polylineLengthM } from '../../src/geo/segment.js';
import { boat } from './boats.js';

const angle = fc.double({ min: -7, max: 7, noNaN: true });
const metres = fc.double({ min: -60, max: 60, noNaN: true });

describe('dubinsWay', () => {
  it('dubinsWay: half a circle when the next line lies two radii to the left, straight when ahead', () => {
    expect(dubinsWay(0, 20, 0, Math.PI, 10).lengthM).toBeCloseTo(10 * Math.PI, 9);
    expect(dubinsWay(35, 0, 0, 0, 10).lengthM).toBeCloseTo(35, 9);
    expect(dubinsWay(10, 10, 0, Math.PI / 2, 10).lengthM).toBeCloseTo((10 * Math.PI) / 2, 5);
  });

  it('dubinsWay: a loop with a turn the other way when the next line lies closer than two radii', () => {
    // Three arcs tangent to each other (Dubins): centres 2 r apart, the outer two s apart across for lines s apart... here s = r.
    const way = dubinsWay(0, 10, 0, Math.PI, 10);
    expect(['RLR', 'LRL']).toContain(way.word);
    // By the isosceles triangle of the three centres, whose base is r + 2 r and sides 2 r: the outer arcs are acos(3/4) each.
    const outer = Math.acos(3 / 4);
    expect(way.lengthM).toBeCloseTo(10 * (Math.PI + 4 * outer), 6);
  });

  it('dubinsWay: its path ends where and as it should, never shorter than straight, the same length turned and mirrored', () => {
    fc.assert(
      fc.property(metres, metres, angle, angle, fc.double({ min: 1, max: 20, noNaN: true }), (dx, dy, from, to, radius) => {
        const way = dubinsWay(dx, dy, from, to, radius);
        // Follow the parts by themselves: end place and direction.
        let [x, y, heading] = [0, 0, from];
        way.parts.forEach((part, i) => {
          const kind = way.word[i];
          if (kind === 'S') {
            x += part * radius * Math.cos(heading);
            y += part * radius * Math.sin(heading);
            return;
          }
          const side = kind === 'L' ? 1 : -1;
          x += side * radius * (Math.sin(heading + side * part) - Math.sin(heading)) * side * side;
          y += side * radius * (Math.cos(heading) - Math.cos(heading + side * part));
          heading += side * part;
        });
        expect(Math.hypot(x - dx, y - dy)).toBeLessThan(1e-4 * radius);
        expect(Math.cos(heading - to)).toBeGreaterThan(1 - 1e-6);
        expect(way.lengthM).toBeGreaterThan(Math.hypot(dx, dy) - 1e-6);
        expect(dubinsWay(dx, -dy, -from, -to, radius).lengthM).toBeCloseTo(way.lengthM, 5);
        expect(dubinsWay(-dy, dx, from + Math.PI / 2, to + Math.PI / 2, radius).lengthM).toBeCloseTo(way.lengthM, 5);
        const path = dubinsPath(0, 0, dx, dy, from, way, radius, 0.02);
        expect(polylineLengthM(path)).toBeGreaterThan(way.lengthM * 0.999 - 1e-3);
        expect(polylineLengthM(path)).toBeLessThan(way.lengthM * 1.0001 + 1e-3);
      }),
      { seed: 11, numRuns: 400 },
    );
  });
});

describe('boatTurns', () => {
  it('boatTurns: an arc where lines lie wide apart, a spin where they lie close and the boat is nimble', () => {
    const turns = boatTurns(boat({ spinRateDegps: 20 }), 1.5);
    expect(turns.between(0, 10, 0, Math.PI).kind).toBe('arc');
    expect(turns.between(0, 10, 0, Math.PI).timeS).toBeCloseTo((Math.PI * 3 + 4) / 1.5, 6);
    expect(boatTurns(boat({ spinRateDegps: 120, yawTS: 0.1, turnDiameterM: () => 30 }), 1.5).between(0, 2, 0, Math.PI).kind).toBe('spin');
    expect(boatTurns(boat({ spinRateDegps: 2 }), 1.5).between(0, 2, 0, Math.PI).kind).toBe('loop');
  });

  it('boatTurns: never quicker than the straight way, and a corner costs nothing when there is none', () => {
    const turns = boatTurns(boat(), 1.5);
    expect(turns.cornerS(0)).toBe(0);
    fc.assert(
      fc.property(metres, metres, angle, angle, (dx, dy, from, to) => {
        expect(turns.between(dx, dy, from, to).timeS).toBeGreaterThanOrEqual(Math.hypot(dx, dy) / 1.5 - 1e-6);
      }),
      { seed: 12, numRuns: 300 },
    );
  });
});
