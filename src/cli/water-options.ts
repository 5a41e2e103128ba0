import { readFile } from 'node:fs/promises';
import path from 'node:path';
import { plainSystemError } from '../survey/system-errors.js';
import type { Desk, WaterUse } from '../survey/desk.js';
import type { CommandArguments, OptionSpec } from './command.js';
import { textOption } from './settings-options.js';

/** What depths are reduced with, where it comes from a file or a figure. */
export const WATER_OPTIONS: Readonly<Record<string, OptionSpec>> = {
  datum: { type: 'string', value: 'NAME', help: 'what depths are below, e.g. "chart datum"; water levels are heights above it' },
  'water-level': { type: 'string', value: 'WHAT', help: 'readings of a gauge (CSV), constituents (JSON), one height above the datum in metres, or none; a file is kept under water/' },
  'sound-speed': { type: 'string', value: 'WHAT', help: 'a cast (CSV), one speed in m/s, or as-set; a file is kept under water/' },
};

const NONE: Readonly<Record<WaterUse, string>> = { level: 'none', 'sound-speed': 'as-set' };

/** Settings of these options that need no file. */
export function waterSettings(given: CommandArguments): Readonly<Record<string, unknown>> {
  const [level, speed] = [figureOf(given, 'water-level'), figureOf(given, 'sound-speed')];
  return {
    datum: textOption(given, 'datum'),
    'water.level': level === NONE.level ? { kind: 'none' } : typeof level === 'number' ? { kind: 'constant', levelM: level } : undefined,
    'water.soundSpeed': speed === NONE['sound-speed'] ? { kind: 'as-set' } : typeof speed === 'number' ? { kind: 'constant', soundSpeedMps: speed } : undefined,
  };
}

/** Takes the files of these options in; what was done, in words. @throws FormatError, UseError */
export async function takeWaterFiles(desk: Desk, given: CommandArguments): Promise<string[]> {
  const said: string[] = [];
  for (const [option, use] of [['water-level', 'level'], ['sound-speed', 'sound-speed']] as const) {
    const what = figureOf(given, option);
    if (typeof what !== 'string' || what === NONE[use]) continue;
    const bytes = await readFile(what).catch((error: unknown) => {
      throw plainSystemError(error, what);
    });
    said.push(await desk.takeWater(use, path.basename(what), bytes));
  }
  return said;
}

/** A number where it is one, else the text. */
function figureOf(given: CommandArguments, option: string): number | string | undefined {
  const text = textOption(given, option)?.trim();
  const value = text === undefined || text === '' ? NaN : Number(text);
  return Number.isFinite(value) ? value : text;
}
