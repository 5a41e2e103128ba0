import type { TimedLinks } from './timed-links.js';

/** A time no route can beat, and its parts [s]. */
export interface RouteBound {
  readonly boundS: number;
  /** Lines run in their better direction at their best moment. */
  readonly linesS: number;
  /** What joins them, at least. */
  readonly linksS: number;
}

const ROUNDS = 400;

/**
 * A lower bound on the time of any order of the lines that ends within the time looked at, by the times reckoned with.
 *
 * Every line has two ends, and every end is joined by exactly one link to an end of another line or to the start or
 * finish. Links at their quickest, whenever and whichever way they are gone, make a graph on the lines; any route is a
 * spanning tree of it with two links at the start and finish: a 1-tree. Penalties on the ends that have too many links, and
 * gifts to those that have none, raise the least 1-tree towards a route (Held & Karp 1970, Operations Research 18, 1138-1162;
 * 1971, Math. Programming 1, 6-25).
 *
 * In a steady current the time along d is (sqrt((d.c)^2 + (V^2 - c^2) d^2) - d.c) / (V^2 - c^2): its second part adds up, over
 * a route from a place to a place, to the same whatever the route. It is taken off with the mean current, so that the bound does not
 * run every line with the current.
 *
 * @param endS times up to this are looked at: the end of a known route, so that better ones end before it
 */
export function routeBound(links: TimedLinks, endS: number): RouteBound {
  const { n, START, FINISH, problem } = links;
  if (n === 0) return { boundS: 0, linesS: 0, linksS: 0 };
  const times: number[] = [];
  const { startS, stepS, count } = links.bins;
  for (let k = 0; k < count && (k === 0 || startS + (k - 1) * stepS <= endS); k++) times.push(startS + k * stepS);
  const [cx, cy] = meanCurrent(links, times);
  const v2 = problem.speedMps ** 2 - cx * cx - cy * cy;
  const isTour = problem.start !== null && problem.finish !== null;
  // p in cost + p(from) - p(to); zero where the route may begin anywhere.
  const potential = (xy: readonly [number, number]): number => (isTour && v2 > 0 ? -(xy[0] * cx + xy[1] * cy) / v2 : 0);
  const from = (t: number): number => potential(links.place(t, 'from'));
  const to = (s: number): number => potential(links.place(s, 'to'));
  const leastOf = (at: (timeS: number) => number): number => times.reduce((least, timeS) => Math.min(least, at(timeS)), Infinity);

  let linesS = 0;
  for (let line = 0; line < n; line++) {
    linesS += Math.min(...[2 * line, 2 * line + 1].map((t) => leastOf((timeS) => links.runS(t, timeS)) + from(t) - to(t)));
  }
  // End e of a line: the end where state e begins; state e ^ 1 ends there.
  const ends = 2 * n;
  const weight = new Float64Array(ends * ends).fill(Infinity);
  const link = (s: number, t: number): number => leastOf((timeS) => links.linkS(s, t, timeS)) + (s === START ? potential(problem.start ?? [0, 0]) : to(s)) - (t === FINISH ? potential(problem.finish ?? [0, 0]) : from(t));
  for (let e = 0; e < ends; e++) {
    for (let f = 0; f < e; f++) {
      if (e >> 1 === f >> 1) continue;
      const w = Math.min(link(e ^ 1, f), link(f ^ 1, e));
      weight[e * ends + f] = w;
      weight[f * ends + e] = w;
    }
  }
  const out = new Float64Array(ends);
  const home = new Float64Array(ends);
  for (let e = 0; e < ends; e++) {
    out[e] = link(START, e);
    home[e] = link(e ^ 1, FINISH);
  }
  // From the far ends of the potentials nothing is left over: what the start takes the finish gives, where both are one place;
  // else their difference belongs to every route alike.
  const offsetS = isTour ? potential(problem.finish!) - potential(problem.start!) : 0;
  const best = ascend(n, weight, out, home, linesS);
  return { boundS: linesS + best + offsetS, linesS, linksS: best };
}

function meanCurrent(links: TimedLinks, times: readonly number[]): [number, number] {
  const { current, ends } = links.problem;
  if (current === null) return [0, 0];
  const sample = new Float64Array(3);
  let x = 0;
  let y = 0;
  let count = 0;
  for (const timeS of times) {
    for (let s = 0; s < 2 * links.n; s += Math.max(2, 2 * Math.floor(links.n / 20))) {
      current.at(ends[4 * s]!, ends[4 * s + 1]!, Math.min(current.endS, Math.max(current.startS, timeS)), sample);
      if (Number.isNaN(sample[0]!) || Number.isNaN(sample[1]!)) continue;
      x += sample[0]!;
      y += sample[1]!;
      count++;
    }
  }
  return count > 0 ? [x / count, y / count] : [0, 0];
}

/** Subgradient ascent on the ends' penalties; the best least 1-tree less the penalties. */
function ascend(n: number, weight: Float64Array, out: Float64Array, home: Float64Array, scaleS: number): number {
  const ends = 2 * n;
  const penalty = new Float64Array(ends);
  const degree = new Int32Array(ends);
  const nearest = new Float64Array(n);
  const mineEnd = new Int32Array(n);
  const treeEnd = new Int32Array(n);
  const done = new Uint8Array(n);
  let best = -Infinity;
  let step = 0;
  let since = 0;
  for (let round = 0; round < ROUNDS; round++) {
    degree.fill(0);
    done.fill(0);
    nearest.fill(Infinity);
    let sum = 0;
    let current = 0;
    done[0] = 1;
    for (let k = 1; k < n; k++) {
      for (let e = 2 * current; e < 2 * current + 2; e++) {
        for (let f = 0; f < ends; f++) {
          const line = f >> 1;
          if (done[line] === 1) continue;
          const w = weight[e * ends + f]! + penalty[e]! + penalty[f]!;
          if (w < nearest[line]!) {
            nearest[line] = w;
            mineEnd[line] = f;
            treeEnd[line] = e;
          }
        }
      }
      let next = -1;
      for (let line = 0; line < n; line++) if (done[line] === 0 && (next < 0 || nearest[line]! < nearest[next]!)) next = line;
      done[next] = 1;
      sum += nearest[next]!;
      degree[mineEnd[next]!]!++;
      degree[treeEnd[next]!]!++;
      current = next;
    }
    for (const side of [out, home]) {
      let at = 0;
      for (let e = 1; e < ends; e++) if (side[e]! + penalty[e]! < side[at]! + penalty[at]!) at = e;
      sum += side[at]! + penalty[at]!;
      degree[at]!++;
    }
    let total = 0;
    let norm = 0;
    for (let e = 0; e < ends; e++) {
      total += penalty[e]!;
      norm += (degree[e]! - 1) ** 2;
    }
    const bound = sum - total;
    if (round === 0) step = Math.max(1e-6, (0.05 * (Math.abs(sum) + 0.02 * Math.abs(scaleS))) / Math.max(1, n));
    if (bound > best + 1e-9) {
      best = bound;
      since = 0;
    } else since++;
    if (norm === 0) break;
    if (since > 12) {
      step *= 0.7;
      since = 0;
    }
    for (let e = 0; e < ends; e++) penalty[e]! += step * (degree[e]! - 1);
  }
  return best;
}
