import { clipSegmentToPolygons } from '../geo/clip-line.js';
import { createEdgeStore } from '../geo/edge-store.js';
import { boundsOfPolygons, pointInPolygon, type Box } from '../geo/ring.js';
import type { Polygon } from '../geo/shapes.js';

export type HazardKind = 'keep-out' | 'land';

/** Where the boat must not be, asked quickly. */
export interface Hazards {
  readonly none: boolean;
  /** What a point lies in; null for clear water. */
  at(xM: number, yM: number): HazardKind | null;
  /** How far along a-b the first hazard is met [m], and which; null where it is clear. `fromClear`: a is known to lie in clear water. */
  firstOn(ax: number, ay: number, bx: number, by: number, fromClear?: boolean): { readonly atM: number; readonly kind: HazardKind } | null;
  /** Distance to the nearest edge, at most mostM [m]. */
  nearestM(xM: number, yM: number, mostM: number): number;
}

/** Edges nearer to a segment than this are looked at exactly [m]. */
const TOUCH_M = 1e-3;

export function createHazards(keepouts: readonly Polygon[], land: readonly Polygon[]): Hazards {
  const groups = [
    { kind: 'land' as const, polygons: land },
    { kind: 'keep-out' as const, polygons: keepouts },
  ].filter((group) => group.polygons.length > 0);
  if (groups.length === 0) return { none: true, at: () => null, firstOn: () => null, nearestM: (_x, _y, mostM) => mostM };
  const boxes: Box[][] = groups.map((group) => group.polygons.map((polygon) => boundsOfPolygons([polygon])));
  const edges = createEdgeStore(groups.flatMap((group) => group.polygons));
  const at = (xM: number, yM: number): HazardKind | null => {
    for (let g = 0; g < groups.length; g++) {
      const { kind, polygons } = groups[g]!;
      for (let i = 0; i < polygons.length; i++) {
        const box = boxes[g]![i]!;
        if (xM < box.westM || xM > box.eastM || yM < box.southM || yM > box.northM) continue;
        if (pointInPolygon(polygons[i]!, xM, yM)) return kind;
      }
    }
    return null;
  };
  return {
    none: false,
    at,
    firstOn(ax, ay, bx, by, fromClear = false) {
      const here = fromClear ? null : at(ax, ay);
      if (here !== null) return { atM: 0, kind: here };
      if (!edges.anyWithin(ax, ay, bx, by, TOUCH_M)) return null;
      let first: { atM: number; kind: HazardKind } | null = null;
      for (const { kind, polygons } of groups) {
        const inside = clipSegmentToPolygons(polygons, ax, ay, bx, by);
        if (inside.length > 0 && (first === null || inside[0]! < first.atM)) first = { atM: inside[0]!, kind };
      }
      return first;
    },
    nearestM: (xM, yM, mostM) => edges.nearestM(xM, yM, mostM),
  };
}
