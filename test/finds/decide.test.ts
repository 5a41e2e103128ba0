import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { associate } from '../../src/finds/associate.js';
import { decideFinds, markId, type FindAct, type StandingAct } from '../../src/finds/decide-finds.js';
import { confidenceOf, meanMeasure } from '../../src/finds/find.js';
import { numberFinds } from '../../src/finds/number-finds.js';
import type { Sighting } from '../../src/finds/sighting.js';

let made = 0;
function sighting(xM: number, yM: number, pass: number, changes: Partial<Sighting> = {}): Sighting {
  made++;
  const record = changes.record ?? made;
  return {
    id: `0123abcd-p-${record}-120`, log: '0123abcd00000000', side: 'port', record, timeS: 1000 * pass + made / 1000, line: pass, pass, byHand: false,
    recordStart: record - 2, recordEnd: record + 3, slantStartM: 12, slantEndM: 12.6, shadowEndM: 13.5,
    ground: { value: 11, sigma: 0.1 }, length: { value: 0.7, sigma: 0.15 }, width: { value: 0.6, sigma: 0.1 }, height: { value: 0.3, sigma: 0.05 },
    place: { xM, yM, xx: 0.16, xy: 0, yy: 0.16 }, score: 6, falsePerHa: 1e-4, why: 'test',
    ...changes,
  };
}

const NONE = { sharedM: 0, apart: () => false, together: [] };
const OPTIONS = { sharedM: 0, priorPerHa: 1 };
const act = (number: number, what: FindAct): StandingAct => ({ ...what, number, at: '2026-06-17T10:00:00Z' });

describe('associate', () => {
  test('one thing from several passes is one, two things apart are two, two of one pass stay two', () => {
    const all = [sighting(0, 0, 1), sighting(0.5, 0.3, 2), sighting(20, 0, 1), sighting(0.4, 0, 1)];
    const groups = associate(all, NONE).map((group) => group.map((at) => all[at]!.pass));
    expect(groups.map((group) => group.length).sort()).toEqual([1, 1, 2]);
    for (const group of groups) expect(new Set(group).size).toBe(group.length);
  });

  test('sizes that do not agree are not joined', () => {
    const all = [sighting(0, 0, 1), sighting(0.2, 0, 2, { length: { value: 5, sigma: 0.3 }, width: { value: 3, sigma: 0.3 } })];
    expect(associate(all, NONE)).toHaveLength(2);
  });

  test('repeat sightings with the errors they state: 98 to 100 of 100 pairs are joined, and things 10 m apart never', () => {
    const random = createRandom(4);
    let joined = 0;
    for (let t = 0; t < 500; t++) {
      const noisy = (x: number, pass: number): Sighting => sighting(x + 0.4 * random.normal(), 0.4 * random.normal(), pass);
      const all = [noisy(0, 1), noisy(0, 2), noisy(10, 3)];
      const groups = associate(all, NONE);
      if (groups.some((group) => group.length === 2)) joined++;
      expect(groups.some((group) => group.includes(2) && group.length > 1)).toBe(false);
    }
    expect(joined / 500).toBeGreaterThan(0.975);
  });

  test('the order in which sightings come does not change the groups', () => {
    const random = createRandom(8);
    const all = Array.from({ length: 12 }, (_, i) => sighting((i % 4) * 8 + 0.3 * random.normal(), 0.3 * random.normal(), Math.floor(i / 4), { score: 5 + i / 100 }));
    const ids = (list: readonly Sighting[]): string[] => associate(list, NONE).map((group) => group.map((at) => list[at]!.id).sort().join(' ')).sort();
    const wanted = ids(all);
    fc.assert(fc.property(fc.shuffledSubarray(all, { minLength: all.length, maxLength: all.length }), (list) => {
        expect(ids(list)).toEqual(wanted);
      }), { seed: 1, numRuns: 30 });
  });
});

describe('finds', () => {
  test('a find from two looks is better placed than either and surer', () => {
    const [a, b] = [sighting(0, 0, 1), sighting(0.5, 0, 2)];
    const { finds } = decideFinds([a, b], [], OPTIONS);
    expect(finds).toHaveLength(1);
    expect(finds[0]!.place.xM).toBeCloseTo(0.25, 9);
    expect(finds[0]!.place.xx).toBeCloseTo(0.08, 9);
    expect(finds[0]!.lines).toEqual([1, 2]);
    expect(confidenceOf([a, b], 1)).toBeGreaterThanOrEqual(confidenceOf([a], 1));
    // Prior of one a hectare against a floor that gives one as strong a hectare: even odds.
    expect(confidenceOf([{ ...a, falsePerHa: 1 }], 1)).toBeCloseTo(0.5, 9);
  });

  test('meanMeasure: weights by sigma, the spread where they disagree, NaN for nothing known', () => {
    expect(meanMeasure([{ value: 1, sigma: 0.1 }, { value: 1.2, sigma: 0.2 }]).value).toBeCloseTo(1.04, 9);
    expect(meanMeasure([{ value: 1, sigma: 0.1 }, { value: 3, sigma: 0.1 }]).sigma).toBeCloseTo(1, 6);
    expect(meanMeasure([{ value: NaN, sigma: NaN }]).value).toBeNaN();
  });

  test('decisions: confirm, reject, describe and their history', () => {
    const all = [sighting(0, 0, 1), sighting(20, 0, 1)];
    const [a, b] = all as [Sighting, Sighting];
    const { finds, lost } = decideFinds(all, [act(1, { action: 'confirm', find: a.id }), act(2, { action: 'describe', find: a.id, name: 'block', description: 'square' }), act(3, { action: 'reject', find: b.id, note: 'a stone' }), act(4, { action: 'confirm', find: 'ffffffff-p-1-1' })], OPTIONS);
    const [first, second] = finds as [(typeof finds)[0], (typeof finds)[0]];
    expect(first).toMatchObject({ id: a.id, state: 'confirmed', name: 'block', description: 'square', confidence: 1 });
    expect(first.history.map(({ words }) => words)).toEqual(['confirmed', 'named block, described: square']);
    expect(second).toMatchObject({ id: b.id, state: 'rejected' });
    expect(second.history[0]!.words).toBe('rejected: a stone');
    expect(lost).toEqual(['decision 4: what was confirmed is not seen any more']);
  });

  test('decisions: join holds two that are apart together, part takes them apart again and they stay so', () => {
    const all = [sighting(0, 0, 1), sighting(5, 0, 2), sighting(0.2, 0, 3)];
    const [a, b, c] = all as [Sighting, Sighting, Sighting];
    const joined = decideFinds(all, [act(1, { action: 'join', finds: [a.id, b.id] })], OPTIONS);
    expect(joined.finds).toHaveLength(1);
    expect([...joined.finds[0]!.sightings].sort()).toEqual([a.id, b.id, c.id].sort());
    // Looks 5 m apart that state 0.4 m place it no better than they scatter; those that agree are left as they are.
    const { place } = joined.finds[0]!;
    const mean = all.reduce((sum, one) => sum + one.place.xM, 0) / 3;
    expect(place.xx).toBeCloseTo(0.16 / 3 + all.reduce((sum, one) => sum + (one.place.xM - mean) ** 2, 0) / 6, 9);
    expect(place.yy).toBeCloseTo(0.16 / 3, 9);
    const parted = decideFinds(all, [act(1, { action: 'part', find: a.id, sightings: [c.id] })], OPTIONS);
    expect(parted.finds.map((find) => find.sightings.length)).toEqual([1, 1, 1]);
    const again = decideFinds(all, [act(1, { action: 'part', find: a.id, sightings: [c.id] }), act(2, { action: 'join', finds: [a.id, c.id] })], OPTIONS);
    expect(again.finds.map((find) => find.sightings.length).sort()).toEqual([1, 2]);
  });

  test('decisions find a sighting again that has moved by a few pings, and no other', () => {
    const old = sighting(0, 0, 1, { record: 500 });
    const moved = sighting(0, 0, 1, { record: 503, slantStartM: 12.3 });
    const other = sighting(30, 0, 1, { record: 900 });
    const { finds, lost } = decideFinds([moved, other], [act(1, { action: 'confirm', find: old.id })], OPTIONS);
    expect(finds.find(({ id }) => id === moved.id)!.state).toBe('confirmed');
    expect(lost).toEqual([]);
    expect(decideFinds([other], [act(1, { action: 'confirm', find: old.id })], OPTIONS).lost).toHaveLength(1);
  });

  test('a mark by hand over a candidate of the same pass is one find with it', () => {
    const candidate = sighting(0, 0, 1, { record: 200 });
    const mark = sighting(0.1, 0, 1, { id: markId(7), record: 201, byHand: true, score: NaN, falsePerHa: NaN });
    const { finds } = decideFinds([candidate, mark], [act(7, { action: 'mark', mark: { log: mark.log, side: 'port', recordStart: 199, recordEnd: 204, slantStartM: 12, slantEndM: 12.6, shadowEndM: null }, name: 'anchor' })], OPTIONS);
    expect(finds).toHaveLength(1);
    expect(finds[0]).toMatchObject({ name: 'anchor', byHand: true, confidence: 1 });
  });
});

describe('numbers of finds', () => {
  const candidates = [sighting(0, 0, 1, { falsePerHa: 1e-2 }), sighting(20, 0, 1, { falsePerHa: 1e-6 }), sighting(40, 0, 1, { falsePerHa: 1e-4 }), sighting(40.2, 0, 2, { falsePerHa: 1e-4 }), sighting(60, 0, 1, { falsePerHa: 1 })];
  const numbers = (all: readonly Sighting[], acts: readonly StandingAct[]): Map<string, number> => {
    const { finds } = decideFinds(all, acts, OPTIONS);
    const of = numberFinds(finds, all, OPTIONS);
    expect(new Set(of).size).toBe(finds.length);
    return new Map(finds.flatMap((find, at) => find.sightings.map((id) => [id, of[at]!])));
  };
  const [a, b, c, d, e] = candidates.map(({ id }) => id) as [string, string, string, string, string];

  test('the surest is 1, and no decision on a find gives it, or another, a new number', () => {
    const before = numbers(candidates, []);
    expect([before.get(c), before.get(b), before.get(a), before.get(e)]).toEqual([1, 2, 3, 4]);
    const acts: FindAct[] = [{ action: 'confirm', find: e }, { action: 'reject', find: c }, { action: 'describe', find: a, name: 'block' }, { action: 'propose', find: c }];
    fc.assert(fc.property(fc.shuffledSubarray(acts), (some) => {
        expect(numbers(candidates, some.map((what, at) => act(at + 1, what)))).toEqual(before);
      }), { seed: 1, numRuns: 40 });
  });

  test('what is joined keeps the smallest number, what is parted and what is marked comes after all', () => {
    const joined = numbers(candidates, [act(1, { action: 'join', finds: [a, b] })]);
    expect([joined.get(a), joined.get(b), joined.get(c), joined.get(e)]).toEqual([2, 2, 1, 4]);
    const parted = numbers(candidates, [act(1, { action: 'part', find: c, sightings: [c] })]);
    expect([parted.get(c), parted.get(d), parted.get(b)]).toEqual([1, 5, 2]);
    const mark = sighting(100, 0, 1, { id: markId(3), byHand: true, falsePerHa: 0 });
    const marked = numbers([...candidates, mark], [act(3, { action: 'mark', mark: { log: mark.log, side: 'port', recordStart: 1, recordEnd: 2, slantStartM: 1, slantEndM: 2, shadowEndM: null } })]);
    expect(marked.get(mark.id)).toBe(5);
    expect(marked.get(e)).toBe(4);
  });
});
