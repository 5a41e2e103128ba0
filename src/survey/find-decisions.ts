import { z } from 'zod';
import { UseError } from '../base/errors.js';
import { SIDES } from '../base/sonar.js';
import type { FindAct, StandingAct } from '../finds/decide-finds.js';
import type { FindDecision, JournalEntry } from './summary.js';

const id = z.string().min(1).max(80).regex(/^[A-Za-z0-9-]+$/, 'expected the id of a sighting, as finds.json has it');
const ids = z.array(id).max(1000);
const text = z.string().max(2000);
const record = z.number().int().min(0).max(0xffffffff);
const slant = z.number().positive().max(10_000);

/** The shapes of decisions on finds, as they come from outside. */
export const findActShapes = [
  z.strictObject({
    kind: z.literal('find'),
    action: z.literal('mark'),
    mark: z.strictObject({
      log: z.string().regex(/^[0-9a-f]{16}$/, 'expected the first 16 hex digits of the log\'s sha-256'),
      side: z.enum(SIDES),
      recordStart: record,
      recordEnd: record,
      slantStartM: slant,
      slantEndM: slant,
      shadowEndM: slant.nullable(),
      handM: z.number().positive().max(100).optional(),
    }),
    name: text.max(120).optional(),
    description: text.optional(),
  }),
  z.strictObject({ kind: z.literal('find'), action: z.enum(['confirm', 'reject', 'propose']), find: id, note: text.optional() }),
  z.strictObject({ kind: z.literal('find'), action: z.literal('describe'), find: id, name: text.max(120).optional(), description: text.optional() }),
  z.strictObject({ kind: z.literal('find'), action: z.literal('join'), finds: ids.min(2), note: text.optional() }),
  z.strictObject({ kind: z.literal('find'), action: z.literal('part'), find: id, sightings: ids.min(1), note: text.optional() }),
] as const;

const findAct = z.discriminatedUnion('action', findActShapes);

/** @throws UseError naming the field of a decision on finds that does not hold together */
export function checkFindDecision(decision: FindDecision): void {
  const result = findAct.safeParse(decision);
  if (!result.success) {
    const issue = result.error.issues[0]!;
    const at = issue.path.map(String).join('.');
    throw new UseError(`decision on a find${at === '' ? '' : `: ${at}`}: ${issue.message}`, { path: at === '' ? 'find' : at });
  }
  if (decision.action !== 'mark') return;
  const { recordStart, recordEnd, slantStartM, slantEndM, shadowEndM } = decision.mark;
  if (!(recordEnd > recordStart)) throw new UseError(`find marked by hand: expected its last ping after its first, found ${recordStart} to ${recordEnd}`, { path: 'mark.recordEnd' });
  if (!(slantEndM > slantStartM)) throw new UseError(`find marked by hand: expected its echo to end further out than it starts, found ${slantStartM} m to ${slantEndM} m`, { path: 'mark.slantEndM' });
  if (shadowEndM !== null && !(shadowEndM > slantEndM)) throw new UseError(`find marked by hand: expected its shadow to end beyond its echo at ${slantEndM} m, found ${shadowEndM} m`, { path: 'mark.shadowEndM' });
}

/** The standing decisions on finds, in the order they were made. */
export function findActs(decisions: readonly JournalEntry[]): StandingAct[] {
  return decisions.flatMap((entry) => {
    if (entry.kind !== 'find') return [];
    const { number, at } = entry;
    return [{ ...actOf(entry), number, at }];
  });
}

/** The act of a decision, without what makes it a journal entry. */
function actOf(entry: FindDecision): FindAct {
  return Object.fromEntries(Object.entries(entry).filter(([key]) => key !== 'kind' && key !== 'number' && key !== 'at')) as unknown as FindAct;
}
