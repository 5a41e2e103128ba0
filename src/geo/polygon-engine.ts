// @ts-expect-error: the package names a types file that is not where it says; the true one is imported below.
import * as clipperModule from 'clipper2-wasm';
import type { ClipType, MainModule, PathsD, PolyPathD } from 'clipper2-wasm/dist/clipper2z.js';
import { boundsOfPolygons, ringsOf, signedRingAreaM2 } from './ring.js';
import type { Polygon, Ring } from './shapes.js';

/** Sets of polygons put together, taken apart, made larger or smaller. Results have no overlaps; outer rings counter-clockwise. */
export interface PolygonEngine {
  /** What any of the polygons covers. */
  union(polygons: readonly Polygon[]): Polygon[];
  /** What `from` covers and `without` does not. */
  difference(from: readonly Polygon[], without: readonly Polygon[]): Polygon[];
  /** What both cover. */
  intersection(a: readonly Polygon[], b: readonly Polygon[]): Polygon[];
  /**
   * What lies within a distance of the polygons (positive), or inside by at least that much (negative) [m].
   * Outward corners are round: the arc is followed to `arcToleranceM` (default 0.01).
   */
  offset(polygons: readonly Polygon[], distanceM: number, arcToleranceM?: number): Polygon[];
}

/** Where the WebAssembly of the library is: in a browser its address; Node finds it by itself. */
export interface PolygonEngineSource {
  readonly wasmUrl?: string;
}

type ClipperFactory = (options: { readonly locateFile?: (file: string) => string }) => Promise<MainModule>;

/** Decimals kept: a tenth of a millimetre. */
const PRECISION = 4;

/**
 * Loads the polygon library (Clipper2 as WebAssembly); once loaded, all its functions are synchronous.
 *
 * Coordinates are worked on about the middle of what is given and rounded to 0.1 mm; slivers thinner than that vanish.
 * Line planning does not need it: lines are cut and inset by themselves (see src/lines/sweep.ts).
 *
 * Source: Vatti (1992), Comm. ACM 35(7), 56-63, as in Clipper2 by A. Johnson.
 */
export async function loadPolygonEngine(source: PolygonEngineSource = {}): Promise<PolygonEngine> {
  const create = (clipperModule as unknown as { readonly default: ClipperFactory }).default;
  const { wasmUrl } = source;
  const clipper: MainModule = await create(wasmUrl === undefined ? {} : { locateFile: () => wasmUrl });
  return {
    union: (polygons) => combine(clipper, clipper.ClipType.Union, polygons, []),
    difference: (from, without) => combine(clipper, clipper.ClipType.Difference, from, without),
    intersection: (a, b) => combine(clipper, clipper.ClipType.Intersection, a, b),
    offset(polygons, distanceM, arcToleranceM = 0.01) {
      if (!Number.isFinite(distanceM)) throw new RangeError(`distanceM ${distanceM}: expected a number`);
      if (!(arcToleranceM > 0)) throw new RangeError(`arcToleranceM ${arcToleranceM}: expected more than 0`);
      // Overlaps first: an inset of two overlapping polygons is the inset of what they cover together.
      const whole = combine(clipper, clipper.ClipType.Union, polygons, []);
      if (distanceM === 0 || whole.length === 0) return whole;
      const [x0, y0] = middleOf(whole);
      const paths = toPaths(clipper, whole, x0, y0);
      const moved = clipper.InflatePathsD(paths, distanceM, clipper.JoinType.Round, clipper.EndType.Polygon, 2, PRECISION, arcToleranceM);
      paths.delete();
      return treeOf(clipper, clipper.ClipType.Union, moved, new clipper.PathsD(), x0, y0);
    },
  };
}

function combine(clipper: MainModule, type: ClipType, a: readonly Polygon[], b: readonly Polygon[]): Polygon[] {
  if (a.length === 0) return [];
  const [x0, y0] = middleOf([...a, ...b]);
  return treeOf(clipper, type, toPaths(clipper, a, x0, y0), toPaths(clipper, b, x0, y0), x0, y0);
}

function middleOf(polygons: readonly Polygon[]): [number, number] {
  const box = boundsOfPolygons(polygons);
  return [Math.round((box.westM + box.eastM) / 2), Math.round((box.southM + box.northM) / 2)];
}

/** Paths with outer rings counter-clockwise and holes clockwise, so that the non-zero rule sees overlaps as one. */
function toPaths(clipper: MainModule, polygons: readonly Polygon[], x0: number, y0: number): PathsD {
  const paths = new clipper.PathsD();
  for (const polygon of polygons) {
    ringsOf([polygon]).forEach((ring, at) => {
      const turned = signedRingAreaM2(ring) > 0 !== (at === 0);
      const n = ring.length / 2;
      const flat = new Float64Array(3 * n);
      for (let i = 0; i < n; i++) {
        const from = turned ? n - 1 - i : i;
        flat[3 * i] = ring[2 * from]! - x0;
        flat[3 * i + 1] = ring[2 * from + 1]! - y0;
      }
      const path = new clipper.PathD();
      path.assign(flat);
      paths.push_back(path);
      path.delete();
    });
  }
  return paths;
}

/** Runs an operation and reads its tree; the paths given are used up. */
function treeOf(clipper: MainModule, type: ClipType, a: PathsD, b: PathsD, x0: number, y0: number): Polygon[] {
  const tree = new clipper.PolyPathD();
  clipper.BooleanOpOutD(type, clipper.FillRule.NonZero, a, b, tree, PRECISION);
  a.delete();
  b.delete();
  const out: Polygon[] = [];
  const visit = (outer: PolyPathD): void => {
    const holes: Ring[] = [];
    for (let i = 0; i < outer.count(); i++) {
      const hole = outer.child(i);
      holes.push(ringOf(hole, x0, y0));
      for (let k = 0; k < hole.count(); k++) visit(hole.child(k));
    }
    out.push({ outer: ringOf(outer, x0, y0), holes });
  };
  for (let i = 0; i < tree.count(); i++) visit(tree.child(i));
  tree.delete();
  return out;
}

function ringOf(node: PolyPathD, x0: number, y0: number): Ring {
  const path = node.polygon();
  const flat = path.view();
  const n = flat.length / 3;
  const ring = new Float64Array(2 * n);
  for (let i = 0; i < n; i++) {
    ring[2 * i] = flat[3 * i]! + x0;
    ring[2 * i + 1] = flat[3 * i + 1]! + y0;
  }
  path.delete();
  return ring;
}
