import { turnDeg, unrolledDeg } from '../base/interpolate.js';
import { median, robustSigma } from '../base/robust.js';
import { PING_FAULT, type SonarTrack } from './sonar-track.js';

/** At the ends of a line the boat is still turning where it heads further off the line's own heading than this, and than it yaws on the line [deg]. Common practice. */
const STILL_TURNING_DEG = 6;
const YAW_SIGMAS = 2.5;
/** A shorter stretch between pings in a turn is part of the turn [s]. */
const SHORT_S = 1;

/**
 * Which pings the pictures are made of: those without a fault, on lines, without the turns at the ends of the lines. A ping of a
 * turn is swept over the floor faster than its neighbours follow: it lies alone in a fan of gaps.
 *
 * @param turns whether turns and ways between lines are wanted too
 * @param breakS a longer silence ends a run on a line; the end of a log does not [s]
 * @returns 1 for a ping that is used; where no ping is on a line, all without a fault. Shape [n]
 */
export function laidPings(track: Pick<SonarTrack, 'n' | 'timeS' | 'line' | 'fault' | 'gridHeadingDeg'>, turns: boolean, breakS: number): Uint8Array {
  const { n, timeS, line, fault } = track;
  const good = Uint8Array.from(fault, (each) => (each === PING_FAULT.none ? 1 : 0));
  if (turns) return good;
  const onLines = new Uint8Array(n);
  for (let start = 0; start < n; ) {
    let end = start + 1;
    while (end < n && line[end] === line[start] && Math.abs(timeS[end]! - timeS[end - 1]!) <= breakS) end++;
    if (line[start]! >= 0) {
      const [from, to] = withoutTurns(track, good, start, end);
      for (let row = from; row < to; row++) onLines[row] = good[row]!;
      dropShort(track, onLines, from, to);
    }
    start = end;
  }
  // A log of a single look, without a straight run in it, is shown all the same.
  return onLines.some((each) => each === 1) ? onLines : good;
}

/** The rows of a run on a line without what its ends still turn. */
function withoutTurns({ gridHeadingDeg }: Pick<SonarTrack, 'gridHeadingDeg'>, good: Uint8Array, start: number, end: number): [number, number] {
  const known: number[] = [];
  for (let row = start; row < end; row++) if (good[row] === 1 && Number.isFinite(gridHeadingDeg[row]!)) known.push(gridHeadingDeg[row]!);
  if (known.length === 0) return [start, end];
  const headings = unrolledDeg(known);
  const ownDeg = median(headings);
  const limitDeg = Math.max(STILL_TURNING_DEG, YAW_SIGMAS * robustSigma(headings));
  const turning = (row: number): boolean => good[row] !== 1 || !(Math.abs(turnDeg(ownDeg, gridHeadingDeg[row]!)) <= limitDeg);
  let [from, to] = [start, end];
  while (from < to && turning(from)) from++;
  while (to > from && turning(to - 1)) to--;
  return [from, to];
}

/** Takes out what is left between pings of a turn for less than SHORT_S. */
function dropShort({ timeS, fault }: Pick<SonarTrack, 'timeS' | 'fault'>, used: Uint8Array, from: number, to: number): void {
  for (let start = from; start < to; ) {
    if (used[start] === 0) {
      start++;
      continue;
    }
    let end = start + 1;
    while (end < to && used[end] === 1) end++;
    const inTurn = start > from && end < to && fault[start - 1] === PING_FAULT.turning && fault[end] === PING_FAULT.turning;
    if (inTurn && timeS[end]! - timeS[start - 1]! < SHORT_S) used.fill(0, start, end);
    start = end;
  }
}
