import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { crossingPairs, findCrossings } from '../../src/depths/crossings.js';
import type { CrossingInput } from '../../src/depths/crossings.js';
import { assignLines, pointCourses, straightRuns } from '../../src/depths/line-of.js';
import type { PlacedPoints } from '../../src/depths/line-of.js';

/** Points every second along legs [x, y] at a speed. */
function sail(legs: readonly (readonly [number, number])[], speedMps = 1.5, stepS = 1): PlacedPoints & { leg: number[] } {
  const timeS: number[] = [];
  const xM: number[] = [];
  const yM: number[] = [];
  const leg: number[] = [];
  let time = 0;
  for (let k = 0; k + 1 < legs.length; k++) {
    const [x0, y0] = legs[k]!;
    const [x1, y1] = legs[k + 1]!;
    const steps = Math.round(Math.hypot(x1 - x0, y1 - y0) / (speedMps * stepS));
    for (let s = 0; s < steps; s++) {
      timeS.push(time);
      xM.push(x0 + ((x1 - x0) * s) / steps);
      yM.push(y0 + ((y1 - y0) * s) / steps);
      leg.push(k);
      time += stepS;
    }
  }
  return { n: timeS.length, timeS: Float64Array.from(timeS), xM: Float64Array.from(xM), yM: Float64Array.from(yM), leg };
}

// Three main lines to the north, 20 m apart, run in a serpentine, and one cross line to the east.
const LEGS = [[0, 0], [0, 100], [20, 100], [20, 0], [40, 0], [40, 100], [60, 100], [60, 50], [-20, 50]] as const;
const PLAN = [
  { number: 1, path: [0, 0, 0, 100] },
  { number: 2, path: [20, 0, 20, 100] },
  { number: 3, path: [40, 0, 40, 100] },
  { number: 101, path: [-20, 50, 60, 50] },
];
const OPTIONS = { corridorM: 5, headingDeg: 30, minRunM: 20 };

describe('assignLines', () => {
  it('gives each point the line it was run on, either way along it, and none to turns', () => {
    const points = sail(LEGS);
    const line = assignLines(points, PLAN, OPTIONS);
    const expected: Record<number, number> = { 0: 1, 2: 2, 4: 3, 7: 101 };
    points.leg.forEach((leg, i) => {
      const nearEnd = points.leg[i - 3] !== leg || points.leg[i + 3] !== leg;
      if (!nearEnd) expect(line[i], `point ${i} of leg ${leg}`).toBe(expected[leg] ?? -1);
    });
  });

  it('stays on the line being run where another crosses it', () => {
    const points = sail([[-20, 50], [60, 50]]);
    const line = assignLines(points, PLAN, OPTIONS);
    expect(new Set(line)).toEqual(new Set([101]));
  });

  it('keeps to the line being run where the corridor of a parallel one is entered, not where the other is the first', () => {
    const near = [
      { number: 1, path: [0, 0, 0, 100] },
      { number: 2, path: [6, 0, 6, 100] },
    ];
    const points = sail([[1, 0], [1, 50], [4, 60], [1, 70], [1, 100]]);
    expect(new Set(assignLines(points, near, OPTIONS))).toEqual(new Set([1]));
    expect(new Set(assignLines(sail([[5, 0], [5, 100]]), near, OPTIONS))).toEqual(new Set([2]));
  });

  it('drops a run shorter than the shortest, and one outside the corridor or on another course', () => {
    expect(new Set(assignLines(sail([[0, 0], [0, 15]]), PLAN, OPTIONS))).toEqual(new Set([-1]));
    expect(new Set(assignLines(sail([[7, 0], [7, 100]]), PLAN, OPTIONS))).toEqual(new Set([-1]));
    expect(new Set(assignLines(sail([[-4, 10], [4, 20]]), PLAN, { ...OPTIONS, minRunM: 1 }))).toEqual(new Set([-1]));
  });

  it('bridges points without a position, and gives them no line of their own accord', () => {
    const points = sail([[0, 0], [0, 100]]);
    points.xM.fill(NaN, 20, 24);
    points.yM.fill(NaN, 20, 24);
    const line = assignLines(points, PLAN, OPTIONS);
    expect([line[18], line[26]]).toEqual([1, 1]);
  });

  it('gives -1 without a plan and of nothing; refuses senseless options', () => {
    const points = sail(LEGS);
    expect(new Set(assignLines(points, [], OPTIONS))).toEqual(new Set([-1]));
    expect(assignLines(sail([[0, 0]]), PLAN, OPTIONS).length).toBe(0);
    expect(() => assignLines(points, PLAN, { ...OPTIONS, corridorM: 0 })).toThrow('corridorM 0: expected more than 0');
  });
});

describe('straightRuns', () => {
  it('finds the legs of a track without a plan', () => {
    const points = sail(LEGS);
    const { run, count } = straightRuns(points, { headingDeg: 30, minRunM: 30 });
    expect(count).toBe(5);
    const legOf = (number: number): number[] => [...new Set(points.leg.filter((_, i) => run[i] === number && points.leg[i - 4] === points.leg[i] && points.leg[i + 4] === points.leg[i]))];
    expect(range(count).map(legOf)).toEqual([[0], [2], [4], [6], [7]]);
  });

  it('pointCourses: NaN where the boat lies still', () => {
    const still = { n: 20, timeS: Float64Array.from({ length: 20 }, (_, i) => i), xM: new Float64Array(20), yM: new Float64Array(20) };
    expect([...pointCourses(still)].every(Number.isNaN)).toBe(true);
    expect(straightRuns(still, { headingDeg: 30, minRunM: 5 }).count).toBe(0);
  });
});

describe('findCrossings', () => {
  const plane = (x: number, y: number): number => 8 + 0.02 * x - 0.01 * y;
  const input = (points: PlacedPoints, line: Int32Array, depth: (x: number, y: number, i: number) => number = plane): CrossingInput => ({
    ...points,
    depthM: Float64Array.from({ length: points.n }, (_, i) => depth(points.xM[i]!, points.yM[i]!, i)),
    reason: new Uint8Array(points.n),
    line,
  });
  const CROSS = { minAngleDeg: 45, maxStepM: 5 };

  it('finds the three crossings of the cross line, where they are and with no difference on a plane', () => {
    const points = sail(LEGS);
    const crossings = findCrossings(input(points, assignLines(points, PLAN, OPTIONS)), CROSS);
    expect(crossings.count).toBe(3);
    expect([...crossings.xM].map((x) => Math.round(x * 1e6) / 1e6)).toEqual([0, 20, 40]);
    for (const y of crossings.yM) expect(y).toBeCloseTo(50, 9);
    for (const difference of crossings.differenceM) expect(Math.abs(difference)).toBeLessThan(1e-9);
    crossings.xM.forEach((x, i) => expect(crossings.depthAM[i]).toBeCloseTo(plane(x, 50), 9));
    expect(crossingPairs(crossings).map(({ lineA, lineB, count }) => [lineA, lineB, count])).toEqual([[1, 101, 1], [2, 101, 1], [3, 101, 1]]);
  });

  it('difference: the later run less the earlier; mean and 95 % of them; pairs the lower number first', () => {
    const points = sail(LEGS);
    const line = assignLines(points, PLAN, OPTIONS);
    const crossings = findCrossings(input(points, line, (x, y, i) => plane(x, y) + (line[i] === 101 ? 0.1 : 0)), CROSS);
    expect(crossings.meanM).toBeCloseTo(0.1, 9);
    expect(crossings.p95M).toBeCloseTo(0.1, 9);
    const backwards = findCrossings(input(points, line.map((number) => (number === 101 ? 0 : number)), (x, y, i) => plane(x, y) + (line[i] === 101 ? 0.1 : 0)), CROSS);
    expect(crossingPairs(backwards)[0]!.meanM).toBeCloseTo(-0.1, 9);
  });

  it('counts neither set-aside soundings, nor gaps, nor tracks at a small angle, nor a run with itself', () => {
    const points = sail(LEGS);
    const line = assignLines(points, PLAN, OPTIONS);
    const whole = input(points, line);
    const aside = { ...whole, reason: whole.reason.map((_, i) => (line[i] === 2 && Math.abs(points.yM[i]! - 50) < 8 ? 8 : 0)) };
    expect(findCrossings(aside, CROSS).count).toBe(2);
    const shallow = sail([[0, 0], [100, 0], [100, 20], [0, -20]]);
    const numbered = Int32Array.from(shallow.leg);
    expect(findCrossings(input(shallow, numbered), CROSS).count).toBe(0);
    expect(findCrossings(input(shallow, numbered), { ...CROSS, minAngleDeg: 15 }).count).toBe(1);
    const knot = sail([[0, 0], [0, 40], [20, 20], [-20, 20]]);
    expect(findCrossings(input(knot, new Int32Array(knot.n)), CROSS).count).toBe(0);
  });

  it('agrees with a comparison of every two steps on random zigzags', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 1000 }), (seed) => {
        const random = createRandom(seed);
        const legs = Array.from({ length: 8 }, () => [Math.round(random.between(0, 120)), Math.round(random.between(0, 120))] as const);
        const points = sail(legs);
        const numbered = input(points, Int32Array.from(points.leg));
        const course = pointCourses(points);
        let expected = 0;
        const sameLine = (i: number): boolean => i + 1 < points.n && points.leg[i] === points.leg[i + 1];
        for (let i = 0; i < points.n; i++) {
          for (let j = i + 1; j < points.n; j++) {
            if (!sameLine(i) || !sameLine(j) || points.leg[i] === points.leg[j]) continue;
            const side = (a: number, b: number, c: number): number =>
              (points.xM[b]! - points.xM[a]!) * (points.yM[c]! - points.yM[a]!) - (points.yM[b]! - points.yM[a]!) * (points.xM[c]! - points.xM[a]!);
            const apart = Math.abs(((course[i]! - course[j]! + 540) % 360) - 180);
            if (side(i, i + 1, j) * side(i, i + 1, j + 1) < 0 && side(j, j + 1, i) * side(j, j + 1, i + 1) < 0 && Math.min(apart, 180 - apart) >= 45) expected++;
          }
        }
        expect(findCrossings(numbered, CROSS).count).toBe(expected);
      }),
      { seed: 61, numRuns: 60 },
    );
  });

  it('of nothing: none, NaN; refuses senseless options', () => {
    const none = findCrossings(input(sail([[0, 0]]), new Int32Array(0)), CROSS);
    expect([none.count, none.meanM, none.p95M]).toEqual([0, NaN, NaN]);
    expect(() => findCrossings(input(sail(LEGS), new Int32Array(0)), { ...CROSS, minAngleDeg: 0 })).toThrow(RangeError);
  });
});

function range(n: number): number[] {
  return Array.from({ length: n }, (_, i) => i);
}
