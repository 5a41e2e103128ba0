import { bytesSource } from '../base/byte-source.js';
import { UseError } from '../base/errors.js';
import { readLevelSeries, readTideJson } from '../formats/water-level-file.js';
import { writeAtomic } from './atomic-file.js';
import type { SettingChange, WaterUse } from './desk.js';
import { hashBytes } from './file-source.js';
import { placeIn } from './folder.js';
import { freeName } from './free-name.js';
import type { Settings } from './settings.js';
import { checkCastFile } from './water-files.js';

/** A file that was kept, and the setting that goes by it. */
export interface TakenWater {
  readonly file: string;
  readonly change: SettingChange;
  /** What was found out about it, in plain words. */
  readonly notes: readonly string[];
}

/**
 * Keeps a file of the water byte for byte under water/: readings of a gauge (CSV) or constituents (JSON) for the level, casts
 * (CSV) for the sound speed. It is read as a build reads it first; one that cannot be used leaves nothing behind.
 *
 * @param name the file's own name
 * @throws FormatError, UseError naming the line and what is wrong
 */
export async function keepWaterFile(folder: string, settings: Settings, use: WaterUse, name: string, bytes: Uint8Array): Promise<TakenWater> {
  if (bytes.byteLength === 0) throw new UseError(`${name} is empty`, { path: name });
  const source = bytesSource(name, bytes);
  const keep = async (): Promise<string> => {
    const sha256 = hashBytes(bytes);
    const file = `water/${await freeName(folder, 'water', name, sha256)}`;
    await writeAtomic(placeIn(folder, file), bytes);
    return file;
  };
  if (use === 'level') {
    const predicted = /\.json$/i.test(name);
    if (predicted) readTideJson(new TextDecoder().decode(bytes), name);
    else await readLevelSeries(source);
    const file = await keep();
    return { file, change: { path: 'water.level', value: { kind: predicted ? 'constituents' : 'series', file } }, notes: [] };
  }
  const { soundSpeed } = settings.water;
  const formula = 'formula' in soundSpeed ? soundSpeed.formula : 'teos10';
  const notes = await checkCastFile(source, formula);
  const file = await keep();
  return { file, change: { path: 'water.soundSpeed', value: { kind: 'profile', file, formula } }, notes };
}
