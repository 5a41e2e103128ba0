import type { ByteSource } from '../base/byte-source.js';
import { UseError } from '../base/errors.js';
import { readNeededColumns } from '../formats/csv/csv-needed.js';
import { readLevelSeries, readTideJson } from '../formats/water-level-file.js';
import { constantLevel, type WaterLevel } from '../water/level.js';
import { createSoundProfile, uniformSoundProfile, type SoundProfile } from '../water/sound-profile.js';
import { openFileSource } from './file-source.js';
import { insideFolder, isThere } from './folder.js';
import type { Settings } from './settings.js';

/** Columns of a CSV in the survey folder, by what they hold. @throws FormatError, UseError */
async function tableOf(folder: string, file: string, setting: string, needed: readonly string[]): Promise<Record<string, Float64Array>> {
  return withSurveyFile(folder, file, setting, (source) => readNeededColumns(source, needed, setting));
}

/** Does something with a file that the settings name, inside the survey folder. @throws UseError where it is not there; what `use` throws */
export async function withSurveyFile<Result>(folder: string, file: string, setting: string, use: (source: ByteSource) => Promise<Result>): Promise<Result> {
  const full = insideFolder(folder, file, setting);
  if (!(await isThere(full))) throw new UseError(`${file}: there is no such file in the survey folder; put it there, or change ${setting.replace(/\.file$/, '')}`, { path: setting });
  const source = await openFileSource(full, file);
  try {
    return await use(source);
  } finally {
    await source.close();
  }
}

/** The water level of a survey as its settings say. @throws UseError, FormatError naming file and line */
export async function waterLevelOf(folder: string, settings: Settings): Promise<WaterLevel> {
  const { level } = settings.water;
  switch (level.kind) {
    case 'none':
      return constantLevel(0);
    case 'constant':
      return constantLevel(level.levelM);
    case 'series':
      return withSurveyFile(folder, level.file, 'water.level.file', readLevelSeries);
    case 'constituents':
      return withSurveyFile(folder, level.file, 'water.level.file', async (source) => readTideJson(new TextDecoder().decode(await source.read(0, source.byteLength)), level.file));
  }
}

/** The readings of the observed water level series, as they stand in its file; null where the level is not a series. */
export async function levelReadings(folder: string, settings: Settings): Promise<{ readonly timeS: Float64Array; readonly levelM: Float64Array; readonly label: string } | null> {
  const { level } = settings.water;
  if (level.kind !== 'series') return null;
  const columns = await tableOf(folder, level.file, 'water.level.file', ['time', 'waterLevel']);
  return { timeS: columns['time']!, levelM: columns['waterLevel']!, label: `observed series ${level.file}` };
}

/** The sound-speed profile of a survey; null where the instrument was set right. @throws UseError, FormatError */
export async function soundProfileOf(folder: string, settings: Settings): Promise<SoundProfile | null> {
  const { soundSpeed } = settings.water;
  if (soundSpeed.kind === 'as-set') return null;
  try {
    if (soundSpeed.kind === 'constant') return uniformSoundProfile(soundSpeed.soundSpeedMps);
    const columns = await tableOf(folder, soundSpeed.file, 'water.soundSpeed.file', ['depth', 'soundSpeed']);
    return createSoundProfile(columns['depth']!, columns['soundSpeed']!);
  } catch (error) {
    throw error instanceof RangeError ? new UseError(`water.soundSpeed: ${error.message}`, { path: 'water.soundSpeed' }) : error;
  }
}
