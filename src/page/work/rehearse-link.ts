import { contourLines } from '../../depths/contour.js';
import { groundWith } from './rehearse-ground.js';
import type { LinkMap, LinkMapRequest } from './rehearse-messages.js';

/** Cells along the longer side of the map. */
const CELLS = 260;

/** Where the link's margin comes to nothing, and where it is what keeps it 95 times of 100, over a window of the chart. */
export function mapLink({ settings, westM, southM, eastM, northM }: LinkMapRequest): LinkMap {
  const { link } = groundWith(settings, 0);
  const cellM = Math.max(eastM - westM, northM - southM) / CELLS;
  const cols = Math.max(2, Math.ceil((eastM - westM) / cellM));
  const rows = Math.max(2, Math.ceil((northM - southM) / cellM));
  const values = new Float32Array(cols * rows);
  for (let row = 0; row < rows; row++) for (let col = 0; col < cols; col++) values[row * cols + col] = link.marginDb(westM + (col + 0.5) * cellM, northM - (row + 0.5) * cellM);
  const raster = { grid: { westM, northM, cellM, cols, rows }, values };
  // Specks of a few cells are of the grid, not of the link.
  const at = (levelDb: number) => contourLines(raster, { levels: [levelDb], minLengthM: 12 * cellM }).lines.map((line) => Float64Array.from(line));
  return { none: at(0), sure: link.allowanceDb > 0.5 ? at(link.allowanceDb) : [], allowanceDb: link.allowanceDb, why: link.why };
}
