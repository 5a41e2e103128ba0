import type KDBush from 'kdbush';
import type { Soundings } from '../../depths/soundings.js';
import { signed, fixed } from '../words/figures.js';
import type { LoadedCrossings } from '../work/messages.js';

/** Crossings with what the soundings claim of them. Columns, one row a crossing. Shape [n]. */
export interface CrossingMarks {
  readonly n: number;
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** Depth of the later run less that of the earlier [m]. */
  readonly differenceM: Float64Array;
  readonly lineA: Int32Array;
  readonly lineB: Int32Array;
  /** 95 % that the difference should keep within, from the TVU of the soundings on both sides [m]; NaN where none is near. */
  readonly claimedM: Float64Array;
  /** Depths of the earlier and the later run there [m], and when each was there, UTC [s]; NaN where not known. */
  readonly depthAM: Float64Array;
  readonly depthBM: Float64Array;
  readonly timeAS: Float64Array;
  readonly timeBS: Float64Array;
}

/** Soundings no further than this from a crossing speak for it [m]. */
const REACH_M = 6;

/**
 * What two soundings claim together of their difference: the root of the sum of the squares of their TVU, 95 %.
 * The nearest good sounding of each line is taken; where the lines have no numbers, the nearest two of all.
 */
export function crossingMarks(crossings: LoadedCrossings, soundings: Soundings | null, index: KDBush | null): CrossingMarks {
  const claimedM = new Float64Array(crossings.n).fill(NaN);
  if (soundings !== null && index !== null) {
    for (let i = 0; i < crossings.n; i++) {
      const x = crossings.xM[i] as number;
      const y = crossings.yM[i] as number;
      const near = index
        .within(x, y, REACH_M)
        .filter((row) => soundings.reason[row] === 0 && Number.isFinite(soundings.tvuM[row]))
        .sort((a, b) => Math.hypot((soundings.xM[a] as number) - x, (soundings.yM[a] as number) - y) - Math.hypot((soundings.xM[b] as number) - x, (soundings.yM[b] as number) - y));
      const first = near.find((row) => soundings.line[row] === crossings.lineA[i]) ?? near[0];
      const second = near.find((row) => soundings.line[row] === crossings.lineB[i]) ?? near.find((row) => row !== first);
      if (first !== undefined && second !== undefined) claimedM[i] = Math.hypot(soundings.tvuM[first] as number, soundings.tvuM[second] as number);
    }
  }
  return { ...crossings, claimedM };
}

/** Whether a crossing differs by more than the soundings claim. */
export function isBeyond(marks: CrossingMarks, i: number): boolean {
  return Math.abs(marks.differenceM[i] as number) > (marks.claimedM[i] as number);
}

/** A crossing in one line. */
export function crossingText(marks: CrossingMarks, i: number): string {
  const claimedM = marks.claimedM[i] as number;
  const claimed = Number.isFinite(claimedM) ? (isBeyond(marks, i) ? `, beyond the ±${fixed(claimedM, 2)} m claimed` : `, within the ±${fixed(claimedM, 2)} m claimed`) : '';
  return `lines ${marks.lineA[i]} and ${marks.lineB[i]}: ${signed(marks.differenceM[i] as number, 2)} m${claimed}`;
}
