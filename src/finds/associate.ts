import type { Measure } from './measure.js';
import { bestPlace, gateDistance2, type Place } from './place.js';
import type { Sighting } from './sighting.js';

/** Two sightings of one thing lie within this squared distance 99 times of 100: chi-square, two degrees of freedom. Source: e.g. Abramowitz & Stegun table 26.8. */
export const GATE_99 = 9.210340371976184;
/** Sizes seen from two directions differ by about so much of themselves, one sigma: facets and aspect (common practice, no source). */
const ASPECT_SHARE = 0.35;
/** Sizes agree within so many sigmas: 99 % of a normal deviate. */
const SIZE_SIGMAS = 2.576;

export interface AssociateOptions {
  /** One sigma in one dimension of the positioning error that all sightings share [m]. */
  readonly sharedM: number;
  /** Pairs of sightings that were parted by hand: never joined. */
  readonly apart: (a: string, b: string) => boolean;
  /** Sets that were joined by hand, whatever their distance. */
  readonly together: readonly (readonly string[])[];
}

/**
 * Joins sightings of the same thing: the gate of 99 % of their places' covariance, sizes that agree, no two of one pass.
 *
 * The strongest first; each goes to the nearest group whose best place it agrees with, else it begins its own. Joins by hand come
 * first and hold. A sighting without a place is a group of its own.
 *
 * @returns groups of indices into `sightings`, each in the order of time
 */
export function associate(sightings: readonly Sighting[], options: AssociateOptions): number[][] {
  const byId = new Map(sightings.map(({ id }, at) => [id, at]));
  const groups: { members: number[]; place: Place; held: boolean }[] = [];
  const taken = new Set<number>();
  const placeOf = (members: readonly number[]): Place => bestPlace(members.map((at) => sightings[at]!.place), options.sharedM);
  for (const ids of options.together) {
    const members = [...new Set(ids.flatMap((id) => byId.get(id) ?? []))].filter((at) => !taken.has(at));
    if (members.length === 0) continue;
    members.forEach((at) => taken.add(at));
    groups.push({ members, place: placeOf(members), held: true });
  }
  const order = sightings.map((_, at) => at).filter((at) => !taken.has(at));
  const strength = (at: number): number => (sightings[at]!.byHand ? Infinity : sightings[at]!.score);
  order.sort((a, b) => strength(b) - strength(a) || a - b);
  for (const at of order) {
    const one = sightings[at]!;
    let nearest: { group: (typeof groups)[number]; distance2: number } | null = null;
    if (Number.isFinite(one.place.xM)) {
      for (const group of groups) {
        const distance2 = gateDistance2(one.place, group.place);
        if (!(distance2 <= GATE_99) || (nearest !== null && distance2 >= nearest.distance2)) continue;
        const fits = group.members.every((other) => {
          const seen = sightings[other]!;
          return !options.apart(one.id, seen.id) && (seen.pass !== one.pass || (one.byHand !== seen.byHand && overlaps(one, seen))) && sizesAgree(one, seen);
        });
        if (fits) nearest = { group, distance2 };
      }
    }
    if (nearest === null) groups.push({ members: [at], place: one.place, held: false });
    else {
      nearest.group.members.push(at);
      nearest.group.place = placeOf(nearest.group.members);
    }
  }
  const time = (at: number): number => sightings[at]!.timeS;
  return groups.map(({ members }) => [...members].sort((a, b) => time(a) - time(b) || a - b));
}

/** A mark by hand over a candidate in the same pass is the same thing. */
function overlaps(a: Sighting, b: Sighting): boolean {
  return a.log === b.log && a.side === b.side && a.recordStart < b.recordEnd && b.recordStart < a.recordEnd && a.slantStartM < b.slantEndM && b.slantStartM < a.slantEndM;
}

/** Largest side on the floor, and height: within what aspect and errors allow. Unknown heights agree with any. */
export function sizesAgree(a: Sighting, b: Sighting): boolean {
  const side = ({ length, width }: Sighting): Measure => (length.value >= width.value ? length : width);
  return agree(side(a), side(b)) && (Number.isNaN(a.height.value) || Number.isNaN(b.height.value) || agree(a.height, b.height));
}

function agree(a: Measure, b: Measure): boolean {
  const spread = Math.hypot(a.sigma, b.sigma, (ASPECT_SHARE * (a.value + b.value)) / 2);
  return Math.abs(a.value - b.value) <= SIZE_SIGMAS * spread;
}
