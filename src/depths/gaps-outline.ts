import type { RasterGrid } from '../geo/raster.js';
import type { Polygon, Ring } from '../geo/shapes.js';

/** Connected regions of cells. */
export interface Regions {
  readonly n: number;
  /** Region of each cell [rows * cols]; -1 for none. */
  readonly label: Int32Array;
  /** Cells of region k, ascending: cells[first[k] .. first[k + 1]). */
  readonly first: Uint32Array;
  readonly cells: Uint32Array;
}

/** Groups marked cells that share a side; regions are numbered in the order of their first cell, from the north-west. */
export function connectedRegions(marked: Uint8Array, cols: number, rows: number): Regions {
  const label = new Int32Array(marked.length).fill(-1);
  const cells: number[] = [];
  const first: number[] = [0];
  const stack: number[] = [];
  for (let seed = 0; seed < marked.length; seed++) {
    if (marked[seed] === 0 || label[seed] !== -1) continue;
    const region = first.length - 1;
    const visit = (cell: number) => {
      if (marked[cell] !== 0 && label[cell] === -1) {
        label[cell] = region;
        stack.push(cell);
        cells.push(cell);
      }
    };
    visit(seed);
    while (stack.length > 0) {
      const cell = stack.pop()!;
      const row = Math.floor(cell / cols);
      const col = cell - row * cols;
      if (col > 0) visit(cell - 1);
      if (col + 1 < cols) visit(cell + 1);
      if (row > 0) visit(cell - cols);
      if (row + 1 < rows) visit(cell + cols);
    }
    first.push(cells.length);
  }
  const columns = { first: Uint32Array.from(first), cells: Uint32Array.from(cells) };
  for (let k = 0; k + 1 < first.length; k++) columns.cells.subarray(first[k]!, first[k + 1]!).sort();
  return { n: first.length - 1, label, ...columns };
}

/**
 * The outline of a region along the edges of its cells, with holes: exactly the region's area, corners only.
 *
 * The outer ring runs counter-clockwise, holes clockwise. Every ring is simple; two rings may touch at a corner, where cells
 * meet by that corner only (as OGC Simple Features, ISO 19125-1, allows for a polygon's rings).
 *
 * @param label region of each cell; @param region which; @param cells its cells
 * @throws RangeError for a region without cells, or of cells that do not hang together by their sides
 */
export function regionOutline(label: Int32Array, region: number, cells: Uint32Array, grid: RasterGrid): Polygon {
  const { cols, rows } = grid;
  if (cells.length === 0) throw new RangeError(`region ${region}: no cells`);
  const inside = (row: number, col: number) => row >= 0 && row < rows && col >= 0 && col < cols && label[row * cols + col] === region;
  // Corners are numbered on the lattice of (cols + 1) x (rows + 1). Directions: 0 east, 1 north, 2 west, 3 south; the
  // region lies on the left. An edge is known by its first corner and direction; east-going edges start every ring.
  const width = cols + 1;
  const walked = new Set<number>();
  const rings: { ring: Ring; area: number }[] = [];
  for (const cell of cells) {
    const row = Math.floor(cell / cols);
    const col = cell - row * cols;
    const corner = (row + 1) * width + col;
    if (inside(row + 1, col) || walked.has(corner)) continue; // its south side, walked eastwards, is no edge or is done
    rings.push(...simpleRings(walkRing(row + 1, col)).map(frameRing));
  }
  const outer = rings.filter(({ area }) => area > 0);
  if (outer.length !== 1) throw new RangeError(`region ${region}: ${outer.length} outer rings, expected 1: its cells must share sides`);
  return { outer: outer[0]!.ring, holes: rings.filter(({ area }) => area < 0).map(({ ring }) => ring) };

  /** Lattice corners where the edge turns, counter-clockwise round the region. */
  function walkRing(startRow: number, startCol: number): number[] {
    const corners: number[] = [];
    let row = startRow;
    let col = startCol;
    let direction = 0;
    do {
      if (direction === 0) walked.add(row * width + col);
      [row, col] = step(row, col, direction);
      const [left, right] = ahead(row, col, direction);
      // Turning left before all else keeps to cells that share a side.
      const turned: number = !inside(...left) ? (direction + 1) & 3 : inside(...right) ? (direction + 3) & 3 : direction;
      if (turned !== direction) corners.push(row * width + col);
      direction = turned;
    } while (row !== startRow || col !== startCol || direction !== 0);
    return corners;
  }

  function frameRing(corners: readonly number[]): { ring: Ring; area: number } {
    const ring = new Float64Array(2 * corners.length);
    let area = 0;
    corners.forEach((corner, i) => {
      const row = Math.floor(corner / width);
      const next = corners[(i + 1) % corners.length]!;
      ring[2 * i] = grid.westM + (corner % width) * grid.cellM;
      ring[2 * i + 1] = grid.northM - row * grid.cellM;
      area += row * ((next % width) - (corner % width)); // sides are level or upright: exact, in cells
    });
    return { ring, area };
  }
}

/** Parts a ring that touches itself at corners into rings that do not. */
function simpleRings(corners: readonly number[]): number[][] {
  const rings: number[][] = [];
  const path: number[] = [];
  const at = new Map<number, number>();
  for (const corner of corners) {
    const before = at.get(corner);
    if (before !== undefined) {
      const loop = path.splice(before);
      for (const passed of loop) at.delete(passed);
      rings.push(loop);
    }
    at.set(corner, path.length);
    path.push(corner);
  }
  rings.push(path);
  return rings;
}

function step(row: number, col: number, direction: number): [number, number] {
  return [row + (direction === 3 ? 1 : direction === 1 ? -1 : 0), col + (direction === 0 ? 1 : direction === 2 ? -1 : 0)];
}

/** The cells ahead of a corner on the left and the right of a direction, as [row, col]. */
function ahead(row: number, col: number, direction: number): [[number, number], [number, number]] {
  const northWest: [number, number] = [row - 1, col - 1];
  const northEast: [number, number] = [row - 1, col];
  const southWest: [number, number] = [row, col - 1];
  const southEast: [number, number] = [row, col];
  if (direction === 0) return [northEast, southEast];
  if (direction === 1) return [northWest, northEast];
  if (direction === 2) return [southWest, northWest];
  return [southEast, southWest];
}
