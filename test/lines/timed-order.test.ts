import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createLegClock, trackSpeedMps } from '../../src/lines/leg-time.js';
import { routeBound } from '../../src/lines/route-bound.js';
import { createTimedLinks } from '../../src/lines/timed-links.js';
import type { TimedLinks, TimedProblem } from '../../src/lines/timed-links.js';
import { exactInTime, orderInTime, orderTimeS } from '../../src/lines/timed-order.js';
import { createTransitNetwork } from '../../src/lines/transit-network.js';
import { boatTurns } from '../../src/lines/boat-turns.js';
import { constantCurrent } from '../../src/water/current-field.js';
import type { CurrentField } from '../../src/water/current-field.js';
import { boat } from './boats.js';
import { counter } from './grounds.js';

/** A stream that turns with a tide of so many hours. */
function tidal(topMps: number, hours: number, towardsRad: number): CurrentField {
  return {
    at(_x, _y, timeS, out) {
      const now = topMps * Math.cos((2 * Math.PI * timeS) / (hours * 3600));
      out[0] = now * Math.cos(towardsRad);
      out[1] = now * Math.sin(towardsRad);
      out[2] = 0.05;
    },
    startS: -Infinity,
    endS: Infinity,
    maxMps: Math.abs(topMps),
    source: 'test',
  };
}

/** Lines anywhere in a square. */
function problem(n: number, seed: number, more: Partial<TimedProblem> = {}): TimedProblem {
  const next = counter(seed);
  const ends = new Float64Array(8 * n);
  for (let i = 0; i < n; i++) {
    const x = 2000 * next();
    const y = 2000 * next();
    const angle = 6.28 * next();
    const length = 200 + 600 * next();
    const [bx, by] = [x + length * Math.cos(angle), y + length * Math.sin(angle)];
    ends.set([x, y, bx, by, bx, by, x, y], 8 * i);
  }
  return { ends, network: createTransitNetwork([], 2), start: [0, 0], finish: [0, 0], speedMps: 1.5, turns: null, turnS: 8, current: null, startS: 0, horizonS: 6 * 3600, ...more };
}

/** The quickest of every order and direction, by trying them all. */
function bruteForceS(links: TimedLinks): number {
  let least = Infinity;
  const visit = (left: readonly number[], states: number[]): void => {
    if (left.length === 0) least = Math.min(least, orderTimeS(links, states));
    for (const line of left) for (const s of [2 * line, 2 * line + 1]) visit(left.filter((one) => one !== line), [...states, s]);
  };
  visit(Array.from({ length: links.n }, (_, i) => i), []);
  return least;
}

const anyField = fc.oneof(
  fc.constant(null),
  fc.tuple(fc.double({ min: -0.9, max: 0.9, noNaN: true }), fc.double({ min: -0.9, max: 0.9, noNaN: true })).map(([x, y]) => constantCurrent(x, y, 0)),
  fc.tuple(fc.double({ min: 0.2, max: 1.2, noNaN: true }), fc.double({ min: 1.5, max: 13, noNaN: true }), fc.double({ min: 0, max: 6, noNaN: true })).map(([top, hours, towards]) => tidal(top, hours, towards)),
);

describe('current triangle', () => {
  it('trackSpeedMps: 3, 4 and 5: across 3 with 5 through the water makes 4; along adds', () => {
    expect(trackSpeedMps(5, 0, 3)).toBeCloseTo(4, 12);
    expect(trackSpeedMps(5, 1, -3)).toBeCloseTo(5, 12);
    expect(trackSpeedMps(1, 0, 1)).toBeNaN();
  });

  it('createLegClock: along a stream that turns, the same time as small steps of another kind', () => {
    const field = tidal(0.8, 2, 0.7);
    const path = Float64Array.of(0, 0, 3000, 500);
    const leg = createLegClock(field).leg(path, 1000, 1.5);
    // Euler in steps of 0.1 s.
    const length = Math.hypot(3000, 500);
    const [ux, uy] = [3000 / length, 500 / length];
    const c = new Float64Array(3);
    let done = 0;
    let timeS = 1000;
    while (done < length) {
      field.at(0, 0, timeS, c);
      done += 0.1 * trackSpeedMps(1.5, c[0]! * ux + c[1]! * uy, c[0]! * uy - c[1]! * ux);
      timeS += 0.1;
    }
    expect(Math.abs(leg.runS / (timeS - 1000) - 1)).toBeLessThan(1e-3);
  });

  it('createLegClock: how the time hangs on the current and the speed, against differences', () => {
    const path = Float64Array.of(0, 0, 300, 400, 900, 100);
    const at = (cx: number, cy: number, v: number): number => createLegClock(constantCurrent(cx, cy, 0.1)).leg(path, 0, v).runS;
    const leg = createLegClock(constantCurrent(0.3, -0.2, 0.1)).leg(path, 0, 1.5);
    expect(leg.byCurrentX).toBeCloseTo((at(0.3001, -0.2, 1.5) - at(0.2999, -0.2, 1.5)) / 2e-4, 2);
    expect(leg.byCurrentY).toBeCloseTo((at(0.3, -0.1999, 1.5) - at(0.3, -0.2001, 1.5)) / 2e-4, 2);
    expect(leg.bySpeed).toBeCloseTo((at(0.3, -0.2, 1.5001) - at(0.3, -0.2, 1.4999)) / 2e-4, 2);
  });
});

describe('order in a current', () => {
  it('exactInTime: no order is quicker, in any current', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 4 }), fc.integer({ min: 1, max: 1e6 }), anyField, (n, seed, current) => {
        const links = createTimedLinks(problem(n, seed, { current }));
        const found = exactInTime(links);
        // An arrival that is never earlier for leaving later makes it exact; straight between quarter hours that holds to some seconds.
        expect(found.timeS).toBeCloseTo(bruteForceS(links), 3);
        expect(orderTimeS(links, found.states)).toBeCloseTo(found.timeS, 6);
      }),
      { seed: 31, numRuns: 40 },
    );
  });

  it('routeBound: never more than the quickest order, and near it', () => {
    let sum = 0;
    let count = 0;
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 7 }), fc.integer({ min: 1, max: 1e6 }), anyField, fc.boolean(), fc.boolean(), (n, seed, current, turning, home) => {
        const links = createTimedLinks(problem(n, seed, { current, turns: turning ? boatTurns(boat(), 1.5) : null, ...(home ? {} : { start: null, finish: null }) }));
        const best = exactInTime(links).timeS;
        const { boundS } = routeBound(links, best);
        expect(boundS).toBeLessThanOrEqual(best * (1 + 1e-9) + 1e-6);
        sum += boundS / best;
        count++;
      }),
      { seed: 32, numRuns: 120 },
    );
    expect(sum / count).toBeGreaterThan(0.9);
  });

  it('orderInTime: within 3 % of the quickest for eleven lines, found by search', () => {
    for (let seed = 1; seed <= 6; seed++) {
      const links = createTimedLinks(problem(11, seed, { current: tidal(0.7, 5, seed), turns: boatTurns(boat(), 1.5) }));
      const found = orderInTime(links, 'full');
      expect(found.exact).toBe(false);
      const best = exactInTime(links).timeS;
      expect(found.timeS).toBeGreaterThanOrEqual(best - 1e-6);
      expect(found.timeS / best).toBeLessThan(1.03);
    }
  });

  it('orderInTime: a line that the current makes impossible at first is run when it has slackened', () => {
    // 2 m/s to the east for an hour, then slack: the boat of 1.5 m/s can be carried east but neither go across nor come back.
    const field: CurrentField = {
      ...constantCurrent(0, 0, 0),
      maxMps: 2,
      at(_x, _y, timeS, out) {
        out[0] = timeS < 3600 ? 2 : 0;
        out[1] = 0;
        out[2] = 0;
      },
    };
    const ends = Float64Array.of(0, 50, 600, 50, 600, 50, 0, 50);
    const links = createTimedLinks({ ...problem(1, 1, { current: field, start: [600, 0], finish: [600, 0] }), ends });
    const found = orderInTime(links, 'full');
    expect(found.timeS).toBeGreaterThan(3600);
    expect(found.timeS).toBeLessThan(3600 + 900 + (1200 + 100) / 1.5 + 20);
  });
});

it('orderInTime: ends, with a boat\'s turns and lines of unlike lengths, and is no worse than back and forth', () => {
  // Runs once counted into the cost of a link whose way back was taken to cost the same: exchanges then went round for ever.
  const ends = new Float64Array(8 * 40);
  for (let i = 0; i < 40; i++) ends.set([0, 20 * i, 300 + 13 * ((7 * i) % 40), 20 * i, 300 + 13 * ((7 * i) % 40), 20 * i, 0, 20 * i], 8 * i);
  const links = createTimedLinks({ ...problem(1, 1), ends, turns: boatTurns(boat(), 1.5) });
  const found = orderInTime(links, 'full');
  const plain = Array.from({ length: 40 }, (_, i) => 2 * i + (i % 2));
  expect(found.timeS).toBeLessThanOrEqual(orderTimeS(links, plain) + 1e-6);
  expect(found.timeS).toBeGreaterThanOrEqual(routeBound(links, found.timeS).boundS);
});
