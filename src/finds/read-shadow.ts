import { sineGrazing, slantOfGroundM } from '../imagery/slant-range.js';
import { blockingOf } from './blocking.js';
import type { Picture } from './detect.js';
import { floorRelief, type FloorRelief } from './floor-relief.js';
import { followEnd } from './follow-end.js';
import { findEnds, type ShadowFit } from './shadow-model.js';
import { meanBetween, pingCells, type PictureSampling, type PingCells } from './slant-profile.js';

/** Where echo and shadow are as first seen, in bins and pings as fractions. */
export interface ShadowPlace {
  readonly binStart: number;
  readonly binEnd: number;
  readonly shadowEnd: number;
  readonly pingStart: number;
  readonly pingEnd: number;
}

export interface ReadShadow extends FloorRelief {
  readonly fit: ShadowFit;
  /** Pings it was read from. */
  readonly pings: readonly number[];
  /** Slant range that a sample covers [m]. */
  readonly cellM: number;
}

/** Floor before the echo and beyond the shadow that is looked at [m]. */
const BEFORE_M = 1.2;
const BEYOND_M = 3;
/** Floor beside that tells its level, along the track to each side [m]. */
const BESIDE_M = 4;
/** Pings count that show a shadow, no lighter than this share of the floor. */
const DARK_MOST = 0.7;
/** The echo's end is followed so far about where it was first seen [m], and sought so far about that path. */
const FOLLOW_M = 0.9;
const ECHO_REACH_M = 0.35;

/**
 * Reads the ends of an echo and its shadow from the pings that look into it, each sample where it was taken.
 *
 * Something that lies slantwise ends nearer in some pings than in others, and so does its shadow, in proportion: the echo's end
 * is followed from ping to ping; what the beam sees of it in each ping is told by how dark the shadow is there; both
 * together say what every sample should be for a pair of ends, and the samples say how likely it is.
 *
 * @param heightM sonar above the floor straight below it
 * @param beamRad full beam width along the track
 * @returns null where there is no shadow to fit
 */
export function readShadow(picture: Picture, sampling: PictureSampling, place: ShadowPlace, heightM: number, slopeAcross: number, beamRad: number): ReadShadow | null {
  const { n, width, binM, stepM } = picture;
  const slantOf = (bin: number): number => slantOfGroundM(bin * binM, heightM, slopeAcross);
  const [endM, shadowM] = [slantOf(place.binEnd), slantOf(place.shadowEnd)];
  const lengthM = shadowM - endM;
  const binStart = Math.max(0, Math.floor(place.binStart - BEFORE_M / binM));
  const binEnd = Math.min(width, Math.ceil(place.shadowEnd + Math.max(place.shadowEnd - place.binEnd, BEYOND_M / binM)));
  const first = Math.max(0, Math.floor(place.pingStart) - 1);
  const last = Math.min(n, Math.max(first + 1, Math.ceil(place.pingEnd) + 1));
  const cellsOf = (ping: number): PingCells => pingCells(picture, sampling, ping, binStart, binEnd);

  const cellM = cellWidthM(sampling, Math.round((first + last - 1) / 2), binStart, binEnd, Math.round(place.binEnd));
  const gap = Math.max(2, last - first);
  const besideRows = Math.max(3, Math.round(BESIDE_M / stepM));
  const beside: PingCells[] = [];
  for (let ping = Math.max(0, first - gap - besideRows); ping < Math.min(n, last + gap + besideRows); ping++) if (ping < first - gap || ping >= last + gap) beside.push(cellsOf(ping));
  const floor = meanBetween(beside, endM, Infinity).mean;
  if (!(floor > 0) || !(cellM > 0)) return null;

  const rows = Array.from({ length: last - first }, (_, k) => first + k);
  const cells = rows.map(cellsOf);
  const own = cells.map((one) => Math.min(1, meanBetween([one], endM + 0.15 * lengthM, endM + 0.8 * lengthM).mean / floor));
  // Speckle moves one ping's mean; three tell more.
  const dark = own.map((_, k) => meanOf(own.slice(Math.max(0, k - 1), k + 2)));
  const least = Math.min(...dark.filter((each) => !Number.isNaN(each)));
  if (!(least < 1)) return null;
  let from = dark.indexOf(least);
  let to = from + 1;
  while (from > 0 && dark[from - 1]! <= DARK_MOST) from--;
  while (to < rows.length && dark[to]! <= DARK_MOST) to++;
  const used = cells.slice(from, to);
  const pings = rows.slice(from, to);
  const ends = followEnd(used, dark.slice(from, to), floor, endM, Math.min(FOLLOW_M, 0.6 * lengthM), cellM);
  const groups = Array.from({ length: Math.floor(beside.length / Math.max(1, used.length)) }, (_, k) => beside.slice(k * used.length, (k + 1) * used.length));
  const relief = floorRelief(groups, floor, sineGrazing(endM, heightM, slopeAcross), endM, shadowM, cellM);
  const alongM = pings.map((ping) => ping * stepM);
  const blocking = blockingOf(used, ends, alongM, floor, lengthM, cellM, endM * beamRad);
  const fit = findEnds(used, blocking, { cellM, floor, aboutM: blocking.middleM, reachM: Math.min(ECHO_REACH_M, 0.5 * lengthM + 2 * cellM), temper: TEMPER / (1 + used.length * relief.texture) });
  return fit === null ? null : { fit, pings, cellM, ...relief };
}
/** Likelihoods count for less than speckle alone would give them: levels, path and shape are read from the same samples. */
const TEMPER = 0.5;

function meanOf(values: readonly number[]): number {
  const known = values.filter((value) => !Number.isNaN(value));
  return known.reduce((sum, value) => sum + value, 0) / known.length;
}

/** Slant range that a cell covers at a bin [m]: as many samples as a bin usually has, at least one; NaN where the ping has none. */
function cellWidthM({ slantOf, samplesOf }: PictureSampling, ping: number, binStart: number, binEnd: number, bin: number): number {
  const samples = samplesOf(ping);
  if (samples === null) return NaN;
  const count = Math.max(1, Math.round((samples.sampleStart[binEnd]! - samples.sampleStart[binStart]!) / Math.max(1, binEnd - binStart)));
  const at = samples.sampleStart[bin]!;
  return count * (slantOf(at + 1) - slantOf(at));
}
