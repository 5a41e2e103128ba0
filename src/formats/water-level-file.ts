import type { ByteSource } from '../base/byte-source.js';
import { UseError } from '../base/errors.js';
import { seriesLevel, type WaterLevel } from '../water/level.js';
import { predictTide, type TideConstituent } from '../water/tide.js';
import { readNeededColumns } from './csv/csv-needed.js';

/**
 * Readings further apart than this are not joined: one hourly reading may be missing, which costs 11 mm per metre of
 * semidiurnal amplitude; two missing would cost 0.27 m (docs/methods.md) [s].
 */
export const LEVEL_GAP_S = 2 * 3600 + 1;

const SETTING = 'water.level.file';
const EXPECTED = 'expected {"meanLevelM": ..., "constituents": [{"name": "M2", "amplitudeM": ..., "phaseDeg": ...}]}';

/** An observed level: a CSV of time and water level. @throws FormatError, UseError naming the file and what is wrong */
export async function readLevelSeries(source: ByteSource): Promise<WaterLevel> {
  const columns = await readNeededColumns(source, ['time', 'waterLevel'], SETTING);
  return named(source.name, () => seriesLevel(columns['time']!, columns['waterLevel']!, LEVEL_GAP_S));
}

/** A predicted level: constituents as JSON. @throws UseError naming the file, the entry and what was expected */
export function readTideJson(text: string, name: string): WaterLevel {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch (error) {
    throw new UseError(`${name}: not valid JSON: ${(error as Error).message}`, { path: SETTING });
  }
  const fault = (where: string, what: string): UseError => new UseError(`${name}: ${where}: ${what}; ${EXPECTED}`, { path: SETTING });
  if (typeof value !== 'object' || value === null || Array.isArray(value)) throw fault('the file', 'expected an object');
  const { meanLevelM = 0, constituents, ...others } = value as Record<string, unknown>;
  const unknown = Object.keys(others)[0];
  if (unknown !== undefined) throw fault(unknown, 'is not known');
  if (typeof meanLevelM !== 'number' || !Number.isFinite(meanLevelM)) throw fault('meanLevelM', 'expected a number');
  if (!Array.isArray(constituents) || constituents.length === 0) throw fault('constituents', 'expected one or more');
  const read = constituents.map((each: unknown, i): TideConstituent => {
    if (typeof each !== 'object' || each === null) throw fault(`constituents.${i}`, 'expected an object');
    const { name: called, amplitudeM, phaseDeg, ...rest } = each as Record<string, unknown>;
    const odd = Object.keys(rest)[0];
    if (odd !== undefined) throw fault(`constituents.${i}.${odd}`, 'is not known');
    if (typeof called !== 'string') throw fault(`constituents.${i}.name`, 'expected a text');
    if (typeof amplitudeM !== 'number' || !(amplitudeM >= 0 && Number.isFinite(amplitudeM))) throw fault(`constituents.${i}.amplitudeM`, 'expected a number, 0 or more');
    if (typeof phaseDeg !== 'number' || !Number.isFinite(phaseDeg)) throw fault(`constituents.${i}.phaseDeg`, 'expected a number');
    return { name: called, amplitudeM, phaseDeg };
  });
  return named(name, () => predictTide(read, meanLevelM));
}

/** The level with the file it comes from; a RangeError of the level itself in words for the user. */
function named(name: string, make: () => WaterLevel): WaterLevel {
  try {
    return { ...make(), source: name };
  } catch (error) {
    throw error instanceof RangeError ? new UseError(`${name}: ${error.message}`, { path: SETTING }) : error;
  }
}
