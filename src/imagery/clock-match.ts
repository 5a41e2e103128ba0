import { interpolateAt } from '../base/interpolate.js';
import { median, robustSigma } from '../base/robust.js';

/** How far the sonar's clock is off. */
export interface ClockMatch {
  /** Add to the sonar's times to get UTC [s]; NaN where it cannot be told. */
  readonly offsetS: number;
  /** 95 % [s]. */
  readonly uncertainty95S: number;
  /** Median of height plus draft less the depth of the water, by which heights and depths differ there [m]. */
  readonly biasM: number;
  /** Scatter of the heights about the depths, one sigma [m]. */
  readonly sigmaM: number;
  /** Heights compared, half a second apart. */
  readonly compared: number;
  /** In words: how it was found, or why it is not known. */
  readonly how: string;
}

/** Heights and depths are compared this far apart [s]. */
const STEP_S = 0.5;
/** Offsets are tried this far apart, then refined [s]. */
const TRY_S = 0.25;
const LEAST_COMPARED = 60;
/** An offset known no better than this is of no use [s, 95 %]. */
const USELESS_95_S = 1.5;

/**
 * The offset of the sonar's clock against the positions', by sliding the heights of the bottom track along the depths that
 * boat passed over until they fit: the least mean of squares, each held to three sigma, with the median difference taken out
 * (draft and water level may be off).
 *
 * The 95 % is that of a least-squares fit, 1.96 / sqrt(sum of slope^2 / sigma^2), with neighbouring differences counted by
 * their correlation. Over a flat floor, or where another offset fits nearly as well, it is said to be unknown.
 *
 * @param heights of the sonar above the floor by its own clock; rising times
 * @param depths below the sonar that are expected by UTC along the track, even steps or not; rising times
 * @param searchS offsets are looked for up to this much either way [s]
 */
export function matchClock(heights: { readonly timeS: Float64Array; readonly heightM: ArrayLike<number> }, depths: { readonly timeS: Float64Array; readonly depthM: ArrayLike<number> }, searchS: number, maxGapS = 5): ClockMatch {
  const { timeS, heightM } = thinned(heights);
  const none = (how: string, compared = 0): ClockMatch => ({ offsetS: NaN, uncertainty95S: NaN, biasM: NaN, sigmaM: NaN, compared, how });
  if (timeS.length < LEAST_COMPARED) return none(`only ${timeS.length} half seconds of bottom track to go by, ${LEAST_COMPARED} are needed`);
  const residuals = (offsetS: number): Float64Array => {
    const expected = interpolateAt(depths.timeS, depths.depthM, timeS.map((each) => each + offsetS), maxGapS);
    const off: number[] = [];
    for (let i = 0; i < timeS.length; i++) if (!Number.isNaN(expected[i]!)) off.push(heightM[i]! - expected[i]!);
    const middle = median(off);
    return Float64Array.from(off, (each) => each - middle);
  };
  const most = Math.max(...Array.from({ length: 9 }, (_, i) => residuals((searchS * (i - 4)) / 4).length));
  const cost = (offsetS: number, limitM: number): number => {
    const off = residuals(offsetS);
    if (off.length < Math.max(LEAST_COMPARED, 0.5 * most)) return Infinity;
    let sum = 0;
    for (const each of off) sum += Math.min(each * each, limitM * limitM);
    return sum / off.length;
  };
  const steps = Math.round(searchS / TRY_S);
  const search = (limitM: number): { costs: Float64Array; best: number } => {
    const costs = Float64Array.from({ length: 2 * steps + 1 }, (_, i) => cost((i - steps) * TRY_S, limitM));
    let best = steps;
    for (let i = 0; i < costs.length; i++) if (costs[i]! < costs[best]!) best = i;
    return { costs, best };
  };
  // First by absolute differences of any size, to learn the scatter at the best fit; then with outliers held to it.
  let found = search(Infinity);
  let sigmaM = Math.max(0.02, robustSigma(residuals((found.best - steps) * TRY_S)));
  found = search(3 * sigmaM);
  const offset0 = (found.best - steps) * TRY_S;
  sigmaM = Math.max(0.02, robustSigma(residuals(offset0)));
  const { costs, best } = found;
  if (!Number.isFinite(costs[best]!)) return none('depths and bottom track overlap for too short a time');
  if (best === 0 || best === costs.length - 1) return none(`the best fit lies at the end of the ${searchS} s that were searched`, timeS.length);
  const [left, middle, right] = [costs[best - 1]!, costs[best]!, costs[best + 1]!];
  const bend = left - 2 * middle + right;
  const offsetS = offset0 + (bend > 0 && Number.isFinite(bend) ? (TRY_S * (left - right)) / (2 * bend) : 0);
  const off = residuals(offsetS);
  const worth = off.length / correlatedRun(off);
  // How much the fit worsens per second squared, measured 1 s to either side so that noise does not pass for slope.
  const side = Math.round(1 / TRY_S);
  const wide = (costs[Math.max(0, best - side)]! + costs[Math.min(costs.length - 1, best + side)]!) / 2 - middle;
  const noise = Math.sqrt(2 / worth) * middle;
  const sigmaS = wide > 0 && Number.isFinite(wide) ? Math.sqrt(middle / worth / wide) : Infinity;
  const uncertainty95S = Math.max(1.96 * sigmaS, 0.05);
  if (!(wide > 2 * noise) || !(uncertainty95S <= USELESS_95_S)) return none('the floor under the track is too even to tell', off.length);
  let rival = Infinity;
  for (let i = 0; i < costs.length; i++) if (Math.abs(i - best) * TRY_S > 3 + 2 * uncertainty95S) rival = Math.min(rival, costs[i]!);
  if (rival - middle < 3 * noise) return none('another offset fits the depths nearly as well', off.length);
  const expected = interpolateAt(depths.timeS, depths.depthM, timeS.map((each) => each + offsetS), maxGapS);
  const biasM = median(Float64Array.from(timeS, (_, i) => heightM[i]! - expected[i]!).filter((each) => !Number.isNaN(each)));
  return { offsetS, uncertainty95S, biasM, sigmaM, compared: off.length, how: `heights of the bottom track slid along the depths under the track, ${off.length} half seconds compared` };
}

/** Medians of half seconds. */
function thinned({ timeS, heightM }: { readonly timeS: Float64Array; readonly heightM: ArrayLike<number> }): { timeS: Float64Array; heightM: Float64Array } {
  const times: number[] = [];
  const heights: number[] = [];
  let start = 0;
  while (start < timeS.length) {
    let end = start;
    while (end < timeS.length && timeS[end]! - timeS[start]! < STEP_S) end++;
    const known: number[] = [];
    let time = 0;
    for (let i = start; i < end; i++) {
      if (Number.isNaN(heightM[i]!)) continue;
      known.push(heightM[i]!);
      time += timeS[i]!;
    }
    if (known.length > 0) {
      times.push(time / known.length);
      heights.push(median(known));
    }
    start = Math.max(end, start + 1);
  }
  return { timeS: Float64Array.from(times), heightM: Float64Array.from(heights) };
}

/** How many neighbours say the same: one plus twice the sum of the correlations until they vanish. */
function correlatedRun(off: Float64Array): number {
  const n = off.length;
  let variance = 0;
  for (const each of off) variance += each * each;
  let run = 1;
  for (let lag = 1; lag < Math.min(n / 4, 100); lag++) {
    let sum = 0;
    for (let i = 0; i + lag < n; i++) sum += off[i]! * off[i + lag]!;
    const correlation = variance > 0 ? sum / variance : 0;
    if (correlation <= 0.05) break;
    run += 2 * correlation;
  }
  return run;
}
