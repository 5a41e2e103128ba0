import { parquetMetadataAsync, parquetRead, type FileMetaData } from 'hyparquet';

export type NumberColumn = Float64Array | Float32Array | Int32Array | Uint32Array | Uint16Array | Uint8Array;

/**
 * Reads columns of numbers of a Parquet file on the server; a value that is missing is NaN.
 *
 * @param make the arrays to fill, by name, for so many rows
 * @param missingKept a column that the file does not have keeps what it was made with; else it is an error
 * @returns null where the file is not there
 */
export async function readColumns<Columns extends Readonly<Record<string, NumberColumn>>>(
  url: string,
  init: RequestInit,
  make: (n: number, metadata: FileMetaData) => Columns,
  missingKept = false,
): Promise<{ readonly n: number; readonly columns: Columns; readonly metadata: FileMetaData } | null> {
  const response = await fetch(url, init);
  if (response.status === 404) return null;
  if (!response.ok) throw new Error(`the server answered ${response.status}`);
  const file = await response.arrayBuffer();
  const metadata = await parquetMetadataAsync(file);
  const n = Number(metadata.num_rows);
  const columns = make(n, metadata);
  const there = new Set(metadata.schema.slice(1).map(({ name }) => name));
  await parquetRead({
    file,
    metadata,
    columns: Object.keys(columns).filter((name) => !missingKept || there.has(name)),
    onChunk: ({ columnName, columnData, rowStart }) => {
      const column = columns[columnName] as NumberColumn;
      for (let i = 0; i < columnData.length; i++) column[rowStart + i] = columnData[i] === null ? NaN : Number(columnData[i]);
    },
  });
  return { n, columns, metadata };
}
