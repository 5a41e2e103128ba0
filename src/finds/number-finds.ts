import { associate } from './associate.js';
import { makeFind, type Find, type FindOptions } from './find.js';
import type { Sighting } from './sighting.js';

/**
 * Numbers that people know finds by: the surest candidate is 1, as if nothing had been decided, so that confirming, rejecting or
 * describing one changes no number. A find that was joined from several has the smallest of theirs, and the others are not given
 * again; what was parted from one, and what was marked by hand, comes after all candidates.
 *
 * @returns the number of each of `finds`, from 1, no two alike; shape [finds.length]
 */
export function numberFinds(finds: readonly Pick<Find, 'id' | 'sightings'>[], sightings: readonly Sighting[], options: FindOptions): number[] {
  const seen = sightings.filter(({ byHand }) => !byHand);
  const undecided = associate(seen, { sharedM: options.sharedM, apart: () => false, together: [] })
    .map((group) => makeFind(group.map((at) => seen[at]!), options))
    .sort((a, b) => b.confidence - a.confidence || b.passes - a.passes || (a.id < b.id ? -1 : 1));
  const numberOf = new Map(undecided.flatMap((find, at) => find.sightings.map((id) => [id, at + 1] as const)));
  const firstOf = new Set(undecided.map(({ id }) => id));
  const order = (id: string): number => Number(/\d+$/.exec(id)?.[0] ?? 0);
  const marks = sightings.filter(({ byHand }) => byHand).sort((a, b) => order(a.id) - order(b.id));
  marks.forEach(({ id }, at) => numberOf.set(id, undecided.length + at + 1));
  const claims = finds.map(({ id, sightings: own }, at) => ({ at, id, number: Math.min(...own.map((one) => numberOf.get(one) ?? Infinity)), isFirst: own.some((one) => firstOf.has(one)) }));
  claims.sort((a, b) => a.number - b.number || Number(b.isFirst) - Number(a.isFirst) || (a.id < b.id ? -1 : 1));
  let next = undecided.length + marks.length + 1;
  const taken = new Set<number>();
  const numbers = new Array<number>(finds.length);
  for (const { at, number } of claims) {
    const own = Number.isFinite(number) && !taken.has(number) ? number : next++;
    taken.add(own);
    numbers[at] = own;
  }
  return numbers;
}
