import fc from 'fast-check';
import { expect, test } from 'vitest';
import { createLinks, orderRuns, orderCost } from '../../src/lines/run-order.js';
import type { OrderProblem } from '../../src/lines/run-order.js';
import { exactOrder } from '../../src/lines/exact-order.js';
import { createTransitNetwork } from '../../src/lines/transit-network.js';
import { counter, rectangle, X, Y } from './grounds.js';

/** Lines with different run-ins and run-outs, so that the way back costs something else. */
function problem(lines: readonly (readonly [number, number, number, number])[], runInM: number, runOutM: number, more: Partial<OrderProblem> = {}): OrderProblem {
  const ends = lines.flatMap(([ax, ay, bx, by]) => {
    const length = Math.hypot(bx - ax, by - ay);
    const ux = (bx - ax) / length;
    const uy = (by - ay) / length;
    return [
      X + ax - ux * runInM, Y + ay - uy * runInM, X + bx + ux * runOutM, Y + by + uy * runOutM,
      X + bx + ux * runInM, Y + by + uy * runInM, X + ax - ux * runOutM, Y + ay - uy * runOutM,
    ];
  });
  return { ends: Float64Array.from(ends), network: createTransitNetwork([rectangle(80, 80, 40, 30)], 2), start: null, finish: null, effort: 'full', ...more };
}

/** The least transit over every order and every choice of directions, by trying them all. */
function bruteForceM(given: OrderProblem): number {
  const links = createLinks(given);
  let least = Infinity;
  const visit = (used: number, last: number, sum: number, count: number): void => {
    if (sum >= least) return;
    if (count === links.n) {
      least = Math.min(least, sum + links.cost(last, links.FINISH));
      return;
    }
    for (let s = 0; s < 2 * links.n; s++) {
      const bit = 1 << (s >> 1);
      if ((used & bit) === 0) visit(used | bit, s, sum + links.cost(last, s), count + 1);
    }
  };
  visit(0, links.START, 0, 0);
  return least;
}

const place = fc.double({ min: 0, max: 200, noNaN: true });
const anyLine = fc.tuple(place, place, place, place).filter(([ax, ay, bx, by]) => Math.hypot(bx - ax, by - ay) > 1);
const clearOf = (point: readonly [number, number]): boolean => point[0] < 75 || point[0] > 125 || point[1] < 75 || point[1] > 115;

test('orderRuns: up to six lines, no order and no choice of directions is shorter (every one tried)', () => {
  fc.assert(
    fc.property(fc.array(anyLine, { minLength: 1, maxLength: 6 }), fc.constantFrom([0, 0], [10, 4]), fc.boolean(), (lines, [runInM, runOutM], fromHome) => {
      fc.pre(lines.every(([ax, ay, bx, by]) => clearOf([ax, ay]) && clearOf([bx, by])));
      const home = fromHome ? ([X - 20, Y - 20] as const) : null;
      const given = problem(lines, runInM!, runOutM!, { start: home, finish: home });
      const found = orderRuns(given);
      expect(found.states.map((s) => s >> 1).sort((a, b) => a - b)).toEqual(lines.map((_, i) => i));
      expect(found.transitM).toBeCloseTo(orderCost(createLinks(given), found.states), 6);
      expect(found.transitM).toBeCloseTo(bruteForceM(given), 6);
    }),
    { seed: 89, numRuns: 60, endOnFailure: true },
  );
});

test('orderRuns: seven lines, every order tried', () => {
  const next = counter(21);
  for (let k = 0; k < 2; k++) {
    const lines = Array.from({ length: 7 }, (): [number, number, number, number] => [200 * next(), 200 + 100 * next(), 200 * next(), 200 + 100 * next()]);
    const given = problem(lines, 5, 5);
    expect(orderRuns(given).transitM).toBeCloseTo(bruteForceM(given), 6);
  }
});

test('orderRuns: thirteen lines, searched, come within 3 % of the best there is (Held & Karp)', () => {
  const next = counter(33);
  let exactly = 0;
  for (let k = 0; k < 10; k++) {
    const ragged = k % 2 === 0;
    const lines = Array.from({ length: 13 }, (_, i): [number, number, number, number] =>
      ragged ? [60 * next(), 200 + 25 * i, 300 + 100 * next(), 200 + 25 * i] : [400 * next(), 200 + 300 * next(), 400 * next(), 200 + 300 * next()],
    );
    const given = problem(lines, 5, k % 3 === 0 ? 9 : 5, { start: [X + 150, Y + 150], finish: k % 4 < 2 ? [X, Y + 180] : null });
    const best = exactOrder(createLinks(given)).transitM;
    const found = orderRuns(given).transitM;
    expect(found).toBeGreaterThanOrEqual(best - 1e-6);
    expect(found).toBeLessThanOrEqual(best * 1.03);
    if (found < best + 1e-6) exactly++;
  }
  expect(exactly).toBeGreaterThanOrEqual(7);
});

test('orderRuns: working on the order never makes it longer, and is the same every time', () => {
  const next = counter(7);
  for (const count of [12, 40, 120]) {
    const lines = Array.from({ length: count }, (): [number, number, number, number] => {
      const x = 1000 * next();
      const y = 200 + 1000 * next();
      return [x, y, x + 100 * next() - 50, y + 100 * next() + 1];
    });
    const lengths = (['drag', 'settle', 'full'] as const).map((effort) => orderRuns(problem(lines, 5, 8, { effort })));
    expect(lengths[1]!.transitM).toBeLessThanOrEqual(lengths[0]!.transitM + 1e-6);
    expect(lengths[2]!.transitM).toBeLessThanOrEqual(lengths[1]!.transitM + 1e-6);
    expect(new Set(lengths[2]!.states.map((s) => s >> 1)).size).toBe(count);
    expect(orderRuns(problem(lines, 5, 8)).states).toEqual(lengths[2]!.states);
  }
});

test('orderRuns: once settled, no part turned round and no one to three lines moved make it shorter (all tried, counted anew)', () => {
  const next = counter(55);
  for (let k = 0; k < 3; k++) {
    const lines = Array.from({ length: 14 }, (): [number, number, number, number] => [300 * next(), 200 + 300 * next(), 300 * next(), 200 + 300 * next()]);
    const given = problem(lines, 25, 3, { effort: 'settle', start: [X, Y], finish: [X + 100, Y] });
    const links = createLinks(given);
    const { states, transitM } = orderRuns(given);
    for (let i = 0; i < 14; i++) {
      for (let j = i; j < 14; j++) {
        const turnedRound = [...states.slice(0, i), ...states.slice(i, j + 1).reverse().map((s) => s ^ 1), ...states.slice(j + 1)];
        expect(orderCost(links, turnedRound)).toBeGreaterThan(transitM - 1e-5);
        if (j - i > 2) continue;
        const rest = [...states.slice(0, i), ...states.slice(j + 1)];
        for (let at = 0; at <= rest.length; at++) {
          for (const part of [states.slice(i, j + 1), states.slice(i, j + 1).reverse().map((s) => s ^ 1)]) {
            expect(orderCost(links, [...rest.slice(0, at), ...part, ...rest.slice(at)])).toBeGreaterThan(transitM - 1e-5);
          }
        }
      }
    }
  }
});

test('orderRuns: no lines, one line', () => {
  expect(orderRuns(problem([], 0, 0))).toEqual({ states: [], transitM: 0 });
  const one = orderRuns(problem([[0, 0, 50, 0]], 0, 0, { start: [X + 60, Y] }));
  expect(one.states).toEqual([1]);
  expect(one.transitM).toBeCloseTo(10, 9);
});
