import type { ByteSource } from '../base/byte-source.js';
import { UseError } from '../base/errors.js';
import { readNeededColumns } from '../formats/csv/csv-needed.js';
import { readLevelSeries, readTideJson } from '../formats/water-level-file.js';
import { constantLevel, type WaterLevel } from '../water/level.js';
import { gaugesLevel, type PlacedLevel } from '../water/level-at-boat.js';
import { castsDiffer, castStarts, checkedCast, type CastColumns } from '../water/sound-cast-check.js';
import { soundField, type SoundCast, type SoundField } from '../water/sound-casts.js';
import { uniformSoundProfile } from '../water/sound-profile.js';
import { parseUtc } from '../base/time.js';
import { readGeoTiff } from '../formats/geotiff-read.js';
import type { Frame } from '../geo/frame.js';
import { rasterBilinearAt } from '../geo/raster.js';
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

/** Files that the water settings name, each with the setting that names it. */
export function waterFilesOf(settings: Settings): (readonly [string, string])[] {
  const { level, soundSpeed } = settings.water;
  return [
    ...('file' in level ? [['water.level.file', level.file] as const] : []),
    ...(level.kind === 'gauges' ? level.gauges.map(({ file }) => ['water.level.gauges', file] as const) : []),
    ...(level.kind === 'gnss-height' && level.separation.kind === 'raster' ? [['water.level.separation.file', level.separation.file] as const] : []),
    ...('file' in soundSpeed ? [['water.soundSpeed.file', soundSpeed.file] as const] : []),
    ...(soundSpeed.kind === 'casts' ? soundSpeed.casts.map(({ file }) => ['water.soundSpeed.casts', file] as const) : []),
  ];
}

/** A level from a file: constituents where it ends in .json, else an observed series. */
function levelFile(folder: string, file: string, setting: string): Promise<WaterLevel> {
  return file.toLowerCase().endsWith('.json')
    ? withSurveyFile(folder, file, setting, async (source) => readTideJson(new TextDecoder().decode(await source.read(0, source.byteLength)), file))
    : withSurveyFile(folder, file, setting, readLevelSeries);
}

/**
 * The water level of a survey as its settings say; not known at any time where depths hang on heights from GNSS.
 * @param frame needed where gauges have places
 * @throws UseError, FormatError naming file and line
 */
export async function waterLevelOf(folder: string, settings: Settings, frame?: Frame): Promise<WaterLevel | PlacedLevel> {
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
    case 'gnss-height':
      return { levelsAt: (timeS) => new Float64Array(timeS.length).fill(NaN), source: 'heights from GNSS' };
    case 'gauges': {
      const gauges = await Promise.all(
        level.gauges.map(async (gauge) => {
          const placed = gauge.latDeg !== null && gauge.lonDeg !== null;
          if (level.gauges.length > 1 && !(placed && frame !== undefined)) {
            throw new UseError(`survey.json: water.level.gauges: ${gauge.file}: ${placed ? 'there is no frame to place it in' : 'expected latDeg and lonDeg, since there are several gauges and each counts by its distance'}`, { path: 'water.level.gauges' });
          }
          const [xM, yM] = placed && frame !== undefined ? frame.toFrame(gauge.latDeg!, gauge.lonDeg!) : [NaN, NaN];
          return { ...gauge, name: gauge.file, level: await levelFile(folder, gauge.file, 'water.level.gauges'), xM, yM };
        }),
      );
      return { ...gaugesLevel(gauges, level.power), source: level.gauges.map(({ file }) => file).join(', ') };
    }
  }
}

/** Height of the survey datum above the ellipsoid by place in the frame [m]; null where depths do not hang on heights. @throws UseError, FormatError */
export async function separationOf(folder: string, settings: Settings, frame: Frame): Promise<((xM: number, yM: number) => number) | null> {
  const { level } = settings.water;
  if (level.kind !== 'gnss-height') return null;
  const { separation } = level;
  if (separation.kind === 'constant') return () => separation.heightM;
  return withSurveyFile(folder, separation.file, 'water.level.separation.file', async (source) => {
    const raster = await readGeoTiff(source, { bands: [0] });
    const { values } = raster.bands[0]!;
    if (raster.kind === 'utm') {
      if (raster.epsg !== frame.epsg) throw new UseError(`${separation.file}: expected EPSG:${frame.epsg}, the survey frame, or longitude and latitude (EPSG:4326), found EPSG:${raster.epsg}`, { path: 'water.level.separation.file' });
      return rasterBilinearAt({ grid: raster.grid, values });
    }
    const { westDeg, northDeg, cellLonDeg, cellLatDeg, cols, rows } = raster.grid;
    // In cells, so that a raster of degrees is read as one of metres.
    const at = rasterBilinearAt({ grid: { westM: 0, northM: 0, cellM: 1, cols, rows }, values });
    return (xM, yM) => {
      const [latDeg, lonDeg] = frame.toGeographic(xM, yM);
      return at((lonDeg - westDeg) / cellLonDeg, (latDeg - northDeg) / cellLatDeg);
    };
  });
}

/** The readings of the observed water level series, as they stand in its file; null where the level is not a series. */
export async function levelReadings(folder: string, settings: Settings): Promise<{ readonly timeS: Float64Array; readonly levelM: Float64Array; readonly label: string } | null> {
  const { level } = settings.water;
  const file = level.kind === 'series' ? level.file : level.kind === 'gauges' && level.gauges.length === 1 && !level.gauges[0]!.file.toLowerCase().endsWith('.json') ? level.gauges[0]!.file : null;
  if (file === null) return null;
  const columns = await tableOf(folder, file, 'water.level.file', ['time', 'waterLevel']);
  return { timeS: columns['time']!, levelM: columns['waterLevel']!, label: `observed series ${file}` };
}

/** The sound speed of a survey with what was found out about its casts; null where the instrument was set right. */
export interface SurveySound {
  readonly field: SoundField;
  /** In plain words: casts turned over, or at odds. */
  readonly notes: readonly string[];
}

/** @throws UseError, FormatError naming the file and what is wrong */
export async function soundOf(folder: string, settings: Settings, frame: Frame, latDeg: number): Promise<SurveySound | null> {
  const { soundSpeed } = settings.water;
  if (soundSpeed.kind === 'as-set') return null;
  try {
    if (soundSpeed.kind === 'constant') return { field: soundField([{ name: 'constant', profile: uniformSoundProfile(soundSpeed.soundSpeedMps), timeS: NaN, xM: NaN, yM: NaN }], 'nearest-in-time'), notes: [] };
    const named = soundSpeed.kind === 'profile' ? [{ file: soundSpeed.file, timeUtc: null, latDeg: null, lonDeg: null }] : soundSpeed.casts;
    const notes: string[] = [];
    const casts: SoundCast[] = [];
    for (const cast of named) {
      const columns = await tableOf(folder, cast.file, soundSpeed.kind === 'profile' ? 'water.soundSpeed.file' : 'water.soundSpeed.casts', []);
      const timeS = cast.timeUtc === null ? NaN : parseUtc(cast.timeUtc);
      if (cast.timeUtc !== null && !Number.isFinite(timeS)) throw new UseError(`survey.json: water.soundSpeed.casts: timeUtc: expected a UTC time such as 2026-06-17T08:00Z, found ${JSON.stringify(cast.timeUtc)}`, { path: 'water.soundSpeed.casts' });
      for (const [part, one] of castsIn(columns).entries()) {
        const name = part === 0 ? cast.file : `${cast.file} (${part + 1})`;
        const checked = checkedCast(one.columns, soundSpeed.formula, latDeg, name);
        notes.push(...checked.notes);
        const [lat, lon] = [cast.latDeg ?? one.latDeg, cast.lonDeg ?? one.lonDeg];
        const [xM, yM] = Number.isFinite(lat + lon) ? frame.toFrame(lat, lon) : [NaN, NaN];
        casts.push({ name, profile: checked.profile, timeS: Number.isNaN(timeS) ? one.timeS : timeS, xM, yM });
      }
    }
    if (soundSpeed.kind === 'profile') refuseUntimed(casts, soundSpeed.file);
    const rule = soundSpeed.kind === 'casts' ? soundSpeed.rule : 'between-in-time';
    return { field: soundField(casts, rule), notes: [...notes, ...castsDiffer(casts)] };
  } catch (error) {
    throw error instanceof RangeError ? new UseError(`water.soundSpeed: ${error.message}`, { path: 'water.soundSpeed' }) : error;
  }
}

/** Several casts in one file want a time each. @throws UseError */
function refuseUntimed(casts: readonly { readonly timeS: number }[], file: string): void {
  if (casts.length > 1 && casts.some(({ timeS }) => Number.isNaN(timeS))) throw new UseError(`${file}: several casts in one file, not all with a time, though depth starts again in it; give each row the time of its cast, or part the file`, { path: 'water.soundSpeed.file' });
}

/** Reads a file as one of casts, as a build would. @returns what was found out about them. @throws FormatError, UseError naming what is wrong */
export async function checkCastFile(source: ByteSource, formula: Parameters<typeof checkedCast>[1]): Promise<readonly string[]> {
  const casts = castsIn(await readNeededColumns(source, [], 'water.soundSpeed.file'));
  refuseUntimed(casts, source.name);
  // Where it was taken matters to the formula alone, not to whether it can be read.
  return casts.flatMap(({ columns }) => checkedCast(columns, formula, 45, source.name).notes);
}

/** Casts of one file: apart where the rows' time leaps by more than ten minutes, so that one file may hold a day, or where depth starts again. */
function castsIn(columns: Record<string, Float64Array | undefined>): { readonly columns: CastColumns; readonly timeS: number; readonly latDeg: number; readonly lonDeg: number }[] {
  const rows = Object.values(columns)[0]?.length ?? 0;
  const time = columns['time'];
  const again = castStarts(columns['depth'] ?? columns['pressure'] ?? new Float64Array(0));
  const starts = [0];
  for (let i = 1; i < rows; i++) if (again.has(i) || (time !== undefined && Math.abs(time[i]! - time[i - 1]!) > 600)) starts.push(i);
  return starts.map((start, k) => {
    const end = starts[k + 1] ?? rows;
    const part = (name: string): Float64Array | undefined => columns[name]?.subarray(start, end);
    return {
      // A depth column without a value above 0 is read as heights; the check says so.
      columns: { depth: part('depth') ?? part('elevation'), pressure: part('pressure'), soundSpeed: part('soundSpeed'), waterTemperature: part('waterTemperature'), salinity: part('salinity') },
      timeS: time?.[start] ?? NaN,
      latDeg: columns['lat']?.[start] ?? NaN,
      lonDeg: columns['lon']?.[start] ?? NaN,
    };
  });
}
