import { parquetMetadataAsync, parquetRead } from 'hyparquet';
import type { LoadedPings } from './imagery-messages.js';

type Column = Float64Array | Float32Array | Int32Array | Uint32Array | Uint16Array | Uint8Array;

/** Reads columns of a parquet file; one the file does not have keeps what it was made with. @returns null where the file is not there */
async function readColumns(url: string, signal: AbortSignal, make: (n: number) => Readonly<Record<string, Column>>): Promise<{ readonly n: number; readonly columns: Readonly<Record<string, Column>> } | null> {
  const response = await fetch(url, { signal });
  if (response.status === 404) return null;
  if (!response.ok) throw new Error(`the server answered ${response.status}`);
  const file = await response.arrayBuffer();
  const metadata = await parquetMetadataAsync(file);
  const n = Number(metadata.num_rows);
  const columns = make(n);
  const there = new Set(metadata.schema.slice(1).map(({ name }) => name));
  await parquetRead({
    file,
    metadata,
    columns: Object.keys(columns).filter((name) => there.has(name)),
    onChunk: ({ columnName, columnData, rowStart }) => {
      const column = columns[columnName] as Column;
      for (let i = 0; i < columnData.length; i++) column[rowStart + i] = columnData[i] === null ? NaN : Number(columnData[i]);
    },
  });
  return { n, columns };
}

/**
 * Reads the pings of the side-scan logs with the bottom under them and the track of the sonar. What is not made yet is not known: NaN.
 * @returns null where there are no pings
 */
export async function readPings(pingsUrl: string, bottomUrl: string, trackUrl: string, signal: AbortSignal): Promise<LoadedPings | null> {
  const unknown = (n: number): Float32Array => new Float32Array(n).fill(NaN);
  const [pings, bottom, track] = await Promise.all([
    readColumns(pingsUrl, signal, (n) => ({ timeS: new Float64Array(n), log: new Uint16Array(n), record: new Uint32Array(n), portSamples: new Uint32Array(n), starboardSamples: new Uint32Array(n), intervalS: new Float64Array(n), delayS: new Float64Array(n) })),
    readColumns(bottomUrl, signal, (n) => ({ heightM: unknown(n), heightSigmaM: unknown(n), confidence: new Float32Array(n), source: new Uint8Array(n) })),
    readColumns(trackUrl, signal, (n) => ({ timeS: new Float64Array(n), xM: new Float64Array(n), yM: new Float64Array(n), gridHeadingDeg: unknown(n), speedMps: unknown(n), sigmaM: unknown(n), headingSigmaDeg: unknown(n), line: new Int32Array(n), fault: new Uint8Array(n), portSlope: new Float32Array(n), starboardSlope: new Float32Array(n) })),
  ]);
  if (pings === null || pings.n === 0) return null;
  const { n } = pings;
  // A file of other pings is one that is being made anew.
  const b = bottom?.n === n ? bottom.columns : { heightM: unknown(n), heightSigmaM: unknown(n), confidence: new Float32Array(n), source: new Uint8Array(n) };
  const t = track?.n === n ? track.columns : { timeS: pings.columns['timeS'], xM: new Float64Array(n).fill(NaN), yM: new Float64Array(n).fill(NaN), gridHeadingDeg: unknown(n), speedMps: unknown(n), sigmaM: unknown(n), headingSigmaDeg: unknown(n), line: new Int32Array(n).fill(-1), fault: new Uint8Array(n), portSlope: new Float32Array(n), starboardSlope: new Float32Array(n) };
  const all = { ...pings.columns, ...b, ...t } as Readonly<Record<string, Column>>;
  const { heightM, ...rest } = all;
  return { n, ...rest, firstEchoM: heightM } as unknown as LoadedPings;
}
