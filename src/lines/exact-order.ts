import type { Links, RunOrder } from './run-order.js';

/**
 * The order and directions with the least transit there is, by dynamic programming over the sets of lines already run.
 * Time and memory grow as 2^n n^2: for a dozen lines at most.
 * Source: Held & Karp (1962), J. SIAM 10(1), 196-210, with two states a line.
 */
export function exactOrder(links: Links): RunOrder {
  const { n, START, FINISH } = links;
  if (n === 0) return { states: [], transitM: 0 };
  const width = 2 * n;
  const sets = 1 << n;
  const least = new Float64Array(sets * width).fill(Infinity);
  const before = new Int8Array(sets * width).fill(-1);
  for (let s = 0; s < width; s++) least[(1 << (s >> 1)) * width + s] = links.cost(START, s);
  for (let set = 1; set < sets; set++) {
    for (let s = 0; s < width; s++) {
      const soFar = least[set * width + s]!;
      if (soFar === Infinity) continue;
      for (let t = 0; t < width; t++) {
        const bit = 1 << (t >> 1);
        if ((set & bit) !== 0) continue;
        const at = (set | bit) * width + t;
        const sum = soFar + links.cost(s, t);
        if (sum < least[at]!) {
          least[at] = sum;
          before[at] = s;
        }
      }
    }
  }
  let set = sets - 1;
  let last = 0;
  let transitM = Infinity;
  for (let s = 0; s < width; s++) {
    const sum = least[set * width + s]! + links.cost(s, FINISH);
    if (sum < transitM) {
      transitM = sum;
      last = s;
    }
  }
  const states: number[] = [];
  while (last >= 0) {
    states.unshift(last);
    const previous = before[set * width + last]!;
    set &= ~(1 << (last >> 1));
    last = previous;
  }
  return { states, transitM };
}
