import { createRandom } from '../base/random.js';
import { exactOrder } from './exact-order.js';
import type { TransitNetwork } from './transit-network.js';

/**
 * Lines to be put in order. Each can be run from a to b or from b to a; a state is 2 line + (0: a to b, 1: b to a).
 * `ends` holds, for each state, where its run begins and where it ends: [fromX, fromY, toX, toY]. Shape [2 n * 4].
 */
export interface OrderProblem {
  readonly ends: Float64Array;
  readonly network: TransitNetwork;
  /** Where the boat comes from and goes to; null: anywhere, not counted. */
  readonly start: readonly [number, number] | null;
  readonly finish: readonly [number, number] | null;
  /** How much the order is worked on: taken as found, exchanges until none helps, annealed as well. */
  readonly effort: OrderEffort;
  /** Costs other than the way's length, in seconds; null or left out: metres of transit. */
  readonly costs?: OrderCosts | null;
}

/** What going from state to state costs, all counted [s]: with turns, in a current. */
export interface OrderCosts {
  /** From the end of state s along state t, or to the finish; START is 2 n, FINISH 2 n + 1. Infinity where there is no way. */
  cost(s: number, t: number): number;
  /** Never more than the cost, and quick. */
  least(s: number, t: number): number;
  readonly symmetric: boolean;
}

export type OrderEffort = 'drag' | 'settle' | 'full';

/** States in the order they are run, and what they cost: the transit between them [m], or seconds where the problem brings its own costs. */
export interface RunOrder {
  readonly states: readonly number[];
  readonly transitM: number;
}

/** Counted for a transit that has no way [m], [s]: larger than any survey, so that such links are used least. */
const NO_WAY = 1e7;
/** Up to this many lines every order is weighed. */
const EXACT_LINES = 11;
/** Up to this many lines all distances are kept in a table. */
const TABLE_LINES = 1000;
/** Up to this many lines the next one is looked for among all. */
const GREEDY_LINES = 4000;
/** Up to this many lines the order is annealed. */
const ANNEAL_LINES = 1500;

/** Costs of going from one state to the next, looked up or found as needed: metres, or seconds where the problem brings its own. */
export interface Links {
  readonly n: number;
  /** From the end of state s to the beginning of state t (seconds: to its end); START and FINISH as s or t. */
  cost(s: number, t: number): number;
  /** By the straight distance: never more than the cost. */
  least(s: number, t: number): number;
  readonly START: number;
  readonly FINISH: number;
  /** Whether the way back costs the same, so that turning a part of the order round changes only its two ends. */
  readonly symmetric: boolean;
}

/** The links of a problem. */
export function createLinks(problem: OrderProblem): Links {
  const { ends, network, start, finish } = problem;
  const n = ends.length / 8;
  const START = 2 * n;
  const FINISH = 2 * n + 1;
  const width = 2 * n + 2;
  const table = n <= TABLE_LINES ? new Float64Array(width * width).fill(NaN) : null;
  const map = new Map<number, number>();
  const fromX = new Float64Array(width);
  const fromY = new Float64Array(width);
  const toX = new Float64Array(width);
  const toY = new Float64Array(width);
  for (let s = 0; s < 2 * n; s++) {
    fromX[s] = ends[4 * s]!;
    fromY[s] = ends[4 * s + 1]!;
    toX[s] = ends[4 * s + 2]!;
    toY[s] = ends[4 * s + 3]!;
  }
  [toX[START], toY[START]] = start ?? [NaN, NaN];
  [fromX[FINISH], fromY[FINISH]] = finish ?? [NaN, NaN];
  // From anywhere and to anywhere cost nothing: their coordinates are NaN, and so is their distance.
  const least = (s: number, t: number): number => {
    const dx = fromX[t]! - toX[s]!;
    const dy = fromY[t]! - toY[s]!;
    const distance = Math.sqrt(dx * dx + dy * dy);
    return distance === distance ? distance : 0;
  };
  const own = problem.costs ?? null;
  const find = (s: number, t: number): number => {
    if (own !== null) {
      const found = own.cost(s, t);
      return found < Infinity ? found : NO_WAY + own.least(s, t);
    }
    if ((s === START && start === null) || (t === FINISH && finish === null)) return 0;
    const found = network.lengthM(toX[s]!, toY[s]!, fromX[t]!, fromY[t]!);
    return found === Infinity ? NO_WAY + least(s, t) : found;
  };
  const cost = (s: number, t: number): number => {
    const key = s * width + t;
    const known = table === null ? map.get(key) : table[key]!;
    if (known !== undefined && known === known) return known;
    const found = find(s, t);
    if (table === null) map.set(key, found);
    else table[key] = found;
    return found;
  };
  if (own !== null) return { n, cost, least: own.least, START, FINISH, symmetric: own.symmetric };
  let symmetric = true;
  for (let s = 0; s < 2 * n && symmetric; s++) {
    symmetric = ends[4 * s] === ends[4 * (s ^ 1) + 2] && ends[4 * s + 1] === ends[4 * (s ^ 1) + 3];
  }
  return { n, cost, least, START, FINISH, symmetric };
}

/** Transit of an order, from the start and to the finish [m]. */
export function orderCost(links: Links, states: readonly number[]): number {
  if (states.length === 0) return 0;
  let sum = links.cost(links.START, states[0]!);
  for (let i = 1; i < states.length; i++) sum += links.cost(states[i - 1]!, states[i]!);
  return sum + links.cost(states[states.length - 1]!, links.FINISH);
}

/**
 * An order, and a direction for each line, with little transit.
 *
 * Up to eleven lines: the best there is (dynamic programming over sets). More: from a run back and forth and from the
 * nearest next line, the better; then, as the effort says, annealing (Kirkpatrick et al. 1983, Science 220, 671-680) and
 * exchanges until none helps: turning part of the order round (Croes 1958, Operations Research 6, 791-812) and moving up
 * to three lines elsewhere (Or 1976). The same input gives the same order: the random numbers have a fixed seed.
 */
export function orderRuns(problem: OrderProblem): RunOrder {
  const links = createLinks(problem);
  const { n } = links;
  if (n === 0) return { states: [], transitM: 0 };
  if (n <= EXACT_LINES) return exactOrder(links);
  let states = backAndForth(links);
  let transitM = orderCost(links, states);
  if (n <= GREEDY_LINES) {
    const greedy = nearestNext(links);
    const greedyM = orderCost(links, greedy);
    if (greedyM < transitM - 1e-9) {
      states = greedy;
      transitM = greedyM;
    }
  }
  if (problem.effort !== 'drag') {
    states = improve(links, states);
    if (problem.effort === 'full' && n <= ANNEAL_LINES) {
      // Few lines are cheap to begin again with other random numbers.
      const runs = n <= 40 ? 4 : n <= 100 ? 2 : 1;
      for (let seed = 1; seed <= runs; seed++) {
        const annealed = improve(links, anneal(links, states, seed));
        if (orderCost(links, annealed) < orderCost(links, states) - 1e-9) states = annealed;
      }
    }
    transitM = orderCost(links, states);
  }
  return { states, transitM };
}

/** Lines in the order given, each from its nearer end. */
function backAndForth(links: Links): number[] {
  const make = (first: number, reverse: boolean): number[] => {
    const states: number[] = [];
    for (let k = 0; k < links.n; k++) {
      const line = reverse ? links.n - 1 - k : k;
      if (k === 0) {
        states.push(2 * line + first);
        continue;
      }
      const last = states[k - 1]!;
      states.push(links.least(last, 2 * line) <= links.least(last, 2 * line + 1) ? 2 * line : 2 * line + 1);
    }
    return states;
  };
  const straightSum = (states: readonly number[]): number => {
    let sum = links.least(links.START, states[0]!) + links.least(states[states.length - 1]!, links.FINISH);
    for (let i = 1; i < states.length; i++) sum += links.least(states[i - 1]!, states[i]!);
    return sum;
  };
  let best: number[] = [];
  let leastM = Infinity;
  for (const reverse of [false, true]) {
    for (const first of [0, 1]) {
      const states = make(first, reverse);
      const sum = straightSum(states);
      if (sum < leastM - 1e-9) {
        leastM = sum;
        best = states;
      }
    }
  }
  return best;
}

/** From the start (or the first line) always to the nearest line not yet run. */
function nearestNext(links: Links): number[] {
  const left = Array.from({ length: 2 * links.n }, (_, state) => state);
  const straight = new Float64Array(2 * links.n);
  const states: number[] = [];
  let last = links.START;
  while (left.length > 0) {
    for (const state of left) straight[state] = links.least(last, state);
    // The straight distance is a bound: ask for the true one in its order, until no bound is less than what is found.
    let bestState = -1;
    let leastM = Infinity;
    for (;;) {
      let next = -1;
      let boundM = leastM - 1e-9;
      for (const state of left) {
        if (straight[state]! < boundM) {
          boundM = straight[state]!;
          next = state;
        }
      }
      if (next < 0) break;
      const cost = links.cost(last, next);
      straight[next] = Infinity;
      if (cost < leastM - 1e-9) {
        leastM = cost;
        bestState = next;
      }
    }
    states.push(bestState);
    last = bestState;
    const line = bestState >> 1;
    let kept = 0;
    for (const state of left) if (state >> 1 !== line) left[kept++] = state;
    left.length = kept;
  }
  return states;
}

/** Cost of the links inside i..j, as they stand and turned round. */
function turnedExtraM(links: Links, states: readonly number[], i: number, j: number): number {
  if (links.symmetric) return 0;
  let extra = 0;
  for (let k = i; k < j; k++) {
    extra += links.cost(states[k + 1]! ^ 1, states[k]! ^ 1) - links.cost(states[k]!, states[k + 1]!);
  }
  return extra;
}

function reverseRange(states: number[], i: number, j: number): void {
  for (let a = i, b = j; a <= b; a++, b--) {
    const held = states[a]! ^ 1;
    states[a] = states[b]! ^ 1;
    states[b] = held;
  }
}

/** Moves states[i..j] to follow what stands at position k (k = -1: to the front), turned round or not. */
function moveRange(states: number[], i: number, j: number, k: number, turned: boolean): void {
  const chunk = states.splice(i, j - i + 1);
  if (turned) reverseRange(chunk, 0, chunk.length - 1);
  states.splice(k < i ? k + 1 : k + 1 - chunk.length, 0, ...chunk);
}

const GAIN_M = 1e-6;

/** What turning i..j round adds [m]; not exact: with straight distances for what is new, so never more than the truth. */
function reverseDeltaM(links: Links, states: readonly number[], i: number, j: number, exact: boolean): number {
  const before = i > 0 ? states[i - 1]! : links.START;
  const after = j < states.length - 1 ? states[j + 1]! : links.FINISH;
  const removed = links.cost(before, states[i]!) + links.cost(states[j]!, after);
  const cost = exact ? links.cost : links.least;
  const added = cost(before, states[j]! ^ 1) + cost(states[i]! ^ 1, after);
  return added - removed + turnedExtraM(links, states, i, j);
}

/** What moving i..j to follow position k adds [m]; not exact: never more than the truth. */
function moveDeltaM(links: Links, states: readonly number[], i: number, j: number, k: number, turned: boolean, exact: boolean): number {
  const cost = exact ? links.cost : links.least;
  const before = i > 0 ? states[i - 1]! : links.START;
  const after = j < states.length - 1 ? states[j + 1]! : links.FINISH;
  const p = k >= 0 ? states[k]! : links.START;
  const q = k < states.length - 1 ? states[k + 1]! : links.FINISH;
  const head = turned ? states[j]! ^ 1 : states[i]!;
  const tail = turned ? states[i]! ^ 1 : states[j]!;
  const removed = links.cost(before, states[i]!) + links.cost(states[j]!, after) + links.cost(p, q);
  const added = cost(before, after) + cost(p, head) + cost(tail, q);
  return added - removed + (turned ? turnedExtraM(links, states, i, j) : 0);
}

/** Exchanges until none helps. */
function improve(links: Links, from: readonly number[]): number[] {
  const states = from.slice();
  const n = states.length;
  const reach = n <= 600 ? n : 60;
  for (let changed = true; changed; ) {
    changed = false;
    for (let i = 0; i < n; i++) {
      for (let j = i; j < Math.min(n, i + reach); j++) {
        if (reverseDeltaM(links, states, i, j, false) >= -GAIN_M) continue;
        if (reverseDeltaM(links, states, i, j, true) >= -GAIN_M) continue;
        reverseRange(states, i, j);
        changed = true;
      }
    }
    for (let size = 1; size <= 3; size++) {
      for (let i = 0; i + size <= n; i++) {
        const j = i + size - 1;
        // What taking the part out gains at most, were the way past it straight: else there is no place worth trying.
        const before = i > 0 ? states[i - 1]! : links.START;
        const after = j < n - 1 ? states[j + 1]! : links.FINISH;
        if (links.symmetric && links.cost(before, states[i]!) + links.cost(states[j]!, after) - links.least(before, after) <= GAIN_M) continue;
        for (let k = Math.max(-1, i - reach); k < Math.min(n, j + reach); k++) {
          if (k >= i - 1 && k <= j) continue;
          let moved = false;
          for (const turned of [false, true]) {
            if (moveDeltaM(links, states, i, j, k, turned, false) >= -GAIN_M) continue;
            if (moveDeltaM(links, states, i, j, k, turned, true) >= -GAIN_M) continue;
            moveRange(states, i, j, k, turned);
            moved = true;
            break;
          }
          if (moved) {
            changed = true;
            break;
          }
        }
      }
    }
  }
  return states;
}

const NEIGHBOURS = 8;

/** For each state, the states whose beginnings are nearest its end. Shape [2 n * NEIGHBOURS], -1 where there are fewer. */
function nearestStates(links: Links): Int32Array {
  const count = 2 * links.n;
  const out = new Int32Array(count * NEIGHBOURS).fill(-1);
  const lengths = new Float64Array(NEIGHBOURS);
  for (let s = 0; s < count; s++) {
    let held = 0;
    for (let t = 0; t < count; t++) {
      if (t >> 1 === s >> 1) continue;
      const d = links.least(s, t);
      if (held === NEIGHBOURS && d >= lengths[held - 1]!) continue;
      let at = held < NEIGHBOURS ? held++ : held - 1;
      while (at > 0 && lengths[at - 1]! > d) {
        lengths[at] = lengths[at - 1]!;
        out[s * NEIGHBOURS + at] = out[s * NEIGHBOURS + at - 1]!;
        at--;
      }
      lengths[at] = d;
      out[s * NEIGHBOURS + at] = t;
    }
  }
  return out;
}

/** Random exchanges that bring near ends together, taken also when they cost something, ever less so. */
function anneal(links: Links, from: readonly number[], seed: number): number[] {
  const random = createRandom(seed);
  const near = nearestStates(links);
  const n = links.n;
  const states = from.slice();
  const place = new Int32Array(n);
  const renumber = (lo: number, hi: number): void => {
    for (let k = lo; k <= hi; k++) place[states[k]! >> 1] = k;
  };
  renumber(0, n - 1);
  let currentM = orderCost(links, states);
  let best = states.slice();
  let bestM = currentM;
  const steps = n <= 100 ? 3000 * n : Math.min(1_200_000, 6000 * n);
  const hot = (0.7 * currentM) / n;
  const cold = hot / 300;
  const cooling = Math.pow(cold / hot, 1 / steps);
  let temperature = hot;
  const tryReverse = (i: number, j: number, allowedM: number): void => {
    if (reverseDeltaM(links, states, i, j, false) > allowedM) return;
    const delta = reverseDeltaM(links, states, i, j, true);
    if (delta > allowedM) return;
    reverseRange(states, i, j);
    renumber(i, j);
    currentM += delta;
  };
  const tryMove = (i: number, j: number, k: number, turned: boolean, allowedM: number): void => {
    if (k >= i - 1 && k <= j) return;
    if (moveDeltaM(links, states, i, j, k, turned, false) > allowedM) return;
    const delta = moveDeltaM(links, states, i, j, k, turned, true);
    if (delta > allowedM) return;
    moveRange(states, i, j, k, turned);
    renumber(Math.max(0, Math.min(i, k)), Math.min(n - 1, Math.max(k, j)));
    currentM += delta;
  };
  for (let step = 0; step < steps; step++, temperature *= cooling) {
    const kind = random.uniform();
    const allowedM = -temperature * Math.log(1 - random.uniform());
    const i = random.integer(n);
    if (kind < 0.6) {
      // Bring what begins near the end of i to follow it.
      const t = near[states[i]! * NEIGHBOURS + random.integer(NEIGHBOURS)]!;
      if (t < 0) continue;
      const q = place[t >> 1]!;
      if (states[q] !== t && q > i) tryReverse(i + 1, q, allowedM);
      else if (states[q] !== t) tryMove(q, q, i, true, allowedM);
      else tryMove(q, Math.min(n - 1, q + random.integer(3)), i, false, allowedM);
    } else if (kind < 0.85) {
      tryReverse(i, Math.min(n - 1, i + random.integer(Math.min(n, 50))), allowedM);
    } else {
      const j = Math.min(n - 1, i + random.integer(3));
      tryMove(i, j, Math.max(-1, Math.min(n - 1, i - 20 + random.integer(41))), random.uniform() < 0.5, allowedM);
    }
    if (currentM < bestM - GAIN_M) {
      bestM = currentM;
      best = states.slice();
    }
  }
  return best;
}
