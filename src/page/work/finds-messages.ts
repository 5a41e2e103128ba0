import type { Find } from '../../finds/find.js';
import type { Measure } from '../../finds/measure.js';
import type { Sighting } from '../../finds/sighting.js';

/** A value with one sigma; null where it is not known. */
export interface MeasureShown {
  readonly value: number | null;
  readonly sigma: number | null;
}

/** As JSON has it: a measure that is not known is null. */
type Shown<T> = { readonly [K in keyof T]: T[K] extends Measure ? MeasureShown : T[K] };

/** A find as derived/finds/finds.json has it. */
export type FindShown = Shown<Find> & { readonly number: number };

/** One look at a find. */
export interface SightingShown extends Shown<Omit<Sighting, 'shadowEndM' | 'score' | 'falsePerHa'>> {
  readonly shadowEndM: number | null;
  /** Its picture, a place in the survey folder. */
  readonly chip?: string | null;
}

export interface FindsFile {
  readonly finds: readonly FindShown[];
  readonly sightings: readonly SightingShown[];
  readonly lost?: readonly string[];
}
