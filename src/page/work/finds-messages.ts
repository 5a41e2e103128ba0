import type { Side } from '../../base/sonar.js';

/** A value with one sigma; null where it is not known. */
export interface MeasureShown {
  readonly value: number | null;
  readonly sigma: number | null;
}

/** A find as derived/finds/finds.json has it. */
export interface FindShown {
  readonly id: string;
  /** Ids of its sightings, in the order of time. */
  readonly sightings: readonly string[];
  readonly state: 'proposed' | 'confirmed' | 'rejected';
  readonly name: string;
  readonly description: string;
  readonly history: readonly { readonly number: number; readonly at: string; readonly words: string }[];
  /** In the survey frame, with its covariance [m, m2]. */
  readonly place: { readonly xM: number; readonly yM: number; readonly xx: number; readonly xy: number; readonly yy: number };
  readonly length: MeasureShown;
  readonly width: MeasureShown;
  readonly height: MeasureShown;
  readonly lines: readonly number[];
  readonly passes: number;
  readonly confidence: number;
  readonly byHand: boolean;
  readonly why: string;
}

/** One look at a find. */
export interface SightingShown {
  readonly id: string;
  readonly log: string;
  readonly side: Side;
  readonly record: number;
  readonly timeS: number;
  readonly line: number;
  readonly recordStart: number;
  readonly recordEnd: number;
  readonly slantStartM: number;
  readonly slantEndM: number;
  readonly shadowEndM: number | null;
  readonly length: MeasureShown;
  readonly width: MeasureShown;
  readonly height: MeasureShown;
  readonly why: string;
  /** Its picture, a place in the survey folder. */
  readonly chip?: string | null;
}

export interface FindsFile {
  readonly finds: readonly FindShown[];
  readonly sightings: readonly SightingShown[];
  readonly lost?: readonly string[];
}

/** What derived/finds/search.json says of the search; a figure that is not there is not shown. */
export interface SearchFile {
  readonly objectM?: number | null;
  readonly searchedM2?: number | null;
  readonly areaM2?: number | null;
  readonly chanceMean?: number | null;
  readonly expectedLeft?: number | null;
  readonly notes?: readonly string[];
}
