import { quantile } from '../base/statistics.js';
import { MAD_TO_SIGMA } from '../base/robust.js';
import { smoothedDepths } from './crossing-depths.js';
import type { CrossingInput, Crossings } from './crossings.js';

/** What the tide, seen twice at the same places, says of the units of depths and water level. */
export interface TideScale {
  /** Change of the measured depth over that of the water level: 1 where both are in metres. */
  readonly ratio: number;
  /** One sigma of it, and share of the differences at crossings it explains. */
  readonly sigma: number;
  readonly explains: number;
  readonly crossings: number;
  readonly unit: 'depths-in-feet' | 'depths-in-fathoms' | 'level-in-feet';
}

const UNITS: readonly (readonly [TideScale['unit'], number])[] = [
  ['depths-in-feet', 1 / 0.3048],
  ['depths-in-fathoms', 1 / 1.8288],
  ['level-in-feet', 0.3048],
];
const LEAST_CROSSINGS = 8;
/** How near the ratio must be to that of a unit, and what it must explain of the variance of the differences. */
const NEAR = 0.12;
const LEAST_EXPLAINED = 0.7;

/**
 * Whether the tide betrays depths in feet or fathoms, or a water level in feet, that were read as metres: where one place is
 * sounded at two states of the tide, measured depths must differ by as much as the level did. Depths in feet differ by 3.28
 * times as much, though every depth looks right by itself.
 *
 * @param depthM reduced depths, water level taken off whole
 * @param levelM the level taken off, of each sounding
 * @returns null where units are right, or where the tide changed too little to tell
 * Source: least squares through the origin; units exact, 1 ft = 0.3048 m.
 */
export function tideScale(input: CrossingInput, crossings: Crossings, levelM: ArrayLike<number>): TideScale | null {
  const a = smoothedDepths(input, crossings, crossings.rowA);
  const b = smoothedDepths(input, crossings, crossings.rowB);
  const pairs: { level: number; depth: number }[] = [];
  for (let i = 0; i < crossings.count; i++) {
    const level = levelM[crossings.rowB[i]!]! - levelM[crossings.rowA[i]!]!;
    const depth = b[i]! - a[i]!;
    if (Number.isFinite(level + depth)) pairs.push({ level, depth });
  }
  let kept = pairs;
  let slope = NaN;
  for (let round = 0; round < 4; round++) {
    if (kept.length < LEAST_CROSSINGS) return null;
    let ll = 0;
    let ld = 0;
    for (const { level, depth } of kept) [ll, ld] = [ll + level * level, ld + level * depth];
    if (!(ll > 0)) return null;
    slope = ld / ll;
    // Crossings on rock or wrong echoes are no witnesses.
    const limit = 4 * MAD_TO_SIGMA * quantile(Float64Array.from(pairs, ({ level, depth }) => Math.abs(depth - slope * level)), 0.5);
    kept = pairs.filter(({ level, depth }) => Math.abs(depth - slope * level) <= limit);
  }
  let ll = 0;
  let dd = 0;
  let rr = 0;
  for (const { level, depth } of kept) {
    ll += level * level;
    dd += depth * depth;
    rr += (depth - slope * level) ** 2;
  }
  const sigma = Math.sqrt(rr / Math.max(1, kept.length - 1) / ll);
  const explains = 1 - rr / dd;
  const ratio = 1 + slope;
  const found = UNITS.find(([, like]) => Math.abs(ratio / like - 1) < NEAR);
  if (found === undefined || explains < LEAST_EXPLAINED || !(sigma < 0.1 * ratio)) return null;
  return { ratio, sigma, explains, crossings: kept.length, unit: found[0] };
}
