import { throwIfCancelled, type WorkContext } from '../base/progress.js';
import { median } from '../base/robust.js';
import type { SonarSamples } from '../base/sonar.js';
import { BestPath } from './best-path.js';
import { floorContrastDb, pingProfile, type PingTiming } from './bottom-evidence.js';
import { refineFloor } from './bottom-refine.js';

/** Where a height comes from; the number is what `BottomTrack.source` holds. */
export const BOTTOM_SOURCE = { none: 0, tracked: 1, bridged: 2, byHand: 3, depthSurface: 4 } as const;

/** How high the sonar was above the floor, ping by ping. Shape of every column: [n]. */
export interface BottomTrack {
  readonly n: number;
  /** Sonar above the floor: the slant range of the floor's first echo [m]; NaN where it is not known. */
  readonly heightM: Float32Array;
  /** One sigma [m]; NaN where the height is. */
  readonly heightSigmaM: Float32Array;
  /** 0 nothing to go by, 1 sure. */
  readonly confidence: Float32Array;
  /** One of BOTTOM_SOURCE. */
  readonly source: Uint8Array;
}

export interface BottomOptions {
  readonly soundSpeedMps: number;
  /** Nothing nearer to the sonar is floor [m]; 0.4 when left out: the ping's own ringing. */
  readonly blankM?: number;
  /** Nor anything further; without limit when left out [m]. */
  readonly mostM?: number;
  /** How tall grass may be [m]; 1.2 when left out. */
  readonly grassM?: number;
  /** A track without evidence is carried on for so long [s]; 20 when left out. */
  readonly bridgeS?: number;
}

/** Below this much confidence a height is bridged, not tracked. */
const SURE = 0.5;
/** Pings joined for the first guess: as many as fall into this time [s]. */
const GROUP_S = 0.2;
const GROUP_MAX = 4;
const BINS_MAX = 400;
const BIN_LEAST_M = 0.08;
/** Price of a step of the floor between groups, in dB a metre. */
const PRICE_DB_PER_M = 30;
/** Pings of a stretch, and how many to either side are looked at with it. */
const STRETCH = 2048;
const LAP = 192;

/**
 * Finds the floor under the sonar in side-scan pings: the first echo of the floor, on both sides at once.
 *
 * Two passes of dynamic programming over a stretch. First, on a coarse grid of slant range and a few pings at a time, the path
 * of most contrast in decibels between the water before and the floor after it, smooth from ping to ping. Then, near that path
 * and ping by ping, the strongest rise of the amplitude itself, which is the floor and not the grass on it. Stretches overlap, so
 * that a log of any length is read in pieces and every piece could be done by itself.
 *
 * A height is the slant range of the first echo: on a floor that slopes across the track it is too small by the cosine of the
 * slope, 1.5 % at 10 deg.
 *
 * @param read samples of the pings [start, end)
 * @throws RangeError for a sound speed that is not positive
 */
export async function trackBottom(heads: PingTiming & { readonly n: number }, read: (start: number, end: number) => Promise<SonarSamples>, options: BottomOptions, context: WorkContext = {}): Promise<BottomTrack> {
  if (!(options.soundSpeedMps > 0)) throw new RangeError(`soundSpeedMps ${options.soundSpeedMps}: expected more than 0`);
  const { n } = heads;
  const track = emptyBottom(n);
  for (const { start, end, readStart, readEnd } of bottomStretches(n)) {
    throwIfCancelled(context.signal);
    const samples = await read(readStart, readEnd);
    putBottom(track, trackStretch(samples, heads, readStart, options), start, end, readStart);
    context.progress?.('bottom', end / n, `${end} of ${n} pings`);
    await context.pause?.();
  }
  return bridgeBottom(track, heads.timeS, options.bridgeS ?? 20);
}

/** Which pings are done at a time, and which are looked at with them. */
export function bottomStretches(n: number): { start: number; end: number; readStart: number; readEnd: number }[] {
  const stretches = [];
  for (let start = 0; start < n; start += STRETCH) {
    const end = Math.min(n, start + STRETCH);
    stretches.push({ start, end, readStart: Math.max(0, start - LAP), readEnd: Math.min(n, end + LAP) });
  }
  return stretches;
}

/** Puts the pings [start, end) of a stretch that begins at readStart into a track. */
export function putBottom(track: BottomTrack, stretch: BottomTrack, start: number, end: number, readStart: number): void {
  for (const name of ['heightM', 'heightSigmaM', 'confidence', 'source'] as const) track[name].set(stretch[name].subarray(start - readStart, end - readStart), start);
}

/** A track that knows nothing yet. */
export function emptyBottom(n: number): BottomTrack {
  return { n, heightM: new Float32Array(n).fill(NaN), heightSigmaM: new Float32Array(n).fill(NaN), confidence: new Float32Array(n), source: new Uint8Array(n) };
}

/**
 * The floor under one stretch of pings; what has no evidence is marked, and given the height of the path through it.
 * @param rowStart row in `heads` of the stretch's first ping
 */
export function trackStretch(samples: SonarSamples, heads: PingTiming, rowStart: number, options: BottomOptions): BottomTrack {
  const { n } = samples;
  const { soundSpeedMps, blankM = 0.4, mostM = Infinity, grassM = 1.2 } = options;
  const track = emptyBottom(n);
  const { rangeM, stepS } = stretchFigures(samples, heads, rowStart, soundSpeedMps);
  const reachM = Math.min(0.95 * rangeM, mostM);
  if (!(reachM > blankM)) return track;
  const binM = Math.max(BIN_LEAST_M, reachM / BINS_MAX);
  const bins = Math.max(6, Math.ceil(reachM / binM));
  const group = Math.max(1, Math.min(GROUP_MAX, Math.round(GROUP_S / stepS) || 1));
  const groups = Math.ceil(n / group);
  const path = new BestPath(bins);
  const contrasts: Float64Array[] = [];
  for (let g = 0; g < groups; g++) {
    const contrast = floorContrastDb(pingProfile(samples, heads, rowStart, g * group, Math.min(n, (g + 1) * group), bins, binM, soundSpeedMps), binM, blankM);
    contrasts.push(contrast);
    const gapS = g === 0 ? 0 : heads.timeS[rowStart + g * group]! - heads.timeS[rowStart + (g - 1) * group]!;
    // After a silence the floor may be anywhere.
    path.add(contrast, PRICE_DB_PER_M * binM * Math.min(1, (group * stepS) / Math.max(gapS, 1e-6) || 1));
  }
  const states = path.path();
  const guessM = new Float64Array(n);
  const contrastDb = new Float32Array(n);
  for (let ping = 0; ping < n; ping++) {
    const g = Math.min(groups - 1, Math.floor(ping / group));
    guessM[ping] = states[g]! * binM;
    contrastDb[ping] = contrasts[g]![states[g]!]!;
  }
  const { slantM, edge } = refineFloor(samples, heads, rowStart, guessM, grassM, soundSpeedMps);
  for (let ping = 0; ping < n; ping++) {
    track.heightM[ping] = slantM[ping]!;
    track.confidence[ping] = (1 / (1 + Math.exp(-(contrastDb[ping]! - 6) / 1.5))) * Math.min(1, 0.4 + 1.5 * edge[ping]!);
    track.source[ping] = track.confidence[ping]! >= SURE ? BOTTOM_SOURCE.tracked : BOTTOM_SOURCE.bridged;
  }
  putSigmas(track, Math.max(binM / 4, 0.02));
  return track;
}

function stretchFigures({ n, width }: SonarSamples, heads: PingTiming, rowStart: number, soundSpeedMps: number): { rangeM: number; stepS: number } {
  let rangeM = 0;
  const steps: number[] = [];
  for (let ping = 0; ping < n; ping++) {
    const row = rowStart + ping;
    const samples = Math.min(width, Math.max(heads.portSamples[row]!, heads.starboardSamples[row]!));
    const reach = (soundSpeedMps / 2) * (heads.delayS[row]! + samples * heads.intervalS[row]!);
    if (reach > rangeM) rangeM = reach;
    if (ping > 0 && heads.timeS[row]! > heads.timeS[row - 1]!) steps.push(heads.timeS[row]! - heads.timeS[row - 1]!);
  }
  return { rangeM, stepS: steps.length === 0 ? GROUP_S : median(steps) };
}

/** Sigma of a tracked height: what is read off the samples, and how much it jumps about its neighbours. */
function putSigmas(track: BottomTrack, leastM: number): void {
  const { n, heightM } = track;
  const reach = 7;
  for (let ping = 0; ping < n; ping++) {
    const near = heightM.subarray(Math.max(0, ping - reach), Math.min(n, ping + reach + 1));
    const middle = median(near);
    let sum = 0;
    for (const value of near) sum += Math.abs(value - middle);
    const scatter = (1.2533 * sum) / near.length;
    track.heightSigmaM[ping] = Math.hypot(leastM, scatter, 0.5 * (1 - track.confidence[ping]!) * (track.source[ping] === BOTTOM_SOURCE.tracked ? 0.2 : 1));
  }
}

/** Rate at which an unseen floor's height becomes unknown [m/s], one sigma. */
const DRIFT_MPS = 0.1;

/** Bridged heights on the straight line between the tracked ones to either side; none where those are too far away in time. */
export function bridgeBottom(track: BottomTrack, timeS: Float64Array, bridgeS: number): BottomTrack {
  const { n, heightM, heightSigmaM, confidence, source } = track;
  const isAnchor = (row: number): boolean => source[row] === BOTTOM_SOURCE.tracked || source[row] === BOTTOM_SOURCE.byHand;
  let before = -1;
  for (let row = 0; row < n; row++) {
    if (isAnchor(row)) {
      before = row;
      continue;
    }
    if (source[row] !== BOTTOM_SOURCE.bridged) continue;
    let after = row;
    while (after < n && !isAnchor(after)) after++;
    for (let at = row; at < after; at++) {
      if (source[at] !== BOTTOM_SOURCE.bridged) continue;
      const sinceS = before < 0 ? Infinity : timeS[at]! - timeS[before]!;
      const untilS = after >= n ? Infinity : timeS[after]! - timeS[at]!;
      const nearestS = Math.min(Math.abs(sinceS), Math.abs(untilS));
      if (!(nearestS <= bridgeS / 2)) {
        heightM[at] = NaN;
        heightSigmaM[at] = NaN;
        confidence[at] = 0;
        source[at] = BOTTOM_SOURCE.none;
        continue;
      }
      const share = Number.isFinite(sinceS) && Number.isFinite(untilS) ? sinceS / Math.max(sinceS + untilS, 1e-9) : Number.isFinite(sinceS) ? 0 : 1;
      const left = before < 0 ? heightM[after]! : heightM[before]!;
      const right = after >= n ? left : heightM[after]!;
      heightM[at] = left + share * (right - left);
      const near = before < 0 ? heightSigmaM[after]! : heightSigmaM[before]!;
      heightSigmaM[at] = Math.hypot(near, DRIFT_MPS * nearestS + 0.02);
      confidence[at] = Math.min(confidence[at]!, SURE);
    }
    row = after - 1;
  }
  return track;
}
