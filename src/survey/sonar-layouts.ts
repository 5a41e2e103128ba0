import type { z } from 'zod';
import { UseError } from '../base/errors.js';
import { layoutFaults, type RecordLayout } from '../formats/record-layout.js';
import { insideFolder, readTextIfThere } from './folder.js';
import { layoutSchema, type layoutSetting } from './sonar-layout-schema.js';

/**
 * The layouts that a survey knows, those in files read.
 * @throws UseError that names the file, what is wrong and where
 */
export async function sonarLayouts(folder: string, layouts: readonly z.infer<typeof layoutSetting>[]): Promise<readonly RecordLayout[]> {
  const read: RecordLayout[] = [];
  for (const layout of layouts) {
    const one = typeof layout === 'string' ? await fromFile(folder, layout) : layout;
    const faults = layoutFaults(one);
    if (faults.length > 0) throw new UseError(`${typeof layout === 'string' ? layout : `sonar.layouts, ${JSON.stringify(one.name)}`}: ${faults.join('; ')}`, { path: typeof layout === 'string' ? layout : 'survey.json' });
    read.push(one);
  }
  return read;
}

async function fromFile(folder: string, relative: string): Promise<RecordLayout> {
  const text = await readTextIfThere(insideFolder(folder, relative, 'sonar.layouts'));
  if (text === null) throw new UseError(`${relative}: the layout of side-scan records that sonar.layouts names is not there; put it into the survey folder, or take it out of the setting`, { path: relative });
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch (error) {
    throw new UseError(`${relative}: not valid JSON: ${(error as Error).message}`, { path: relative });
  }
  const result = layoutSchema.safeParse(value);
  if (result.success) return result.data;
  const issue = result.error.issues[0];
  const place = issue === undefined || issue.path.length === 0 ? '' : `${issue.path.join('.')}: `;
  throw new UseError(`${relative}: ${place}${issue === undefined ? 'not a layout' : wordsOf(issue, value)}; docs/formats.md says how a layout is written`, { path: relative });
}

/** What may stand where one of several forms may, by the last part of the place. */
const FORMS: Readonly<Record<string, string>> = {
  recordBytes: 'a whole number of bytes, or {"field": "name", "times": 1, "add": 0}',
  at: 'a whole number of bytes from the beginning of the record, {"field": "name", "times": 1, "add": 0}, or "after"',
  count: 'a whole number, or {"field": "name", "times": 1, "add": 0}',
  side: '"port", "starboard", or {"field": "name", "port": 0, "starboard": 1}',
  time: '{"field": "name", "unit": "s", "ms", "us" or "ns", "since": "1970-01-01T00:00:00Z"}, or {"year": "name", "month": "name", "day": "name", "hour": "name", "minute": "name", "second": "name"}',
};
const QUANTITY_FORM = '{"field": "name", "scale": 1, "add": 0}, or {"value": 1}';
const FOUND_MAX = 100;

/** An issue of the schema in plain words, with what stands there. */
function wordsOf(issue: z.core.$ZodIssue, value: unknown): string {
  if (issue.code !== 'invalid_union') return issue.message;
  const found: unknown = issue.path.reduce<unknown>((at, key) => (at as Record<PropertyKey, unknown> | undefined)?.[key], value);
  const text = JSON.stringify(found) ?? 'nothing';
  return `expected ${FORMS[String(issue.path.at(-1))] ?? QUANTITY_FORM}, found ${text.length > FOUND_MAX ? `${text.slice(0, FOUND_MAX)}...` : text}`;
}

/** The layout for a file by its name; null where there is none. */
export function layoutFor(fileName: string, layouts: readonly RecordLayout[]): RecordLayout | null {
  return layouts.find(({ files }) => files.some((ending) => fileName.toLowerCase().endsWith(ending.toLowerCase()))) ?? null;
}
