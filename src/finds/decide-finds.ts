import type { Side } from '../base/sonar.js';
import { associate } from './associate.js';
import { makeFind, type Find, type FindEvent, type FindOptions, type FindState } from './find.js';
import type { Sighting } from './sighting.js';

/** Something drawn by hand on the picture, in the sonar's own coordinates. */
export interface FindMark {
  /** First 16 hex digits of the log's sha-256. */
  readonly log: string;
  readonly side: Side;
  /** Pings [recordStart, recordEnd). */
  readonly recordStart: number;
  readonly recordEnd: number;
  /** Start and end of its echo and end of its shadow; null where none is seen [m]. */
  readonly slantStartM: number;
  readonly slantEndM: number;
  readonly shadowEndM: number | null;
  /** How well the hand put a point on the picture as large as it was drawn, one sigma [m]; left out where that is not known. */
  readonly handM?: number;
}

/** What a user can decide of finds. `find` is the id of any of its sightings. */
export type FindAct =
  | { readonly action: 'mark'; readonly mark: FindMark; readonly name?: string; readonly description?: string }
  | { readonly action: 'confirm' | 'reject' | 'propose'; readonly find: string; readonly note?: string }
  | { readonly action: 'describe'; readonly find: string; readonly name?: string; readonly description?: string }
  | { readonly action: 'join'; readonly finds: readonly string[]; readonly note?: string }
  | { readonly action: 'part'; readonly find: string; readonly sightings: readonly string[]; readonly note?: string };

/** An act as it stands in the journal. */
export type StandingAct = FindAct & { readonly number: number; readonly at: string };

/** The id of what a journal entry marked. */
export function markId(number: number): string {
  return `mark-${number}`;
}

/** An act in plain words. */
export function actWords(act: FindAct): string {
  const because = (note: string | undefined): string => (note === undefined || note === '' ? '' : `: ${note}`);
  switch (act.action) {
    case 'mark':
      return 'marked by hand';
    case 'confirm':
      return `confirmed${because(act.note)}`;
    case 'reject':
      return `rejected${because(act.note)}`;
    case 'propose':
      return `put back among the proposed${because(act.note)}`;
    case 'describe':
      return [act.name === undefined ? '' : `named ${act.name === '' ? 'nothing' : act.name}`, act.description === undefined ? '' : `described${because(act.description)}`].filter((part) => part !== '').join(', ');
    case 'join':
      return `joined ${act.finds.length} finds into one${because(act.note)}`;
    case 'part':
      return `parted ${act.sightings.length} of its sightings${because(act.note)}`;
  }
}

/** A candidate that is found again with other settings or a better bottom lies within so many pings and so far of where it was [m]. */
const AGAIN_PINGS = 10;
const AGAIN_M = 1;

/** The id itself where it is there, else that of the nearest sighting of the same side and log; the id as it was where there is none. */
function nearestId(id: string, sightings: readonly Sighting[]): string {
  if (sightings.some((one) => one.id === id)) return id;
  const parts = /^([0-9a-f]{8})-([ps])-(\d+)-(\d+)$/.exec(id);
  if (parts === null) return id;
  const [, log, side, record, decimetres] = parts as unknown as [string, string, string, string, string];
  let best: { id: string; off: number } | null = null;
  for (const one of sightings) {
    if (!one.log.startsWith(log) || one.side[0] !== side || one.byHand) continue;
    const off = Math.hypot(Math.abs(one.record - Number(record)) / AGAIN_PINGS, Math.abs(one.slantStartM - Number(decimetres) / 10) / AGAIN_M);
    if (off <= 1 && (best === null || off < best.off)) best = { id: one.id, off };
  }
  return best?.id ?? id;
}

/** An act with its ids replaced. */
function withIds(act: StandingAct, of: (id: string) => string): StandingAct {
  switch (act.action) {
    case 'mark':
      return act;
    case 'join':
      return { ...act, finds: act.finds.map(of) };
    case 'part':
      return { ...act, find: of(act.find), sightings: act.sightings.map(of) };
    default:
      return { ...act, find: of(act.find) };
  }
}

export interface DecidedFinds {
  /** By falling confidence; those marked by hand first, those rejected last. */
  readonly finds: readonly Find[];
  /** Acts whose sighting is not there any more, in words. */
  readonly lost: readonly string[];
}

/**
 * Finds from sightings, with what was decided by hand: joins and partings first, in the order they were made, then states, names
 * and descriptions on the finds that hold the sightings they were decided for.
 */
export function decideFinds(sightings: readonly Sighting[], decisions: readonly StandingAct[], options: FindOptions): DecidedFinds {
  const acts = decisions.map((act) => withIds(act, (id) => nearestId(id, sightings)));
  const known = new Set(sightings.map(({ id }) => id));
  const lost: string[] = [];
  const pair = (a: string, b: string): string => (a < b ? `${a} ${b}` : `${b} ${a}`);
  const apart = new Set<string>();
  let together: Set<string>[] = [];
  const group = (id: string): Set<string> => together.find((set) => set.has(id)) ?? new Set([id]);
  const groupsNow = (): number[][] => associate(sightings, { sharedM: options.sharedM, apart: (a, b) => apart.has(pair(a, b)), together: together.map((set) => [...set]) });
  const membersOf = (id: string): string[] => groupsNow().map((group) => group.map((at) => sightings[at]!.id)).find((ids) => ids.includes(id)) ?? [id];
  for (const act of acts) {
    if (act.action === 'join') {
      const there = act.finds.filter((id) => known.has(id));
      if (there.length < act.finds.length) lost.push(`decision ${act.number}: ${act.finds.length - there.length} of the finds that were joined are not seen any more`);
      if (there.length < 2) continue;
      const all = new Set(there.flatMap((id) => [...membersOf(id), ...group(id)]));
      for (const a of all) for (const b of all) apart.delete(pair(a, b));
      together = [...together.filter((set) => ![...set].some((id) => all.has(id))), all];
    } else if (act.action === 'part') {
      const out = act.sightings.filter((id) => known.has(id));
      if (out.length === 0) {
        lost.push(`decision ${act.number}: what was parted is not seen any more`);
        continue;
      }
      const rest = membersOf(known.has(act.find) ? act.find : out[0]!).filter((id) => !out.includes(id));
      for (const a of out) for (const b of rest) apart.add(pair(a, b));
      // Those taken out stay together, and so does what is left.
      together = [...together.map((set) => new Set([...set].filter((id) => !out.includes(id) && !rest.includes(id)))).filter((set) => set.size > 0), new Set(out), ...(rest.length > 0 ? [new Set(rest)] : [])];
    }
  }
  const finds = groupsNow().map((group) => makeFind(group.map((at) => sightings[at]!), options));
  const holder = new Map(finds.flatMap((find, at) => find.sightings.map((id) => [id, at])));
  const decided = finds.map((find) => ({ state: find.state as FindState, name: '', description: '', history: [] as FindEvent[] }));
  for (const act of acts) {
    const ids = act.action === 'mark' ? [markId(act.number)] : act.action === 'join' ? act.finds : act.action === 'part' ? [act.find, ...act.sightings] : [act.find];
    const at = new Set(ids.flatMap((id) => holder.get(id) ?? []));
    if (at.size === 0) {
      if (act.action !== 'join' && act.action !== 'part') lost.push(`decision ${act.number}: what was ${actWords(act)} is not seen any more`);
      continue;
    }
    for (const index of at) {
      const one = decided[index]!;
      one.history.push({ number: act.number, at: act.at, words: actWords(act) });
      if (act.action === 'confirm') one.state = 'confirmed';
      else if (act.action === 'reject') one.state = 'rejected';
      else if (act.action === 'propose') one.state = 'proposed';
      else if (act.action === 'describe' || act.action === 'mark') {
        if (act.name !== undefined) one.name = act.name;
        if (act.description !== undefined) one.description = act.description;
      }
    }
  }
  const result = finds.map((find, at): Find => {
    const own = decided[at]!;
    return { ...find, ...own, confidence: own.state === 'confirmed' ? 1 : find.confidence };
  });
  const rank = (find: Find): number => (find.state === 'rejected' ? 2 : find.state === 'confirmed' ? 0 : 1);
  return { finds: result.sort((a, b) => rank(a) - rank(b) || b.confidence - a.confidence || b.passes - a.passes || (a.id < b.id ? -1 : 1)), lost };
}
