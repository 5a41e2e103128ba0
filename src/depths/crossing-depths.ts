import type { CrossingInput, Crossings } from './crossings.js';

/** Soundings within this far of a crossing along the track say what the floor is there [m]. */
const REACH_M = 3;
/** Never more rows than this to either side are looked at. */
const MOST_ROWS = 400;

/**
 * Depth of one run at each crossing, by a straight line through its good soundings within 3 m along the track: waves and the
 * sounder's own noise, which two single soundings show in full, fall away, and what is common to a run stays.
 *
 * @param rows the sounding before the crossing, `rowA` or `rowB`
 * @returns depth [m]; NaN where fewer than three soundings stand there. Shape [count]
 */
export function smoothedDepths(input: CrossingInput, crossings: Pick<Crossings, 'count' | 'xM' | 'yM'>, rows: Uint32Array): Float64Array {
  const { n, xM, yM, depthM, reason, line } = input;
  const found = new Float64Array(crossings.count).fill(NaN);
  for (let i = 0; i < crossings.count; i++) {
    const from = rows[i]!;
    const x = crossings.xM[i]!;
    const y = crossings.yM[i]!;
    let sum = 0;
    let sumS = 0;
    let sumSS = 0;
    let sumD = 0;
    let sumSD = 0;
    // Distance along the track, measured on from the crossing with the sign of the way.
    const take = (row: number, sign: number): boolean => {
      if (line[row] !== line[from]) return false;
      if (reason[row] !== 0 || !(Math.abs(xM[row]!) >= 0)) return true;
      const s = sign * Math.hypot(xM[row]! - x, yM[row]! - y);
      if (Math.abs(s) > REACH_M) return false;
      sum++;
      sumS += s;
      sumSS += s * s;
      sumD += depthM[row]!;
      sumSD += s * depthM[row]!;
      return true;
    };
    for (let row = from; row >= 0 && row > from - MOST_ROWS; row--) if (!take(row, -1)) break;
    for (let row = from + 1; row < n && row < from + MOST_ROWS; row++) if (!take(row, 1)) break;
    if (sum < 3) continue;
    const spread = sumSS - (sumS * sumS) / sum;
    const slope = spread > 1e-9 ? (sumSD - (sumS * sumD) / sum) / spread : 0;
    found[i] = (sumD - slope * sumS) / sum;
  }
  return found;
}
