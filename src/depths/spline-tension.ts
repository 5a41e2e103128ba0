import { breathe } from '../base/breathe.js';
import type { WorkContext } from '../base/progress.js';
import type { RasterGrid } from '../geo/raster.js';

/** How stiff the sheet is and how far the sweeps go. */
export interface SplineOptions {
  /** 0: least curvature, may overshoot; 1: least slope, a membrane. 0.35 is usual for depths. */
  readonly tension: number;
  /** A level is done when a sweep changes no cell by more than this [m]. */
  readonly toleranceM: number;
  /** Sweeps at most on the finest grid; twice as many a level up, and so on. */
  readonly mostSweeps?: number;
}

/** Over-relaxation of free cells. */
const RELAXATION = 1.4;

/**
 * A sheet in tension through points, on a whole grid: the surface with (1 - T) D4 z - T D2 z = 0 between them.
 *
 * The equation is solved by finite differences, from a coarse grid to the fine one, each halving the cell and starting
 * from the last, by over-relaxed Gauss-Seidel sweeps. On the coarse grids each cell is held at the mean of its points'
 * depths less the general plane; on the finest at its one point's depth, carried from the point to the cell's centre
 * along the sheet's own slope. The plane through all points is taken off first and put back. At the outer edge the sheet
 * is free: no curvature across it, and none of its Laplacian.
 *
 * @param points one for each cell at most; places off the grid are left out
 * @returns depth at every cell centre [rows * cols] [m]; NaN everywhere without points. It extrapolates: mask it.
 * @throws RangeError for a tension outside 0..1 or a tolerance that is not positive; CancelledError when stopped
 *
 * Source: Smith & Wessel (1990), Gridding with continuous curvature splines in tension, Geophysics 55(3), 293-305: the
 * equation and its boundary conditions; test/depths/spline.test.ts holds it against a direct sparse solution and GMT.
 */
export async function tensionedSpline(
  points: { readonly xM: Float64Array; readonly yM: Float64Array; readonly depthM: ArrayLike<number> },
  grid: RasterGrid,
  options: SplineOptions,
  context: WorkContext = {},
): Promise<Float64Array> {
  const { tension, toleranceM, mostSweeps = 250 } = options;
  if (!(tension >= 0 && tension <= 1)) throw new RangeError(`tension ${tension}: expected 0 to 1`);
  if (!(toleranceM > 0)) throw new RangeError(`toleranceM ${toleranceM}: expected more than 0`);
  const placed = onGrid(points, grid);
  const { n, u, v, depthM } = placed;
  if (n === 0) return new Float64Array(grid.cols * grid.rows).fill(NaN);
  const plane = generalPlane(placed);
  for (let i = 0; i < n; i++) depthM[i]! -= plane.at + plane.perU * u[i]! + plane.perV * v[i]!;

  let strides = 1;
  while (Math.max(grid.cols, grid.rows) / (2 * strides) >= 8) strides *= 2;
  let before: Sheet | null = null;
  for (let stride = strides; stride >= 1; stride /= 2) {
    const sheet = makeSheet(Math.ceil(grid.cols / stride), Math.ceil(grid.rows / stride));
    if (before !== null) refine(before, sheet);
    const held = hold(placed, sheet, stride);
    const sweeps = Math.min(8000, mostSweeps * stride);
    for (let k = 0; k < sweeps; k++) {
      const change = sweep(sheet, held, tension);
      if (k % 16 === 15) {
        context.progress?.('filling', Math.min(1, 0.25 + (0.75 * k) / sweeps) / stride);
        await breathe(context);
      }
      if (change <= toleranceM) break;
    }
    before = sheet;
  }
  const sheet = before!;
  const out = new Float64Array(grid.cols * grid.rows);
  for (let row = 0, at = 0; row < grid.rows; row++) {
    for (let col = 0; col < grid.cols; col++, at++) out[at] = sheet.z[(row + 2) * sheet.stride + col + 2]! + plane.at + plane.perU * col + plane.perV * row;
  }
  return out;
}

interface Placed {
  readonly n: number;
  readonly u: Float64Array;
  readonly v: Float64Array;
  readonly depthM: Float64Array;
}

function onGrid(points: { readonly xM: Float64Array; readonly yM: Float64Array; readonly depthM: ArrayLike<number> }, grid: RasterGrid): Placed {
  const { xM, yM } = points;
  const u = new Float64Array(xM.length);
  const v = new Float64Array(xM.length);
  const depthM = new Float64Array(xM.length);
  let n = 0;
  for (let i = 0; i < xM.length; i++) {
    const pu = (xM[i]! - grid.westM) / grid.cellM - 0.5;
    const pv = (grid.northM - yM[i]!) / grid.cellM - 0.5;
    if (!(pu >= -0.5 && pv >= -0.5 && pu <= grid.cols - 0.5 && pv <= grid.rows - 0.5)) continue;
    u[n] = pu;
    v[n] = pv;
    depthM[n++] = points.depthM[i]!;
  }
  return { n, u, v, depthM };
}

/** Least squares plane of the points, in cells. */
function generalPlane({ n, u, v, depthM }: Placed): { at: number; perU: number; perV: number } {
  let [su, sv, sz] = [0, 0, 0];
  for (let i = 0; i < n; i++) {
    su += u[i]!;
    sv += v[i]!;
    sz += depthM[i]!;
  }
  const [mu, mv, mz] = [su / n, sv / n, sz / n];
  let [uu, uv, vv, uz, vz] = [0, 0, 0, 0, 0];
  for (let i = 0; i < n; i++) {
    const [du, dv, dz] = [u[i]! - mu, v[i]! - mv, depthM[i]! - mz];
    uu += du * du;
    uv += du * dv;
    vv += dv * dv;
    uz += du * dz;
    vz += dv * dz;
  }
  const d = uu * vv - uv * uv;
  const sound = d > 1e-9 * uu * vv;
  const perU = sound ? (uz * vv - vz * uv) / d : 0;
  const perV = sound ? (vz * uu - uz * uv) / d : 0;
  return { at: mz - perU * mu - perV * mv, perU, perV };
}

/** A grid with two cells of margin all round for the boundary conditions. */
interface Sheet {
  readonly cols: number;
  readonly rows: number;
  readonly stride: number;
  readonly z: Float64Array;
}

function makeSheet(cols: number, rows: number): Sheet {
  return { cols, rows, stride: cols + 4, z: new Float64Array((cols + 4) * (rows + 4)) };
}

/** Bilinear, from cells twice as large. */
function refine(coarse: Sheet, fine: Sheet): void {
  margins(coarse);
  for (let row = 0; row < fine.rows; row++) {
    const y = (row - 0.5) / 2;
    const r = Math.floor(y);
    const fy = y - r;
    for (let col = 0; col < fine.cols; col++) {
      const x = (col - 0.5) / 2;
      const c = Math.floor(x);
      const fx = x - c;
      const at = (r + 2) * coarse.stride + c + 2;
      const north = coarse.z[at]! * (1 - fx) + coarse.z[at + 1]! * fx;
      const south = coarse.z[at + coarse.stride]! * (1 - fx) + coarse.z[at + coarse.stride + 1]! * fx;
      fine.z[(row + 2) * fine.stride + col + 2] = north * (1 - fy) + south * fy;
    }
  }
}

/** Cells with points: the mean depth and how far their mean place lies off the centre, in cells; `is` -1 where free. */
interface Held {
  readonly is: Int32Array;
  readonly z: Float64Array;
  readonly offU: Float64Array;
  readonly offV: Float64Array;
}

function hold({ n, u, v, depthM }: Placed, sheet: Sheet, cells: number): Held {
  const is = new Int32Array(sheet.z.length).fill(-1);
  const count = new Float64Array(n);
  const z = new Float64Array(n);
  const offU = new Float64Array(n);
  const offV = new Float64Array(n);
  let used = 0;
  for (let i = 0; i < n; i++) {
    const x = (u[i]! + 0.5) / cells;
    const y = (v[i]! + 0.5) / cells;
    const col = Math.min(sheet.cols - 1, Math.floor(x));
    const row = Math.min(sheet.rows - 1, Math.floor(y));
    const at = (row + 2) * sheet.stride + col + 2;
    if (is[at]! < 0) is[at] = used++;
    const k = is[at]!;
    count[k]! += 1;
    z[k]! += depthM[i]!;
    offU[k]! += x - col - 0.5;
    offV[k]! += y - row - 0.5;
  }
  for (let k = 0; k < used; k++) {
    z[k]! /= count[k]!;
    offU[k]! /= count[k]!;
    offV[k]! /= count[k]!;
  }
  return { is, z, offU, offV };
}

/** One Gauss-Seidel sweep; the largest change of any cell. */
function sweep(sheet: Sheet, held: Held, tension: number): number {
  const { cols, rows, stride, z } = sheet;
  const { is } = held;
  margins(sheet);
  const loose = 1 - tension;
  const side = 8 * loose + tension;
  const scale = 1 / (20 * loose + 4 * tension);
  let most = 0;
  for (let row = 0; row < rows; row++) {
    let at = (row + 2) * stride + 2;
    for (let col = 0; col < cols; col++, at++) {
      const k = is[at]!;
      const here = z[at]!;
      const west = z[at - 1]!;
      const east = z[at + 1]!;
      const north = z[at - stride]!;
      const south = z[at + stride]!;
      let change;
      if (k >= 0) {
        change = held.z[k]! - (held.offU[k]! * (east - west) + held.offV[k]! * (south - north)) / 2 - here;
      } else {
        const corners = z[at - stride - 1]! + z[at - stride + 1]! + z[at + stride - 1]! + z[at + stride + 1]!;
        const far = z[at - 2]! + z[at + 2]! + z[at - 2 * stride]! + z[at + 2 * stride]!;
        change = RELAXATION * ((side * (west + east + north + south) - loose * (2 * corners + far)) * scale - here);
      }
      z[at] = here + change;
      if (change > most) most = change;
      else if (-change > most) most = -change;
    }
  }
  return most;
}

/** Fills the margin: no curvature across the edge, no twist at corners, no slope of the Laplacian across the edge. */
function margins({ cols, rows, stride, z }: Sheet): void {
  const edge = (start: number, along: number, inward: number, n: number): void => {
    for (let i = 0, at = start; i < n; i++, at += along) z[at - inward] = 2 * z[at]! - z[at + inward]!;
  };
  const nw = 2 * stride + 2;
  const ne = nw + cols - 1;
  const sw = nw + (rows - 1) * stride;
  const se = sw + cols - 1;
  edge(nw, 1, stride, cols);
  edge(sw, 1, -stride, cols);
  edge(nw, stride, 1, rows);
  edge(ne, stride, -1, rows);
  for (const [at, down, right] of [[nw, stride, 1], [ne, stride, -1], [sw, -stride, 1], [se, -stride, -1]] as const) {
    z[at - down - right] = z[at + down - right]! + z[at - down + right]! - z[at + down + right]!;
  }
  const second = (start: number, along: number, inward: number, n: number): void => {
    for (let i = 0, at = start; i < n; i++, at += along) {
      const out = at - inward;
      const into = at + inward;
      z[out - inward] = z[into + inward]! + z[into + along]! + z[into - along]! - z[out + along]! - z[out - along]! + 4 * (z[out]! - z[into]!);
    }
  };
  second(nw, 1, stride, cols);
  second(sw, 1, -stride, cols);
  second(nw, stride, 1, rows);
  second(ne, stride, -1, rows);
}
