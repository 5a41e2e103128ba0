import { normalTail, normalTailQuantile } from './normal-tail.js';
import { countIn, sumIn, windowSums } from './window-sums.js';

/** One side of a stretch of pings by ground range, as `correctStretch` gives it. */
export interface Picture {
  /** Pings, and ground bins from the track outward. */
  readonly n: number;
  readonly width: number;
  readonly binM: number;
  /** Level against the usual return of the floor [dB], NaN none. Shape [n * width]. */
  readonly levelDb: Float32Array;
  /** Sonar above the floor. Shape [n] [m]. */
  readonly heightM: ArrayLike<number>;
  /** Way from ping to ping [m]. */
  readonly stepM: number;
}

export interface DetectOptions {
  /** Size across and along of what is looked for, and how far it stands up from the floor [m]. */
  readonly objectM: number;
  readonly objectHeightM: number;
  /** Full beam width along the track [deg]. */
  readonly beamDeg: number;
  /** Candidates that the floor alone may give [1/ha]. */
  readonly falsePerHa: number;
}

/** Something brighter than its surroundings with a darker place behind it. */
export interface Candidate {
  /** Ping and ground bin of the middle of its echo. */
  readonly ping: number;
  readonly bin: number;
  /** Bins of its echo and of its shadow as it was looked for: [binStart, shadowStart) and [shadowStart, shadowEnd); pings [pingStart, pingEnd). */
  readonly binStart: number;
  readonly shadowStart: number;
  readonly shadowEnd: number;
  readonly pingStart: number;
  readonly pingEnd: number;
  /** Echo above and shadow below what is usual beside them [dB], and in spreads of such patches hereabouts. */
  readonly echoDb: number;
  readonly shadowDb: number;
  readonly echoSigmas: number;
  readonly shadowSigmas: number;
  /** Both together, in spreads of what this floor gives by itself; and how many that strong a hectare of it would give. */
  readonly score: number;
  readonly falsePerHa: number;
  /** How much further this floor's own contrasts reach than those of plain ground: 1 plain. */
  readonly roughness: number;
}

/** Sizes that are looked for, over the one asked for: larger things of the same kind are to be found too. Each asks for its share of the false candidates; larger ones stand out further and need less of it. */
const SIZES = [
  { times: 1, share: 0.8 },
  { times: 2, share: 0.1 },
  { times: 4, share: 0.1 },
];
/** Levels beyond these say no more [dB]. */
const MOST_DB = 18;
const LEAST_DB = -18;
/**
 * Patches are held against each other as means of amplitude to this power. Speckle's amplitude is Rayleigh distributed, to this
 * power Weibull of shape 3.6, which has next to no skew: means of a few are normal enough for a threshold of one in a million.
 * Means of decibels have a long tail of dark patches, which are false shadows.
 */
const NORMAL_POWER = 2 / 3.6;
/** Nearer than this share of the sonar's height the floor answers as a mirror and shadows are shorter than objects: no candidates. */
export const UNDER_SHARE = 0.5;
/** Ground around a place that tells what is usual there: along at the same range, and in a square [m]. */
const AROUND_M = 4;
/** Ground around that tells how far its contrasts reach [m]. */
const TEXTURE_M = 10;
/** Large things need more ground about them, in sizes. */
const AROUND_SIZES = 3.4;
const TEXTURE_SIZES = 6;
/** Shadows that are tried, as heights over the height looked for. */
const HEIGHTS = [0.6, 1, 1.8];
/** Longest shadow that is waited for [m]. */
const MOST_SHADOW_M = 6;
const MOST_SHADOW_SIZES = 4;
/** A shorter shadow is looked for as one of this length, in sizes: a few samples of speckle are as dark as one. */
const LEAST_SHADOW_SIZES = 0.5;
/** Echo and shadow must each stand out by so many spreads. */
const LEAST_SIGMAS = 1.5;
const MOST_AHEAD = 2;
/** Where the tail of the contrasts begins, and by how much a normal one reaches beyond it on average: phi(1.5) / Q(1.5) - 1.5. */
const TAIL_FROM = 1.5;
const TAIL_REACH = 0.4388;
/** An echo patch is shifted by this share of itself to give one that is as good as independent. */
const SHIFT_SHARE = 0.5;

/**
 * Candidates in one side of a stretch of pings: an echo patch of the object's size with a shadow patch of the length its height
 * gives behind it, each held against the floor beside it at the same range.
 *
 * A patch's value is its mean amplitude to the power 1 / 1.8, which makes speckle nearly normal; its contrast is that less the same
 * patch's 4 m to both sides along the track; it is measured in the spread of
 * such contrasts in the 4 m about it, so that texture as coarse as the object counts as spread. Echo and shadow together are
 * measured once more in the spread of their sum, and, where the contrasts of the 10 m about reach further than a normal tail, in
 * that reach: rocks and ripples raise what a candidate has to show. The threshold is the normal quantile that gives the asked number of
 * false candidates a hectare, patches shifted by half their size and each length of shadow counted as trials of their own.
 * Of overlapping candidates the strongest stays. Within half the sonar's height from the track nothing is proposed. The same is done at twice and four times the size on the picture at a half and a
 * quarter of its fineness.
 *
 * Echo along the track: the object and the beam there, sqrt(size^2 + (R phi)^2). Shadow: g H / (h - H), at most 6 m.
 *
 * @returns by falling score
 * Source: Rayleigh amplitude to a power is Weibull, whose skew vanishes at shape 3.6: Johnson, Kotz & Balakrishnan (1994), Continuous
 * Univariate Distributions 1, ch. 21; constant false-alarm rate from the surroundings: Finn & Johnson (1968), RCA Review 29, 414-464; shadow: similar
 * triangles; mean excess of a tail: Embrechts, Klueppelberg & Mikosch (1997), sect. 6.2.
 */
export function detect(picture: Picture, options: DetectOptions): Candidate[] {
  const all: Candidate[] = [];
  let coarse: Picture = { ...picture, levelDb: Float32Array.from(picture.levelDb, speckleNormal) };
  let times = 1;
  for (const { times: next, share } of SIZES) {
    while (times < next) {
      coarse = halved(coarse);
      times *= 2;
    }
    const found = detectSize(coarse, { ...options, objectM: options.objectM * times, objectHeightM: options.objectHeightM * times }, share);
    all.push(...found.map((one) => (times === 1 ? one : refined(one, times, picture))));
  }
  all.sort((a, b) => b.score - a.score || a.ping - b.ping || a.bin - b.bin);
  const kept: Candidate[] = [];
  for (const one of all) if (!kept.some((other) => overlap(one, other))) kept.push(one);
  return kept;
}

/** Echo and shadow of one meet those of the other. */
function overlap(a: Candidate, b: Candidate): boolean {
  return a.pingStart <= b.pingEnd && b.pingStart <= a.pingEnd && a.binStart < b.shadowEnd && b.binStart < a.shadowEnd;
}

/** A level as amplitude to the power that makes speckle normal. */
function speckleNormal(levelDb: number): number {
  return 10 ** ((NORMAL_POWER / 20) * (levelDb > MOST_DB ? MOST_DB : levelDb < LEAST_DB ? LEAST_DB : levelDb));
}

/** A patch's value against what is beside it, as a level [dB]. */
function contrastDb(value: number, contrast: number): number {
  return (20 / NORMAL_POWER) * Math.log10(value / (value - contrast));
}

/** The picture at half the fineness: means of two pings by two bins. */
function halved({ n, width, binM, stepM, levelDb, heightM }: Picture): Picture {
  const [rows, cols] = [n >> 1, width >> 1];
  const out = new Float32Array(rows * cols);
  for (let row = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++) {
      let [sum, count] = [0, 0];
      for (const at of [2 * row * width + 2 * col, (2 * row + 1) * width + 2 * col]) {
        for (const level of [levelDb[at]!, levelDb[at + 1]!]) {
          if (level !== level) continue;
          sum += level;
          count++;
        }
      }
      out[row * cols + col] = count < 2 ? NaN : sum / count;
    }
  }
  return { n: rows, width: cols, binM: 2 * binM, stepM: 2 * stepM, levelDb: out, heightM: Float32Array.from({ length: rows }, (_, row) => heightM[2 * row]!) };
}

/** A candidate of a coarser picture in the pings and bins of the fine one. */
function refined(one: Candidate, times: number, { n, width }: Picture): Candidate {
  const ping = Math.min(n - 1, Math.floor((one.ping + 0.5) * times));
  return {
    ...one,
    ping,
    bin: one.bin * times,
    binStart: one.binStart * times,
    shadowStart: one.shadowStart * times,
    shadowEnd: Math.min(width, one.shadowEnd * times),
    pingStart: one.pingStart * times,
    pingEnd: Math.min(n, one.pingEnd * times),
  };
}

/** Candidates of one size. */
function detectSize(picture: Picture, options: DetectOptions, share: number): Candidate[] {
  const { n, width, binM, stepM } = picture;
  const { objectM, objectHeightM } = options;
  if (n === 0 || width === 0 || !(stepM > 0)) return [];
  const threshold = thresholdFor(options, share);
  const sums = windowSums(picture.levelDb, n, width);
  const heightM = usualHeight(picture.heightM);
  if (!(heightM > objectHeightM)) return [];
  const echoBins = Math.max(2, Math.round(objectM / binM));
  const shadowRows = Math.max(1, Math.round(objectM / stepM));
  const beamRad = (options.beamDeg * Math.PI) / 180;
  const echoRows = Int32Array.from({ length: width }, (_, bin) => Math.max(1, Math.round(Math.hypot(objectM, Math.hypot(bin * binM, heightM) * beamRad) / stepM)));

  const patch = (row: number, rows: number, binStart: number, binEnd: number): number => {
    const from = row - (rows >> 1);
    const count = countIn(sums, from, from + rows, binStart, binEnd);
    return 2 * count < rows * (binEnd - binStart) ? NaN : sumIn(sums, from, from + rows, binStart, binEnd) / count;
  };
  const echo = new Float32Array(n * width).fill(NaN);
  for (let row = 0; row < n; row++) for (let bin = 0; bin + echoBins <= width; bin++) echo[row * width + bin] = patch(row, echoRows[bin]!, bin, bin + echoBins);
  const aroundM = Math.max(AROUND_M, AROUND_SIZES * objectM);
  const textureM = Math.max(TEXTURE_M, TEXTURE_SIZES * objectM);
  const besideRows = Math.max(3, Math.round(aroundM / stepM));
  const echoContrast = contrastAlong(echo, n, width, besideRows, (bin) => echoRows[bin]!);
  // What is there itself does not tell what is usual: pings that may show it are left out.
  const ownRows = objectM > 0.7 ? echoRows[width - 1]! : -1;
  const around = { rows: Math.max(3, Math.round(aroundM / stepM)), cols: Math.max(3, Math.round(aroundM / binM)), ownRows };
  const echoZ = inSpreads(echoContrast, n, width, around);

  const best = new Float32Array(n * width).fill(NaN);
  const bestShadow = new Int32Array(n * width);
  const shadows = HEIGHTS.map((times) => Int32Array.from({ length: width }, (_, bin) => shadowBins((bin + echoBins) * binM, heightM, objectHeightM * times, binM, LEAST_SHADOW_SIZES * objectM, Math.max(MOST_SHADOW_M, MOST_SHADOW_SIZES * objectM))));
  const shadowZ: Float32Array[] = [];
  const shadowContrast: Float32Array[] = [];
  const shadowDark: Float32Array[] = [];
  for (const [k, lengths] of shadows.entries()) {
    const dark = new Float32Array(n * width).fill(NaN);
    for (let bin = 0; bin + echoBins < width; bin++) {
      const from = bin + echoBins;
      const end = from + lengths[bin]!;
      // The end of the range cuts a shadow off; half of it is enough to see.
      if (from + lengths[bin]! / 2 > width) continue;
      for (let row = 0; row < n; row++) dark[row * width + bin] = -patch(row, shadowRows, from, Math.min(width, end));
    }
    const contrast = contrastAlong(dark, n, width, besideRows, () => shadowRows);
    const z = inSpreads(contrast, n, width, around);
    shadowContrast.push(contrast);
    shadowDark.push(dark);
    shadowZ.push(z);
    for (let i = 0; i < best.length; i++) {
      // The stronger counts for no more than this above the weaker: neither makes a candidate alone.
      const [bright, dark] = [echoZ[i]!, z[i]!];
      const both = (Math.min(bright, dark + MOST_AHEAD) + Math.min(dark, bright + MOST_AHEAD)) * Math.SQRT1_2;
      if (both > best[i]! || Number.isNaN(best[i]!)) {
        best[i] = both;
        bestShadow[i] = k;
      }
    }
  }
  const { score, roughness } = againstTexture(best, n, width, {
    rows: Math.max(5, Math.round(textureM / stepM)),
    cols: Math.max(5, Math.round(textureM / binM)),
    ownRows,
    guardRows: Math.round(Math.max(1.5, 2 * objectM) / stepM),
    guardCols: Math.round(Math.max(2, 3 * objectM) / binM),
  });

  const order: number[] = [];
  for (let i = 0; i < score.length; i++) {
    if (!(score[i]! >= threshold && echoZ[i]! >= LEAST_SIGMAS && shadowZ[bestShadow[i]!]![i]! >= LEAST_SIGMAS)) continue;
    const row = Math.floor(i / width);
    if ((i - row * width + echoBins / 2) * binM >= UNDER_SHARE * picture.heightM[row]!) order.push(i);
  }
  order.sort((a, b) => score[b]! - score[a]! || a - b);
  const trials = trialsPerHa(options);
  const kept: Candidate[] = [];
  for (const i of order) {
    const row = Math.floor(i / width);
    const bin = i - row * width;
    const k = bestShadow[i]!;
    const rows = echoRows[bin]!;
    const shadowStart = bin + echoBins;
    const shadowEnd = Math.min(width, shadowStart + shadows[k]![bin]!);
    if (kept.some((one) => Math.abs(one.ping - row) <= rows + 1 && bin < one.shadowEnd + echoBins && one.binStart < shadowEnd + echoBins)) continue;
    kept.push({
      ping: row,
      bin: bin + echoBins / 2,
      binStart: bin,
      shadowStart,
      shadowEnd,
      pingStart: Math.max(0, row - (rows >> 1)),
      pingEnd: Math.min(n, row - (rows >> 1) + rows),
      echoDb: contrastDb(echo[i]!, echoContrast[i]!),
      shadowDb: -contrastDb(-shadowDark[k]![i]!, -shadowContrast[k]![i]!),
      echoSigmas: echoZ[i]!,
      shadowSigmas: shadowZ[k]![i]!,
      score: score[i]!,
      falsePerHa: (trials / share) * normalTail(score[i]!),
      roughness: roughness[i]!,
    });
  }
  return kept;
}

/** Independent trials in a hectare: echo patches shifted by half their size, each with every length of shadow. */
function trialsPerHa({ objectM }: DetectOptions): number {
  return (1e4 / (objectM * SHIFT_SHARE) ** 2) * HEIGHTS.length;
}

/** The score that plain ground passes `share` of `falsePerHa` times in a hectare. @throws RangeError for a rate that is no rate */
export function thresholdFor(options: DetectOptions, share = 1): number {
  const { falsePerHa, objectM, objectHeightM } = options;
  if (!(falsePerHa > 0)) throw new RangeError(`falsePerHa ${falsePerHa}: expected more than 0`);
  if (!(objectM > 0 && objectHeightM > 0)) throw new RangeError(`objectM ${objectM}, objectHeightM ${objectHeightM}: expected more than 0`);
  return normalTailQuantile(Math.min(0.5, (share * falsePerHa) / trialsPerHa(options)));
}

/** Length of a shadow in bins, of something that ends at a ground range. */
function shadowBins(groundM: number, heightM: number, topM: number, binM: number, leastM: number, mostM: number): number {
  const lengthM = heightM > topM ? (groundM * topM) / (heightM - topM) : mostM;
  return Math.max(2, Math.round(Math.max(leastM, Math.min(mostM, lengthM)) / binM));
}

function usualHeight(heights: ArrayLike<number>): number {
  const known = Array.from(heights).filter((one) => one > 0).sort((a, b) => a - b);
  return known.length === 0 ? NaN : known[known.length >> 1]!;
}

/** Each value less the mean of those at the same range along the track, its own patch and one to each side left out. NaN where nothing is beside it. */
function contrastAlong(values: Float32Array, n: number, width: number, besideRows: number, rowsOf: (bin: number) => number): Float32Array {
  const out = new Float32Array(n * width).fill(NaN);
  const sum = new Float64Array(n + 1);
  const count = new Int32Array(n + 1);
  for (let bin = 0; bin < width; bin++) {
    for (let row = 0; row < n; row++) {
      const value = values[row * width + bin]!;
      const there = value === value;
      sum[row + 1] = sum[row]! + (there ? value : 0);
      count[row + 1] = count[row]! + (there ? 1 : 0);
    }
    const guard = rowsOf(bin);
    for (let row = 0; row < n; row++) {
      const value = values[row * width + bin]!;
      if (value !== value) continue;
      const outer = [Math.max(0, row - besideRows - guard), Math.min(n, row + besideRows + guard + 1)] as const;
      const inner = [Math.max(0, row - guard), Math.min(n, row + guard + 1)] as const;
      const k = count[outer[1]]! - count[outer[0]]! - (count[inner[1]]! - count[inner[0]]!);
      if (k < besideRows / 2) continue;
      out[row * width + bin] = value - (sum[outer[1]]! - sum[outer[0]]! - (sum[inner[1]]! - sum[inner[0]]!)) / k;
    }
  }
  return out;
}

/** Values over their own spread about them; those beyond three spreads count as three in it. */
function inSpreads(values: Float32Array, n: number, width: number, around: Around): Float32Array {
  const first = spread(values, n, width, around);
  const clipped = new Float32Array(values.length);
  for (let i = 0; i < values.length; i++) clipped[i] = Math.min(3 * first[i]!, Math.max(-3 * first[i]!, values[i]!));
  const second = spread(clipped, n, width, around);
  for (let i = 0; i < values.length; i++) clipped[i] = values[i]! / second[i]!;
  return clipped;
}

/** Half a window in pings and bins, and the pings to either side of the middle that are left out of it. */
interface Around {
  readonly rows: number;
  readonly cols: number;
  readonly ownRows: number;
}

/** Root mean square in a window about each place, reckoned at every fourth place and carried to those between: windows are far wider. */
function spread(values: Float32Array, n: number, width: number, { rows, cols, ownRows }: Around): Float32Array {
  const squares = windowSums(squared(values), n, width);
  const out = new Float32Array(n * width);
  for (let row = 0; row < n; row += SPREAD_STEP) {
    for (let bin = 0; bin < width; bin += SPREAD_STEP) {
      const middle = row + (SPREAD_STEP >> 1);
      const outer = [middle - rows, middle + rows + 1, bin - cols, bin + cols + 1] as const;
      const inner = [middle - ownRows, middle + ownRows + 1, bin - cols, bin + cols + 1] as const;
      const count = countIn(squares, ...outer) - countIn(squares, ...inner);
      const value = count < 20 ? NaN : Math.sqrt((sumIn(squares, ...outer) - sumIn(squares, ...inner)) / count);
      for (let r = row; r < Math.min(n, row + SPREAD_STEP); r++) out.fill(value, r * width + bin, r * width + Math.min(width, bin + SPREAD_STEP));
    }
  }
  return out;
}
const SPREAD_STEP = 4;

function squared(values: Float32Array): Float32Array {
  const out = new Float32Array(values.length);
  for (let i = 0; i < values.length; i++) out[i] = values[i]! * values[i]!;
  return out;
}

/** Both contrasts against what they are hereabouts: their spread where it is above 1, and the reach of their tail. */
function againstTexture(values: Float32Array, n: number, width: number, size: Around & { readonly guardRows: number; readonly guardCols: number }): { score: Float32Array; roughness: Float32Array } {
  const one = spread(Float32Array.from(values, (value) => Math.min(3, Math.max(-3, value))), n, width, { rows: size.rows >> 1, cols: size.cols >> 1, ownRows: size.ownRows });
  const scaled = Float32Array.from(values, (value, i) => value / Math.max(1, one[i]!));
  const excess = windowSums(Float32Array.from(scaled, (value) => (value > TAIL_FROM ? Math.min(value - TAIL_FROM, 3) : value === value ? 0 : NaN)), n, width);
  const passed = windowSums(Float32Array.from(scaled, (value) => (value > TAIL_FROM ? 1 : NaN)), n, width);
  const score = new Float32Array(n * width).fill(NaN);
  const roughness = new Float32Array(n * width).fill(NaN);
  for (let row = 0; row < n; row++) {
    for (let bin = 0; bin < width; bin++) {
      const i = row * width + bin;
      if (!(scaled[i]! > TAIL_FROM)) continue;
      const outer = [row - size.rows, row + size.rows + 1, bin - size.cols, bin + size.cols + 1] as const;
      const inner = [row - size.guardRows, row + size.guardRows + 1, bin - size.guardCols, bin + size.guardCols + 1] as const;
      const count = countIn(passed, ...outer) - countIn(passed, ...inner);
      const reach = count < 30 ? TAIL_REACH : (sumIn(excess, ...outer) - sumIn(excess, ...inner)) / count;
      const times = Math.max(1, reach / TAIL_REACH);
      roughness[i] = times * Math.max(1, one[i]!);
      score[i] = TAIL_FROM + (scaled[i]! - TAIL_FROM) / times;
    }
  }
  return { score, roughness };
}
