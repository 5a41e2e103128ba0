import type { Box } from '../geo/ring.js';
import type { Hazards } from './hazards.js';
import type { Place } from './rehearsal.js';
import type { SeaCache } from './sea-cache.js';

/** Ways home that keep clear of keep-outs, land and shoal water, worked out once from home for all places. */
export interface SafeWays {
  /** Corners from a place to home, [x, y, ...], the place itself left out; null where there is no way. */
  from(xM: number, yM: number): Float64Array | null;
}

const SIDE = 160;

/**
 * Shortest ways home over a grid, cut straight wherever cells in sight of each other allow.
 *
 * Cells nearer a hazard than the clearance (or than their own half diagonal), or with less water than wanted at the lowest
 * level of the span, are closed. Source: Nash, Koenig & Tovey (2010), Lazy Theta*, AAAI-10: any-angle paths on a grid.
 */
export function createSafeWays(hazards: Hazards, sea: SeaCache, box: Box, home: Place, clearanceM: number, leastWaterM: number): SafeWays {
  const cell = Math.max(1, Math.max(box.eastM - box.westM, box.northM - box.southM) / SIDE);
  const cols = Math.ceil((box.eastM - box.westM) / cell) + 1;
  const rows = Math.ceil((box.northM - box.southM) / cell) + 1;
  const count = cols * rows;
  const open = new Uint8Array(count);
  const room = Math.max(clearanceM, cell * Math.SQRT1_2);
  const xOf = (i: number): number => box.westM + (i % cols) * cell;
  const yOf = (i: number): number => box.southM + Math.floor(i / cols) * cell;
  for (let i = 0; i < count; i++) {
    const x = xOf(i);
    const y = yOf(i);
    if (!hazards.none && (hazards.nearestM(x, y, room) < room || hazards.at(x, y) !== null)) continue;
    const depth = sea.depthLessDraftM(x, y);
    open[i] = Number.isNaN(depth) || depth + sea.lowestLevelM >= leastWaterM ? 1 : 0;
  }
  const indexAt = (x: number, y: number): number => {
    const col = Math.max(0, Math.min(cols - 1, Math.round((x - box.westM) / cell)));
    const row = Math.max(0, Math.min(rows - 1, Math.round((y - box.southM) / cell)));
    return row * cols + col;
  };
  const homeCell = nearestOpen(open, indexAt(home.xM, home.yM), cols, rows);
  if (homeCell < 0) return { from: () => null };

  const inSight = (a: number, b: number): boolean => {
    const ca = a % cols;
    const ra = (a - ca) / cols;
    const dc = (b % cols) - ca;
    const dr = Math.floor(b / cols) - ra;
    const steps = 2 * Math.max(Math.abs(dc), Math.abs(dr));
    for (let k = 1; k < steps; k++) if (open[Math.round(ra + (dr * k) / steps) * cols + Math.round(ca + (dc * k) / steps)] === 0) return false;
    return true;
  };
  const best = new Float64Array(count).fill(Infinity);
  const parent = new Int32Array(count).fill(-1);
  const done = new Uint8Array(count);
  const heap = new CellHeap(best);
  best[homeCell] = 0;
  parent[homeCell] = homeCell;
  heap.push(homeCell);
  const apart = (a: number, b: number): number => {
    const dc = (a % cols) - (b % cols);
    const dr = Math.floor(a / cols) - Math.floor(b / cols);
    return Math.sqrt(dc * dc + dr * dr);
  };
  const around = [-1, 1, -cols, cols, -cols - 1, -cols + 1, cols - 1, cols + 1];
  for (let u = heap.pop(); u >= 0; u = heap.pop()) {
    if (done[u] === 1) continue;
    // The parent was taken to be in sight; where it is not, the best neighbour already done takes its place.
    if (parent[u] !== u && !inSight(parent[u]!, u)) {
      best[u] = Infinity;
      for (const step of around) {
        const v = neighbour(u, step, cols, count);
        if (v >= 0 && done[v] === 1 && best[v]! + apart(u, v) < best[u]!) {
          best[u] = best[v]! + apart(u, v);
          parent[u] = v;
        }
      }
    }
    done[u] = 1;
    const from = parent[u]!;
    for (const step of around) {
      const v = neighbour(u, step, cols, count);
      if (v < 0 || done[v] === 1 || open[v] === 0) continue;
      const way = best[from]! + apart(from, v);
      if (way < best[v]!) {
        best[v] = way;
        parent[v] = from;
        heap.push(v);
      }
    }
  }
  return {
    from(xM, yM) {
      let i = indexAt(xM, yM);
      const corners: number[] = [];
      if (open[i] === 0 || done[i] === 0) {
        i = nearestOpen(done, i, cols, rows);
        if (i < 0) return null;
        corners.push(xOf(i), yOf(i));
      }
      // From the place itself straight on to the cell's parent: the cell's centre is no corner.
      for (i = parent[i]!; i !== homeCell; i = parent[i]!) corners.push(xOf(i), yOf(i));
      corners.push(home.xM, home.yM);
      return Float64Array.from(corners);
    },
  };
}

function neighbour(u: number, step: number, cols: number, count: number): number {
  const v = u + step;
  if (v < 0 || v >= count) return -1;
  const across = (v % cols) - (u % cols);
  return across > 1 || across < -1 ? -1 : v;
}

/** The cell itself where it is open, else the nearest open one, looked for in widening squares; -1 where none is. */
function nearestOpen(open: Uint8Array, from: number, cols: number, rows: number): number {
  if (open[from] === 1) return from;
  const col = from % cols;
  const row = Math.floor(from / cols);
  for (let reach = 1; reach < Math.max(cols, rows); reach++) {
    let found = -1;
    let least = Infinity;
    for (let dr = -reach; dr <= reach; dr++) {
      for (let dc = -reach; dc <= reach; dc += Math.abs(dr) === reach ? 1 : 2 * reach) {
        const r = row + dr;
        const c = col + dc;
        if (r < 0 || c < 0 || r >= rows || c >= cols || open[r * cols + c] === 0) continue;
        const d = dr * dr + dc * dc;
        if (d < least) [least, found] = [d, r * cols + c];
      }
    }
    if (found >= 0) return found;
  }
  return -1;
}

/** Cells by their distance, least first; a cell may be in it more than once. */
class CellHeap {
  private readonly cells: number[] = [];
  private readonly keys: number[] = [];

  constructor(private readonly best: Float64Array) {}

  push(cell: number): void {
    const { cells, keys } = this;
    const key = this.best[cell]!;
    let i = cells.length;
    cells.push(cell);
    keys.push(key);
    while (i > 0) {
      const up = (i - 1) >> 1;
      if (keys[up]! <= key) break;
      cells[i] = cells[up]!;
      keys[i] = keys[up]!;
      i = up;
    }
    cells[i] = cell;
    keys[i] = key;
  }

  /** -1 where it is empty. */
  pop(): number {
    const { cells, keys } = this;
    if (cells.length === 0) return -1;
    const top = cells[0]!;
    const cell = cells.pop()!;
    const key = keys.pop()!;
    const n = cells.length;
    if (n === 0) return top;
    let i = 0;
    for (;;) {
      let down = 2 * i + 1;
      if (down >= n) break;
      if (down + 1 < n && keys[down + 1]! < keys[down]!) down++;
      if (keys[down]! >= key) break;
      cells[i] = cells[down]!;
      keys[i] = keys[down]!;
      i = down;
    }
    cells[i] = cell;
    keys[i] = key;
    return top;
  }
}
