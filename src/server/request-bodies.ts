import { z } from 'zod';
import { BOTTOM_POINTS_MAX } from '../survey/bottom-decisions.js';
import { findActShapes } from '../survey/find-decisions.js';
import type { PictureWanted } from '../survey/ping-pictures.js';
import type { WaterUse } from '../survey/desk.js';
import { TRIAL_KINDS } from '../survey/trial-decisions.js';
import type { ChangeSetting, ChangeSettings, Decision, StartJob } from './api.js';
import { RequestError } from './request-error.js';

const record = z.number().int().min(0).max(2 ** 32 - 1);

const soundingRef = z.strictObject({
  log: z.string().regex(/^[0-9a-f]{16}$/, 'expected the first 16 hex digits of the log\'s sha-256'),
  recordStart: record,
  recordEnd: record,
});

/** Decisions that come as such; settings and files have requests of their own. */
const decision = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.enum(['set-aside', 'restore']),
    soundings: z.array(soundingRef).min(1).max(100_000),
    note: z.string().max(2000).optional(),
  }),
  z.strictObject({
    kind: z.literal('trial'),
    change: z.enum(['move', 'add', 'drop']),
    trial: z.string().min(1).max(80),
    trialKind: z.enum(TRIAL_KINDS),
    startS: z.number(),
    endS: z.number(),
    note: z.string().max(2000).optional(),
  }),
  z.strictObject({
    kind: z.literal('hypothesis'),
    latDeg: z.number().min(-90).max(90),
    lonDeg: z.number().min(-180).max(180),
    depthM: z.number(),
    note: z.string().max(2000).optional(),
  }),
  z.strictObject({
    kind: z.literal('bottom'),
    log: z.string().regex(/^[0-9a-f]{16}$/, 'expected the first 16 hex digits of the log\'s sha-256'),
    points: z.array(z.strictObject({ record, slantM: z.number().positive() })).min(1).max(BOTTOM_POINTS_MAX),
    note: z.string().max(2000).optional(),
  }),
  z.discriminatedUnion('action', findActShapes),
]);

/** Of a query: numbers as text. `v` only tells one version of the same stretch from another. */
const pictureWanted = z.strictObject({
  from: z.coerce.number().int().min(0).max(2 ** 32),
  to: z.coerce.number().int().min(1).max(2 ** 32),
  step: z.coerce.number().int().min(1).max(64),
  width: z.coerce.number().int().min(1).max(4096),
  range: z.coerce.number().positive().max(12_000),
  axis: z.enum(['slant', 'ground']),
  levels: z.enum(['recorded', 'evened']),
  v: z.string().max(400).optional(),
}).refine(({ from, to, step, width }) => to > from && (to - from) / step <= 1024 && to - from <= 16_384 && ((to - from) / step) * width <= 2 ** 21, 'expected a stretch of at most 16384 pings and 2 million levels a side');

const startJob = z.strictObject({
  verb: z.enum(['build', 'lines', 'instrument-sheet']),
  upTo: z.string().min(1).max(100).optional(),
});

const changeSetting = z.strictObject({
  path: z
    .string()
    .max(200)
    .regex(/^[A-Za-z0-9_-]+(\.[A-Za-z0-9_-]+)*$/, 'expected a dotted path')
    .refine((path) => !path.split('.').some((part) => ['__proto__', 'constructor', 'prototype'].includes(part)), 'not a setting'),
  value: z.json(),
});

const changeSettings = z.strictObject({ what: z.string().trim().min(1).max(200), changes: z.array(changeSetting).min(1).max(50) });

/** @throws RequestError 400 naming the field */
function parse<T>(schema: z.ZodType<T>, body: unknown, what = 'body'): T {
  const result = schema.safeParse(body);
  if (result.success) return result.data;
  const issue = result.error.issues[0]!;
  const at = issue.path.map(String).join('.');
  throw new RequestError(400, `the ${what} does not fit${at === '' ? '' : `: ${at}`}`, { expected: issue.message });
}

export function parseDecision(body: unknown): Decision {
  // What was left out is not there, rather than undefined.
  return Object.fromEntries(Object.entries(parse(decision, body)).filter(([, value]) => value !== undefined)) as unknown as Decision;
}

export function parseStartJob(body: unknown): StartJob {
  const { verb, upTo } = parse(startJob, body);
  return upTo === undefined ? { verb } : { verb, upTo };
}

/** One setting, or several as one decision. */
export function parseChangeSetting(body: unknown): ChangeSetting | ChangeSettings {
  return typeof body === 'object' && body !== null && 'changes' in body ? parse(changeSettings, body) : parse(changeSetting, body);
}

/** @throws RequestError 400 */
export function parseWaterUse(use: unknown): WaterUse {
  return parse(z.enum(['level', 'sound-speed']), use, 'use');
}

/** @throws RequestError 400 naming the field */
export function parsePictureWanted(query: unknown): PictureWanted {
  const { from, to, step, width, range, axis, levels } = parse(pictureWanted, query, 'query');
  return { from, to, step, width, rangeM: range, axis, levels };
}
