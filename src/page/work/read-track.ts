import { parquetMetadataAsync, parquetRead } from 'hyparquet';
import { trackLines } from '../chart/simplify.js';
import type { LoadedTrack } from './messages.js';

/** A longer silence breaks the track [s]. */
const TRACK_GAP_S = 10;

/**
 * Reads the track of the boat as lines in the survey frame.
 * @returns null where the file is not there yet
 */
export async function readTrack(url: string, signal: AbortSignal): Promise<LoadedTrack | null> {
  const response = await fetch(url, { signal });
  if (response.status === 404) return null;
  if (!response.ok) throw new Error(`the server answered ${response.status}`);
  const file = await response.arrayBuffer();
  const metadata = await parquetMetadataAsync(file);
  const n = Number(metadata.num_rows);
  const columns = { timeS: new Float64Array(n), xM: new Float64Array(n), yM: new Float64Array(n), jump: new Float64Array(n) };
  await parquetRead({
    file,
    metadata,
    columns: Object.keys(columns),
    onChunk: ({ columnName, columnData, rowStart }) => {
      const column = columns[columnName as keyof typeof columns];
      for (let i = 0; i < columnData.length; i++) column[rowStart + i] = columnData[i] === null ? NaN : Number(columnData[i]);
    },
  });
  return { lines: trackLines(columns.timeS, columns.xM, columns.yM, columns.jump, TRACK_GAP_S) };
}
