import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { crossingCauses, type CauseKind, type CrossingSide, type CrossingStates } from '../../src/depths/crossing-causes.js';
import { crossingStanding, lineAgreements } from '../../src/depths/line-offsets.js';

/**
 * A day on an invented floor, worked out by hand here: 24 main lines east and west, 4 cross lines north and south, run one
 * after the other at 1.5 m/s, 300 m long; a semidiurnal tide of 1.2 m; the floor slopes 4 % east and 2.5 % north, with hills.
 * Each side's error is put in by its definition, not by the code under test.
 */
interface Mistake {
  (side: { timeS: number; line: number; trip: number; along: number; across: number; speed: number; below: number }): number;
}
const TIDE_S = 12.42 * 3600;
const level = (timeS: number): number => 1.2 * Math.sin((2 * Math.PI * timeS) / TIDE_S);
const slopeEast = (x: number, y: number): number => 0.04 + 0.06 * Math.cos(x / 23) * Math.sin(y / 31);
const slopeNorth = (x: number, y: number): number => 0.025 + 0.05 * Math.sin(x / 23) * Math.cos(y / 31);

function day(seed: number, mistake: Mistake, noiseM = 0.05): CrossingStates {
  const random = createRandom(seed);
  const lineS = 220;
  const mains = 24;
  const crosses = 4;
  const count = mains * crosses;
  const columns = (): CrossingSide => ({
    timeS: new Float64Array(count),
    line: new Int32Array(count),
    trip: new Int32Array(count),
    alongSlope: new Float64Array(count),
    acrossSlope: new Float64Array(count),
    speedMps: new Float64Array(count),
    belowM: new Float64Array(count),
  });
  const [a, b] = [columns(), columns()];
  const differenceM = new Float64Array(count);
  let at = 0;
  for (let main = 0; main < mains; main++) {
    for (let cross = 0; cross < crosses; cross++, at++) {
      const x = 40 + cross * 70;
      const y = main * 10;
      const eastward = main % 2 === 0;
      const northward = cross % 2 === 0;
      const swap = main >= 12 ? 1200 : 0;
      const sides = [
        { timeS: 5 * lineS + main * lineS + swap + (eastward ? x : 300 - x) / 1.5, line: main + 1, trip: main >= 12 ? 1 : 0, along: (eastward ? 1 : -1) * slopeEast(x, y), across: (eastward ? -1 : 1) * slopeNorth(x, y) },
        { timeS: cross * lineS + (northward ? y : 240 - y) / 1.5, line: 100 + cross, trip: 0, along: (northward ? 1 : -1) * slopeNorth(x, y), across: (northward ? 1 : -1) * slopeEast(x, y) },
      ].map((side) => ({ ...side, speed: 1.3 + 0.4 * random.uniform(), below: 8 + 0.04 * x }));
      [a, b].forEach((side, k) => {
        const one = sides[k]!;
        side.timeS[at] = one.timeS;
        side.line[at] = one.line;
        side.trip[at] = one.trip;
        side.alongSlope[at] = one.along;
        side.acrossSlope[at] = one.across;
        side.speedMps[at] = one.speed;
        side.belowM[at] = one.below;
      });
      differenceM[at] = mistake(sides[1]!) - mistake(sides[0]!) + noiseM * Math.SQRT2 * random.normal();
    }
  }
  return { count, differenceM, a, b };
}
const OPTIONS = { levelAt: (timeS: Float64Array) => timeS.map(level), leastM: 0.01 };
const SEEDS = Array.from({ length: 20 }, (_, i) => i + 1);

/** In how many of the seeded days the strongest cause is of a kind and its 95 % holds the value. */
function tally(mistake: Mistake, kind: CauseKind, value: number, noiseM?: number): { named: number; held: number } {
  let named = 0;
  let held = 0;
  for (const seed of SEEDS) {
    const first = crossingCauses(day(seed, mistake, noiseM), OPTIONS)[0];
    if (first === undefined || (first.kind !== kind && !first.alsoKinds.includes(kind))) continue;
    named++;
    if (first.kind === kind && Math.abs(first.value - value) <= first.half95) held++;
  }
  return { named, held };
}

describe('crossingCauses', () => {
  it('crossing causes: a water level an hour late is named with its size', () => {
    const { named, held } = tally(({ timeS }) => level(timeS + 3600) - level(timeS), 'tide-time', 3600);
    expect(named).toBe(20);
    expect(held).toBeGreaterThanOrEqual(17);
  });
  it('crossing causes: a draft 5 cm wrong from the second trip on is named as that trip', () => {
    const { named, held } = tally(({ trip }) => (trip === 1 ? 0.05 : 0), 'trip-step', 0.05);
    expect(named).toBeGreaterThanOrEqual(19);
    expect(held).toBeGreaterThanOrEqual(16);
    const first = crossingCauses(day(3, ({ trip }) => (trip === 1 ? 0.05 : 0)), OPTIONS)[0]!;
    expect(first.trip).toBe(1);
  });
  it('crossing causes: latency of 0.6 s shows on slopes run both ways', () => {
    const { named, held } = tally(({ along, speed }) => 0.6 * speed * along, 'latency', 0.6, 0.03);
    expect(named).toBeGreaterThanOrEqual(18);
    expect(held).toBeGreaterThanOrEqual(12);
  });
  it('crossing causes: a beam 6 degrees off the vertical is roll, or an offset to starboard', () => {
    const rad = (6 * Math.PI) / 180;
    const { named } = tally(({ across, below }) => rad * below * across, 'roll', 6, 0.03);
    expect(named).toBeGreaterThanOrEqual(18);
  });
  it('crossing causes: one bad line is named', () => {
    for (const seed of SEEDS) {
      const causes = crossingCauses(day(seed, ({ line }) => (line === 7 ? 0.3 : 0)), OPTIONS);
      expect(causes[0]).toMatchObject({ kind: 'one-line', line: 7 });
      expect(Math.abs(causes[0]!.value - 0.3)).toBeLessThan(0.12);
    }
  });
  it('crossing causes: squat that grows with speed', () => {
    const { named } = tally(({ speed }) => -0.08 * speed * speed, 'squat', 0.08, 0.03);
    expect(named).toBeGreaterThanOrEqual(15);
  });
  it('crossing causes: noise alone is given no cause, at most one day in twenty', () => {
    const named = Array.from({ length: 60 }, (_, i) => crossingCauses(day(1000 + i, () => 0), OPTIONS)).filter((causes) => causes.length > 0).length;
    expect(named).toBeLessThanOrEqual(3);
  });
  it('crossing causes: errors that wander along a cross line are given no cause but a draft of one trip, at most one day in ten', () => {
    const wandering = SEEDS.filter((seed) => {
      const random = createRandom(1000 + seed);
      const on = new Map<number, number>();
      // Crossings of one cross line come 10 m apart, some 7 s: each error is seven tenths of the one before, and chance.
      const mistake: Mistake = ({ line }) => {
        if (line < 100) return 0;
        const next = 0.7 * (on.get(line) ?? 0.08 * random.normal()) + 0.08 * Math.sqrt(1 - 0.49) * random.normal();
        on.set(line, next);
        return next;
      };
      return crossingCauses(day(seed, mistake, 0.01), OPTIONS).some(({ kind }) => kind !== 'trip-step');
    });
    expect(wandering.length).toBeLessThanOrEqual(2);
  });
  it('crossing causes: a line off by what the level may swing is left to the claim, one off by more is named', () => {
    const bad: Mistake = ({ line }) => (line === 101 ? 0.12 : 0);
    for (const seed of SEEDS.slice(0, 5)) {
      // 1.96 sqrt(2) x 3 cm is 8 cm, x 6 cm is 17 cm.
      expect(crossingCauses(day(seed, bad), { ...OPTIONS, levelSwingM: 0.03 })[0]).toMatchObject({ kind: 'one-line', line: 101 });
      expect(crossingCauses(day(seed, bad), { ...OPTIONS, levelSwingM: 0.06 })).toEqual([]);
    }
  });
  it('crossing causes: two at once are both found', () => {
    const causes = crossingCauses(day(5, ({ timeS, line }) => level(timeS + 3600) - level(timeS) + (line === 9 ? 0.4 : 0), 0.04), OPTIONS);
    expect(causes.map(({ kind }) => kind).sort()).toEqual(['one-line', 'tide-time']);
  });
  it('crossing causes: none from fewer than eight crossings', () => {
    const whole = day(1, ({ line }) => (line === 1 ? 1 : 0));
    expect(crossingCauses({ ...whole, count: 7 }, OPTIONS)).toEqual([]);
  });
});

describe('lineAgreements', () => {
  it('line agreement: offsets put in come back, with 95 % that holds them', () => {
    const random = createRandom(11);
    const truth = Array.from({ length: 12 }, (_, i) => 0.05 * Math.sin(i));
    const mean = truth.reduce((sum, one) => sum + one, 0) / truth.length;
    let inside = 0;
    let total = 0;
    for (let round = 0; round < 60; round++) {
      const lineA: number[] = [];
      const lineB: number[] = [];
      const differenceM: number[] = [];
      for (let main = 0; main < 9; main++) {
        for (let cross = 9; cross < 12; cross++) {
          lineA.push(main);
          lineB.push(cross);
          differenceM.push(truth[cross]! - truth[main]! + 0.04 * random.normal());
        }
      }
      const found = lineAgreements({ count: lineA.length, lineA: Int32Array.from(lineA), lineB: Int32Array.from(lineB), differenceM: Float64Array.from(differenceM) });
      for (const { line, offsetM, offsetHalf95M } of found) {
        total++;
        if (Math.abs(offsetM - (truth[line]! - mean)) <= offsetHalf95M) inside++;
      }
    }
    expect(inside / total).toBeGreaterThan(0.9);
    expect(inside / total).toBeLessThan(0.985);
  });
  it('crossing standing: limits of S-44 order 1a at 10 m', () => {
    // sqrt(0.5^2 + (0.013 x 10)^2) = 0.5166 m; times sqrt 2 = 0.7306 m. IHO S-44 ed. 6.1.0, table 1.
    const at = (size: number) => crossingStanding({ count: 1, depthAM: Float64Array.of(10), depthBM: Float64Array.of(10), differenceM: Float64Array.of(size) }, '1a').met;
    expect(at(0.73)).toBe(true);
    expect(at(-0.73)).toBe(true);
    expect(at(0.732)).toBe(false);
  });
});
