import type { Raster } from '../geo/raster.js';

/** What a survey is for. */
export type Objective =
  /** Depths to an order of IHO S-44 ed. 6.1.0. */
  | { readonly kind: 'depths-order'; readonly order: 'exclusive' | 'special' | '1a' | '1b' | '2' }
  /** Depths for a chart at 1 : scale. */
  | { readonly kind: 'depths-scale'; readonly scale: number }
  /** Pictures of the bottom: range a side (null: as far as the height over the bottom allows), each place seen `folds` times, objects of `objectM` hit `hits` times. */
  | { readonly kind: 'imagery'; readonly rangeM: number | null; readonly folds: number; readonly objectM: number; readonly hits: number }
  /** Objects of a size, found with a chance (0 to 1) by a law of search; `lawOfSearch` says what the laws stand for. */
  | { readonly kind: 'objects'; readonly sizeM: number; readonly chance: number; readonly law: SearchLaw; readonly hits: number }
  /** Vegetation along transects: patches of `patchM` across are all to be met, with `pingsPerM` echoes to each metre. */
  | { readonly kind: 'vegetation'; readonly patchM: number; readonly pingsPerM: number }
  /** Gaps of a survey whose lines lay `spacingM` apart. */
  | { readonly kind: 'gaps'; readonly spacingM: number }
  /** Lines of the user's own: only what the boat needs is derived. */
  | { readonly kind: 'own' };

/** `random`: tracks without a pattern, the cautious one; `inverse-cube`: parallel lines kept with error, chance falling off with distance; `definite`: seen for sure within the sweep, lines kept exactly. */
export type SearchLaw = 'random' | 'inverse-cube' | 'definite';

/** What looks at the bottom. */
export type Sensor =
  /** One beam straight down. */
  | { readonly kind: 'single-beam'; readonly beamDeg: number; readonly pingHz: number; readonly draftM: number }
  /** Soundings across a fan, `swathDeg` from side to side. */
  | { readonly kind: 'swath'; readonly swathDeg: number; readonly beamDeg: number; readonly pingHz: number; readonly draftM: number }
  /** Two side-looking beams, `beamDeg` wide along the track. */
  | {
      readonly kind: 'side-scan';
      readonly beamDeg: number;
      /** The longest slant range it can be set to [m]. */
      readonly mostRangeM: number;
      /** Over the bottom where it is held there [m]; null: on the hull, `draftM` under the surface. */
      readonly heightM: number | null;
      readonly draftM: number;
      /** Half width of the gap under it, over its height. Default 0.5 (common practice, no source). */
      readonly nadirShare?: number;
      readonly soundMps: number;
    };

/** What is known of the depth, positive down, below the surface the survey is run at. */
export type KnownDepth =
  | { readonly kind: 'number'; readonly depthM: number }
  /** Soundings or a chart's depths: places in the frame and depths, columns of one length [n]. */
  | { readonly kind: 'points'; readonly xM: Float64Array; readonly yM: Float64Array; readonly depthM: Float64Array }
  | { readonly kind: 'raster'; readonly raster: Raster };

export type DerivedName = 'spacingM' | 'rangeM' | 'speedMps' | 'headingDeg' | 'crossShare' | 'runInM' | 'runOutM';

/** A value with its reason. */
export interface DerivedValue {
  /** NaN: the objective asks nothing of it. */
  readonly value: number;
  readonly unit: string;
  /** In plain words, with the figures it comes from. */
  readonly why: string;
  /** Standard and section, or `common practice`. */
  readonly source: string;
  /** Set by the user and left as it is. */
  readonly locked: boolean;
}

/** What an objective makes of a sensor, a depth and a boat. */
export interface DerivedLines extends Readonly<Record<DerivedName, DerivedValue>> {
  /** Spacing as the depth at a place has it [m]; null where it does not follow the depth, or the depth is one number, or the spacing is locked. NaN where the depth is not known. */
  readonly spacingAtM: ((xM: number, yM: number) => number) | null;
  /** What the crew should know: limits that a locked value breaks, what the sensor cannot do, what else is wanted. */
  readonly notes: readonly string[];
}
