import { z } from 'zod';
import { NUMBER_TYPES } from '../formats/record-layout.js';

const byte = z.number().int().min(0).max(1_000_000_000);
const name = z.string().min(1).max(80);
const count = z.union([byte, z.strictObject({ field: name, times: z.number().finite().optional(), add: z.number().finite().optional() })]);
const quantity = z.union([z.strictObject({ field: name, scale: z.number().finite().optional(), add: z.number().finite().optional(), none: z.number().optional() }), z.strictObject({ value: z.number().finite() })]).optional();
const type = z.enum(NUMBER_TYPES);
const fraction = z.strictObject({ field: name, unit: z.enum(['ms', 'us', 'ns']) }).optional();

/** A layout of side-scan records as it stands in survey.json or a file; src/formats/record-layout.ts says what each part means. */
export const layoutSchema = z.strictObject({
  name,
  files: z.array(z.string().min(1).max(40)).min(1).max(20),
  byteOrder: z.enum(['little', 'big']),
  fileHeaderBytes: byte.default(0),
  sync: z.string().max(64).nullable().default(null),
  recordBytes: count,
  fields: z.array(z.strictObject({ name, at: z.number().int().min(0).max(65_536), type })).min(1).max(200),
  only: z.array(z.strictObject({ field: name, equals: z.number() })).max(20).default([]),
  samples: z
    .array(
      z.strictObject({
        side: z.union([z.enum(['port', 'starboard']), z.strictObject({ field: name, port: z.number(), starboard: z.number() })]),
        at: z.union([count, z.literal('after')]),
        type,
        count,
        scale: z.number().finite().optional(),
        add: z.number().finite().optional(),
        reversed: z.boolean().optional(),
      }),
    )
    .min(1)
    .max(8),
  time: z.union([
    z.strictObject({ field: name, unit: z.enum(['s', 'ms', 'us', 'ns']), since: z.string().max(40), fraction }),
    z.strictObject({ year: name, month: name.optional(), day: name, hour: name, minute: name, second: name, fraction }),
  ]),
  ping: name.optional(),
  latDeg: quantity,
  lonDeg: quantity,
  headingDeg: quantity,
  heightM: quantity,
  depthM: quantity,
  frequencyHz: quantity,
  delayS: quantity,
  intervalS: quantity,
  rangeM: quantity,
  rangeSoundMps: z.number().positive().optional(),
});

/** What settings may hold for a layout: itself, or the name of a file inside the survey folder that holds it. */
export const layoutSetting = z.union([layoutSchema, z.string().min(1).max(255)]);
