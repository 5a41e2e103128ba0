import { UseError } from '../base/errors.js';
import { hypothesisCells, nearestCell, type HypothesisCell, type HypothesisColumns } from '../depths/hypothesis-cells.js';
import { readColumnsFile } from './columns-file.js';
import { isThere, placeIn, readSettings } from './folder.js';
import { HYPOTHESES_PLACE } from './hypotheses-file.js';
import type { HypothesisChoice } from './summary.js';
import { needFrame } from './survey-frame.js';

export type { HypothesisCell };

/** A place named by hand may lie this far from the centre of its cell, in cells: a corner is 0.71 away. */
const REACH_CELLS = 0.75;

/**
 * The cells of the surface that have several depths, those in doubt first.
 * @throws UseError where the surface is not made by hypotheses
 */
export async function hypothesisCellsOf(folder: string): Promise<HypothesisCell[]> {
  if (!(await isThere(placeIn(folder, HYPOTHESES_PLACE)))) {
    throw new UseError('the surface keeps one depth a cell: there are no others to choose from. Set surface.statistic to hypotheses, for dense soundings: --set surface.statistic=hypotheses', { path: 'surface.statistic' });
  }
  return hypothesisCells((await readColumnsFile(placeIn(folder, HYPOTHESES_PLACE))) as unknown as HypothesisColumns);
}

/**
 * The choice of a depth at a place, as the journal takes it: the cell's centre and that depth of its own that is meant.
 * @throws UseError where no cell with several depths lies there, or none of its depths is near the one named
 */
export async function choiceAt(folder: string, place: { readonly latDeg: number; readonly lonDeg: number }, depthM: number, cellM: number): Promise<HypothesisChoice> {
  const cells = await hypothesisCellsOf(folder);
  const frame = await needFrame(folder, await readSettings(folder));
  const [xM, yM] = frame.toFrame(place.latDeg, place.lonDeg);
  const where = `${place.latDeg}, ${place.lonDeg}`;
  const cell = nearestCell(cells, xM, yM, REACH_CELLS * cellM);
  if (cell === null) {
    const near = nearestCell(cells, xM, yM, Infinity);
    const far = near === null ? '' : `; the nearest is ${Math.hypot(near.xM - xM, near.yM - yM).toFixed(1)} m away, at ${placeText(near)}`;
    throw new UseError(`no cell with several depths lies at ${where}${far}`, { path: '--choose' });
  }
  const meant = cell.depths.reduce((best, one) => (Math.abs(one.depthM - depthM) < Math.abs(best.depthM - depthM) ? one : best));
  // Two depths told apart are further from each other than this; a figure copied from the list is rounded to a centimetre.
  if (Math.abs(meant.depthM - depthM) > 0.1) {
    throw new UseError(`the cell at ${where} has no depth near ${depthM} m: expected one of ${cell.depths.map((one) => one.depthM.toFixed(2)).join(', ')} m`, { path: '--choose' });
  }
  return { kind: 'hypothesis', latDeg: cell.latDeg, lonDeg: cell.lonDeg, depthM: meant.depthM };
}

/** The centre of a cell, to a decimetre or two. */
export function placeText({ latDeg, lonDeg }: Pick<HypothesisCell, 'latDeg' | 'lonDeg'>): string {
  return `${latDeg.toFixed(6)},${lonDeg.toFixed(6)}`;
}
