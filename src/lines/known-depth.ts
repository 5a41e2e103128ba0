import type { KnownDepth } from './objective.js';

/** Depth over an area, as far as it is known. */
export interface DepthOverArea {
  /** NaN where none is known [m]. */
  readonly shallowestM: number;
  readonly deepestM: number;
  /** Bearing the bottom falls fastest in, clockwise from grid north, 0..360 [deg]; NaN without a slope that a plane explains. */
  readonly downslopeDeg: number;
  /** Fall over way [1] along it; NaN likewise. */
  readonly slope: number;
  /** Depth near a place [m]; NaN where none is known. null where it is the same everywhere. */
  readonly at: ((xM: number, yM: number) => number) | null;
}

/** A plane explains a slope when it takes away this share of the depths' variance. */
const EXPLAINED = 0.5;
/** A fall less than this over the area is flat [1]. */
const LEAST_SLOPE = 0.002;
/** Points are kept in so many cells a side, the shallowest of each. */
const CELLS = 128;

/**
 * What is known of the depth, ready for derivation: extremes, the plane through it, and the depth at a place.
 * Depths that are not numbers, or not below the surface, are left out.
 * @throws RangeError for a single depth that is not positive, or columns of different lengths
 */
export function depthOverArea(depth: KnownDepth): DepthOverArea {
  if (depth.kind === 'number') {
    if (!(depth.depthM > 0 && depth.depthM < Infinity)) throw new RangeError(`depthM ${depth.depthM}: expected more than 0`);
    return { shallowestM: depth.depthM, deepestM: depth.depthM, downslopeDeg: NaN, slope: NaN, at: null };
  }
  if (depth.kind === 'raster') {
    const { grid, values } = depth.raster;
    const each = (visit: (x: number, y: number, d: number) => void): void => {
      for (let i = 0; i < values.length; i++) {
        const row = Math.floor(i / grid.cols);
        visit(grid.westM + (i - row * grid.cols + 0.5) * grid.cellM, grid.northM - (row + 0.5) * grid.cellM, values[i]!);
      }
    };
    const at = (xM: number, yM: number): number => {
      const col = Math.floor((xM - grid.westM) / grid.cellM);
      const row = Math.floor((grid.northM - yM) / grid.cellM);
      if (col < 0 || row < 0 || col >= grid.cols || row >= grid.rows) return NaN;
      const value = values[row * grid.cols + col]!;
      return value > 0 ? value : NaN;
    };
    return { ...planeOf(each), at };
  }
  const { xM, yM, depthM } = depth;
  if (xM.length !== yM.length || xM.length !== depthM.length) throw new RangeError(`depth points: columns of ${xM.length}, ${yM.length}, ${depthM.length}: expected one length`);
  const each = (visit: (x: number, y: number, d: number) => void): void => {
    for (let i = 0; i < depthM.length; i++) visit(xM[i]!, yM[i]!, depthM[i]!);
  };
  return { ...planeOf(each), at: shallowestNear(each) };
}

type Each = (visit: (x: number, y: number, d: number) => void) => void;

/** Extremes, and the least-squares plane where it explains the depths. */
function planeOf(each: Each): Omit<DepthOverArea, 'at'> {
  let n = 0;
  let shallowestM = Infinity;
  let deepestM = -Infinity;
  const mean = [0, 0, 0];
  const usable = (x: number, y: number, d: number): boolean => d > 0 && d < Infinity && Number.isFinite(x) && Number.isFinite(y);
  each((x, y, d) => {
    if (!usable(x, y, d)) return;
    n++;
    shallowestM = Math.min(shallowestM, d);
    deepestM = Math.max(deepestM, d);
    [x, y, d].forEach((v, i) => (mean[i]! += (v - mean[i]!) / n));
  });
  if (n === 0) return { shallowestM: NaN, deepestM: NaN, downslopeDeg: NaN, slope: NaN };
  let xx = 0;
  let xy = 0;
  let yy = 0;
  let xd = 0;
  let yd = 0;
  let dd = 0;
  each((px, py, pd) => {
    if (!usable(px, py, pd)) return;
    const x = px - mean[0]!;
    const y = py - mean[1]!;
    const d = pd - mean[2]!;
    xx += x * x;
    xy += x * y;
    yy += y * y;
    xd += x * d;
    yd += y * d;
    dd += d * d;
  });
  const det = xx * yy - xy * xy;
  const flat = { shallowestM, deepestM, downslopeDeg: NaN, slope: NaN };
  if (!(det > 1e-9 * xx * yy)) return flat;
  const east = (xd * yy - yd * xy) / det;
  const north = (yd * xx - xd * xy) / det;
  const explained = dd > 0 ? (east * xd + north * yd) / dd : 0;
  const slope = Math.hypot(east, north);
  if (explained < EXPLAINED || slope < LEAST_SLOPE) return flat;
  return { shallowestM, deepestM, downslopeDeg: ((Math.atan2(east, north) * 180) / Math.PI + 360) % 360, slope };
}

/** The shallowest depth in the cell of a place, or of the nearest ring of cells that has any. */
function shallowestNear(each: Each): (xM: number, yM: number) => number {
  let west = Infinity;
  let south = Infinity;
  let east = -Infinity;
  let north = -Infinity;
  each((x, y, d) => {
    if (!(d > 0)) return;
    west = Math.min(west, x);
    east = Math.max(east, x);
    south = Math.min(south, y);
    north = Math.max(north, y);
  });
  const cellM = Math.max(east - west, north - south, 1e-6) / CELLS;
  const cells = new Float64Array(CELLS * CELLS).fill(NaN);
  const place = (v: number, from: number): number => Math.min(CELLS - 1, Math.max(0, Math.floor((v - from) / cellM)));
  each((x, y, d) => {
    if (!(d > 0)) return;
    const at = place(y, south) * CELLS + place(x, west);
    if (!(cells[at]! <= d)) cells[at] = d;
  });
  return (xM, yM) => {
    const col = place(xM, west);
    const row = place(yM, south);
    for (let ring = 0; ring < CELLS; ring++) {
      let least = Infinity;
      for (let r = Math.max(0, row - ring); r <= Math.min(CELLS - 1, row + ring); r++) {
        const edge = r === row - ring || r === row + ring;
        for (let c = col - ring; c <= col + ring; c += edge || ring === 0 ? 1 : 2 * ring) {
          if (c >= 0 && c < CELLS && cells[r * CELLS + c]! < least) least = cells[r * CELLS + c]!;
        }
      }
      if (least < Infinity) return least;
    }
    return NaN;
  };
}
