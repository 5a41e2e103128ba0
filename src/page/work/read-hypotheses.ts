import { hypothesisCells, type HypothesisCell, type HypothesisColumns } from '../../depths/hypothesis-cells.js';
import { readColumns } from './read-columns.js';

/** Columns that are read, in the order of the file. */
const COLUMNS = ['latDeg', 'lonDeg', 'xM', 'yM', 'row', 'col', 'depthM', 'uncertaintyM', 'soundings', 'stands', 'byHand', 'strength'] as const satisfies readonly (keyof HypothesisColumns)[];
/** More than so many cells are not shown: those in doubt come first. */
const SHOWN_MAX = 50_000;

/**
 * Reads the cells of the surface that have several depths, those in doubt first.
 * @returns null where the file is not there
 */
export async function readHypotheses(url: string, signal: AbortSignal): Promise<HypothesisCell[] | null> {
  const read = await readColumns(url, { signal, cache: 'no-cache' }, (n) => Object.fromEntries(COLUMNS.map((name) => [name, new Float64Array(n)])));
  return read === null ? null : hypothesisCells(read.columns as unknown as HypothesisColumns).slice(0, SHOWN_MAX);
}
