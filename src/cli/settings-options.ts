import { UseError } from '../base/errors.js';
import { typedSetting } from '../survey/load-settings.js';
import type { Desk } from '../survey/desk.js';
import type { CommandArguments, OptionSpec } from './command.js';

/** `--set key=value`, which every verb that reads settings takes. */
export const SET_OPTION: OptionSpec = { type: 'strings', value: 'KEY=VALUE', help: 'change a setting of survey.json first, e.g. surface.cellM=0.5' };

/** A number typed as an option. @throws UseError naming the option where it is not one */
export function numberOption(given: CommandArguments, name: string): number | undefined {
  const text = given.options[name];
  if (typeof text !== 'string') return undefined;
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value)) throw new UseError(`--${name}: expected a number, found ${JSON.stringify(text)}`, { path: `--${name}`, expected: 'a number', found: text });
  return value;
}

/** A text typed as an option. */
export function textOption(given: CommandArguments, name: string): string | undefined {
  const text = given.options[name];
  return typeof text === 'string' ? text : undefined;
}

/** The pairs of `--set`. @throws UseError where one has no `=` */
export function settingPairs(given: CommandArguments): { readonly path: string; readonly value: unknown }[] {
  const texts = given.options['set'];
  if (!Array.isArray(texts)) return [];
  return (texts as readonly string[]).map((text) => {
    const at = text.indexOf('=');
    if (at <= 0) throw new UseError(`--set: expected KEY=VALUE, found ${JSON.stringify(text)}; for example --set surface.cellM=0.5`);
    const path = text.slice(0, at).trim();
    return { path, value: typedSetting(path, text.slice(at + 1).trim()) };
  });
}

/** Applies `--set` and the verb's own options that stand for settings, as one decision; only what differs is changed and journalled, and nothing where one is refused. */
export async function applySettings(desk: Desk, given: CommandArguments, own: Readonly<Record<string, unknown>> = {}): Promise<void> {
  const changes = [...Object.entries(own).flatMap(([path, value]) => (value === undefined ? [] : [{ path, value }])), ...settingPairs(given)];
  if (changes.length === 1) await desk.set(changes[0]!.path, changes[0]!.value);
  else if (changes.length > 1) await desk.setTogether(changes, 'set on the command line');
}
