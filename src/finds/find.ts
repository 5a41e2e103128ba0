import type { Measure } from './measure.js';
import { bestPlace, gateDistance2, type Place } from './place.js';
import type { Sighting } from './sighting.js';

export const FIND_STATES = ['proposed', 'confirmed', 'rejected'] as const;
export type FindState = (typeof FIND_STATES)[number];

/** A decision on a find, as the history shows it. */
export interface FindEvent {
  /** Number of the journal entry, and when it was made (UTC, ISO 8601). */
  readonly number: number;
  readonly at: string;
  readonly words: string;
}

/** Something located on the bottom, from all its sightings. */
export interface Find {
  /** Id of the first of its sightings in time. */
  readonly id: string;
  /** Ids, in the order of time. */
  readonly sightings: readonly string[];
  readonly state: FindState;
  readonly name: string;
  readonly description: string;
  readonly history: readonly FindEvent[];
  readonly place: Place;
  /** Longest and shortest side on the floor and height above it, with one sigma. */
  readonly length: Measure;
  readonly width: Measure;
  readonly height: Measure;
  /** Lines it was seen from, passes in all. */
  readonly lines: readonly number[];
  readonly passes: number;
  /** Chance that it is there and not the floor's own doing, 0 to 1: from the false-alarm rate; 1 where marked or confirmed by hand. */
  readonly confidence: number;
  readonly byHand: boolean;
  readonly why: string;
}

export interface FindOptions {
  /** One sigma in one dimension of the positioning error that all sightings share [m]. */
  readonly sharedM: number;
  /** Objects of the kind expected [1/ha]. */
  readonly priorPerHa: number;
}

/** Mean of several measures of one value, by their weights; an unknown one counts for nothing. The spread between them is told where it is the larger. */
export function meanMeasure(measures: readonly Measure[]): Measure {
  const known = measures.filter(({ value, sigma }) => Number.isFinite(value) && sigma > 0);
  if (known.length === 0) return { value: NaN, sigma: NaN };
  const weight = known.reduce((sum, { sigma }) => sum + 1 / sigma ** 2, 0);
  const value = known.reduce((sum, one) => sum + one.value / one.sigma ** 2, 0) / weight;
  const inner = Math.sqrt(1 / weight);
  const chi2 = known.reduce((sum, one) => sum + ((one.value - value) / one.sigma) ** 2, 0) / Math.max(1, known.length - 1);
  // Birge's ratio: where they disagree by more than they state, they know less than they state.
  return { value, sigma: inner * Math.sqrt(Math.max(1, known.length > 1 ? chi2 : 1)) };
}

/**
 * Chance that sightings are of a thing and not of the floor: prior odds of `priorPerHa` against the rate at which this floor gives
 * as strong a candidate by itself, and for each further sighting that it falls by chance into the gate about the first.
 *
 * Source: Bayes' rule with Poisson rates; sightings of one floor from other passes taken as independent.
 */
export function confidenceOf(sightings: readonly Pick<Sighting, 'falsePerHa' | 'byHand' | 'place'>[], priorPerHa: number): number {
  if (sightings.some(({ byHand }) => byHand)) return 1;
  const [first, ...rest] = [...sightings].sort((a, b) => a.falsePerHa - b.falsePerHa);
  if (first === undefined) return 0;
  let logOdds = Math.log(priorPerHa) - Math.log(Math.max(1e-12, first.falsePerHa));
  for (const { falsePerHa, place } of rest) {
    const gateHa = (Math.PI * 9.21 * Math.sqrt(Math.max(1e-6, place.xx * place.yy - place.xy ** 2))) / 1e4;
    logOdds -= Math.log(Math.min(1, Math.max(1e-12, falsePerHa * gateHa)));
  }
  return Math.min(0.999, 1 / (1 + Math.exp(-logOdds)));
}

/** Looks further from their common place than once in a thousand: chi-square with two degrees of freedom. */
const APART = 13.82;

/**
 * Place of a thing from its looks. Where they lie further apart than they state, as when several finds are joined by hand, the
 * place is as uncertain as they scatter: sum of d d' / (n (n - 1)) is added to its covariance.
 */
function placeOfLooks(places: readonly Place[], sharedM: number): Place {
  const best = bestPlace(places, sharedM);
  const here = { ...best, xx: 0, xy: 0, yy: 0 };
  if (places.length < 2 || !places.some((place) => gateDistance2(place, here) > APART)) return best;
  const share = 1 / (places.length * (places.length - 1));
  const scatter = places.reduce((sum, { xM, yM }) => ({ xx: sum.xx + share * (xM - best.xM) ** 2, xy: sum.xy + share * (xM - best.xM) * (yM - best.yM), yy: sum.yy + share * (yM - best.yM) ** 2 }), { xx: 0, xy: 0, yy: 0 });
  return { ...best, xx: best.xx + scatter.xx, xy: best.xy + scatter.xy, yy: best.yy + scatter.yy };
}

/** A find from sightings that belong together, as yet without decisions. @throws RangeError for none */
export function makeFind(members: readonly Sighting[], options: FindOptions): Find {
  const first = members[0];
  if (first === undefined) throw new RangeError('sightings: expected at least one');
  const longer = members.map(({ length, width }) => (length.value >= width.value ? length : width));
  const shorter = members.map(({ length, width }) => (length.value >= width.value ? width : length));
  const strongest = members.reduce((best, one) => ((one.byHand ? Infinity : one.score) > (best.byHand ? Infinity : best.score) ? one : best));
  return {
    id: first.id,
    sightings: members.map(({ id }) => id),
    state: 'proposed',
    name: '',
    description: '',
    history: [],
    place: placeOfLooks(members.map(({ place }) => place), options.sharedM),
    length: meanMeasure(longer),
    width: meanMeasure(shorter),
    height: meanMeasure(members.map(({ height }) => height)),
    lines: [...new Set(members.map(({ line }) => line))].filter((line) => line >= 0).sort((a, b) => a - b),
    passes: new Set(members.map(({ pass }) => pass)).size,
    confidence: confidenceOf(members, options.priorPerHa),
    byHand: members.some(({ byHand }) => byHand),
    why: strongest.why,
  };
}
