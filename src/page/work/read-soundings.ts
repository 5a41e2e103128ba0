import { parquetMetadataAsync, parquetRead } from 'hyparquet';
import KDBush from 'kdbush';
import type { Soundings } from '../../depths/soundings.js';
import type { LoadedSoundings } from './messages.js';

/** Where a sounding without a place is put in the index: nowhere anyone looks [m]. */
const NOWHERE_M = 1e12;

/**
 * Reads the soundings of a survey and indexes them by place.
 * @returns null where the file is not there yet
 * @throws Error with plain words where it cannot be read
 */
export async function readSoundings(url: string, signal: AbortSignal, progress: (done: number, detail: string) => void): Promise<LoadedSoundings | null> {
  const response = await fetch(url, { signal });
  if (response.status === 404) return null;
  if (!response.ok) throw new Error(`the server answered ${response.status}`);
  const file = await response.arrayBuffer();
  progress(0.3, 'soundings');
  const metadata = await parquetMetadataAsync(file);
  const n = Number(metadata.num_rows);
  const soundings = {
    n,
    timeS: new Float64Array(n),
    xM: new Float64Array(n),
    yM: new Float64Array(n),
    measuredM: new Float32Array(n),
    depthM: new Float32Array(n),
    waterLevelM: new Float32Array(n),
    tvuM: new Float32Array(n),
    thuM: new Float32Array(n),
    reason: new Uint8Array(n),
    ruleReason: new Uint8Array(n),
    line: new Int32Array(n).fill(-1),
    log: new Uint16Array(n),
    record: new Uint32Array(n),
  } satisfies Soundings;
  const present = new Set(metadata.schema.map((element) => element.name));
  const wanted = (Object.keys(soundings) as (keyof Soundings)[]).filter((name) => name !== 'n');
  const missing = wanted.filter((name) => !present.has(name));
  if (missing.length > 0) throw new Error(`${missing.join(', ')} missing from it`);
  let chunks = 0;
  const chunksTotal = metadata.row_groups.length * wanted.length;
  await parquetRead({
    file,
    metadata,
    columns: wanted,
    onChunk: ({ columnName, columnData, rowStart }) => {
      const column = soundings[columnName as keyof typeof soundings] as Float64Array;
      if (ArrayBuffer.isView(columnData) && !(columnData instanceof BigInt64Array)) column.set(columnData as unknown as ArrayLike<number>, rowStart);
      else for (let i = 0; i < columnData.length; i++) column[rowStart + i] = columnData[i] === null ? NaN : Number(columnData[i]);
      progress(0.3 + (0.5 * ++chunks) / chunksTotal, 'soundings');
    },
  });
  if (signal.aborted) throw new Error('stopped');
  const index = new KDBush(n);
  for (let i = 0; i < n; i++) {
    const x = soundings.xM[i] as number;
    const y = soundings.yM[i] as number;
    if (Number.isFinite(x) && Number.isFinite(y)) index.add(x, y);
    else index.add(NOWHERE_M, NOWHERE_M);
  }
  if (n > 0) index.finish();
  progress(1, 'soundings');
  return { soundings, index: index.data as ArrayBuffer, bytes: file.byteLength };
}
