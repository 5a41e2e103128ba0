import { bearingDeg, unrolledDeg } from '../base/interpolate.js';

/** A smoothed series, and how much the values scatter about it. Shape of both: [n]. */
export interface LocalFit {
  /** NaN where no value is within reach. */
  readonly value: Float64Array;
  /** One sigma of the smoothed value from the scatter about it; NaN where there are fewer than four values. */
  readonly sigma: Float64Array;
}

const ROUNDS = 2;

/**
 * Smooths a series by straight lines fitted around each of its times: tricube weights over `reachS` to either side, and two
 * rounds of bisquare weights against what stands far off.
 *
 * @param timeS rising [s]
 * @param value NaN is passed over
 * @param reachS 0: nothing is smoothed
 * @param breakS a longer silence parts the series
 * Source: Cleveland (1979), J. Am. Stat. Assoc. 74(368), 829-836, with a window in time instead of in points.
 */
export function smoothLocally(timeS: Float64Array, value: Float64Array, reachS: number, breakS: number): LocalFit {
  const n = timeS.length;
  const fitted = Float64Array.from(value);
  const sigma = new Float64Array(n).fill(NaN);
  if (!(reachS > 0)) return { value: fitted, sigma };
  const robust = new Float64Array(n).fill(1);
  for (let round = 0; round <= ROUNDS; round++) {
    let from = 0;
    for (let i = 0; i < n; i++) {
      while (timeS[i]! - timeS[from]! > reachS) from++;
      let start = i;
      while (start > from && timeS[start]! - timeS[start - 1]! <= breakS) start--;
      fitAt(i, start);
    }
    if (round < ROUNDS) weighAgain();
  }
  return { value: fitted, sigma };

  function fitAt(i: number, start: number): void {
    let sw = 0;
    let st = 0;
    let sv = 0;
    let stt = 0;
    let stv = 0;
    let squares = 0;
    let ww = 0;
    let count = 0;
    const t0 = timeS[i]!;
    const v0 = Number.isNaN(value[i]!) ? 0 : value[i]!;
    for (let k = start; k < n; k++) {
      const t = timeS[k]! - t0;
      if (t > reachS || (k > i && timeS[k]! - timeS[k - 1]! > breakS)) break;
      const v = value[k]! - v0;
      if (Number.isNaN(v)) continue;
      const u = Math.abs(t) / (reachS * 1.0001);
      const tricube = 1 - u * u * u;
      const w = tricube * tricube * tricube * robust[k]!;
      if (!(w > 0)) continue;
      sw += w;
      st += w * t;
      sv += w * v;
      stt += w * t * t;
      stv += w * t * v;
      squares += w * v * v;
      ww += w * w;
      count++;
    }
    if (!(sw > 0)) {
      fitted[i] = robust[i] === 0 && count === 0 ? value[i]! : NaN;
      return;
    }
    const det = sw * stt - st * st;
    const straight = det > 1e-9 * sw * sw * reachS * reachS;
    const slope = straight ? (sw * stv - st * sv) / det : 0;
    const level = (sv - slope * st) / sw;
    fitted[i] = v0 + level;
    if (count < 4) return;
    const spread = Math.max(0, squares - 2 * (level * sv + slope * stv) + level * level * sw + 2 * level * slope * st + slope * slope * stt) / sw;
    sigma[i] = Math.sqrt((spread * ww) / (sw * sw));
  }

  function weighAgain(): void {
    // Scale from the scatter around here: the mean absolute residual of the neighbours.
    const off = value.map((each, i) => Math.abs(each - fitted[i]!));
    let from = 0;
    let to = 0;
    let sum = 0;
    let count = 0;
    for (let i = 0; i < n; i++) {
      while (to < n && timeS[to]! - timeS[i]! <= 5 * reachS) {
        if (!Number.isNaN(off[to]!)) {
          sum += off[to]!;
          count++;
        }
        to++;
      }
      while (timeS[i]! - timeS[from]! > 5 * reachS) {
        if (!Number.isNaN(off[from]!)) {
          sum -= off[from]!;
          count--;
        }
        from++;
      }
      const scale = count > 0 ? (6 * Math.max(0, sum)) / count : 0;
      const u = scale > 0 ? off[i]! / scale : 0;
      robust[i] = Number.isNaN(u) ? 0 : u < 1 ? (1 - u * u) * (1 - u * u) : 0;
    }
  }
}

/** As `smoothLocally` for bearings, by the shorter way round [deg]; results in [0, 360). */
export function smoothBearings(timeS: Float64Array, bearing: ArrayLike<number>, reachS: number, breakS: number): LocalFit {
  const { value, sigma } = smoothLocally(timeS, unrolledDeg(bearing), reachS, breakS);
  return { value: value.map((each) => (Number.isNaN(each) ? NaN : bearingDeg(each))), sigma };
}
