import type { Candidate, Picture } from './detect.js';
import { groundRangeM, slantOfGroundM } from '../imagery/slant-range.js';
import { measure, type ReadOff } from './measure.js';
import { readShadow, type ReadShadow } from './read-shadow.js';
import { binsAsSamples, type PictureSampling } from './slant-profile.js';

/** What a candidate shows of itself, with where in the picture: ground bins and pings as fractions. */
export interface Outline {
  readonly read: ReadOff;
  readonly binStart: number;
  readonly binEnd: number;
  readonly shadowEnd: number;
  readonly pingStart: number;
  readonly pingEnd: number;
  /** Why it has no height, in plain words; empty where it has one. */
  readonly noHeight: string;
}

/** How far around what was looked for its edges are sought [m]. */
const REACH_M = 1.2;
const SHADOW_REACH_M = 2.5;
/** An edge is known to no better than so much of a bin or a ping, one sigma: it lies somewhere in one, and speckle moves it. */
const LEAST_BINS = 0.5;
const EDGE_PINGS = 0.9;
/** Of the pings of an echo, those about its middle that the profile is made of, to each side. */
const MIDDLE_SHARE = 0.25;
/** A shadow's end is drawn by whatever stands highest and furthest out: off by this share of its length, one sigma (measured on boxes at all headings), and by up to twice that where the floor has a texture of its own. */
const SHAPE_SHARE = 0.05;
/** Edges are off by so many times what their likelihood says, and the floor's relief by so many times what its shading does: the beam smooths it, and a slope that faces away is as dark as the shadow it ends (both measured on the proving ground, seeds 1 to 3). */
const EDGE_TIMES = 1.4;
const RELIEF_TIMES = 3;
/** A shadow of fewer cells is not told from speckle. */
const LEAST_CELLS = 4;
/** A height is not told that is known to no better than this share of itself, one sigma. */
const WORST_SHARE = 0.35;
/** Chance that a shadow runs out of the picture from which its length is not told. */
const OPEN_CHANCE = 0.05;
/** Echo edges are no sharper than the range resolution: half a pulse; usual for the class where it is not known [m] (common practice). */
const PULSE_M = 0.03;

/**
 * Reads edges off a picture: across the track the three steps floor to echo to shadow to floor that fit the profile with least
 * squares, along it the two that bound the echo.
 *
 * @param beamRad full beam width along the track
 * @param heightSigmaM of the sonar above the floor
 * @param slopeAcross rise of the floor per metre away from the track, 0 flat; the sonar's height is then that above the floor there
 * @param sampling which samples made up the picture; without it each bin is a sample
 * @returns null where the profile has no such steps
 */
export function readOff(picture: Picture, candidate: Candidate, beamRad: number, heightSigmaM: number, slopeAcross = 0, sampling?: PictureSampling): Outline | null {
  const { n, width, binM, stepM } = picture;
  const heightM = picture.heightM[Math.min(n - 1, candidate.ping)]!;
  if (!(heightM > 0)) return null;
  const reach = Math.round(Math.max(REACH_M, (candidate.shadowStart - candidate.binStart) * binM) / binM);
  const from = Math.max(0, candidate.binStart - reach);
  const to = Math.min(width, candidate.shadowEnd + Math.round(Math.max(SHADOW_REACH_M, (candidate.shadowEnd - candidate.shadowStart) * binM) / binM));
  const rows = [candidate.pingStart, Math.max(candidate.pingStart + 1, candidate.pingEnd)] as const;
  const stepsOf = (pings: readonly [number, number]): Steps | null => threeSteps(acrossProfile(picture, pings, from, to), candidate.binStart - from, candidate.shadowStart - from, candidate.shadowEnd - from, reach);
  const first = stepsOf(rows);
  if (first === null) return null;
  const [pingStart, pingEnd] = alongExtent(picture, candidate, first.at[0] + from, first.at[1] + from);
  // Behind its middle alone: at its ends the beam sees past it.
  const middle = (pingStart + pingEnd) / 2;
  const half = Math.max(1, MIDDLE_SHARE * (pingEnd - pingStart));
  const steps = stepsOf([Math.max(0, Math.round(middle - half)), Math.min(n, Math.max(Math.round(middle - half) + 2, Math.round(middle + half)))]) ?? first;
  const [binStart, firstEnd, firstShadow] = steps.at.map((at) => at + from) as [number, number, number];
  const slantOf = (bin: number): number => slantOfGroundM(bin * binM, heightM, slopeAcross);
  const shadow = readShadow(picture, sampling ?? binsAsSamples(picture, heightM, slopeAcross), { binStart, binEnd: firstEnd, shadowEnd: firstShadow, pingStart, pingEnd }, heightM, slopeAcross, beamRad);
  const slantEndM = shadow?.fit.echoEndM ?? slantOf(firstEnd);
  const binEnd = groundRangeM(slantEndM, heightM, slopeAcross) / binM;
  const thereM = heightM - slopeAcross * binEnd * binM;
  if (!(thereM > 0)) return null;
  const slantStartM = Math.min(slantOf(binStart), slantEndM);
  // On the ground a bin is a bin; along the ray it is shorter by the cosine of the grazing angle.
  const cosine = (binEnd * binM) / slantEndM;
  const shadowEndM = shadow === null ? slantOf(firstShadow) : shadow.fit.shadowEndM;
  const shadowEnd = Math.min(width, groundRangeM(shadowEndM, heightM, slopeAcross) / binM);
  const endRiseM = slopeAcross * (shadowEnd - binEnd) * binM;
  // Both edges come of one fit: what is told of their ratio is what the height hangs on.
  const shareSigmaM = shadow === null ? NaN : shadow.fit.shareSigma * shadowEndM;
  const read: ReadOff = {
    slantStartM,
    slantEndM,
    shadowEndM,
    startSigmaM: Math.hypot(steps.sigma[0] * binM * cosine, PULSE_M),
    endSigmaM: shadow === null ? Math.hypot(steps.sigma[1] * binM * cosine, PULSE_M) : EDGE_TIMES * shadow.fit.echoEndSigmaM,
    shadowSigmaM: shadow === null ? NaN : Math.hypot(EDGE_TIMES * Math.sqrt(Math.max(0, shareSigmaM ** 2 - shadow.fit.echoEndSigmaM ** 2)) * (shadowEndM / slantEndM), SHAPE_SHARE * (1 + Math.min(1, shadow.texture)) * (shadowEndM - slantEndM)),
    alongM: (pingEnd - pingStart) * stepM,
    alongSigmaM: Math.hypot(EDGE_PINGS * stepM * Math.SQRT2, 0.2 * slantEndM * beamRad),
    beamM: slantEndM * beamRad,
    sonarHeightM: thereM,
    sonarHeightSigmaM: heightSigmaM,
    endRiseM,
    reliefM: RELIEF_TIMES * (shadow?.reliefM ?? 0),
  };
  const noHeight = whyNoHeight(read, shadow);
  return { read: noHeight === '' ? read : { ...read, shadowEndM: NaN }, binStart, binEnd, shadowEnd, pingStart, pingEnd, noHeight };
}

/** Why a height is not told; empty where it is. */
function whyNoHeight(read: ReadOff, shadow: ReadShadow | null): string {
  if (shadow === null) return 'no height: its shadow does not stand out from the floor';
  const { height } = measure(read);
  if (shadow.fit.open > OPEN_CHANCE) return `no height: its shadow runs out of the picture, so it is at least ${Math.max(0, height.value - 1.645 * height.sigma).toFixed(1)} m high`;
  if (read.shadowEndM - read.slantEndM < LEAST_CELLS * shadow.cellM) return `no height: its shadow is shorter than ${LEAST_CELLS} samples (${(LEAST_CELLS * shadow.cellM).toFixed(2)} m)`;
  if (!(height.sigma <= WORST_SHARE * height.value)) return 'no height: its shadow is too short or too faint to tell one';
  return '';
}

/** Mean level of the rows at each bin less that of the floor beside them [dB]; 0 where nothing is known. */
function acrossProfile({ n, width, levelDb, stepM }: Picture, [rowStart, rowEnd]: readonly [number, number], from: number, to: number): Float64Array {
  const beside = Math.round(4 / stepM);
  const gap = rowEnd - rowStart;
  return Float64Array.from({ length: to - from }, (_, k) => {
    const mean = (start: number, end: number): [number, number] => {
      let sum = 0;
      let count = 0;
      for (let row = Math.max(0, start); row < Math.min(n, end); row++) {
        const level = levelDb[row * width + from + k]!;
        if (Number.isNaN(level)) continue;
        sum += Math.max(-18, Math.min(18, level));
        count++;
      }
      return [sum, count];
    };
    const [sum, count] = mean(rowStart, rowEnd);
    const [before, countBefore] = mean(rowStart - gap - beside, rowStart - gap);
    const [after, countAfter] = mean(rowEnd + gap, rowEnd + gap + beside);
    const usual = countBefore + countAfter === 0 ? 0 : (before + after) / (countBefore + countAfter);
    return count === 0 ? 0 : sum / count - usual;
  });
}

/** Edges as fractions of bins, each with one sigma. */
interface Steps {
  readonly at: readonly [number, number, number];
  readonly sigma: readonly [number, number, number];
}

/**
 * Where floor, echo, shadow and floor meet in a profile, by least squares with the floor at 0; null where the echo is not above and
 * the shadow not below it. Each edge is then the mean, and its sigma the spread, of the places it could have with the others
 * where they are, weighted by how well they fit: exp(-squares / 2 variance), the variance that of what is left.
 */
function threeSteps(profile: Float64Array, start: number, shadow: number, end: number, reach: number): Steps | null {
  const n = profile.length;
  const sum = new Float64Array(n + 1);
  let squares = 0;
  for (let i = 0; i < n; i++) {
    sum[i + 1] = sum[i]! + profile[i]!;
    squares += profile[i]! * profile[i]!;
  }
  // The fit takes off the square of each piece's mean times its length: the floor's stays.
  const gain = (a: number, b: number): number => (sum[b]! - sum[a]!) ** 2 / (b - a);
  const bright = (a: number, b: number): number => (b - a < 2 || sum[b]! <= sum[a]! ? -Infinity : gain(a, b));
  const dark = (b: number, c: number): number => (c - b < 2 || sum[c]! >= sum[b]! ? -Infinity : gain(b, c));
  const [aStart, aEnd] = [Math.max(0, start - reach), shadow + reach];
  const [bStart, bEnd] = [Math.max(2, shadow - reach), Math.min(n - 2, shadow + reach)];
  const cLeast = (end - shadow) / 4;
  let best = 0;
  let found: [number, number, number] | null = null;
  for (let b = bStart; b <= bEnd; b++) {
    let [bestA, brightest] = [-1, -Infinity];
    for (let a = aStart; a < Math.min(b, aEnd); a++) if (bright(a, b) > brightest) [bestA, brightest] = [a, bright(a, b)];
    let [bestC, darkest] = [-1, -Infinity];
    for (let c = Math.ceil(b + cLeast); c <= n; c++) if (dark(b, c) > darkest) [bestC, darkest] = [c, dark(b, c)];
    if (brightest + darkest > best) {
      best = brightest + darkest;
      found = [bestA, b, bestC];
    }
  }
  if (found === null) return null;
  const [a, b, c] = found;
  const variance = Math.max(1e-6, (squares - best) / Math.max(1, n - 5)) * correlationTimes(profile, [a, b, c]);
  const [first, second, third] = [
    weighted(aStart, Math.min(b, aEnd), (at) => bright(at, b), variance),
    weighted(Math.max(bStart, a + 1), Math.min(bEnd, c - 1) + 1, (at) => bright(a, at) + dark(at, c), variance),
    weighted(b + 1, n + 1, (at) => dark(b, at), variance),
  ];
  return { at: [first[0], second[0], third[0]], sigma: [first[1], second[1], third[1]] };
}

/**
 * How many times as much neighbouring bins' errors weigh for being alike, as on ripples: (1 + r) / (1 - r) of what the fit leaves,
 * r from one bin to the next, between 1 and 9. Source: variance of the mean of a first-order autoregressive series.
 */
function correlationTimes(profile: Float64Array, [a, b, c]: readonly [number, number, number]): number {
  const mean = (start: number, end: number): number => profile.subarray(start, end).reduce((sum, value) => sum + value, 0) / Math.max(1, end - start);
  const [bright, dark] = [mean(a, b), mean(b, c)];
  let [with1, own] = [0, 0];
  let before = 0;
  for (let i = 0; i < profile.length; i++) {
    const left = profile[i]! - (i < a || i >= c ? 0 : i < b ? bright : dark);
    with1 += left * before;
    own += left * left;
    before = left;
  }
  const r = own > 0 ? Math.min(0.8, Math.max(0, with1 / own)) : 0;
  return (1 + r) / (1 - r);
}

/** Mean and spread of the places from `start` up to but not including `end`, weighted by fit; the spread is never less than a good half of a bin's. */
function weighted(start: number, end: number, gain: (at: number) => number, variance: number): [number, number] {
  let most = -Infinity;
  for (let at = start; at < end; at++) most = Math.max(most, gain(at));
  let [weight, first, second] = [0, 0, 0];
  for (let at = start; at < end; at++) {
    const w = Math.exp((gain(at) - most) / (2 * variance));
    weight += w;
    first += w * at;
    second += w * at * at;
  }
  const mean = first / weight;
  return [mean, Math.hypot(LEAST_BINS, Math.sqrt(Math.max(0, second / weight - mean * mean)))];
}

/** First and last ping whose echo stands out, by least squares of a level of its own between two of the floor; in powers, so that the beam's skirts count for little. */
function alongExtent({ n, width, levelDb, stepM }: Picture, candidate: Candidate, binStart: number, binEnd: number): [number, number] {
  const around = Math.round(2.5 / stepM);
  const from = Math.max(0, candidate.pingStart - around);
  const to = Math.min(n, candidate.pingEnd + around);
  const profile = Float64Array.from({ length: to - from }, (_, k) => {
    let sum = 0;
    let count = 0;
    for (let bin = Math.round(binStart); bin < Math.max(Math.round(binStart) + 1, Math.round(binEnd)); bin++) {
      const level = levelDb[(from + k) * width + bin]!;
      if (Number.isNaN(level)) continue;
      sum += Math.min(level, 18);
      count++;
    }
    return count === 0 ? 0 : 10 ** (sum / count / 20);
  });
  const sum = new Float64Array(profile.length + 1);
  for (let i = 0; i < profile.length; i++) sum[i + 1] = sum[i]! + profile[i]!;
  const total = sum[profile.length]!;
  const middle = candidate.ping - from;
  let best = -Infinity;
  let found: [number, number] = [candidate.pingStart, candidate.pingEnd];
  for (let a = Math.max(0, middle - around); a <= middle; a++) {
    for (let b = middle + 1; b <= Math.min(profile.length, middle + around); b++) {
      const [inside, outside] = [sum[b]! - sum[a]!, total - (sum[b]! - sum[a]!)];
      const [k, rest] = [b - a, profile.length - (b - a)];
      if (rest < 2 || inside / k <= outside / rest) continue;
      const gain = inside ** 2 / k + outside ** 2 / rest;
      if (gain > best) {
        best = gain;
        found = [a + from, b + from];
      }
    }
  }
  return found;
}
