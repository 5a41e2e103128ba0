import { createRandom } from '../base/random.js';
import { orderRuns } from './run-order.js';
import type { OrderEffort } from './run-order.js';
import type { TimedLinks } from './timed-links.js';
import { costsAt } from './timed-links.js';

/** States in the order they are run, and when the last is done and the boat at the finish, after it leaves [s]. */
export interface TimedOrder {
  readonly states: readonly number[];
  readonly timeS: number;
  /** No order is quicker, by the times reckoned with. */
  readonly exact: boolean;
}

/** Up to this many lines every order is weighed. */
const EXACT_LINES = 10;
/** The same where many plans are compared. */
const EXACT_QUICK = 6;
/** Steps from line to line that are looked at in the search, at most. */
const MOST_STEPS = 900_000;
const GAIN_S = 1e-6;

/** When an order is done, after leaving [s]. */
export function orderTimeS(links: TimedLinks, states: readonly number[]): number {
  let timeS = links.problem.startS;
  let before = links.START;
  for (const state of states) {
    timeS += links.stepS(before, state, timeS);
    before = state;
  }
  if (states.length > 0) timeS += links.linkS(before, links.FINISH, timeS);
  return timeS - links.problem.startS;
}

/**
 * An order, and a direction for each line, that takes little time in a current that changes.
 *
 * Up to ten lines: the quickest there is, by dynamic programming over the sets of lines run, the earliest arrival kept for
 * each set and last line (Held & Karp 1962); exact because an earlier arrival can wait. More: orders found for the current as it is at
 * several moments, and those turned round, the best of them improved by turning parts round and moving parts, each weighed
 * by its time from end to end.
 */
export function orderInTime(links: TimedLinks, effort: OrderEffort): TimedOrder {
  const { n, problem } = links;
  if (n === 0) return { states: [], timeS: 0, exact: true };
  if (n <= (effort === 'full' ? EXACT_LINES : EXACT_QUICK) && effort !== 'drag') return exactInTime(links);
  const search = (timeS: number, how: OrderEffort): number[] =>
    orderRuns({ ends: problem.ends, network: problem.network, start: problem.start, finish: problem.finish, effort: how, costs: costsAt(links, timeS) }).states.slice();
  if (!links.varies) {
    const states = search(problem.startS, effort);
    return { states, timeS: orderTimeS(links, states), exact: false };
  }
  const lastS = links.bins.startS + (links.bins.count - 1) * links.bins.stepS;
  const first = search(problem.startS, effort === 'full' ? 'settle' : effort);
  const aboutS = Math.min(orderTimeS(links, first), lastS - problem.startS);
  const starts = [first];
  if (effort === 'full') for (const share of [0.25, 0.5, 0.75]) starts.push(search(problem.startS + share * aboutS, 'settle'));
  for (const states of starts.slice()) starts.push(states.map((state) => state ^ 1).reverse());
  const ranked = starts.map((states) => ({ states, timeS: orderTimeS(links, states) })).sort((a, b) => a.timeS - b.timeS);
  let best: { states: readonly number[]; timeS: number } = ranked[0]!;
  if (effort === 'full') {
    for (const one of ranked.slice(0, 3)) {
      const better = improveInTime(links, one.states, MOST_STEPS / 6);
      if (better.timeS < best.timeS) best = better;
    }
    best = shaken(links, best);
  }
  return { states: best.states, timeS: best.timeS, exact: false };
}

/**
 * Shakes the best order found and improves it again, as often as there are steps: two neighbouring parts exchanged
 * (Martin, Otto & Felten 1991, Complex Systems 5, 299-326). The random numbers have a fixed seed.
 */
function shaken(links: TimedLinks, from: { states: readonly number[]; timeS: number }): { states: readonly number[]; timeS: number } {
  const random = createRandom(1);
  const n = from.states.length;
  let best = from;
  for (let left = MOST_STEPS / 2; left > 0 && n > 3; ) {
    const states = best.states.slice();
    const a = random.integer(n - 2);
    const b = a + 1 + random.integer(Math.min(20, n - a - 2));
    const c = b + 1 + random.integer(Math.min(20, n - b - 1));
    const parts = [states.slice(a, b), states.slice(b, c)];
    const turned = random.uniform() < 0.5 ? parts[1]!.map((state) => state ^ 1).reverse() : parts[1]!;
    states.splice(a, c - a, ...turned, ...parts[0]!);
    const better = improveInTime(links, states, left);
    left -= better.steps;
    if (better.timeS < best.timeS - GAIN_S) best = better;
  }
  return best;
}

/** Lines a part may be moved past, and lines in a part that is turned round unless it ends the order. */
const REACH = 40;

/**
 * Turns parts round and moves parts as long as that helps and there are steps left.
 *
 * A change is weighed over the part it changes and one line on: who is later there than before is later to the end, since who
 * arrives earlier can wait. Only one that is earlier there is followed to the end.
 */
function improveInTime(links: TimedLinks, from: readonly number[], steps: number): { states: number[]; timeS: number; steps: number } {
  const states = from.slice();
  const n = states.length;
  /** When the boat is at the end of each place in the order; index 0 is the start. */
  const at = new Float64Array(n + 1);
  const follow = (first: number): number => {
    at[0] = links.problem.startS;
    for (let i = first; i < n; i++) at[i + 1] = at[i]! + links.stepS(i > 0 ? states[i - 1]! : links.START, states[i]!, at[i]!);
    return at[n]! + links.linkS(states[n - 1]!, links.FINISH, at[n]!);
  };
  let endS = follow(0);
  let left = steps;
  /** The states at places first, first + 1, ... of a changed order. */
  const part = new Int32Array(n);
  /** Takes `length` changed states from place `first` on where that ends sooner. */
  const accept = (first: number, length: number): boolean => {
    let timeS = at[first]!;
    let before = first > 0 ? states[first - 1]! : links.START;
    const after = first + length;
    const lateS = after < n ? at[after + 1]! : endS;
    for (let k = 0; k < length; k++) {
      timeS += links.stepS(before, part[k]!, timeS);
      left--;
      if (timeS >= lateS) return false;
      before = part[k]!;
    }
    for (let k = after; k < n; k++) {
      timeS += links.stepS(before, states[k]!, timeS);
      left--;
      if (timeS >= at[k + 1]! - (k === after ? GAIN_S : 0)) return false;
      before = states[k]!;
    }
    if (!(timeS + links.linkS(before, links.FINISH, timeS) < endS - GAIN_S)) return false;
    for (let k = 0; k < length; k++) states[first + k] = part[k]!;
    endS = follow(first);
    return true;
  };
  for (let improved = true; improved && left > 0; ) {
    improved = false;
    for (let i = 0; i < n && left > 0; i++) {
      for (let j = i; j < n && left > 0; j++) {
        if (j - i > REACH && j !== n - 1) continue;
        for (let k = i; k <= j; k++) part[k - i] = states[i + j - k]! ^ 1;
        if (accept(i, j - i + 1)) improved = true;
      }
    }
    for (let size = 1; size <= 3; size++) {
      for (let i = 0; i + size <= n && left > 0; i++) {
        for (let k = Math.max(0, i - REACH); k <= Math.min(n - size, i + REACH) && left > 0; k++) {
          if (k === i) continue;
          const first = Math.min(i, k);
          const length = Math.abs(k - i) + size;
          for (const turned of [false, true]) {
            // The part, and what it is moved past.
            const own = k < i ? 0 : length - size;
            const others = k < i ? size : 0;
            for (let m = 0; m < size; m++) part[own + m] = turned ? states[i + size - 1 - m]! ^ 1 : states[i + m]!;
            for (let m = 0; m < length - size; m++) part[others + m] = states[k < i ? k + m : i + size + m]!;
            if (accept(first, length)) {
              improved = true;
              break;
            }
          }
        }
      }
    }
  }
  return { states, timeS: endS - links.problem.startS, steps: steps - left };
}

/** The quickest order there is: the earliest arrival for every set of lines run and state last run. */
export function exactInTime(links: TimedLinks): TimedOrder {
  const { n, START, FINISH } = links;
  const startS = links.problem.startS;
  const width = 2 * n;
  const sets = 1 << n;
  const arrive = new Float64Array(sets * width).fill(Infinity);
  const before = new Int8Array(sets * width).fill(-1);
  for (let s = 0; s < width; s++) arrive[(1 << (s >> 1)) * width + s] = startS + links.stepS(START, s, startS);
  for (let set = 1; set < sets; set++) {
    for (let s = 0; s < width; s++) {
      const soFar = arrive[set * width + s]!;
      if (soFar === Infinity) continue;
      for (let t = 0; t < width; t++) {
        const bit = 1 << (t >> 1);
        if ((set & bit) !== 0) continue;
        const done = soFar + links.stepS(s, t, soFar);
        const at = (set | bit) * width + t;
        if (done < arrive[at]!) {
          arrive[at] = done;
          before[at] = s;
        }
      }
    }
  }
  let set = sets - 1;
  let last = -1;
  let endS = Infinity;
  for (let s = 0; s < width; s++) {
    const soFar = arrive[set * width + s]!;
    const done = soFar === Infinity ? Infinity : soFar + links.linkS(s, FINISH, soFar);
    if (done < endS) {
      endS = done;
      last = s;
    }
  }
  if (last < 0) return { ...fallback(links), exact: false };
  const states: number[] = [];
  while (last >= 0) {
    states.unshift(last);
    const previous = before[set * width + last]!;
    set &= ~(1 << (last >> 1));
    last = previous;
  }
  return { states, timeS: endS - startS, exact: true };
}

/** Where some line cannot be reached at all: an order all the same, that uses such links least. */
function fallback(links: TimedLinks): { states: readonly number[]; timeS: number } {
  const { ends, network, start, finish, startS } = links.problem;
  const { states } = orderRuns({ ends, network, start, finish, effort: 'settle', costs: costsAt(links, startS) });
  return { states, timeS: Infinity };
}
