import { reasonCode, type Soundings } from '../../depths/soundings.js';
import { rowAt } from '../strip/decimate.js';
import type { Run } from '../select/runs.js';

const JUMP = reasonCode('position-jump');
/** A longer silence breaks the profile [s]. */
const SILENCE_S = 20;

type Columns = Pick<Soundings, 'n' | 'timeS' | 'xM' | 'yM' | 'depthM' | 'reason'>;

/** Soundings of a run, and of others beside it, where they stand along the run. */
export interface Profile {
  readonly run: Run;
  readonly byDistance: boolean;
  /** Where each sounding of the run stands: metres from its start, or UTC seconds. Shape [rowEnd - rowStart]. */
  readonly along: Float64Array;
  readonly neighbours: Neighbours;
}

/** Soundings of other runs near a run. Shape of each column: [m]. */
export interface Neighbours {
  readonly rows: Int32Array;
  /** Where along the run they lie abeam: metres from its start, or UTC seconds. */
  readonly along: Float64Array;
  /** How far off the run [m]. */
  readonly offM: Float32Array;
}

export const NO_NEIGHBOURS: Neighbours = { rows: new Int32Array(0), along: new Float64Array(0), offM: new Float32Array(0) };

/**
 * Metres run from the start of a run to each of its soundings. Positions that jumped add nothing; a sounding without a
 * place stands between its neighbours by time. Shape [rowEnd - rowStart]
 */
export function distanceAlong({ timeS, xM, yM, reason }: Columns, { rowStart, rowEnd }: Run): Float64Array {
  const along = new Float64Array(rowEnd - rowStart);
  let last = -1;
  let length = 0;
  let waiting = rowStart;
  for (let i = rowStart; i < rowEnd; i++) {
    const x = xM[i] as number;
    if (x !== x || reason[i] === JUMP) continue;
    const from = length;
    if (last >= 0) length += Math.hypot(x - (xM[last] as number), (yM[i] as number) - (yM[last] as number));
    const span = last < 0 ? 0 : (timeS[i] as number) - (timeS[last] as number);
    for (let k = waiting; k < i; k++) along[k - rowStart] = span > 0 ? from + ((length - from) * ((timeS[k] as number) - (timeS[last] as number))) / span : from;
    along[i - rowStart] = length;
    last = i;
    waiting = i + 1;
  }
  for (let k = waiting; k < rowEnd; k++) along[k - rowStart] = length;
  return along;
}

/** Where the soundings of a run stand, by distance or by time. */
export function alongRun(soundings: Columns, run: Run, byDistance: boolean): Float64Array {
  return byDistance ? distanceAlong(soundings, run) : soundings.timeS.slice(run.rowStart, run.rowEnd);
}

/**
 * Soundings of other runs no further than a reach from the path of a run, each once, where the run passes it nearest.
 *
 * @param within rows no further from a place than a reach, from an index over places
 * @param most no more than about this many are returned: every k-th
 */
export function neighboursOf(soundings: Columns, run: Run, along: Float64Array, reachM: number, within: (xM: number, yM: number, reachM: number) => readonly number[], most: number): Neighbours {
  const { n, xM, yM, reason } = soundings;
  const { rowStart, rowEnd } = run;
  const least = new Map<number, { offM: number; along: number }>();
  const taken = new Uint8Array(n);
  const found: number[] = [];
  let last = -1;
  for (let i = rowStart; i < rowEnd; i++) {
    if (reason[i] !== 0) continue;
    if (last >= 0 && i < rowEnd - 1 && Math.hypot((xM[i] as number) - (xM[last] as number), (yM[i] as number) - (yM[last] as number)) < reachM / 2) continue;
    last = i;
    for (const row of within(xM[i] as number, yM[i] as number, reachM * 1.12)) {
      if ((row >= rowStart && row < rowEnd) || taken[row] === 1) continue;
      taken[row] = 1;
      found.push(row);
    }
  }
  const step = Math.max(1, Math.ceil(found.length / most));
  const path = thinned(soundings, run, reachM / 6);
  const grid = new Map<string, number[]>();
  const cellOf = (x: number, y: number) => `${Math.floor(x / reachM)} ${Math.floor(y / reachM)}`;
  for (const i of path) {
    const key = cellOf(xM[i] as number, yM[i] as number);
    const cell = grid.get(key);
    if (cell === undefined) grid.set(key, [i]);
    else cell.push(i);
  }
  for (let k = 0; k < found.length; k += step) {
    const row = found[k] as number;
    const x = xM[row] as number;
    const y = yM[row] as number;
    let best = -1;
    let bestM = reachM;
    for (const dx of [-reachM, 0, reachM]) for (const dy of [-reachM, 0, reachM]) {
      for (const i of grid.get(cellOf(x + dx, y + dy)) ?? []) {
        const distance = Math.hypot((xM[i] as number) - x, (yM[i] as number) - y);
        if (distance <= bestM) {
          bestM = distance;
          best = i;
        }
      }
    }
    if (best >= 0) least.set(row, { offM: bestM, along: along[best - rowStart] as number });
  }
  const rows = Int32Array.from(least.keys());
  return { rows, along: Float64Array.from(rows, (row) => least.get(row)?.along ?? NaN), offM: Float32Array.from(rows, (row) => least.get(row)?.offM ?? NaN) };
}

/** Good soundings of a run, no two nearer than a distance. */
function thinned({ xM, yM, reason }: Columns, { rowStart, rowEnd }: Run, apartM: number): number[] {
  const rows: number[] = [];
  for (let i = rowStart; i < rowEnd; i++) {
    if (reason[i] !== 0) continue;
    const last = rows[rows.length - 1];
    if (last === undefined || Math.hypot((xM[i] as number) - (xM[last] as number), (yM[i] as number) - (yM[last] as number)) >= apartM) rows.push(i);
  }
  return rows;
}

/** Depths to show: those of the good soundings of a window, with room for what lies a little beyond them. */
export function depthWindow(soundings: Columns, run: Run, along: Float64Array, from: number, to: number): readonly [number, number] {
  let [low, high] = [Infinity, -Infinity];
  for (let i = run.rowStart + rowAt(along, from); i < run.rowEnd && (along[i - run.rowStart] as number) <= to; i++) {
    const d = soundings.depthM[i] as number;
    if (soundings.reason[i] !== 0 || d !== d) continue;
    if (d < low) low = d;
    if (d > high) high = d;
  }
  if (!(high >= low)) {
    for (let i = run.rowStart; i < run.rowEnd; i++) {
      const d = soundings.depthM[i] as number;
      if (d < low) low = d;
      if (d > high) high = d;
    }
    if (!(high >= low)) return [0, 1];
  }
  const room = Math.max(0.4, (high - low) * 0.35);
  return [low - room, high + room];
}

/** Whether two soundings that follow each other are joined by a line. */
export function isJoined(soundings: Columns, a: number, b: number): boolean {
  return (soundings.timeS[b] as number) - (soundings.timeS[a] as number) <= SILENCE_S;
}
