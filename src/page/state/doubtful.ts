import { nearestCell, type HypothesisCell } from '../../depths/hypothesis-cells.js';
import { isAbort } from '../work/call.js';
import { fixed } from '../words/figures.js';
import { buildSoon, refresh, say, server, stopBuilds, surfaceWorker, trouble } from './actions.js';
import { depths, placeLooked } from './depths.js';
import { createStore } from './store.js';
import { survey } from './stores.js';

const FILE = '/files/derived/hypotheses.parquet';

/** Cells of the surface with several depths, and the one that is looked at. */
export interface DoubtfulState {
  /** Those in doubt first; empty where the surface keeps one depth a cell. */
  readonly cells: readonly HypothesisCell[];
  /** Row and column of the cell looked at; null: none. */
  readonly at: { readonly row: number; readonly col: number } | null;
  /** Depth just chosen, until the surface made with it is there [m]. */
  readonly waiting: number | null;
}

export const doubtful = createStore<DoubtfulState>({ cells: [], at: null, waiting: null });

/** The cell looked at, as the surface has it now. */
export function cellLooked({ cells, at }: DoubtfulState): HypothesisCell | null {
  return at === null ? null : (cells.find(({ row, col }) => row === at.row && col === at.col) ?? null);
}

/** Looks at a cell: its depths beside the chart, and the chart where it lies. */
export function lookAtCell(cell: HypothesisCell, move: boolean): void {
  doubtful.update((now) => ({ ...now, at: { row: cell.row, col: cell.col }, waiting: null }));
  if (move) placeLooked.set({ xM: cell.xM, yM: cell.yM, depthM: cell.depths[0]!.depthM, reachM: 20, asked: (placeLooked.get()?.asked ?? 0) + 1 });
}

/** Looks at the cell under a click, if there is one with several depths. */
export function lookAtCellNear(xM: number, yM: number, reachM: number): boolean {
  const { cells } = doubtful.get();
  const cellM = survey.get().summary?.surface?.cellM ?? 1;
  const cell = nearestCell(cells.filter(isMarked), xM, yM, Math.max(reachM, 0.71 * cellM)) ?? nearestCell(cells, xM, yM, 0.71 * cellM);
  if (cell === null) return false;
  lookAtCell(cell, false);
  return true;
}

/** Whether a cell has a mark on the chart. */
export function isMarked(cell: HypothesisCell): boolean {
  return cell.doubtful || cell.byHand;
}

/** Goes to the next or the previous cell in doubt, the weakest first. */
export function goToDoubtful(step: 1 | -1): void {
  const { cells, at } = doubtful.get();
  const inDoubt = cells.filter((cell) => cell.doubtful);
  if (inDoubt.length === 0) return;
  const here = inDoubt.findIndex(({ row, col }) => row === at?.row && col === at.col);
  const next = here < 0 ? (step > 0 ? 0 : inDoubt.length - 1) : (here + step + inDoubt.length) % inDoubt.length;
  lookAtCell(inDoubt[next]!, true);
}

/** Another depth of a cell is to be drawn from now on: one line of the journal, and the surface is made anew. */
export async function chooseDepth(cell: HypothesisCell, depthM: number): Promise<void> {
  doubtful.update((now) => ({ ...now, waiting: depthM }));
  try {
    await stopBuilds();
    await server.decide({ kind: 'hypothesis', latDeg: cell.latDeg, lonDeg: cell.lonDeg, depthM });
    say(`${fixed(depthM, 2)} m chosen; the surface is made anew`);
    await refresh();
    buildSoon();
  } catch (error) {
    doubtful.update((now) => ({ ...now, waiting: null }));
    trouble(error);
  }
}

let loadedFor: object | null = null;

/** Reads the cells once they are looked for: at Surface of the Depths stage, and again when the surface is another. */
function load(): void {
  const { surface, summary } = survey.get();
  if (depths.get().part !== 'surface' || surface === null || summary?.surface?.hypotheses === undefined) {
    if (loadedFor !== null && (surface === null || (summary !== null && summary.surface?.hypotheses === undefined))) {
      loadedFor = null;
      doubtful.set({ cells: [], at: null, waiting: null });
    }
    return;
  }
  if (surface === loadedFor) return;
  loadedFor = surface;
  surfaceWorker.call('loadHypotheses', { url: FILE }).then(
    (cells) => {
      if (loadedFor === surface) doubtful.update((now) => ({ ...now, cells: cells ?? [], waiting: null }));
    },
    (error: unknown) => {
      if (!isAbort(error)) trouble(error);
    },
  );
}

survey.watch(load);
depths.watch(load);
