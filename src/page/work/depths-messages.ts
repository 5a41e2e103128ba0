import type { HypothesisCell } from '../../depths/hypothesis-cells.js';
import type { DepthProfile } from '../../depths/profile.js';
import type { Volumes } from '../../depths/volumes.js';
import type { Rgb } from '../chart/tint.js';

/** What the page asks workers for at the Depths stage. */
export interface DepthsMessages {
  /** Reads derived/corrections.parquet: one curve for each correction. Null where there is none. */
  readonly loadCorrections: { readonly request: { readonly url: string }; readonly response: LoadedCorrections | null };
  /** Reads a layer of the surface and keeps it for `tintLayer`. Null where there is no surface. */
  readonly loadLayer: { readonly request: { readonly url: string; readonly layer: SurfaceLayer }; readonly response: LayerInfo | null };
  /** Paints a window of the layer kept by `loadLayer`. Null where none is kept. */
  readonly tintLayer: { readonly request: LayerTintRequest; readonly response: { readonly image: ImageBitmap } | null };
  /** Reads derived/hypotheses.parquet: cells with several depths, those in doubt first. Null where there is none. */
  readonly loadHypotheses: { readonly request: { readonly url: string }; readonly response: readonly HypothesisCell[] | null };
  /** What the surface says along a line or inside a shape. Null where there is no surface. */
  readonly askFloor: { readonly request: { readonly url: string; readonly question: FloorQuestion }; readonly response: FloorAnswer | null };
}

/** One correction against time. */
export interface CorrectionCurve {
  readonly column: string;
  readonly label: string;
  /** Whether it is part of the depth (or place) as reduced. */
  readonly on: boolean;
  /** Moves the place, not the depth. */
  readonly horizontal: boolean;
  /** Dotted path of the setting that applies it; null where it cannot be left out. */
  readonly setting: string | null;
  /** Metres added on the way from the instrument's depth; NaN where not known. Shape [n] */
  readonly valueM: Float32Array;
  readonly leastM: number;
  readonly mostM: number;
}

/** The corrections of all soundings, in the order of the soundings. */
export interface LoadedCorrections {
  /** UTC [s]. Shape [n] */
  readonly timeS: Float64Array;
  readonly curves: readonly CorrectionCurve[];
}

/** What of the surface can be shown in place of the depth tints. */
export type SurfaceLayer = 'uncertainty' | 'count' | 'slope' | 'ruggedness';

export interface LayerInfo {
  /** Values that nine tenths of the cells lie between; the colours run from one to the other. */
  readonly low: number;
  readonly high: number;
  /** Empty for a number without one. */
  readonly unit: string;
}

export interface LayerTintRequest {
  readonly westM: number;
  readonly northM: number;
  readonly metresPerPixel: number;
  readonly widthPx: number;
  readonly heightPx: number;
  /** Colours from low to high. */
  readonly ramp: readonly Rgb[];
}

/** A question to the surface: along a line of two points or more, or inside a ring. Vertices [x0, y0, ...] in the survey frame [m]. */
export type FloorQuestion =
  | { readonly kind: 'profile'; readonly line: Float64Array }
  | { readonly kind: 'inside'; readonly ring: Float64Array; readonly levelM: number };

export type FloorAnswer =
  | { readonly kind: 'profile'; readonly profile: DepthProfile; readonly shoalM: number; readonly deepM: number; /** Share of the line that lies on the surface. */ readonly knownShare: number }
  | {
      readonly kind: 'inside';
      readonly areaM2: number;
      readonly volumes: Volumes;
      readonly levelM: number;
      /** Of the surface inside [m], and the shoalest it could be at 95 %; NaN where it has none. */
      readonly shoalM: number;
      readonly shoalBoundM: number;
      readonly deepM: number;
      readonly meanM: number;
      /** Mean slope and the steepest tenth [deg]; NaN where cells have no neighbours. */
      readonly slopeMeanDeg: number;
      readonly slopeP90Deg: number;
    };
