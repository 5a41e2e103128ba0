import { MAD_TO_SIGMA } from '../base/robust.js';
import { quantile } from '../base/statistics.js';

/** How much of a correction is still in the depths, or in them the wrong way round. */
export interface CorrectionLeft {
  /** Share of the correction that the depths still move with: 0 where it is right, 1 where it should not be there, 2 where its sign is wrong. */
  readonly share: number;
  /** One sigma of the share, neighbouring soundings counted as dependent. */
  readonly sigma: number;
  /** How much the correction moves within the runs, one sigma [m]. */
  readonly movesM: number;
  /** `fine`; `wrong-sign`; `not-felt`: the depths move with the whole correction, as if the boat did not; `unknown`: it moves too little to tell. */
  readonly verdict: 'fine' | 'wrong-sign' | 'not-felt' | 'unknown';
}

/** The floor is taken as smooth over this much time to either side: waves of a small boat take 2 to 6 s [s]. */
const SMOOTH_REACH_S = 4;
/** A correction that moves less than this cannot be judged [m]. */
const LEAST_MOVE_M = 0.005;

/**
 * Whether a correction for motion helps or hurts: depths less the smoothed floor of their own run are regressed on the
 * correction, from which the same running mean is taken. A correction with the wrong sign leaves twice itself in the depths.
 *
 * Heave with a wrong sign shows wherever there is a sea; roll and pitch through the arms and, on a slope, the leaning beam.
 *
 * @param depthM reduced depths; addedM what the correction added, whether or not it is applied [m]
 * @param on whether it is applied: where it is not, what is left counts from there
 * @param run which run each sounding is on, -1 none; reason only 0 is used. Shape of all: [n]
 * Source: ordinary least squares through the origin; both sides high-passed alike, so a straight relation survives.
 */
export function correctionLeft(
  soundings: { readonly n: number; readonly timeS: Float64Array; readonly depthM: ArrayLike<number>; readonly reason: ArrayLike<number> },
  addedM: ArrayLike<number>,
  run: ArrayLike<number>,
  on = true,
): CorrectionLeft {
  const rows: number[] = [];
  for (let i = 0; i < soundings.n; i++) if (soundings.reason[i] === 0 && run[i]! >= 0 && Number.isFinite(addedM[i]!) && Number.isFinite(soundings.depthM[i]!)) rows.push(i);
  const timeS = Float64Array.from(rows, (i) => soundings.timeS[i]!);
  const runOf = Int32Array.from(rows, (i) => run[i]!);
  const depth = highPassed(timeS, runOf, Float64Array.from(rows, (i) => soundings.depthM[i]!));
  const added = highPassed(timeS, runOf, Float64Array.from(rows, (i) => addedM[i]!));
  const used = Array.from(depth.keys()).filter((k) => Number.isFinite(depth[k]!) && Number.isFinite(added[k]!));
  const unknown = { share: NaN, sigma: NaN, movesM: 0, verdict: 'unknown' } as const;
  if (used.length < 200) return unknown;
  // Rock and wrong echoes are no part of a smooth floor.
  const limit = 4 * MAD_TO_SIGMA * quantile(Float64Array.from(used, (k) => Math.abs(depth[k]!)), 0.5);
  let xx = 0;
  let xy = 0;
  let count = 0;
  for (const k of used) {
    if (Math.abs(depth[k]!) > limit) continue;
    xx += added[k]! * added[k]!;
    xy += added[k]! * depth[k]!;
    count++;
  }
  const movesM = Math.sqrt(xx / Math.max(1, count));
  if (!(movesM >= LEAST_MOVE_M)) return { ...unknown, movesM: movesM || 0 };
  const slope = xy / xx;
  // The spread of the slope from blocks of 30 s: neighbours in time are not independent.
  const blocks = new Map<number, { xx: number; xy: number }>();
  for (const k of used) {
    if (Math.abs(depth[k]!) > limit) continue;
    const key = Math.floor(timeS[k]! / 30);
    const block = blocks.get(key) ?? { xx: 0, xy: 0 };
    block.xx += added[k]! * added[k]!;
    block.xy += added[k]! * depth[k]!;
    blocks.set(key, block);
  }
  let scatter = 0;
  for (const block of blocks.values()) scatter += (block.xy - slope * block.xx) ** 2;
  const sigma = Math.sqrt(scatter) / xx;
  // Depths that lack the correction move by its opposite: what is left counts from the correction applied.
  const share = on ? slope : slope + 1;
  const sure = sigma < 0.2 && blocks.size >= 5;
  const verdict = !sure ? 'unknown' : share - 2 * sigma > 1.1 && share < 2.8 ? 'wrong-sign' : Math.abs(share - 1) < 0.4 && share > 4 * sigma ? 'not-felt' : 'fine';
  return { share, sigma, movesM, verdict };
}

/** Values less their running mean over SMOOTH_REACH_S to either side of the same run; NaN within that of a run's ends. */
function highPassed(timeS: Float64Array, run: Int32Array, values: Float64Array): Float64Array {
  const n = values.length;
  const sums = new Float64Array(n + 1);
  for (let i = 0; i < n; i++) sums[i + 1] = sums[i]! + values[i]!;
  let start = 0;
  let end = 0;
  return values.map((value, i) => {
    while (timeS[start]! < timeS[i]! - SMOOTH_REACH_S) start++;
    while (end < n && timeS[end]! <= timeS[i]! + SMOOTH_REACH_S) end++;
    const whole = run[start] === run[i] && run[end - 1] === run[i] && timeS[end - 1]! - timeS[start]! > 1.6 * SMOOTH_REACH_S;
    return whole ? value - (sums[end]! - sums[start]!) / (end - start) : NaN;
  });
}
