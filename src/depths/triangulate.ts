import Delaunator from 'delaunator';
import type { Raster, RasterGrid } from '../geo/raster.js';

/**
 * A Delaunay triangulation in the cells of a grid: u east and v south, the centre of row 0, column 0 at (0, 0).
 * Taking the grid's corner off first keeps the last digits of large frame coordinates.
 */
export interface Mesh {
  readonly u: Float64Array;
  readonly v: Float64Array;
  /** Three vertices a triangle [3 * t]; empty for fewer than three points or points all on one line. */
  readonly triangles: Uint32Array;
  /** The same side of the triangle beyond each side [3 * t]; -1 along the hull. Side i runs from corner i to the next of its triangle. */
  readonly halfedges: Int32Array;
}

/**
 * Delaunay triangulation of points given in frame metres. Points at the same place count once; which of them is not said.
 * @throws RangeError for columns of unequal length or a place that is not finite
 */
export function triangulate(xM: Float64Array, yM: Float64Array, grid: RasterGrid): Mesh {
  const n = xM.length;
  if (yM.length !== n) throw new RangeError(`yM: length ${yM.length}, expected ${n} like xM`);
  const u = new Float64Array(n);
  const v = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const column = (xM[i]! - grid.westM) / grid.cellM - 0.5;
    const row = (grid.northM - yM[i]!) / grid.cellM - 0.5;
    if (column - column !== 0 || row - row !== 0) throw new RangeError(`point ${i}: place ${xM[i]}, ${yM[i]}: expected finite numbers`);
    u[i] = column;
    v[i] = row;
  }
  return { u, v, ...(n < 3 ? { triangles: new Uint32Array(0), halfedges: new Int32Array(0) } : delaunay(u, v)) };
}

/** Triangles over points put in the order the sweep takes them, from the middle outwards: near in the plane, near in memory, half the time. */
function delaunay(u: Float64Array, v: Float64Array): { triangles: Uint32Array; halfedges: Int32Array } {
  const order = outwards(u, v);
  const coordinates = new Float64Array(2 * order.length);
  for (let i = 0; i < order.length; i++) {
    coordinates[2 * i] = u[order[i]!]!;
    coordinates[2 * i + 1] = v[order[i]!]!;
  }
  const { triangles, halfedges } = new Delaunator(coordinates);
  for (let i = 0; i < triangles.length; i++) triangles[i] = order[triangles[i]!]!;
  return { triangles, halfedges };
}

/** Points by squared distance from the middle of their box, to within a bin of four: a counting sort. */
function outwards(u: Float64Array, v: Float64Array): Uint32Array {
  const n = u.length;
  let uMin = Infinity;
  let uMax = -Infinity;
  let vMin = Infinity;
  let vMax = -Infinity;
  for (let i = 0; i < n; i++) {
    if (u[i]! < uMin) uMin = u[i]!;
    if (u[i]! > uMax) uMax = u[i]!;
    if (v[i]! < vMin) vMin = v[i]!;
    if (v[i]! > vMax) vMax = v[i]!;
  }
  const middleU = (uMin + uMax) / 2;
  const middleV = (vMin + vMax) / 2;
  const bins = Math.max(1, n >> 2);
  const furthest = (uMax - middleU) ** 2 + (vMax - middleV) ** 2;
  const scale = furthest > 0 ? (bins - 1) / furthest : 0;
  const bin = new Uint32Array(n);
  const next = new Uint32Array(bins + 1);
  for (let i = 0; i < n; i++) {
    const b = Math.min(bins - 1, Math.floor(((u[i]! - middleU) ** 2 + (v[i]! - middleV) ** 2) * scale));
    bin[i] = b;
    next[b + 1]!++;
  }
  for (let b = 0; b < bins; b++) next[b + 1]! += next[b]!;
  const order = new Uint32Array(n);
  for (let i = 0; i < n; i++) order[next[bin[i]!]!++] = i;
  return order;
}

/** Where a mesh is written to; every column [rows * cols]. */
export interface MeshTarget {
  readonly cols: number;
  readonly rows: number;
  /** Cells to write, non-zero; all if not given. */
  readonly wanted?: Uint8Array;
  readonly depthM: Float32Array;
  /** Linear interpolation of the vertices' uncertainty; not computed if not given. */
  readonly uncertaintyM?: Float32Array;
  /** Variance of what differs between the vertices that is left in the interpolation, as a share: see `drawMesh`. */
  readonly left?: Float32Array;
  /** Reach of the interpolation, cells: see `drawMesh`. */
  readonly reach?: Float32Array;
  /** Triangles that no circle of this radius holds are left out [cells]; none unless given. */
  readonly mostRadius?: number;
}

/**
 * Writes the piecewise linear surface of a mesh at the cell centres it covers; other cells are left as they are.
 *
 * Each triangle is cut by the rows of centres. The value at both cuts is interpolated along the edges, always from the
 * northern vertex, so that neighbours agree on a shared edge and no centre falls between them; then between the cuts.
 * A value never leaves the range of its three vertices, however thin the triangle.
 *
 * `reach` is the square root of R^2 - |p - c|^2 for a centre p in a triangle with circumscribed circle (c, R), or the
 * circle over the longest side of an obtuse triangle: half of it times the largest second derivative bounds the error of
 * linear interpolation. Between two lines it is sqrt(d1 d2), with d1 and d2 the distances to them.
 *
 * `left` is the variance of a mean of three errors with the weights of the interpolation, each of variance 1, correlated by
 * 1 - distance / longest side: two vertices of one line near together err alike, those of two lines by themselves.
 *
 * Source of the bound: Waldron (1998), The error in linear interpolation at the vertices of a simplex, SIAM J. Numer.
 * Anal. 35(3), 1191-1200 (from memory; test/depths/surface.test.ts holds it against quadratic floors).
 */
export function drawMesh(mesh: Mesh, depthM: Float32Array | Float64Array, uncertaintyM: Float32Array | Float64Array | null, target: MeshTarget): void {
  const { u, v, triangles } = mesh;
  const { cols, rows, wanted, depthM: outDepth, uncertaintyM: outUncertainty, reach: outReach, left: outLeft, mostRadius = Infinity } = target;
  for (let t = 0; t < triangles.length; t += 3) {
    let a = triangles[t]!;
    let b = triangles[t + 1]!;
    let c = triangles[t + 2]!;
    if (v[b]! < v[a]!) [a, b] = [b, a];
    if (v[c]! < v[b]!) {
      [b, c] = [c, b];
      if (v[b]! < v[a]!) [a, b] = [b, a];
    }
    const v0 = v[a]!;
    const v1 = v[b]!;
    const v2 = v[c]!;
    const rowStart = v0 > 0 ? Math.ceil(v0) : 0;
    const rowLast = v2 < rows - 1 ? Math.floor(v2) : rows - 1;
    if (rowStart > rowLast || v2 === v0) continue;
    const u0 = u[a]!;
    const u1 = u[b]!;
    const u2 = u[c]!;
    const uMin = u0 < u1 ? (u0 < u2 ? u0 : u2) : u1 < u2 ? u1 : u2;
    const uMax = u0 > u1 ? (u0 > u2 ? u0 : u2) : u1 > u2 ? u1 : u2;
    if (uMax < 0 || uMin > cols - 1 || Math.ceil(uMin) > uMax) continue;
    if (mostRadius < Infinity && !fitsCircle(u0, v0, u1, v1, u2, v2, mostRadius)) continue;
    const z0 = depthM[a]!;
    const z1 = depthM[b]!;
    const z2 = depthM[c]!;
    let circle = false;
    let circleU = 0;
    let circleV = 0;
    let radius2 = 0;
    const ab = Math.hypot(u1 - u0, v1 - v0);
    const bc = Math.hypot(u2 - u1, v2 - v1);
    const ac = Math.hypot(u2 - u0, v2 - v0);
    const longest = Math.max(ab, bc, ac);
    for (let row = rowStart; row <= rowLast; row++) {
      let shareLong = (row - v0) / (v2 - v0);
      let left = u0 + (u2 - u0) * shareLong;
      let zLeft = z0 + (z2 - z0) * shareLong;
      if (row === v2) {
        shareLong = 1;
        left = u2;
        zLeft = z2;
      }
      let shareShort = 0;
      let right = u1;
      let zRight = z1;
      const upper = row < v1;
      if (upper) {
        shareShort = (row - v0) / (v1 - v0);
        right = u0 + (u1 - u0) * shareShort;
        zRight = z0 + (z1 - z0) * shareShort;
      } else if (row > v1) {
        shareShort = (row - v1) / (v2 - v1);
        right = row === v2 ? u2 : u1 + (u2 - u1) * shareShort;
        zRight = row === v2 ? z2 : z1 + (z2 - z1) * shareShort;
      }
      const low = left < right ? left : right;
      const high = left < right ? right : left;
      const colStart = low > 0 ? Math.ceil(low) : 0;
      const colLast = high < cols - 1 ? Math.floor(high) : cols - 1;
      if (colStart > colLast) continue;
      const width = right - left;
      for (let col = colStart; col <= colLast; col++) {
        const cell = row * cols + col;
        if (wanted !== undefined && wanted[cell] === 0) continue;
        const across = width === 0 ? 0 : (col - left) / width;
        outDepth[cell] = zLeft + (zRight - zLeft) * across;
        if (outUncertainty !== undefined && uncertaintyM !== null) {
          const e0 = uncertaintyM[a]!;
          const e1 = uncertaintyM[b]!;
          const e2 = uncertaintyM[c]!;
          const eLeft = e0 + (e2 - e0) * shareLong;
          const eRight = upper ? e0 + (e1 - e0) * shareShort : e1 + (e2 - e1) * shareShort;
          outUncertainty[cell] = eLeft + (eRight - eLeft) * across;
        }
        if (outLeft !== undefined) {
          const ofC = (1 - across) * shareLong + (upper ? 0 : across * shareShort);
          const ofB = across * (upper ? shareShort : 1 - shareShort);
          const ofA = 1 - ofB - ofC;
          outLeft[cell] = 1 - (2 * (ofA * ofB * ab + ofB * ofC * bc + ofA * ofC * ac)) / longest;
        }
        if (outReach !== undefined) {
          if (!circle) {
            circle = true;
            [circleU, circleV, radius2] = containingCircle(u0, v0, u1, v1, u2, v2);
          }
          const reach2 = radius2 - (col - circleU) ** 2 - (row - circleV) ** 2;
          outReach[cell] = reach2 > 0 ? Math.sqrt(reach2) : 0;
        }
      }
    }
  }
}

/** Whether a circle of a radius holds a triangle; most are told by their longest side alone. */
function fitsCircle(u0: number, v0: number, u1: number, v1: number, u2: number, v2: number, radius: number): boolean {
  const longest2 = Math.max((u1 - u0) ** 2 + (v1 - v0) ** 2, (u2 - u1) ** 2 + (v2 - v1) ** 2, (u2 - u0) ** 2 + (v2 - v0) ** 2);
  // The smallest circle's radius lies between a half and 1/sqrt(3) of the longest side.
  if (longest2 > 4 * radius * radius) return false;
  return longest2 <= 3 * radius * radius || containingCircle(u0, v0, u1, v1, u2, v2)[2] <= radius * radius;
}

/** Centre and squared radius of the smallest circle that holds a triangle. */
function containingCircle(u0: number, v0: number, u1: number, v1: number, u2: number, v2: number): [number, number, number] {
  const side2 = (pu: number, pv: number, qu: number, qv: number) => (pu - qu) ** 2 + (pv - qv) ** 2;
  const a = side2(u1, v1, u2, v2);
  const b = side2(u0, v0, u2, v2);
  const c = side2(u0, v0, u1, v1);
  if (a >= b + c) return [(u1 + u2) / 2, (v1 + v2) / 2, a / 4];
  if (b >= a + c) return [(u0 + u2) / 2, (v0 + v2) / 2, b / 4];
  if (c >= a + b) return [(u0 + u1) / 2, (v0 + v1) / 2, c / 4];
  const bu = u1 - u0;
  const bv = v1 - v0;
  const cu = u2 - u0;
  const cv = v2 - v0;
  const d = 2 * (bu * cv - bv * cu);
  const x = (cv * c - bv * b) / d;
  const y = (bu * b - cu * c) / d;
  return [u0 + x, v0 + y, x * x + y * y];
}

/**
 * The piecewise linear surface through points, at the cell centres inside their convex hull.
 *
 * No blocks and no limit of distance: the plain triangulated surface, for points already thinned. For a survey use
 * `soundingSurface`.
 *
 * @param points places [m] and depths [m], columns of one length; a row with a NaN is left out
 * @returns depth [m]; NaN outside the convex hull, and everywhere for fewer than three points or points on one line
 * @throws RangeError for columns of unequal length
 */
export function interpolateLinear(
  points: { readonly xM: Float64Array; readonly yM: Float64Array; readonly depthM: Float32Array | Float64Array },
  grid: RasterGrid,
): Raster {
  let { xM, yM, depthM } = points;
  if (yM.length !== xM.length || depthM.length !== xM.length) {
    throw new RangeError(`points: xM, yM, depthM of length ${xM.length}, ${yM.length}, ${depthM.length}: expected one length`);
  }
  const finite = (i: number) => Number.isFinite(xM[i]!) && Number.isFinite(yM[i]!) && Number.isFinite(depthM[i]!);
  let complete = true;
  for (let i = 0; i < xM.length && complete; i++) complete = finite(i);
  if (!complete) {
    const rows = Uint32Array.from(xM.keys()).filter(finite);
    [xM, yM, depthM] = [Float64Array.from(rows, (i) => xM[i]!), Float64Array.from(rows, (i) => yM[i]!), Float64Array.from(rows, (i) => depthM[i]!)];
  }
  const values = new Float32Array(grid.cols * grid.rows).fill(NaN);
  drawMesh(triangulate(xM, yM, grid), depthM, null, { cols: grid.cols, rows: grid.rows, depthM: values });
  return { grid, values };
}
