import type { PingCells } from './slant-profile.js';

/** What hides the floor: its place along the track and what of it the beam sees in each ping. */
export interface Blocking {
  /** Places across it along the track and their weights in each ping; the weights of a ping add up to the share of the beam that it stands in. Shape [pings][places]. */
  readonly weights: readonly Float64Array[];
  /** Slant range at which it ends at each place, less that of its middle [m]. Shape [places]. */
  readonly offM: Float64Array;
}

/** What was found of its end and its shadow's. */
export interface ShadowFit {
  /** Means and spreads of what they could be, slant ranges at its middle [m]. */
  readonly echoEndM: number;
  readonly shadowEndM: number;
  readonly echoEndSigmaM: number;
  readonly shadowEndSigmaM: number;
  /** Mean and spread of 1 - R / E, the share of the sonar's height that stands up. */
  readonly share: number;
  readonly shareSigma: number;
  /** Chance that the shadow runs on beyond the last cell. */
  readonly open: number;
  /** By how much the best pair of edges is likelier than a floor without a shadow, natural logarithm. */
  readonly evidence: number;
}

export interface ShadowSearch {
  readonly cellM: number;
  /** Mean power of the floor. */
  readonly floor: number;
  /** Ranges about which, and how far about, the end of the echo is sought [m]. */
  readonly aboutM: number;
  readonly reachM: number;
  /** Share of independent cells: 1 under speckle alone. */
  readonly temper: number;
}

/** Levels that an echo may have, over the floor's, each as likely: 3 to 19 dB. */
const ECHO_LEVELS = [2, 4, 8, 20, 60];
/** Levels that the floor may have about what is beside it, and their chances. */
const FLOOR_LEVELS: readonly (readonly [times: number, chance: number])[] = [[0.82, 0.25], [1, 0.5], [1.22, 0.25]];
const WORSE = 10;
const FINE = 3;
/** What leaks in from the sides of the beam is not of one level: a shadow counts as no darker than this share of the floor. */
const LEAST_LEVEL = 0.1;
/** Louder than so many times the floor, the floor is no more floor. */
const MOST_POWER = 4;

/**
 * Ends of something and of its shadow by likelihood, each ping for itself: the echo of any level as far as it reaches, then the
 * floor less what it hides, then the floor.
 *
 * @returns null where no pair is likelier than a floor without a shadow
 * Source: speckle of one echo: exponential power (Goodman 1976, J. Opt. Soc. Am. 66, 1145).
 */
export function findEnds(pings: readonly PingCells[], blocking: Blocking, search: ShadowSearch): ShadowFit | null {
  const { cellM, aboutM, reachM, floor } = search;
  const lastM = Math.max(...pings.map(({ slantM }) => slantM[slantM.length - 1] ?? 0)) + cellM / 2;
  const models = FLOOR_LEVELS.map(([times, chance]) => ({ model: new Model(pings, blocking, search, floor * times), prior: Math.log(chance) }));
  const rFrom = aboutM - reachM;
  const steps = Math.ceil((2 * reachM) / cellM);
  interface Point { readonly r: number; readonly e: number; readonly likelihood: number }
  const coarse: Point[] = [];
  const middle = models[1]!;
  for (let i = 0; i <= steps; i++) {
    const r = rFrom + i * cellM;
    for (let e = r + 1.5 * cellM; e < lastM + 2 * cellM; e += cellM) coarse.push({ r, e, likelihood: middle.model.at(r, e) });
  }
  const most = coarse.reduce((top, { likelihood }) => Math.max(top, likelihood), -Infinity);
  if (!(most > -Infinity)) return null;
  const step = cellM / FINE;
  const pairs = new Set<number>();
  for (const { r, e, likelihood } of coarse) {
    if (likelihood < most - WORSE) continue;
    const [i, k] = [Math.round((r - rFrom) / step), Math.round((e - rFrom) / step)];
    for (let di = -1; di <= 1; di++) for (let dk = -1; dk <= 1; dk++) pairs.add((i + di + 64) * 65_536 + k + dk);
  }
  const points: Point[] = [];
  let top = -Infinity;
  for (const pair of pairs) {
    const r = rFrom + (Math.floor(pair / 65_536) - 64) * step;
    const e = rFrom + (pair % 65_536) * step;
    if (e < r + cellM) continue;
    for (const { model, prior } of models) {
      const likelihood = model.at(r, e) + prior;
      top = Math.max(top, likelihood);
      points.push({ r, e, likelihood });
    }
  }
  let [weight, open] = [0, 0];
  const sums = { r: 0, e: 0, rr: 0, ee: 0, s: 0, ss: 0 };
  for (const { r, e, likelihood } of points) {
    const w = Math.exp((likelihood - top) * search.temper);
    weight += w;
    if (e > lastM - cellM) open += w;
    const share = 1 - r / e;
    sums.r += w * r;
    sums.e += w * e;
    sums.rr += w * r * r;
    sums.ee += w * e * e;
    sums.s += w * share;
    sums.ss += w * share * share;
  }
  const spread = (square: number, mean: number): number => Math.sqrt(Math.max(0, square / weight - (mean / weight) ** 2));
  return {
    echoEndM: sums.r / weight,
    shadowEndM: sums.e / weight,
    echoEndSigmaM: spread(sums.rr, sums.r),
    shadowEndSigmaM: spread(sums.ee, sums.e),
    share: sums.s / weight,
    shareSigma: spread(sums.ss, sums.s),
    open: open / weight,
    evidence: most,
  };
}

/** Log-likelihood of a pair of ends against the floor alone, with one level of the floor. */
class Model {
  private readonly sums: readonly { readonly echo: Float64Array; readonly shadow: Float64Array }[];
  private readonly nearest: number;
  private readonly furthest: number;
  private readonly covered: readonly number[];

  constructor(
    private readonly pings: readonly PingCells[],
    private readonly blocking: Blocking,
    private readonly search: ShadowSearch,
    private readonly floor: number,
  ) {
    this.nearest = Math.min(...blocking.offM);
    this.furthest = Math.max(...blocking.offM);
    this.covered = blocking.weights.map((list) => list.reduce((sum, each) => sum + each, 0));
    this.sums = pings.map(({ slantM, power, samples }, p) => {
      const n = slantM.length;
      const echo = new Float64Array(n + 1);
      const shadow = new Float64Array(n + 1);
      const hidden = this.covered[p]!;
      for (let i = 0; i < n; i++) {
        const x = power[i]!;
        echo[i + 1] = echo[i]! + samples[i]! * (this.echoDensity(x, hidden, 0) - this.floorDensity(x));
        const held = Math.min(x, MOST_POWER * floor);
        shadow[i + 1] = shadow[i]! + samples[i]! * (this.density(held, Math.max(LEAST_LEVEL, 1 - hidden) * floor) - this.floorDensity(held));
      }
      return { echo, shadow };
    });
  }

  private density(x: number, mean: number): number {
    return -Math.log(mean) - x / mean;
  }

  private floorDensity(x: number): number {
    return this.density(Math.min(x, MOST_POWER * this.floor), this.floor);
  }

  /** Echo of an unknown level from `bright` of the beam, `hidden` of it in shadow. */
  private echoDensity(x: number, bright: number, hidden: number): number {
    let sum = 0;
    for (const level of ECHO_LEVELS) {
      const mean = Math.max(LEAST_LEVEL, 1 - bright - hidden + bright * level) * this.floor;
      sum += Math.exp(-x / mean) / mean;
    }
    return Math.log(Math.max(1e-30, sum / ECHO_LEVELS.length));
  }

  at(r: number, e: number): number {
    const { pings, blocking, search } = this;
    const { cellM } = search;
    const half = cellM / 2;
    const stretch = e / r;
    const { offM } = blocking;
    let total = 0;
    for (let p = 0; p < pings.length; p++) {
      if (this.covered[p]! < 0.02) continue;
      const { slantM, power, samples } = pings[p]!;
      const weights = blocking.weights[p]!;
      const n = slantM.length;
      const { echo, shadow } = this.sums[p]!;
      const firstM = slantM[0] ?? 0;
      // Where cells may lie unevenly the search starts from where even ones would be.
      const at = (range: number): number => {
        let i = Math.min(n, Math.max(0, Math.round((range - firstM) / cellM)));
        while (i > 0 && slantM[i - 1]! >= range) i--;
        while (i < n && slantM[i]! < range) i++;
        return i;
      };
      const a = at(r + this.nearest - half);
      const b = at(r + this.furthest + half);
      const c = Math.max(b, at((r + this.nearest) * stretch - half));
      const d = Math.max(c, at((r + this.furthest) * stretch + half));
      total += echo[a]! - echo[at(search.aboutM - search.reachM + this.nearest - cellM)]! + shadow[c]! - shadow[b]!;
      for (let i = a; i < d; i++) {
        if (i === b) {
          i = c;
          if (i >= d) break;
        }
        let [bright, hidden] = [0, 0];
        for (let j = 0; j < offM.length; j++) {
          const before = within((r + offM[j]! - slantM[i]!) / cellM + 0.5);
          bright += weights[j]! * before;
          hidden += weights[j]! * (1 - before) * within(((r + offM[j]!) * stretch - slantM[i]!) / cellM + 0.5);
        }
        const x = power[i]!;
        if (bright > 0.005) total += samples[i]! * (this.echoDensity(x, bright, hidden) - this.floorDensity(x));
        else {
          const held = Math.min(x, MOST_POWER * this.floor);
          total += samples[i]! * (this.density(held, Math.max(LEAST_LEVEL, 1 - hidden) * this.floor) - this.floorDensity(held));
        }
      }
    }
    return total;
  }
}

function within(x: number): number {
  return x <= 0 ? 0 : x >= 1 ? 1 : x;
}
