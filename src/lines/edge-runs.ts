import { boundsOfPolygons, pointInPolygons, ringsOf } from '../geo/ring.js';
import { subtractIntervals, unionOfIntervals } from '../geo/clip-line.js';
import type { Polygon } from '../geo/shapes.js';
import type { LaidLine, LayingGround } from './lay-lines.js';
import { layLines, sweepGround } from './lay-lines.js';
import { insideStretches, sweepAxes, sweptRings } from './sweep.js';

/** Cells of the look at what is covered: this many to a spacing. */
const CELLS_A_SPACING = 14;
/** What may stay uncovered, of the water that is to be surveyed. */
const LEFT_SHARE = 0.0003;
/** A run for fewer cells than this is not worth its turn. */
const LEAST_CELLS = 4;
const MOST_CELLS = 3_000_000;

/** Cells of an area not yet covered, row by row from the south. */
interface Uncovered {
  readonly westM: number;
  readonly southM: number;
  readonly cellM: number;
  readonly cols: number;
  readonly rows: number;
  /** 1 where there is water to survey that no band covers. Shape [rows * cols]. */
  readonly open: Uint8Array;
  /** Cells to be surveyed at all. */
  readonly wanted: number;
}

/**
 * Short lines along keep-outs, where the bands of main lines that end at them leave corners out: the fewest that bring what is
 * left below 0.03 % of the area, the most useful first, each no longer than what it is for.
 *
 * Lines that meet an edge aslant leave a triangle on one side. A line along the edge covers all of them, since none is deeper
 * than half a spacing.
 *
 * @param offM how far off the keep-outs they are run; less than half a spacing
 */
export function edgeRuns(ground: LayingGround, mainLines: readonly LaidLine[], spacingM: number, offM: number): LaidLine[] {
  const keepouts = ground.keepouts;
  if (keepouts.length === 0) return [];
  const cells = cellsOf(ground.group, keepouts, spacingM);
  for (const line of mainLines) sweepBand(cells, line, spacingM / 2, true);
  const out: LaidLine[] = [];
  let left = count(cells.open);
  const allowed = LEFT_SHARE * cells.wanted;
  if (left <= allowed) return out;
  const candidates = alongEdges(ground, cells, spacingM, offM);
  while (left > allowed) {
    let best: LaidLine | null = null;
    let bestGain = 0;
    let bestWorth = 0;
    for (const candidate of candidates) {
      const trimmed = trimmedTo(cells, candidate, spacingM / 2);
      if (trimmed === null) continue;
      const gain = sweepBand(cells, trimmed, spacingM / 2, false);
      // A turn and its run-in weigh about as much as some spacings of way.
      const worth = gain / (trimmed.lengthM + 3 * spacingM);
      if (gain >= LEAST_CELLS && worth > bestWorth) {
        best = trimmed;
        bestGain = gain;
        bestWorth = worth;
      }
    }
    if (best === null || bestGain === 0) break;
    left -= sweepBand(cells, best, spacingM / 2, true);
    out.push(best);
  }
  return out;
}

function count(open: Uint8Array): number {
  let sum = 0;
  for (const one of open) sum += one;
  return sum;
}

function cellsOf(area: readonly Polygon[], keepouts: readonly Polygon[], spacingM: number): Uncovered {
  const box = boundsOfPolygons(area);
  const cellM = Math.max(spacingM / CELLS_A_SPACING, Math.sqrt(((box.eastM - box.westM) * (box.northM - box.southM)) / MOST_CELLS));
  const cols = Math.max(1, Math.ceil((box.eastM - box.westM) / cellM));
  const rows = Math.max(1, Math.ceil((box.northM - box.southM) / cellM));
  const open = new Uint8Array(rows * cols);
  const axes = sweepAxes(box.westM, box.southM, 90);
  // Across lies to the right of east: rows count southwards from the origin, so levels run down.
  const levels = { startM: -(rows - 0.5) * cellM, stepM: cellM, count: rows };
  const wet = Array.from({ length: rows }, (): number[] => []);
  for (const polygon of area) insideStretches(sweptRings(axes, [polygon]), levels).forEach((stretches, k) => wet[k]!.push(...stretches));
  const dry = Array.from({ length: rows }, (): number[] => []);
  for (const polygon of keepouts) insideStretches(sweptRings(axes, [polygon]), levels).forEach((stretches, k) => dry[k]!.push(...stretches));
  let wanted = 0;
  for (let k = 0; k < rows; k++) {
    const row = rows - 1 - k;
    const stretches = subtractIntervals(unionOfIntervals(wet[k]!), unionOfIntervals(dry[k]!));
    for (let i = 0; i < stretches.length; i += 2) {
      const first = Math.max(0, Math.ceil(stretches[i]! / cellM - 0.5));
      const end = Math.min(cols, Math.floor(stretches[i + 1]! / cellM - 0.5) + 1);
      for (let c = first; c < end; c++) open[row * cols + c] = 1;
      wanted += Math.max(0, end - first);
    }
  }
  return { westM: box.westM, southM: box.southM, cellM, cols, rows, open, wanted };
}

/** Counts the open cells in a line's band, and closes them where asked. */
function sweepBand(cells: Uncovered, line: LaidLine, halfM: number, close: boolean, visit?: (alongM: number) => void): number {
  const { westM, southM, cellM, cols, rows, open } = cells;
  const ux = (line.bx - line.ax) / line.lengthM;
  const uy = (line.by - line.ay) / line.lengthM;
  const corners: number[][] = [
    [line.ax - uy * halfM, line.ay + ux * halfM], [line.ax + uy * halfM, line.ay - ux * halfM],
    [line.bx + uy * halfM, line.by - ux * halfM], [line.bx - uy * halfM, line.by + ux * halfM],
  ];
  const low = Math.min(...corners.map((corner) => corner[1]!));
  const high = Math.max(...corners.map((corner) => corner[1]!));
  let found = 0;
  for (let row = Math.max(0, Math.ceil((low - southM) / cellM - 0.5)); row < Math.min(rows, Math.floor((high - southM) / cellM - 0.5) + 1); row++) {
    const y = southM + (row + 0.5) * cellM;
    let start = Infinity;
    let end = -Infinity;
    for (let i = 0; i < 4; i++) {
      const [x0, y0] = corners[i] as [number, number];
      const [x1, y1] = corners[(i + 1) % 4] as [number, number];
      if (y < Math.min(y0, y1) || y > Math.max(y0, y1)) continue;
      const at = y1 === y0 ? [x0, x1] : [x0 + ((y - y0) / (y1 - y0)) * (x1 - x0)];
      for (const x of at) {
        start = Math.min(start, x);
        end = Math.max(end, x);
      }
    }
    for (let c = Math.max(0, Math.ceil((start - westM) / cellM - 0.5)); c < Math.min(cols, Math.floor((end - westM) / cellM - 0.5) + 1); c++) {
      if (open[row * cols + c] === 0) continue;
      found++;
      if (close) open[row * cols + c] = 0;
      visit?.((westM + (c + 0.5) * cellM - line.ax) * ux + (y - line.ay) * uy);
    }
  }
  return found;
}

/** A line cut down to the open cells in its band; null where there are none. */
function trimmedTo(cells: Uncovered, line: LaidLine, halfM: number): LaidLine | null {
  let first = Infinity;
  let last = -Infinity;
  sweepBand(cells, line, halfM, false, (alongM) => {
    first = Math.min(first, alongM);
    last = Math.max(last, alongM);
  });
  if (last < first) return null;
  first = Math.max(0, first - cells.cellM);
  last = Math.min(line.lengthM, last + cells.cellM);
  if (!(last > first)) return null;
  const ux = (line.bx - line.ax) / line.lengthM;
  const uy = (line.by - line.ay) / line.lengthM;
  return {
    ax: line.ax + first * ux,
    ay: line.ay + first * uy,
    bx: line.ax + last * ux,
    by: line.ay + last * uy,
    lengthM: last - first,
    roomAM: first > 0 ? Math.min(first, line.roomAM) : line.roomAM,
    roomBM: last < line.lengthM ? Math.min(line.lengthM - last, line.roomBM) : line.roomBM,
  };
}

/** Lines along the edges of keep-outs, off by a distance, as far as there is water: those that have open cells beside them. */
function alongEdges(ground: LayingGround, cells: Uncovered, spacingM: number, leastOffM: number): LaidLine[] {
  const out: LaidLine[] = [];
  const rings = ground.keepouts.flatMap((keepout) => ringsOf([keepout]).map((ring) => ({ ring, offM: Math.max(leastOffM, keepout.clearanceM ?? 0) })));
  for (const { ring, offM } of rings) {
    const n = ring.length / 2;
    for (let i = 0; i < n; i++) {
      const j = (i + 1) % n;
      const dx = ring[2 * j]! - ring[2 * i]!;
      const dy = ring[2 * j + 1]! - ring[2 * i + 1]!;
      const edgeM = Math.hypot(dx, dy);
      if (!(edgeM > cells.cellM)) continue;
      for (const side of [-1, 1]) {
        // Across lies to the right of the edge. On its dry side there is nothing to run.
        const aside = side * cells.cellM * 1e-3;
        if (pointInPolygons(ground.keepouts, (ring[2 * i]! + ring[2 * j]!) / 2 + (aside * dy) / edgeM, (ring[2 * i + 1]! + ring[2 * j + 1]!) / 2 - (aside * dx) / edgeM)) continue;
        const bearingDeg = (Math.atan2(dx, dy) * 180) / Math.PI;
        const swept = sweepGround({ ...ground, minLengthM: 0, bandM: spacingM / 2 }, ring[2 * i]!, ring[2 * i + 1]!, bearingDeg);
        const { lines } = layLines(swept, { startM: side * offM, stepM: 1, count: 1 });
        for (const line of lines) {
          // Beside this edge and a spacing on, not the whole way across the area.
          const ux = dx / edgeM;
          const uy = dy / edgeM;
          const from = Math.max(-spacingM, (line.ax - ring[2 * i]!) * ux + (line.ay - ring[2 * i + 1]!) * uy);
          const to = Math.min(edgeM + spacingM, (line.bx - ring[2 * i]!) * ux + (line.by - ring[2 * i + 1]!) * uy);
          if (!(to - from > cells.cellM)) continue;
          const startM = (line.ax - ring[2 * i]!) * ux + (line.ay - ring[2 * i + 1]!) * uy;
          const piece: LaidLine = {
            ax: line.ax + (from - startM) * ux,
            ay: line.ay + (from - startM) * uy,
            bx: line.ax + (to - startM) * ux,
            by: line.ay + (to - startM) * uy,
            lengthM: to - from,
            roomAM: from > startM ? Math.min(from - startM, ground.runM) : line.roomAM,
            roomBM: to < startM + line.lengthM ? Math.min(startM + line.lengthM - to, ground.runM) : line.roomBM,
          };
          if (sweepBand(cells, piece, spacingM / 2, false) >= LEAST_CELLS) out.push(piece);
        }
      }
    }
  }
  return out;
}
