import { turnDeg } from '../base/interpolate.js';
import { correlationTime } from '../boat/curve-fit.js';
import { combine, type Estimate } from '../boat/estimate.js';

/** Good soundings in time order with the run each belongs to, -1 for none. Shape of every column: [n]. */
export interface LatencyInput {
  readonly n: number;
  readonly timeS: Float64Array;
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  readonly depthM: ArrayLike<number>;
  readonly reason: Uint8Array;
  readonly run: Int32Array;
}

/** Two runs of one line, there and back. */
export interface LatencyPair {
  readonly runA: number;
  readonly runB: number;
  readonly lengthM: number;
  /** Root mean square slope along the line, as tangent. */
  readonly slope: number;
  /** Mean distance between the two tracks [m]. */
  readonly apartM: number;
  /** How much older positions are than depths [s]. */
  readonly latencyS: Estimate;
  /** B less A once that is allowed for: water level or draft between the two [m]. */
  readonly depthStepM: number;
}

export interface LatencyCheck {
  readonly pairs: readonly LatencyPair[];
  /** How much older positions are than depths, beyond what was corrected already [s]. */
  readonly latencyS: Estimate;
  readonly refused: string;
}

/** Courses may be this far from opposite [deg]. */
const OPPOSITE_DEG = 12;
/** Tracks further apart do not see the same floor [m]; and as a share of the water's depth. */
const APART_M = 2;
const APART_SHARE = 0.25;
/** A shorter stretch run both ways tells too little [m]. */
const LEAST_LENGTH_M = 15;
/** Profiles are laid out at this step and smoothed over this length: waves fall away, slopes stay [m]. */
const STEP_M = 0.25;
const SMOOTH_M = 2.5;
/** Latencies are looked for this far to either side [s]. */
const REACH_S = 4;
const COARSE_S = 0.05;
/** A pair on a floor gentler than this tells nothing. */
const LEAST_SLOPE = 0.02;
/** Slopes of the two runs must correlate by this much to be the floor's. */
const LEAST_LIKENESS = 0.6;
/** A latency known no better than this is not worth applying [s]. */
const LEAST_GOOD_S = 0.5;

interface Run {
  readonly run: number;
  readonly rows: Uint32Array;
  readonly courseDeg: number;
  readonly midX: number;
  readonly midY: number;
  readonly midS: number;
}

/**
 * Latency from lines run both ways over the same slope.
 *
 * Positions that are older than their depths put every sounding back along the way it was run: two runs of one line in
 * opposite ways show the slope twice, shifted against each other by (v1 + v2) x latency. Each pair's profiles are shifted
 * against each other until they agree best but for one constant (the water level between the two), which does not shrink the
 * answer as a regression on a noisy slope would; that uses where the slope changes. A slope that is the same all along shifts
 * into the constant: it tells as far as the water level is known. Both are weighed by their standard errors, which come from
 * what is left of the agreement, counted by its correlation along the line. Pairs are combined by weight.
 *
 * @param levelSigmaM one sigma of the water level used, between one run and the other minutes later [m]
 * @returns refused says why where there is no pair, or all lie on a level floor
 *
 * Source: IHO C-13 (2005), ch. 2 and USACE EM 1110-2-1003 (latency by reciprocal lines over a slope): shift = 2 v dt.
 */
export function latencyCheck(input: LatencyInput, levelSigmaM = 0.03): LatencyCheck {
  const runs = runsOf(input);
  const pairs: LatencyPair[] = [];
  let tried = 0;
  let level = 0;
  // Each run is held against one other, the next in time: pairs that share a run would not be independent.
  const ways = runs
    .flatMap((a, i) => runs.slice(i + 1).map((b) => ({ a, b, apartS: Math.abs(a.midS - b.midS) })))
    .filter(({ a, b }) => Math.abs(turnDeg(a.courseDeg + 180, b.courseDeg)) <= OPPOSITE_DEG)
    .sort((p, q) => p.apartS - q.apartS);
  const used = new Set<Run>();
  for (const { a, b } of ways) {
    if (used.has(a) || used.has(b)) continue;
    const pair = pairOf(input, a, b, levelSigmaM);
    if (pair === null) continue;
    used.add(a).add(b);
    tried++;
    if (pair === 'level') level++;
    else pairs.push(pair);
  }
  const latencyS = combine(pairs.map((pair) => pair.latencyS), 6);
  const refused = ((): string => {
    if (tried === 0) return `no line was run both ways on one track: expected at least ${LEAST_LENGTH_M} m there and back within ${APART_M} m of each other, over a slope`;
    if (pairs.length === 0) return `${level === 1 ? 'the line' : `all ${level} lines`} run both ways lie on a level floor: expected a slope along the line, the steeper the better`;
    if (!(latencyS.sigma < LEAST_GOOD_S)) return `the latency is known to ${(1.96 * latencyS.sigma).toFixed(1)} s only: expected better than ${(1.96 * LEAST_GOOD_S).toFixed(1)} s; run it faster, over a steeper slope, or more often`;
    return '';
  })();
  return { pairs, latencyS, refused };
}

function runsOf(input: LatencyInput): Run[] {
  const rows = new Map<number, number[]>();
  for (let i = 0; i < input.n; i++) {
    const run = input.run[i]!;
    if (run < 0 || input.reason[i] !== 0 || !Number.isFinite(input.xM[i]!)) continue;
    const held = rows.get(run);
    // The same line run again later is a run of its own.
    if (held === undefined) rows.set(run, [i]);
    else held.push(i);
  }
  const found: Run[] = [];
  for (const [run, all] of rows) {
    for (const part of byTime(input, all)) {
      if (part.length < 20) continue;
      const [first, last] = [part[0]!, part[part.length - 1]!];
      const dx = input.xM[last]! - input.xM[first]!;
      const dy = input.yM[last]! - input.yM[first]!;
      if (Math.hypot(dx, dy) < LEAST_LENGTH_M) continue;
      found.push({ run, rows: Uint32Array.from(part), courseDeg: (Math.atan2(dx, dy) * 180) / Math.PI, midX: (input.xM[last]! + input.xM[first]!) / 2, midY: (input.yM[last]! + input.yM[first]!) / 2, midS: (input.timeS[last]! + input.timeS[first]!) / 2 });
    }
  }
  return found;
}

/** Rows of one line, parted where more than half a minute lies between or the way turns round. */
function byTime(input: LatencyInput, rows: readonly number[]): number[][] {
  const parts: number[][] = [];
  let part: number[] = [];
  for (const row of rows) {
    const last = part[part.length - 1];
    if (last !== undefined && (input.timeS[row]! - input.timeS[last]! > 30 || turnsBack(input, part, row))) {
      parts.push(part);
      part = [];
    }
    part.push(row);
  }
  parts.push(part);
  return parts;
}

function turnsBack(input: LatencyInput, part: readonly number[], row: number): boolean {
  const first = part[0]!;
  const last = part[part.length - 1]!;
  const far = Math.hypot(input.xM[last]! - input.xM[first]!, input.yM[last]! - input.yM[first]!);
  return far > 5 && Math.hypot(input.xM[row]! - input.xM[first]!, input.yM[row]! - input.yM[first]!) < far - 3;
}

/** A run laid out along an axis: depth and speed along it by even steps; NaN where there are no soundings. */
interface Profile {
  readonly fromM: number;
  readonly depthM: Float64Array;
  readonly acrossM: Float64Array;
  readonly speedMps: number;
}

function pairOf(input: LatencyInput, a: Run, b: Run, levelSigmaM: number): LatencyPair | 'level' | null {
  const rad = (a.courseDeg * Math.PI) / 180;
  const [ux, uy] = [Math.sin(rad), Math.cos(rad)];
  const along = (row: number): number => (input.xM[row]! - a.midX) * ux + (input.yM[row]! - a.midY) * uy;
  const across = (row: number): number => (input.xM[row]! - a.midX) * uy - (input.yM[row]! - a.midY) * ux;
  const profile = (run: Run): Profile => profileOf(input, run, along, across);
  const midOff = Math.abs((b.midX - a.midX) * uy - (b.midY - a.midY) * ux);
  if (midOff > 50) return null;
  if (leastApart(a, b, across) > Math.max(APART_M, APART_SHARE * deepest(input, a))) return null;
  const [pa, pb] = [profile(a), profile(b)];
  const from = Math.max(pa.fromM, pb.fromM);
  const count = Math.floor((Math.min(pa.fromM + pa.depthM.length * STEP_M, pb.fromM + pb.depthM.length * STEP_M) - from) / STEP_M);
  if (count * STEP_M < LEAST_LENGTH_M) return null;
  let apart = 0;
  let depth = 0;
  let both = 0;
  for (let k = 0; k < count; k++) {
    const [ia, ib] = [Math.round((from - pa.fromM) / STEP_M) + k, Math.round((from - pb.fromM) / STEP_M) + k];
    const off = Math.abs(pa.acrossM[ia]! - pb.acrossM[ib]!);
    if (!(off >= 0)) continue;
    both++;
    apart += off;
    depth += pa.depthM[ia]!;
  }
  if (both * STEP_M < LEAST_LENGTH_M || apart / both > Math.max(APART_M, APART_SHARE * (depth / both))) return null;
  const lengthM = both * STEP_M;
  const speed = pa.speedMps + pb.speedMps;

  // With latency L a sounding stands v L short of its place: the floor at s is read by A at s - vA L and by B at s + vB L.
  const agree = (latencyS: number): { left: Float64Array; mean: number; squares: number } => {
    const left: number[] = [];
    const reachM = REACH_S * Math.max(pa.speedMps, pb.speedMps);
    const edge = Math.min(reachM, 0.25 * count * STEP_M);
    for (let k = 0; k < count; k++) {
      const s = from + k * STEP_M;
      // The same stretch for every latency, so that sums compare.
      if (s < from + edge || s > from + count * STEP_M - edge) continue;
      const d = at(pb, s + pb.speedMps * latencyS) - at(pa, s - pa.speedMps * latencyS);
      if (d === d) left.push(d);
    }
    const mean = left.reduce((sum, one) => sum + one, 0) / left.length;
    const squares = left.reduce((sum, one) => sum + (one - mean) ** 2, 0) / left.length;
    return { left: Float64Array.from(left, (one) => one - mean), mean, squares: left.length * STEP_M < 0.4 * LEAST_LENGTH_M ? Infinity : squares };
  };
  let best = 0;
  let least = Infinity;
  for (let latencyS = -REACH_S; latencyS <= REACH_S + 1e-9; latencyS += COARSE_S) {
    const { squares } = agree(latencyS);
    if (squares < least) [least, best] = [squares, latencyS];
  }
  if (!(least < Infinity)) return null;
  // A parabola through three places around the best one, wide enough to rise above what chance does.
  const half = Math.max(COARSE_S, Math.min(0.5, 1 / speed));
  const [low, here, high] = [agree(best - half).squares, agree(best).squares, agree(best + half).squares];
  const curve = low - 2 * here + high;
  const latencyS = curve > 0 ? best + Math.max(-half, Math.min(half, (0.5 * half * (low - high)) / curve)) : best;
  const end = agree(latencyS);

  const { meanSlope, changing } = slopesOf(pa, pb, from, count, latencyS);
  const worth = Math.max(3, end.left.length / correlationTime(end.left));
  const told: Estimate[] = [];
  if (changing >= LEAST_SLOPE) told.push({ value: latencyS, sigma: Math.sqrt(end.squares / worth) / (speed * changing), dof: Math.max(1, worth - 2) });
  if (Math.abs(meanSlope) >= LEAST_SLOPE) {
    // The mean slope tells as well, as far as the water level between the two runs is known.
    const steady = agree(changing >= LEAST_SLOPE ? latencyS : 0);
    const value = (changing >= LEAST_SLOPE ? latencyS : 0) - steady.mean / (speed * meanSlope);
    told.push({ value, sigma: Math.hypot(levelSigmaM, Math.sqrt(steady.squares / worth)) / (speed * Math.abs(meanSlope)), dof: Math.max(1, worth - 2) });
  }
  if (told.length === 0) return 'level';
  return { runA: a.run, runB: b.run, lengthM, slope: Math.hypot(meanSlope, changing), apartM: apart / both, latencyS: weighed(told), depthStepM: end.mean };
}

/** No place of two runs is nearer to the other than this, across their way: settles most pairs without laying them out [m]. */
function leastApart(a: Run, b: Run, across: (row: number) => number): number {
  const reach = ({ rows }: Run): [number, number] => {
    let [low, high] = [Infinity, -Infinity];
    for (const row of rows) {
      const off = across(row);
      if (off < low) low = off;
      if (off > high) high = off;
    }
    return [low, high];
  };
  const [lowA, highA] = reach(a);
  const [lowB, highB] = reach(b);
  return Math.max(lowB - highA, lowA - highB);
}

function deepest(input: LatencyInput, run: Run): number {
  return run.rows.reduce((most, row) => Math.max(most, input.depthM[row]!), 0);
}

/** Mean of independent estimates by their variances. */
function weighed(all: readonly Estimate[]): Estimate {
  const total = all.reduce((sum, { sigma }) => sum + 1 / sigma ** 2, 0);
  return { value: all.reduce((sum, { value, sigma }) => sum + value / sigma ** 2, 0) / total, sigma: 1 / Math.sqrt(total), dof: all.reduce((sum, { dof }) => sum + dof, 0) };
}

/**
 * Mean slope along the stretch that both saw once brought together, and how much it changes, as tangents. What both runs show
 * alike is the floor; what only one shows is noise: the change counts by their covariance, and not at all where they hardly agree.
 */
function slopesOf(pa: Profile, pb: Profile, from: number, count: number, latencyS: number): { meanSlope: number; changing: number } {
  const a: number[] = [];
  const b: number[] = [];
  for (let k = 0; k < count; k++) {
    const s = from + k * STEP_M;
    const [sa, sb] = [s - pa.speedMps * latencyS, s + pb.speedMps * latencyS];
    const da = (at(pa, sa + SMOOTH_M) - at(pa, sa - SMOOTH_M)) / (2 * SMOOTH_M);
    const db = (at(pb, sb + SMOOTH_M) - at(pb, sb - SMOOTH_M)) / (2 * SMOOTH_M);
    if (da !== da || db !== db) continue;
    a.push(da);
    b.push(db);
  }
  const mean = (values: readonly number[]): number => values.reduce((sum, one) => sum + one, 0) / Math.max(1, values.length);
  const [meanA, meanB] = [mean(a), mean(b)];
  const common = mean(a.map((one, i) => (one - meanA) * (b[i]! - meanB)));
  const whole = Math.sqrt(mean(a.map((one) => (one - meanA) ** 2)) * mean(b.map((one) => (one - meanB) ** 2)));
  return { meanSlope: (meanA + meanB) / 2, changing: common > LEAST_LIKENESS * whole ? Math.sqrt(common) : 0 };
}

function at(profile: Profile, s: number): number {
  const place = (s - profile.fromM) / STEP_M;
  const k = Math.floor(place);
  if (k < 0 || k + 1 >= profile.depthM.length) return NaN;
  return profile.depthM[k]! + (place - k) * (profile.depthM[k + 1]! - profile.depthM[k]!);
}

function profileOf(input: LatencyInput, run: Run, along: (row: number) => number, across: (row: number) => number): Profile {
  let low = Infinity;
  let high = -Infinity;
  for (const row of run.rows) {
    const s = along(row);
    if (s < low) low = s;
    if (s > high) high = s;
  }
  const cells = Math.floor((high - low) / STEP_M) + 2;
  const weight = new Float64Array(cells);
  const depth = new Float64Array(cells);
  const slopeOf = new Float64Array(cells * 3);
  const off = new Float64Array(cells);
  // A straight line through the soundings around each step, weighted down to nothing at the smoothing length.
  for (const row of run.rows) {
    const s = along(row);
    const middle = Math.round((s - low) / STEP_M);
    const reach = Math.ceil(SMOOTH_M / STEP_M);
    for (let k = Math.max(0, middle - reach); k <= Math.min(cells - 1, middle + reach); k++) {
      const d = s - (low + k * STEP_M);
      const w = 1 - (d / SMOOTH_M) ** 2;
      if (w <= 0) continue;
      weight[k]! += w;
      depth[k]! += w * input.depthM[row]!;
      off[k]! += w * across(row);
      slopeOf[3 * k]! += w * d;
      slopeOf[3 * k + 1]! += w * d * d;
      slopeOf[3 * k + 2]! += w * d * input.depthM[row]!;
    }
  }
  const acrossM = new Float64Array(cells).fill(NaN);
  for (let k = 0; k < cells; k++) {
    if (weight[k]! < 1) {
      depth[k] = NaN;
      continue;
    }
    acrossM[k] = off[k]! / weight[k]!;
    const spread = slopeOf[3 * k + 1]! - slopeOf[3 * k]! ** 2 / weight[k]!;
    const slope = spread > 1e-6 ? (slopeOf[3 * k + 2]! - (slopeOf[3 * k]! * depth[k]!) / weight[k]!) / spread : 0;
    depth[k] = (depth[k]! - slope * slopeOf[3 * k]!) / weight[k]!;
  }
  const [first, last] = [run.rows[0]!, run.rows[run.rows.length - 1]!];
  const lengthM = Math.abs(along(last) - along(first));
  return { fromM: low, depthM: depth, acrossM, speedMps: lengthM / Math.max(1e-9, input.timeS[last]! - input.timeS[first]!) };
}
