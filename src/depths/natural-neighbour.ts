import { breathe } from '../base/breathe.js';
import type { WorkContext } from '../base/progress.js';
import type { RasterGrid } from '../geo/raster.js';
import type { Mesh } from './triangulate.js';

/** Weights that bring the place back no nearer than this are lost in rounding, as of needle triangles along the hull [cells]. */
const CELLS_OFF = 1e-6;

/** Reads the natural neighbour interpolant of a mesh, place by place; places near the last one are found fastest. */
export interface NaturalNeighbours {
  /** Depth at u, v [cells, as in the mesh]; NaN outside the convex hull. */
  depthAt(u: number, v: number): number;
}

/**
 * Natural neighbour interpolation: the weight of a point is the share of the place's own Voronoi cell that it takes from
 * the point's. Smooth but at the points, exact at them and on planes, never beyond the depths of the neighbours.
 *
 * The triangles whose circumscribed circles hold the place are found by flooding from the one it lies in; the areas
 * follow from their centres and those of the triangles of the place with each side of that cavity, one cross product a
 * side. Where rounding would show (needle triangles along the hull), told by the weights not bringing back the place
 * itself, the plane of the triangle is taken instead.
 *
 * Source: Sibson (1981), A brief description of natural neighbour interpolation, in Interpreting Multivariate Data, 21-36
 * (the definition); flooding: Bowyer (1981) and Watson (1981), Computer Journal 24, 162-172. From memory;
 * test/depths/natural-neighbour.test.ts holds it against areas of Voronoi cells counted another way.
 *
 * @param depthM of each vertex [m]
 */
export function naturalNeighbours(mesh: Mesh, depthM: ArrayLike<number>): NaturalNeighbours {
  const { u, v, triangles, halfedges } = mesh;
  const count = triangles.length / 3;
  const { centreU, centreV, radius2 } = circles(mesh);
  const seen = new Int32Array(count).fill(-1);
  const areas = new Float64Array(u.length);
  const inU = new Float64Array(u.length);
  const inV = new Float64Array(u.length);
  const outU = new Float64Array(u.length);
  const outV = new Float64Array(u.length);
  const cavity: number[] = [];
  const rim: number[] = [];
  let visit = 0;
  let at = 0;

  const find = (pu: number, pv: number): number => {
    let t = at;
    for (let steps = 0; steps <= count + 3; steps++) {
      let next = t;
      for (let k = 0; k < 3; k++) {
        const side = 3 * t + ((k + steps) % 3);
        const a = triangles[side]!;
        const b = triangles[side % 3 === 2 ? side - 2 : side + 1]!;
        if (turn(u[a]!, v[a]!, u[b]!, v[b]!, pu, pv) >= 0) continue;
        const beyond = halfedges[side]!;
        if (beyond < 0) return -1;
        next = Math.floor(beyond / 3);
        break;
      }
      if (next === t) return (at = t);
      t = next;
    }
    return -1;
  };

  const planeAt = (t: number, pu: number, pv: number): number => {
    const [a, b, c] = [triangles[3 * t]!, triangles[3 * t + 1]!, triangles[3 * t + 2]!];
    const whole = turn(u[a]!, v[a]!, u[b]!, v[b]!, u[c]!, v[c]!);
    if (whole === 0) return NaN;
    const ofA = turn(u[b]!, v[b]!, u[c]!, v[c]!, pu, pv) / whole;
    const ofB = turn(u[c]!, v[c]!, u[a]!, v[a]!, pu, pv) / whole;
    return ofA * depthM[a]! + ofB * depthM[b]! + (1 - ofA - ofB) * depthM[c]!;
  };

  const depthAt = (pu: number, pv: number): number => {
    if (count === 0) return NaN;
    const home = find(pu, pv);
    if (home < 0) return NaN;
    for (let k = 0; k < 3; k++) {
      const corner = triangles[3 * home + k]!;
      if (u[corner] === pu && v[corner] === pv) return depthM[corner]!;
    }
    visit++;
    cavity.length = 0;
    rim.length = 0;
    cavity.push(home);
    seen[home] = visit;
    for (let i = 0; i < cavity.length; i++) {
      const t = cavity[i]!;
      for (let side = 3 * t; side < 3 * t + 3; side++) {
        const beyond = halfedges[side]!;
        const other = beyond < 0 ? -1 : (beyond / 3) | 0;
        if (other >= 0 && seen[other] === visit) continue;
        if (other >= 0 && (centreU[other]! - pu) ** 2 + (centreV[other]! - pv) ** 2 < radius2[other]!) {
          seen[other] = visit;
          cavity.push(other);
        }
      }
    }
    for (const t of cavity) for (let k = 3 * t; k < 3 * t + 3; k++) areas[triangles[k]!] = 0;
    for (const t of cavity) {
      const cu = centreU[t]! - pu;
      const cv = centreV[t]! - pv;
      for (let side = 3 * t; side < 3 * t + 3; side++) {
        const a = triangles[side]!;
        const beyond = halfedges[side]!;
        const other = beyond < 0 ? -1 : (beyond / 3) | 0;
        if (other >= 0 && seen[other] === visit) {
          areas[a]! += (centreU[other]! - pu) * cv - (centreV[other]! - pv) * cu;
          continue;
        }
        const b = triangles[side % 3 === 2 ? side - 2 : side + 1]!;
        const au = u[a]! - pu;
        const av = v[a]! - pv;
        const bu = u[b]! - pu;
        const bv = v[b]! - pv;
        const d = 2 * (au * bv - av * bu);
        if (d === 0) return planeAt(home, pu, pv); // on the hull itself
        const a2 = au * au + av * av;
        const b2 = bu * bu + bv * bv;
        const gu = (bv * a2 - av * b2) / d;
        const gv = (au * b2 - bu * a2) / d;
        const crossed = gu * cv - gv * cu;
        areas[a]! += crossed;
        areas[b]! -= crossed;
        outU[a] = gu;
        outV[a] = gv;
        inU[b] = gu;
        inV[b] = gv;
        rim.push(a);
      }
    }
    let whole = 0;
    let sumU = 0;
    let sumV = 0;
    let sum = 0;
    for (const a of rim) {
      const area = areas[a]! + inU[a]! * outV[a]! - inV[a]! * outU[a]!;
      whole += area;
      sumU += area * (u[a]! - pu);
      sumV += area * (v[a]! - pv);
      sum += area * depthM[a]!;
    }
    if (!(Math.abs(sumU) <= CELLS_OFF * Math.abs(whole) && Math.abs(sumV) <= CELLS_OFF * Math.abs(whole))) return planeAt(home, pu, pv);
    return sum / whole;
  };
  return { depthAt };
}

/**
 * Writes the natural neighbour interpolant at the centres of the wanted cells inside the hull; others are left as they are.
 * @throws CancelledError when stopped
 */
export async function naturalNeighbourCells(
  mesh: Mesh,
  depthM: ArrayLike<number>,
  target: { readonly grid: RasterGrid; readonly wanted: Uint8Array },
  outDepthM: Float32Array,
  context: WorkContext = {},
): Promise<void> {
  const { cols, rows } = target.grid;
  const read = naturalNeighbours(mesh, depthM);
  for (let row = 0; row < rows; row++) {
    if (row % 64 === 63) {
      context.progress?.('filling', row / rows);
      await breathe(context);
    }
    // Back and forth: the next place is always beside the last.
    for (let k = 0; k < cols; k++) {
      const col = row % 2 === 0 ? k : cols - 1 - k;
      if (target.wanted[row * cols + col] === 0) continue;
      const depth = read.depthAt(col, row);
      if (depth === depth) outDepthM[row * cols + col] = depth;
    }
  }
}

function turn(au: number, av: number, bu: number, bv: number, pu: number, pv: number): number {
  // Sides of triangles run so that the inside is where this is positive.
  return (bv - av) * (pu - au) - (bu - au) * (pv - av);
}

function circles({ u, v, triangles }: Mesh): { centreU: Float64Array; centreV: Float64Array; radius2: Float64Array } {
  const count = triangles.length / 3;
  const centreU = new Float64Array(count);
  const centreV = new Float64Array(count);
  const radius2 = new Float64Array(count);
  for (let t = 0; t < count; t++) {
    const a = triangles[3 * t]!;
    const b = triangles[3 * t + 1]!;
    const c = triangles[3 * t + 2]!;
    const bu = u[b]! - u[a]!;
    const bv = v[b]! - v[a]!;
    const cu = u[c]! - u[a]!;
    const cv = v[c]! - v[a]!;
    const d = 2 * (bu * cv - bv * cu);
    const b2 = bu * bu + bv * bv;
    const c2 = cu * cu + cv * cv;
    const x = (cv * b2 - bv * c2) / d;
    const y = (bu * c2 - cu * b2) / d;
    centreU[t] = u[a]! + x;
    centreV[t] = v[a]! + y;
    radius2[t] = x * x + y * y;
  }
  return { centreU, centreV, radius2 };
}
