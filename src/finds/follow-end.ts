import type { PingCells } from './slant-profile.js';

/** A step of a cell from ping to ping costs so much log-likelihood. */
const STEP_COST = 1.3;
/** Levels that an echo may have over the floor's, each as likely in logarithm: 2 to 25 dB. */
const ECHO_LEAST = 1.5;
const ECHO_MOST = 300;
/** Behind the echo nothing is taken as darker than this share of the floor: so that the end is where half the echo is gone, not where the last of it is. */
const LEAST_DARK = 0.6;

/**
 * Slant range of the echo's end in each ping [m]: the path of greatest likelihood, echo of any level before it and shadow behind,
 * steps from ping to ping at a price.
 *
 * @param dark shadow's level in each ping over the floor's
 * @param aboutM range about which it is sought, `reachM` to either side in steps of `cellM`
 * Source: Viterbi (1967), IEEE Trans. Inf. Theory 13, 260-269; speckle of one echo: exponential power, Goodman (1976).
 */
export function followEnd(pings: readonly PingCells[], dark: readonly number[], floor: number, aboutM: number, reachM: number, cellM: number): number[] {
  const half = Math.max(1, Math.round(reachM / cellM));
  const states = 2 * half + 1;
  const endOf = (state: number): number => aboutM + (state - half) * cellM;
  let score = new Float64Array(states);
  const back: Int16Array[] = [];
  for (const [p, { slantM, power, samples }] of pings.entries()) {
    const level = Math.max(LEAST_DARK, dark[p]!) * floor;
    const gain = new Float64Array(states);
    for (let i = 0; i < slantM.length; i++) {
      const slant = slantM[i]!;
      if (slant < endOf(0) || slant > endOf(states - 1)) continue;
      const x = Math.max(1e-4, power[i]!);
      // Any level as likely, in logarithm: the integral of exp(-x / m) / m over d ln m.
      const echo = Math.log(Math.max(1e-12, (Math.exp(-x / (ECHO_MOST * floor)) - Math.exp(-x / (ECHO_LEAST * floor))) / x / Math.log(ECHO_MOST / ECHO_LEAST)));
      const shadow = -Math.log(level) - x / level;
      for (let state = 0; state < states; state++) gain[state]! += samples[i]! * (slant < endOf(state) ? echo : shadow);
    }
    const next = new Float64Array(states);
    const from = new Int16Array(states);
    for (let state = 0; state < states; state++) {
      let [best, at] = [-Infinity, state];
      for (let before = 0; before < states; before++) {
        const value = score[before]! - (p === 0 ? 0 : STEP_COST * Math.abs(state - before));
        if (value > best) [best, at] = [value, before];
      }
      next[state] = best + gain[state]!;
      from[state] = at;
    }
    score = next;
    back.push(from);
  }
  let state = score.indexOf(Math.max(...score));
  const ends = new Array<number>(pings.length);
  for (let p = pings.length - 1; p >= 0; p--) {
    ends[p] = endOf(state);
    state = back[p]![state]!;
  }
  return ends;
}
