import { z } from 'zod';
import { UseError } from '../base/errors.js';
import { guessCsvMapping } from '../formats/csv/csv-mapping.js';
import { readCsvTable } from '../formats/csv/csv-table.js';
import { constantLevel, seriesLevel, type WaterLevel } from '../water/level.js';
import { createSoundProfile, uniformSoundProfile, type SoundProfile } from '../water/sound-profile.js';
import { predictTide } from '../water/tide.js';
import { openFileSource } from './file-source.js';
import { insideFolder, readTextIfThere } from './folder.js';
import type { Settings } from './settings.js';

/**
 * Readings further apart than this are not joined: one hourly reading may be missing, which costs 11 mm per metre of
 * semidiurnal amplitude; two missing would cost 0.27 m (docs/methods.md) [s].
 */
const LEVEL_GAP_S = 2 * 3600 + 1;

/** Columns of a CSV in the survey folder, by what they hold. @throws FormatError, UseError */
async function tableOf(folder: string, file: string, setting: string, needed: readonly string[]): Promise<Record<string, Float64Array>> {
  const full = insideFolder(folder, file, setting);
  const source = await openFileSource(full);
  try {
    const mapping = guessCsvMapping(await source.read(0, 1 << 16));
    if (mapping === null) throw new UseError(`${file}: expected a CSV with a header (${needed.join(', ')}), found something else; see docs/formats.md`, { path: setting });
    const table = await readCsvTable(source, mapping);
    const columns: Record<string, Float64Array | undefined> = { ...table.columns, ...(table.timeS === null ? {} : { time: table.timeS }) };
    const missing = needed.filter((name) => columns[name] === undefined);
    if (missing.length > 0) {
      const found = mapping.columns.map((column) => `${column.name}${column.quantity === null ? '' : ` (${column.quantity})`}`).join(', ');
      throw new UseError(`${file}: no column for ${missing.join(' and ')}: expected ${needed.join(', ')}, found ${found}; name the columns as docs/formats.md says`, { path: setting });
    }
    return columns as Record<string, Float64Array>;
  } finally {
    await source.close();
  }
}

const constituentsSchema = z.strictObject({
  meanLevelM: z.number().finite().default(0),
  constituents: z.array(z.strictObject({ name: z.string(), amplitudeM: z.number().nonnegative(), phaseDeg: z.number() })).min(1),
});

/** The water level of a survey as its settings say. @throws UseError, FormatError naming file and line */
export async function waterLevelOf(folder: string, settings: Settings): Promise<WaterLevel> {
  const { level } = settings.water;
  switch (level.kind) {
    case 'none':
      return constantLevel(0);
    case 'constant':
      return constantLevel(level.levelM);
    case 'series': {
      const columns = await tableOf(folder, level.file, 'water.level.file', ['time', 'waterLevel']);
      try {
        return seriesLevel(columns['time']!, columns['waterLevel']!, LEVEL_GAP_S);
      } catch (error) {
        throw error instanceof RangeError ? new UseError(`${level.file}: ${error.message}`, { path: 'water.level.file' }) : error;
      }
    }
    case 'constituents': {
      const file = insideFolder(folder, level.file, 'water.level.file');
      const text = await readTextIfThere(file);
      if (text === null) throw new UseError(`${level.file}: there is no such file in the survey folder; put it there, or change water.level`, { path: 'water.level.file' });
      let value: unknown;
      try {
        value = JSON.parse(text);
      } catch (error) {
        throw new UseError(`${level.file}: not valid JSON: ${(error as Error).message}`, { path: 'water.level.file' });
      }
      const parsed = constituentsSchema.safeParse(value);
      if (!parsed.success) {
        const issue = parsed.error.issues[0]!;
        throw new UseError(`${level.file}: ${issue.path.join('.')}: ${issue.message}; expected {"meanLevelM": ..., "constituents": [{"name": "M2", "amplitudeM": ..., "phaseDeg": ...}]}`, { path: 'water.level.file' });
      }
      try {
        return predictTide(parsed.data.constituents, parsed.data.meanLevelM);
      } catch (error) {
        throw error instanceof RangeError ? new UseError(`${level.file}: ${error.message}`, { path: 'water.level.file' }) : error;
      }
    }
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
