import { mkdir, readFile, readdir, rm, stat } from 'node:fs/promises';
import path from 'node:path';
import { UseError } from '../base/errors.js';
import { TEMPORARY_PREFIX, writeAtomic } from './atomic-file.js';
import { defaultSettings, parseSettings, settingsText } from './load-settings.js';
import type { Settings, SettingsInput } from './settings.js';
import { plainSystemError, withPlainErrors } from './system-errors.js';

/** The folders of a survey, in the order of a day. */
export const SURVEY_FOLDERS = ['plan', 'boat', 'water', 'logs', 'derived', 'products'] as const;

/** Where things stand in a survey folder, relative to it, with forward slashes. */
export const PLACES = {
  settings: 'survey.json',
  journal: 'journal.jsonl',
  manifest: 'logs/manifest.json',
  area: 'plan/area.geojson',
  keepouts: 'plan/keepouts.geojson',
  shore: 'plan/shore.geojson',
  lines: 'plan/lines.geojson',
  linesGpx: 'plan/routes/lines.gpx',
  linesCsv: 'plan/routes/lines.csv',
  sorties: 'plan/sorties.json',
  tracks: 'derived/tracks.parquet',
  soundings: 'derived/soundings.parquet',
  corrections: 'derived/corrections.parquet',
  crossings: 'derived/crossings.json',
  surface: 'derived/surface/surface.tif',
  contours: 'derived/contours.geojson',
  gaps: 'derived/gaps.geojson',
  fillIn: 'derived/fill-in.geojson',
} as const;

/** A place in the folder as a path of this machine. */
export function placeIn(folder: string, place: string): string {
  return path.join(folder, ...place.split('/'));
}

/**
 * A path given by the user or a setting, held inside the survey folder.
 * @throws UseError where it would lead outside
 */
export function insideFolder(folder: string, relative: string, setting: string): string {
  const resolved = path.resolve(folder, relative);
  const inside = path.relative(path.resolve(folder), resolved);
  if (inside === '' || inside.startsWith('..') || path.isAbsolute(inside)) {
    throw new UseError(`${setting}: expected a file inside the survey folder, found ${JSON.stringify(relative)}; copy the file into the folder and name it there`, {
      path: setting,
      found: relative,
    });
  }
  return resolved;
}

/** A file's text, or null where it does not exist. */
export async function readTextIfThere(file: string): Promise<string | null> {
  try {
    return await readFile(file, 'utf8');
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return null;
    throw plainSystemError(error, file);
  }
}

/** Whether a file or folder exists. */
export async function isThere(file: string): Promise<boolean> {
  return stat(file).then(
    () => true,
    () => false,
  );
}

/**
 * Makes a new survey folder.
 * @throws UseError where the folder already holds a survey, or files that are not one
 */
export async function createFolder(folder: string, input: Partial<SettingsInput> & { name: string }): Promise<Settings> {
  if (await isThere(placeIn(folder, PLACES.settings))) {
    throw new UseError(`${folder}: there is a survey here already; choose another folder, or work with this one`, { path: folder });
  }
  const settings = defaultSettings(input);
  await withPlainErrors(folder, async () => {
    await mkdir(folder, { recursive: true });
    const others = (await readdir(folder)).filter((name) => !name.startsWith('.'));
    if (others.length > 0) {
      throw new UseError(`${folder}: the folder is not empty (${others.slice(0, 3).join(', ')}${others.length > 3 ? ', ...' : ''}); choose an empty or new folder`, { path: folder });
    }
    for (const name of SURVEY_FOLDERS) await mkdir(path.join(folder, name), { recursive: true });
  });
  await writeAtomic(placeIn(folder, PLACES.journal), '');
  await writeAtomic(placeIn(folder, PLACES.settings), settingsText(settings));
  return settings;
}

/**
 * Reads a survey's settings.
 * @throws UseError where the folder is not a survey, is from a newer version, or a setting is wrong
 */
export async function readSettings(folder: string): Promise<Settings> {
  const file = placeIn(folder, PLACES.settings);
  const text = await readTextIfThere(file);
  if (text === null) {
    const there = await isThere(folder);
    throw new UseError(
      there
        ? `${folder}: there is no survey.json here, so this is not a survey folder; make one with: tallow new ${folder}`
        : `${folder}: there is no such folder; make a survey with: tallow new ${folder}`,
      { path: folder, fix: `tallow new ${folder}` },
    );
  }
  return parseSettings(text, file);
}

/** Removes temporary files that a crash left behind; gives their names. */
export async function sweepTemporary(folder: string): Promise<string[]> {
  const swept: string[] = [];
  const walk = async (at: string): Promise<void> => {
    const entries = await readdir(at, { withFileTypes: true }).catch(() => []);
    for (const entry of entries) {
      const full = path.join(at, entry.name);
      if (entry.isDirectory() && entry.name !== 'node_modules') await walk(full);
      else if (entry.isFile() && entry.name.startsWith(TEMPORARY_PREFIX)) {
        await rm(full, { force: true });
        swept.push(path.relative(folder, full));
      }
    }
  };
  await walk(folder);
  return swept;
}
