import { trackLines } from '../chart/simplify.js';
import type { LoadedTrack } from './messages.js';
import { readColumns } from './read-columns.js';

/** A longer silence breaks the track [s]. */
const TRACK_GAP_S = 10;

/**
 * Reads the track of the boat as lines in the survey frame.
 * @returns null where the file is not there yet
 */
export async function readTrack(url: string, signal: AbortSignal): Promise<LoadedTrack | null> {
  const read = await readColumns(url, { signal }, (n) => ({ timeS: new Float64Array(n), xM: new Float64Array(n), yM: new Float64Array(n), jump: new Float64Array(n) }));
  if (read === null) return null;
  const { timeS, xM, yM, jump } = read.columns;
  return { lines: trackLines(timeS, xM, yM, jump, TRACK_GAP_S) };
}
