import { describe, expect, test } from 'vitest';
import { UseError } from '../../src/base/errors.js';
import { createFrame } from '../../src/geo/frame.js';
import { geodesicLeg } from '../../src/geo/geodesic.js';
import { reversedRing } from '../../src/geo/ring.js';
import type { LineOptions, LinePlan } from '../../src/lines/line-plan.js';
import { planLines } from '../../src/lines/plan-lines.js';
import { frame, options, polygon, rectangle, turned, X, Y } from './grounds.js';

const plan = (area: Parameters<typeof planLines>[0]['area'], more: Partial<LineOptions> = {}, keepouts: Parameters<typeof planLines>[0]['keepouts'] = []): LinePlan =>
  planLines({ area, keepouts, frame, options: { ...options, ...more } });

describe('a rectangle of 1000 m by 400 m', () => {
  // About the central meridian: 500 m beside it, grid and true north differ by 0.005 deg, 4 cm over half the area.
  const area = [rectangle(-500, 0, 1000, 400)];

  test('planLines: 20 lines of 1000 m, 20 m apart, the first 10 m from the edge, along the longer side', () => {
    const made = plan(area);
    expect(made.main).toHaveLength(20);
    expect(made.headingDeg).toBeCloseTo(90, 2);
    const across = made.main.map((line) => (line.startYM + line.endYM) / 2 - Y).sort((a, b) => a - b);
    across.forEach((y, k) => expect(y).toBeCloseTo(10 + 20 * k, 2));
    for (const line of made.main) expect(line.lengthM).toBeCloseTo(1000, 2);
    expect(made.lengths.mainM).toBeCloseTo(20_000, 1);
    // Back and forth: 19 changes of 20 m, 10 s each; 2 m/s.
    expect(made.lengths.transitM).toBeCloseTo(380, 2);
    expect(made.time.turns).toBe(19);
    expect(made.time.totalS).toBeCloseTo((20_000 + 380) / 2 + 190, 1);
    expect(made.order).toHaveLength(20);
    expect(made.why[0]).toBe('heading 090: along the longer side, 20 lines instead of 50 on heading 000');
    expect(made.notes).toEqual([]);
  });

  test('planLines: what is left over is shared by both edges', () => {
    // 400 m at 30 m: 14 lines span 390 m, 5 m are left on each side.
    const across = plan(area, { spacingM: 30, headingDeg: 90 }).main.map((line) => line.startYM - Y).sort((a, b) => a - b);
    expect(across).toHaveLength(14);
    expect(across[0]!).toBeCloseTo(5, 2);
    expect(across[13]!).toBeCloseTo(395, 2);
  });

  test('planLines: run-in and run-out lie beyond the lines and count as transit', () => {
    const made = plan(area, { runInM: 12, runOutM: 7, headingDeg: 90 });
    for (const line of made.main) expect([line.runInM, line.runOutM]).toEqual([12, 7]);
    expect(made.lengths.runInOutM).toBeCloseTo(20 * 19, 6);
    // A run-out ends 7 m past the edge, the next run-in starts 12 m past it.
    expect(made.lengths.transitM).toBeCloseTo(19 * Math.hypot(20, 5), 2);
    expect(made.time.transitS).toBeCloseTo((made.lengths.transitM + made.lengths.runInOutM) / 2, 9);
    expect(made.time.totalS).toBeCloseTo(made.time.mainS + made.time.transitS + made.time.turnsS, 9);
  });

  test('planLines: cross lines square to them, evenly spread, at least the share, over every main line, run first', () => {
    const made = plan(area, { crossShare: 0.05, headingDeg: 90 });
    // 5 % of 20 km is 1000 m: three of 400 m.
    expect(made.cross).toHaveLength(3);
    const at = made.cross.map((line) => (line.startXM + line.endXM) / 2 - X + 500).sort((a, b) => a - b);
    [1000 / 6, 500, 5000 / 6].forEach((x, k) => expect(at[k]!).toBeCloseTo(x, 1));
    expect(made.lengths.crossShare).toBeCloseTo(0.06, 4);
    expect(made.cross.map((line) => line.order).sort()).toEqual([1, 2, 3]);
    expect(made.cross.map((line) => line.number)).toEqual([21, 22, 23]);
    expect(made.why[1]).toContain("3 cross lines, 6.0 % of the main lines' length, over every main line; run first");
  });

  test('planLines: one cross line where the share asks for less than one', () => {
    expect(plan(area, { crossShare: 0.001, headingDeg: 90 }).cross).toHaveLength(1);
    expect(plan(area, { crossShare: 0, headingDeg: 90 }).cross).toHaveLength(0);
  });

  test('planLines: an inset keeps lines off the edges and leaves at most half a spacing beyond it', () => {
    const made = plan(area, { insetM: 15, headingDeg: 90 });
    const across = made.main.map((line) => line.startYM - Y).sort((a, b) => a - b);
    expect(across[0]!).toBeGreaterThanOrEqual(15 - 1e-6);
    expect(across[0]!).toBeLessThanOrEqual(25 + 1e-6);
    for (const line of made.main) expect(line.lengthM).toBeCloseTo(970, 2);
  });

  test('planLines: a keep-out splits the lines, none nearer than the inset; run-outs stop short of it', () => {
    const keepout = rectangle(-100, 150, 200, 100);
    const made = plan(area, { headingDeg: 90, insetM: 5, runInM: 10, runOutM: 10 }, [keepout]);
    // 390 m at 20 m: 20 lines from 10 m; the keep-out with 5 m around it reaches from 145 to 255: levels 150 ... 250.
    const split = made.main.filter((line) => line.lengthM < 500);
    expect(split).toHaveLength(12);
    for (const line of split) expect(line.lengthM).toBeCloseTo(390, 0);
    expect(Math.min(...split.map((line) => line.lengthM))).toBeGreaterThan(389.9);
    for (const line of split) expect(Math.min(line.runInM, line.runOutM)).toBe(0);
    expect(made.notes[0]).toBe('12 run-ins or run-outs are shortened by keep-outs');
  });

  test('planLines: a hole in the area is kept out of, and that is said', () => {
    const made = plan([polygon([[-500, 0], [500, 0], [500, 400], [-500, 400]], [[-100, 150], [-100, 250], [100, 250], [100, 150]])], { headingDeg: 90 });
    // Levels at 150, 170 ... 250 m are split, those on the hole's own edges too.
    expect(made.main).toHaveLength(26);
    expect(made.notes).toContain('1 hole in the area taken as keep-outs: lines and transit stay out of them');
  });

  test('planLines: two parts apart have lines of their own, two that touch share them', () => {
    const apart = plan([rectangle(-150, 0, 300, 100), rectangle(-150, 130, 300, 110)], { headingDeg: 90 });
    const across = apart.main.map((line) => line.startYM - Y).sort((a, b) => a - b);
    [10, 30, 50, 70, 90, 135, 155, 175, 195, 215, 235].forEach((y, k) => expect(across[k]!).toBeCloseTo(y, 2));
    expect(apart.why).toContain('the area is 2 separate parts; each has its own lines');
    const touching = plan([rectangle(-300, 0, 300, 100), rectangle(0, 0, 300, 100)], { headingDeg: 90 });
    expect(touching.notes).toEqual([]);
    expect(touching.main).toHaveLength(5);
    for (const line of touching.main) expect(line.lengthM).toBeCloseTo(600, 2);
    const inset = plan([rectangle(-300, 0, 300, 100), rectangle(0, 0, 300, 100)], { headingDeg: 90, insetM: 5 });
    expect(inset.notes).toEqual(['where parts of the area touch, the inset is kept on both sides of the shared edge: join them into one polygon to have lines across it']);
  });

  test('planLines: the heading as set is kept, and said when another is much quicker', () => {
    const across = plan(area, { headingDeg: 0 });
    expect(across.main).toHaveLength(50);
    expect(across.headingDeg).toBe(0);
    // 30 more turns of 10 s and 20 m at 2 m/s: 600 s.
    expect(across.why[0]).toBe('heading 000: as set; heading 090 would take about 10 min less (20 lines instead of 50)');
    expect(plan(area, { headingDeg: 270 }).why[0]).toBe('heading 270: as set');
  });

  test('planLines: from the launch point and back to it', () => {
    const made = plan(area, { headingDeg: 90, launch: { xM: X - 530, yM: Y + 10 } });
    expect(made.transits).toHaveLength(21);
    expect(made.transits[0]!.fromLine).toBeNull();
    expect(made.transits[20]!.toLine).toBeNull();
    // Twenty lines end on the side they began, 380 m further: out 30 m, back the diagonal.
    expect(made.lengths.transitM).toBeLessThanOrEqual(380 + 30 + Math.hypot(30, 380) + 0.1);
  });
});

test('planLines: the heading is true, not grid: lines west of the central meridian run on the geodesic bearing asked for', () => {
  const west = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
  const [x, y] = west.toFrame(60, -29.8);
  const area = [{ outer: Float64Array.of(x, y, x + 800, y, x + 800, y + 800, x, y + 800), holes: [] }];
  for (const headingDeg of [0, 37, 90, 200, 359.5]) {
    const made = planLines({ area, keepouts: [], frame: west, options: { ...options, headingDeg } });
    for (const line of made.main) {
      const a = west.toGeographic(line.startXM, line.startYM);
      const b = west.toGeographic(line.endXM, line.endYM);
      const leg = geodesicLeg(...a, ...b);
      // The bearing at the middle of the line, where the leg's two ends differ by the convergence along it.
      const middle = (((leg.startBearingDeg + leg.endBearingDeg) / 2 + 360) % 360 + 360) % 360;
      const apart = (p: number, q: number): number => Math.abs(((p - q + 540) % 360) - 180);
      // Over 800 m at 60 N a meridian turns by 0.012 deg; headings are run to a degree.
      expect(Math.min(apart(middle, headingDeg), apart(middle, headingDeg + 180))).toBeLessThan(0.02);
      expect(apart(line.headingDeg, middle)).toBeLessThan(0.005);
    }
  }
});

test('planLines: an L: its long limb and its short one are covered, with one set of lines', () => {
  const area = [polygon([[0, 0], [600, 0], [600, 200], [200, 200], [200, 500], [0, 500]])];
  const made = plan(area, { headingDeg: 90, crossShare: 0.05 });
  // 500 m at 20 m: 25 levels; ten over the wide part, fifteen over the narrow one.
  expect(made.main.filter((line) => Math.abs(line.lengthM - 600) < 0.1)).toHaveLength(10);
  expect(made.main.filter((line) => Math.abs(line.lengthM - 200) < 0.1)).toHaveLength(15);
  expect(made.why[1]).toContain('over every main line');
  expect(made.lengths.crossShare).toBeGreaterThanOrEqual(0.05);
});

test('planLines: a U with limbs no even cross line meets gets one more', () => {
  // One even cross line stands in the middle, over the base alone; the limbs are 30 m wide at both ends.
  const area = [polygon([[0, 0], [1000, 0], [1000, 300], [970, 300], [970, 60], [30, 60], [30, 300], [0, 300]])];
  const made = plan(area, { headingDeg: 90, crossShare: 0.01 });
  expect(made.why[1]).toContain('over every main line');
});

test('planLines: the same plan whichever way rings run, wherever they start, however often it is asked', () => {
  const area = turned(polygon([[0, 0], [500, 40], [450, 300], [100, 350], [-50, 200]]), 17);
  const keepout = turned(rectangle(150, 120, 60, 60), 30);
  const first = plan([area], { crossShare: 0.05, runInM: 5, runOutM: 5 }, [keepout]);
  expect(plan([area], { crossShare: 0.05, runInM: 5, runOutM: 5 }, [keepout])).toEqual(first);
  const rolled = Float64Array.from([...area.outer.subarray(4), ...area.outer.subarray(0, 4)]);
  const again = plan([{ outer: reversedRing(rolled), holes: [] }], { crossShare: 0.05, runInM: 5, runOutM: 5 }, [{ outer: reversedRing(keepout.outer), holes: [] }]);
  expect(again.main).toHaveLength(first.main.length);
  expect(again.time.totalS).toBeCloseTo(first.time.totalS, 3);
});

test('planLines: dragging gives the same lines as working on it, for a heading as set', () => {
  const area = [polygon([[0, 0], [500, 40], [450, 300], [100, 350]])];
  const keepouts = [rectangle(200, 100, 50, 50)];
  const quick = plan(area, { headingDeg: 30, crossShare: 0.05, effort: 'drag' }, keepouts);
  const full = plan(area, { headingDeg: 30, crossShare: 0.05 }, keepouts);
  const place = (made: LinePlan): string[] => made.main.map((line) => [line.number, Math.min(line.startXM, line.endXM)].join(' '));
  expect(place(quick)).toEqual(place(full));
  expect(full.time.totalS).toBeLessThanOrEqual(quick.time.totalS + 1e-6);
});

describe('what cannot be planned', () => {
  const message = (make: () => unknown): string => {
    try {
      make();
    } catch (error) {
      expect(error).toBeInstanceOf(UseError);
      return (error as Error).message;
    }
    throw new Error('planned all the same');
  };

  test('planLines: no area, an area of no size, one that crosses itself', () => {
    expect(message(() => plan([]))).toBe('area: there is none: expected at least one polygon; draw the area or read it from a file');
    expect(message(() => plan([polygon([[0, 0], [100, 0], [50, 0]])]))).toBe('area: encloses no area: expected more than 0 m2, found 0.000 m2; draw corners that are not on one line');
    const [latDeg, lonDeg] = frame.toGeographic(X + 50, Y + 50);
    expect(message(() => plan([polygon([[0, 0], [100, 100], [100, 0], [0, 100]])]))).toBe(
      `area: its edge crosses itself at ${latDeg.toFixed(5)} N 0${Math.abs(lonDeg).toFixed(5)} W: expected an outline that does not; move or delete a corner near there`,
    );
  });

  test('planLines: a keep-out that cannot be is named by its number', () => {
    expect(message(() => plan([rectangle(0, 0, 100, 100)], {}, [rectangle(10, 10, 5, 5), polygon([[0, 0], [1, 1]])]))).toMatch(/^keep-out 2: has too few corners at /);
  });

  test('planLines: no line fits', () => {
    const area = [rectangle(0, 0, 100, 30)];
    expect(message(() => plan(area, { insetM: 20 }))).toBe(
      'lines: none fits: expected room inside the area, found it 30.0 m wide with an inset of 20 m and its keep-outs; make the inset or the keep-outs smaller',
    );
    expect(message(() => plan(area, { minLengthM: 200, headingDeg: 90 }))).toBe('lines: none fits: expected stretches of at least 200 m, found 2 shorter; lower the least length or turn the lines');
    expect(message(() => plan(area, {}, [rectangle(-10, -10, 200, 200)]))).toMatch(/^keep-out 1: covers the whole area: expected water to survey outside it/);
  });

  test('planLines: a spacing that is a slip, a launch point in a keep-out', () => {
    expect(message(() => plan([rectangle(-500, 0, 1000, 1000)], { spacingM: 0.02, headingDeg: 0 }))).toBe(
      'line spacing: 0.02 m gives 50000 lines over 1000 m: expected at most 20000; choose a wider spacing or a smaller area',
    );
    expect(message(() => plan([rectangle(0, 0, 100, 100)], { launch: { xM: X - 15, yM: Y } }, [rectangle(-20, -5, 10, 10)]))).toMatch(
      /^launch point \d\d\.\d{5} N 0\d\d\.\d{5} W: lies in a keep-out: expected open water; move the launch point or the keep-out$/,
    );
  });

  test('planLines: options out of their limits are the caller’s mistake', () => {
    const area = [rectangle(0, 0, 100, 100)];
    const cases: [Partial<LineOptions>, string][] = [
      [{ spacingM: 0 }, 'spacingM 0: expected more than 0'],
      [{ spacingM: NaN }, 'spacingM NaN: expected more than 0'],
      [{ speedMps: -1 }, 'speedMps -1: expected more than 0'],
      [{ headingDeg: 360 }, 'headingDeg 360: expected 0 <= heading < 360, or null'],
      [{ crossShare: 1.5 }, 'crossShare 1.5: expected 0 to 1'],
      [{ insetM: -1 }, 'insetM -1: expected 0 or more'],
      [{ runInM: NaN }, 'runInM NaN: expected 0 or more'],
      [{ clearanceM: 0 }, 'clearanceM 0: expected more than 0'],
      [{ launch: { xM: NaN, yM: 0 } }, 'launch NaN, 0: expected numbers'],
    ];
    for (const [more, text] of cases) {
      expect(() => plan(area, more)).toThrow(RangeError);
      expect(() => plan(area, more)).toThrow(text);
    }
  });

  test('planLines: a rectangle has its lines along one of its sides, none of them a stub', () => {
    for (const [widthM, heightM, deg, spacingM] of [[300, 290, 0, 33], [600, 300, 20, 33], [500, 450, 20, 20]] as const) {
      const plan = planLines({ area: [turned(rectangle(0, 0, widthM, heightM), deg)], keepouts: [], frame, options: { ...options, spacingM, runInM: 5, runOutM: 5 } });
      const lengths = plan.main.map((line) => line.lengthM);
      expect(Math.min(...lengths)).toBeGreaterThan(0.99 * heightM);
      expect(Math.max(...lengths) - Math.min(...lengths)).toBeLessThan(0.01 * widthM);
    }
  });
});
