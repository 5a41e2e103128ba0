import type { Camera } from './camera.js';
import type { ColourBy, FlaggedShown, PointColours } from './point-colours.js';

/** Points as a painter takes them. Slot k holds sounding `order(k)`, spread over the survey, so that the first part of them is a fair picture of all. */
export interface PointCloud {
  readonly n: number;
  /** East, north and depth less those of the middle [m]; a point without a place lies far outside. Shape [3 n], by slot. */
  readonly place: Float32Array;
  /** Number of the line and 1, by 250s; 0 off any line. Shape [n], by slot. */
  readonly line: Uint8Array;
  readonly middle: { readonly xM: number; readonly yM: number; readonly depthM: number };
  /** Half the sides of the box of the good points [m]. */
  readonly halfEastM: number;
  readonly halfNorthM: number;
  /** Half the diagonal of all points [m], and the depth range of the good ones. */
  readonly reachM: number;
  readonly shoalM: number;
  readonly deepM: number;
}

/** Set in a point's state where it is selected; the rest is the code of its reason. */
export const SELECTED = 0x40;

export interface PaintWish {
  readonly camera: Camera;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly pixelRatio: number;
  readonly colourBy: ColourBy;
  readonly flagged: FlaggedShown;
  readonly colours: PointColours;
  /** Share of the points to draw, 0..1. */
  readonly share: number;
}

/** Draws points; one on the graphics processor, one that needs none. */
export interface PointPainter {
  readonly kind: 'gl' | 'canvas';
  setCloud(cloud: PointCloud): void;
  /** What each point is, by slot. Shape [n]. */
  setStates(states: Uint8Array): void;
  paint(wish: PaintWish): void;
  dispose(): void;
}

/** Side of a point [px]: larger as one looks closer. */
export function pointSizePx(camera: Camera): number {
  return Math.min(6, Math.max(1.7, camera.pxPerM * 0.22));
}
