import { hypothesisCells, type HypothesisCell, type HypothesisColumns } from '../../depths/hypothesis-cells.js';
import { parquetMetadataAsync, parquetRead } from 'hyparquet';

/** Columns that are read, in the order of the file. */
const COLUMNS = ['latDeg', 'lonDeg', 'xM', 'yM', 'row', 'col', 'depthM', 'uncertaintyM', 'soundings', 'stands', 'byHand', 'strength'] as const satisfies readonly (keyof HypothesisColumns)[];
/** More than so many cells are not shown: those in doubt come first. */
const SHOWN_MAX = 50_000;

/**
 * Reads the cells of the surface that have several depths, those in doubt first.
 * @returns null where the file is not there
 */
export async function readHypotheses(url: string, signal: AbortSignal): Promise<HypothesisCell[] | null> {
  const response = await fetch(url, { signal, cache: 'no-cache' });
  if (response.status === 404) return null;
  if (!response.ok) throw new Error(`the server answered ${response.status}`);
  const file = await response.arrayBuffer();
  const metadata = await parquetMetadataAsync(file);
  const n = Number(metadata.num_rows);
  const columns = new Map(COLUMNS.map((name) => [name as string, new Float64Array(n)]));
  await parquetRead({
    file,
    metadata,
    columns: [...COLUMNS],
    onChunk: ({ columnName, columnData, rowStart }) => {
      const column = columns.get(columnName);
      if (column !== undefined) for (let i = 0; i < columnData.length; i++) column[rowStart + i] = Number(columnData[i]);
    },
  });
  return hypothesisCells(Object.fromEntries(columns) as unknown as HypothesisColumns).slice(0, SHOWN_MAX);
}
