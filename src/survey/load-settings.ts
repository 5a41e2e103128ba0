import type { z } from 'zod';
import { UseError } from '../base/errors.js';
import { PRODUCT_KINDS } from './product-kinds.js';
import { SETTINGS_VERSION, settingsSchema, type Settings, type SettingsInput } from './settings.js';

/** Settings with every default filled in. @throws UseError where one is wrong */
export function defaultSettings(input: Partial<SettingsInput> & { name: string }): Settings {
  return checkSettings({ format: 'tallow-survey', version: SETTINGS_VERSION, ...input }, 'survey.json');
}

/** How settings are written: two spaces, keys in the schema's order, a line end at the end. */
export function settingsText(settings: Settings): string {
  return `${JSON.stringify(settings, null, 2)}\n`;
}

/**
 * Settings from the text of survey.json.
 * @throws UseError naming the line of a JSON mistake, or the setting that is wrong with what was expected and found
 */
export function parseSettings(text: string, where: string): Settings {
  let value: unknown;
  try {
    value = JSON.parse(text.replace(/^\uFEFF/, ''));
  } catch (error) {
    const message = (error as Error).message;
    const position = /position (\d+)/.exec(message);
    const line = position === null ? null : text.slice(0, Number(position[1])).split('\n').length;
    throw new UseError(`${where}${line === null ? '' : ` line ${line}`}: not valid JSON: ${message}; mend that line, or restore the file from a copy`, { path: where });
  }
  return checkSettings(value, where);
}

/** Checks a value against the schema. @throws UseError */
export function checkSettings(value: unknown, where: string): Settings {
  if (typeof value !== 'object' || value === null || Array.isArray(value)) {
    throw new UseError(`${where}: expected a JSON object, found ${describe(value)}`, { path: where });
  }
  const version = (value as { version?: unknown }).version;
  if ((value as { format?: unknown }).format !== 'tallow-survey') {
    throw new UseError(`${where}: format: expected "tallow-survey", found ${describe((value as { format?: unknown }).format)}; this is not a survey's settings`, { path: 'format' });
  }
  if (typeof version === 'number' && version > SETTINGS_VERSION) {
    throw new UseError(
      `${where}: version: this survey was made by a newer Tallow (settings version ${version}; this one reads up to ${SETTINGS_VERSION}); use the newer Tallow; nothing was changed`,
      { path: 'version', expected: String(SETTINGS_VERSION), found: String(version) },
    );
  }
  const result = settingsSchema.safeParse(version === 1 ? fromVersion1(value) : value);
  if (result.success) return result.data;
  const faults = result.error.issues.map((issue) => faultText(issue, value));
  throw new UseError(`${where}: ${faults.slice(0, 5).join('; ')}${faults.length > 5 ? `; and ${faults.length - 5} more` : ''}`, {
    path: result.error.issues[0]?.path.join('.') ?? where,
  });
}

/** Every product there was in version 1, before side-scan pictures and finds could be handed over. */
const PRODUCTS_OF_1: readonly string[] = ['csv', 'geoparquet', 'geotiff', 's102', 'geopackage', 'geojson', 'dxf', 'xyz', 'png', 'chart'];

/** Settings of version 1 as they are written now: where every product of then was asked for, those that came since are too. */
function fromVersion1(value: object): object {
  const { products } = value as { readonly products?: { readonly write?: unknown } };
  const write = products?.write;
  const all = Array.isArray(write) && PRODUCTS_OF_1.every((kind) => write.includes(kind));
  return { ...value, version: SETTINGS_VERSION, ...(all ? { products: { ...products, write: [...PRODUCT_KINDS] } } : {}) };
}

/** Settings with one value changed by its dotted path. @throws UseError for an unknown path or a wrong value */
export function withSetting(settings: Settings, dotted: string, value: unknown): Settings {
  const copy = structuredClone(settings) as Record<string, unknown>;
  const keys = dotted.split('.');
  let at: Record<string, unknown> = copy;
  for (const key of keys.slice(0, -1)) {
    const next = at[key];
    if (typeof next !== 'object' || next === null || !Object.hasOwn(at, key)) throw unknownSetting(dotted, at);
    at = next as Record<string, unknown>;
  }
  const last = keys[keys.length - 1] as string;
  if (!Object.hasOwn(at, last)) throw unknownSetting(dotted, at);
  at[last] = value;
  return checkSettings(copy, 'survey.json');
}

/** One setting by its dotted path; undefined where there is none. */
export function settingAt(settings: Settings, dotted: string): unknown {
  let at: unknown = settings;
  for (const key of dotted.split('.')) {
    if (typeof at !== 'object' || at === null || !Object.hasOwn(at, key)) return undefined;
    at = (at as Record<string, unknown>)[key];
  }
  return at;
}

/** A value typed on the command line for the setting of a dotted path: JSON where it is JSON, else text; a bare number is text where the setting takes text alone, as in `order=2`. */
export function typedSetting(dotted: string, text: string): unknown {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    return text;
  }
  return typeof value === 'number' && !settingTakes(dotted, value) && settingTakes(dotted, text) ? text : value;
}

/** Whether a value suits a setting, whatever the others are. */
function settingTakes(dotted: string, value: unknown): boolean {
  try {
    withSetting(defaultSettings({ name: 'any' }), dotted, value);
    return true;
  } catch {
    return false;
  }
}

function unknownSetting(dotted: string, at: Record<string, unknown>): UseError {
  return new UseError(`survey.json: there is no setting ${dotted}; known here: ${Object.keys(at).join(', ')}`, { path: dotted, expected: Object.keys(at).join(' | ') });
}

function faultText(issue: z.core.$ZodIssue, value: unknown): string {
  const dotted = issue.path.map(String).join('.');
  if (issue.code === 'unrecognized_keys') {
    return `${dotted === '' ? 'top level' : dotted}: unknown ${issue.keys.length === 1 ? 'setting' : 'settings'} ${issue.keys.join(', ')}; remove or correct ${issue.keys.length === 1 ? 'it' : 'them'} (docs/formats.md lists them all)`;
  }
  let found: unknown = value;
  for (const key of issue.path) found = (found as Record<PropertyKey, unknown> | undefined)?.[key];
  return `${dotted}: ${expectation(issue)}, found ${describe(found)}`;
}

function expectation(issue: z.core.$ZodIssue): string {
  switch (issue.code) {
    case 'invalid_type':
      return `expected ${issue.expected === 'object' ? 'a group of settings' : `a ${issue.expected}`}`;
    case 'too_small':
      return `expected ${issue.inclusive === false ? 'more than' : 'at least'} ${String(issue.minimum)}`;
    case 'too_big':
      return `expected ${issue.inclusive === false ? 'less than' : 'at most'} ${String(issue.maximum)}`;
    case 'invalid_value':
      return `expected ${issue.values.map((allowed) => JSON.stringify(allowed)).sort().join(' or ')}`;
    case 'invalid_union':
      return `expected one of the forms docs/formats.md gives`;
    default:
      return issue.message;
  }
}

function describe(value: unknown): string {
  if (value === undefined) return 'nothing';
  const text = JSON.stringify(value) ?? String(value);
  return text.length > 60 ? `${text.slice(0, 57)}...` : text;
}
