import { z } from 'zod';
import { defaultSettings } from './load-settings.js';
import { settingAt } from './load-settings.js';
import { settingsSchema } from './settings.js';

interface JsonSchema {
  readonly type?: string;
  readonly description?: string;
  readonly properties?: Readonly<Record<string, JsonSchema>>;
  readonly anyOf?: readonly JsonSchema[];
  readonly oneOf?: readonly JsonSchema[];
  readonly enum?: readonly unknown[];
  readonly const?: unknown;
  readonly minimum?: number;
  readonly maximum?: number;
  readonly exclusiveMinimum?: number;
  readonly exclusiveMaximum?: number;
  readonly maxLength?: number;
}

function limits(schema: JsonSchema): string {
  const parts: string[] = [];
  if (schema.exclusiveMinimum !== undefined) parts.push(`> ${schema.exclusiveMinimum}`);
  else if (schema.minimum !== undefined && schema.minimum > Number.MIN_SAFE_INTEGER) parts.push(`>= ${schema.minimum}`);
  if (schema.exclusiveMaximum !== undefined) parts.push(`< ${schema.exclusiveMaximum}`);
  else if (schema.maximum !== undefined && schema.maximum < Number.MAX_SAFE_INTEGER) parts.push(`<= ${schema.maximum}`);
  if (schema.maxLength !== undefined) parts.push(`at most ${schema.maxLength} characters`);
  return parts.join(', ');
}

function kind(schema: JsonSchema): string {
  if (schema.const !== undefined) return JSON.stringify(schema.const);
  if (schema.enum !== undefined) return schema.enum.map((one) => JSON.stringify(one)).join(' or ');
  const either = schema.anyOf ?? schema.oneOf;
  if (either !== undefined) return either.map(kind).join(' or ');
  if (schema.type === 'object' && schema.properties !== undefined) {
    return `{${Object.entries(schema.properties).map(([name, one]) => `${name}: ${kind(one)}`).join(', ')}}`;
  }
  const limit = limits(schema);
  return `${schema.type ?? 'any'}${limit === '' ? '' : ` (${limit})`}`;
}

/** One row a setting: its dotted path, what it takes, its default, what it is. */
export function settingRows(): { readonly path: string; readonly kind: string; readonly fallback: string; readonly meaning: string }[] {
  const schema = z.toJSONSchema(settingsSchema, { io: 'input' }) as unknown as JsonSchema;
  const defaults = defaultSettings({ name: 'a name' });
  const rows: { path: string; kind: string; fallback: string; meaning: string }[] = [];
  const walk = (at: JsonSchema, path: string): void => {
    for (const [name, one] of Object.entries(at.properties ?? {})) {
      const dotted = path === '' ? name : `${path}.${name}`;
      if (one.type === 'object' && one.properties !== undefined) {
        walk(one, dotted);
        continue;
      }
      const fallback = ['format', 'version', 'name'].includes(dotted) ? 'needed' : JSON.stringify(settingAt(defaults, dotted));
      rows.push({ path: dotted, kind: kind(one), fallback, meaning: one.description ?? '' });
    }
  };
  walk(schema, '');
  return rows;
}

/** The table of docs/formats.md. */
export function settingsTable(): string {
  const cell = (text: string): string => text.replaceAll('|', '\\|');
  return [
    '| setting | takes | default | meaning |',
    '|---|---|---|---|',
    ...settingRows().map(({ path, kind: takes, fallback, meaning }) => `| \`${path}\` | ${cell(takes)} | \`${fallback}\` | ${cell(meaning)} |`),
  ].join('\n');
}
