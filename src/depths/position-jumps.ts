import type { Track } from './track.js';
import { trackNoiseM } from './track.js';

/** Across a silence longer than this the boat may have been carried anywhere: no jump is called there [s]. */
const CARRIED_S = 60;
/** How many stretches back a stretch may be joined to. */
const LOOKBACK = 64;
/** What joining two stretches costs, in fixes: a stray fix or two within reach are no reason for two joins. */
const LINK_COST = 3;
/** Fixes of this time are given up without more ado: one that noise put out of reach [s]. */
const FREE_TRIM_S = 0.3;
/** How many fixes may be given up at the edge of a stretch to join it to its neighbour. */
const TRIM_LIMIT = 600;

/**
 * Marks the positions that jumped.
 *
 * The track is cut wherever the boat would have had to go faster than it can; what lies between two cuts is a stretch. Of
 * all chains of stretches in which each can be reached from the one before, the one with the most fixes is the boat's
 * track; everything else jumped. So a run of bad fixes is marked as a whole and the good ones after it are not, whichever
 * comes first. Where a bad run drifts back into the good track, no chain leads on; then fixes at the edge of a stretch are
 * given up until it can be reached. That is a last resort: a stretch must hold a minute more than is given up to be worth it,
 * for otherwise a bad run of some seconds could be joined to both its neighbours at the cost of their edges.
 *
 * Speeds are judged after the noise between fixes has been allowed for: 4.3 sigma of a position, 99 % of the distance
 * between two that both err.
 *
 * @param track positions in time order; `jump` is not read
 * @param maxSpeedMps what the boat can do, with the current [m/s]
 * @param jump set to 1 where a position jumped, 0 elsewhere. Shape [n]
 * @returns how many jumped
 */
export function markJumps(track: Omit<Track, 'jump'>, maxSpeedMps: number, jump: Uint8Array): number {
  const { n, timeS, xM, yM, sigmaM } = track;
  jump.fill(0);
  if (n === 0) return 0;
  const noise = trackNoiseM(track);
  const reachable = (from: number, to: number): boolean => {
    const stepS = timeS[to]! - timeS[from]!;
    if (stepS > CARRIED_S) return true;
    const sigma = Math.min(Number.isNaN(noise) ? Infinity : noise, Math.max(sigmaM[from]!, sigmaM[to]!));
    return Math.hypot(xM[to]! - xM[from]!, yM[to]! - yM[from]!) <= maxSpeedMps * stepS + 4.3 * sigma + 0.02;
  };

  /** What giving up fixes costs besides them: the fixes of a minute. */
  const spanS = timeS[n - 1]! - timeS[0]!;
  const penalty = spanS > 0 ? (CARRIED_S * n) / Math.max(spanS, CARRIED_S) : 0;
  const trimCost = (from: number, to: number): number => (timeS[to]! - timeS[from]! <= FREE_TRIM_S ? 0 : penalty);

  const starts: number[] = [0];
  for (let i = 1; i < n; i++) if (!reachable(i - 1, i)) starts.push(i);
  if (starts.length === 1) return 0;
  const count = starts.length;
  const endOf = (stretch: number): number => (stretch + 1 < count ? starts[stretch + 1]! : n);

  // best[k]: most fixes in a chain that ends with stretch k; from[k]: the stretch before it; the fixes given up at the
  // join, at the head of k or at the tail of the one before.
  const best = new Float64Array(count);
  const from = new Int32Array(count).fill(-1);
  const headTrim = new Int32Array(count);
  const tailTrim = new Int32Array(count);
  for (let k = 0; k < count; k++) {
    const size = endOf(k) - starts[k]!;
    best[k] = size;
    for (let j = k - 1; j >= Math.max(0, k - LOOKBACK); j--) {
      let head = 0;
      let tail = 0;
      if (!reachable(endOf(j) - 1, starts[k]!)) {
        if (j !== k - 1) continue;
        const last = endOf(j) - 1;
        const first = starts[k]!;
        // A fix given up on one side; both sides at once would make any two stretches meet.
        const limit = Math.min(TRIM_LIMIT, Math.max(size, endOf(j) - starts[j]!) - 1);
        let trim = 1;
        for (; trim <= limit; trim++) {
          if (trim < size && timeS[first + trim]! - timeS[last]! <= CARRIED_S && reachable(last, first + trim)) {
            head = trim;
            break;
          }
          if (last - trim >= starts[j]! && timeS[first]! - timeS[last - trim]! <= CARRIED_S && reachable(last - trim, first)) {
            tail = trim;
            break;
          }
        }
        if (head === 0 && tail === 0) continue;
      }
      let cost = LINK_COST + head + tail;
      if (head > 0) cost += trimCost(starts[k]!, starts[k]! + head);
      if (tail > 0) cost += trimCost(endOf(j) - 1 - tail, endOf(j) - 1);
      const total = best[j]! + size - cost;
      if (total > best[k]!) {
        best[k] = total;
        from[k] = j;
        headTrim[k] = head;
        tailTrim[k] = tail;
      }
    }
  }

  let at = 0;
  for (let k = 1; k < count; k++) if (best[k]! >= best[at]!) at = k;
  jump.fill(1);
  let tail = 0;
  while (at >= 0) {
    jump.fill(0, starts[at]! + (from[at]! >= 0 ? headTrim[at]! : 0), Math.max(starts[at]!, endOf(at) - tail));
    tail = from[at]! >= 0 ? tailTrim[at]! : 0;
    at = from[at]!;
  }
  let jumped = 0;
  for (let i = 0; i < n; i++) jumped += jump[i]!;
  return jumped;
}
