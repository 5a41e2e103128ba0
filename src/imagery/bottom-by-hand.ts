import { BOTTOM_SOURCE, type BottomTrack } from './bottom-track.js';

/** A stretch of bottom drawn by hand: slant ranges at pings of one log, straight between them. */
export interface BottomDrawn {
  /** Place of the log in the manifest. */
  readonly log: number;
  /** By rising record; one alone holds for its own ping. */
  readonly points: readonly { readonly record: number; readonly slantM: number }[];
}

/** How well a hand draws the bottom, one sigma [m]. Common practice: a few pixels of a waterfall. */
const HAND_SIGMA_M = 0.1;

/**
 * Puts what was drawn by hand into a track, in the order it was drawn: the latest stands.
 * @param log and record of each row [n]; records rise within a log
 */
export function drawBottom(track: BottomTrack, log: ArrayLike<number>, record: ArrayLike<number>, drawn: readonly BottomDrawn[]): void {
  for (const { log: wanted, points: given } of drawn) {
    const points = given.filter(({ record: at, slantM }) => Number.isFinite(at) && slantM > 0).sort((a, b) => a.record - b.record);
    if (points.length === 0) continue;
    let at = 0;
    for (let row = 0; row < track.n; row++) {
      if (log[row] !== wanted) continue;
      const place = record[row]!;
      if (place < points[0]!.record || place > points[points.length - 1]!.record) continue;
      while (at + 1 < points.length && points[at + 1]!.record <= place) at++;
      const left = points[at]!;
      const right = points[Math.min(at + 1, points.length - 1)]!;
      const share = right.record === left.record ? 0 : (place - left.record) / (right.record - left.record);
      track.heightM[row] = left.slantM + share * (right.slantM - left.slantM);
      track.heightSigmaM[row] = HAND_SIGMA_M;
      track.confidence[row] = 1;
      track.source[row] = BOTTOM_SOURCE.byHand;
    }
  }
}
