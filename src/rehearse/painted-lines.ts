import type { Leg } from '../lines/sortie.js';
import type { LegTrack } from './leg-track.js';
import { chanceWithin } from './normal-chance.js';
import type { LineRun, RehearsalOptions } from './rehearsal.js';
import type { RunRecord } from './run-record.js';

/** Lines are looked at in parts this long, longer ones in so many parts [m]. */
const PART_M = 1;
const MOST_PARTS = 20_000;

/**
 * How each line of a sortie is painted: the chance, part by part, that the boat is within tolerance of it, from its mean
 * track in the rehearsal and the card's cross-track error as a normal deviate about it.
 *
 * The mean track of the stretches before and after a line counts too: the boat is on the line before it takes the turn off it.
 */
export function paintedLines(run: RunRecord, track: LegTrack, legs: readonly Leg[], trackRmsM: number, options: RehearsalOptions): LineRun[] {
  const rowsFrom = new Int32Array(track.n + 1).fill(-1);
  for (let i = run.n - 1; i >= 0; i--) rowsFrom[run.stretch[i]!] = i;
  const parts = new Map<number, { lengthM: number; chances: Float32Array[]; starts: number[]; sizes: number[] }>();
  for (let s = 0; s < track.n; s++) {
    const leg = legs[track.legIndex[s]!]!;
    if (leg.kind !== 'line' || leg.line === null) continue;
    const line = parts.get(leg.line) ?? { lengthM: 0, chances: [], starts: [], sizes: [] };
    parts.set(leg.line, line);
    const lengthM = track.lengthM[s]!;
    const count = Math.min(MOST_PARTS, Math.max(1, Math.ceil(lengthM / PART_M)));
    line.chances.push(chancesAlong(run, track, s, rowsFrom, count, trackRmsM, options.toleranceM));
    line.starts.push(line.lengthM);
    line.sizes.push(lengthM / count);
    line.lengthM += lengthM;
  }
  return [...parts].map(([line, { lengthM, chances, starts, sizes }]) => {
    let painted = 0;
    const gaps: number[] = [];
    chances.forEach((chance, k) => {
      const size = sizes[k]!;
      for (let i = 0; i < chance.length; i++) {
        painted += chance[i]! * size;
        if (chance[i]! >= options.paintedChance) continue;
        const start = starts[k]! + i * size;
        if (gaps.length > 0 && start - gaps[gaps.length - 1]! < 1e-6) gaps[gaps.length - 1] = start + size;
        else gaps.push(start, start + size);
      }
    });
    return { line, lengthM, paintedShare: painted / lengthM, gaps };
  });
}

/** Best chance of each of `count` equal parts of a stretch; 0 where the boat does not pass. */
function chancesAlong(run: RunRecord, track: LegTrack, s: number, rowsFrom: Int32Array, count: number, trackRmsM: number, toleranceM: number): Float32Array {
  const chance = new Float32Array(count);
  const size = track.lengthM[s]! / count;
  let first = -1;
  for (let k = Math.max(0, s - 1); k <= Math.min(track.n - 1, s + 1) && first < 0; k++) first = rowsFrom[k]!;
  if (first < 0) return chance;
  const fx = track.fromXM[s]!;
  const fy = track.fromYM[s]!;
  const ux = track.alongX[s]!;
  const uy = track.alongY[s]!;
  let beforeAlong = NaN;
  // To the centimetre: most of a line is run at one offset.
  let lastCm = NaN;
  let lastChance = NaN;
  const within = (offM: number): number => {
    const cm = Math.round(100 * offM);
    if (cm !== lastCm) [lastCm, lastChance] = [cm, chanceWithin(toleranceM, cm / 100, trackRmsM)];
    return lastChance;
  };
  let beforeCross = NaN;
  for (let i = first; i < run.n && run.stretch[i]! <= s + 1; i++) {
    const dx = run.xM[i]! - fx;
    const dy = run.yM[i]! - fy;
    const along = dx * ux + dy * uy;
    const cross = dx * uy - dy * ux;
    if (along > beforeAlong) {
      const from = Math.max(0, Math.floor(beforeAlong / size));
      const to = Math.min(count - 1, Math.floor(along / size));
      for (let part = from; part <= to; part++) {
        const share = Math.max(0, Math.min(1, ((part + 0.5) * size - beforeAlong) / (along - beforeAlong)));
        const now = within(beforeCross + (cross - beforeCross) * share);
        if (now > chance[part]!) chance[part] = now;
      }
    }
    beforeAlong = along;
    beforeCross = cross;
  }
  return chance;
}
