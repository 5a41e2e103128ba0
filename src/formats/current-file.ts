import type { ByteSource } from '../base/byte-source.js';
import { UseError } from '../base/errors.js';
import { constantCurrent, type CurrentField } from '../water/current-field.js';
import { currentFromParsed, type ParsedCurrent } from '../water/current-parsed.js';
import { currentFromRaster, type CurrentRaster } from '../water/current-raster.js';
import { velocityFromSet } from '../water/current-vector.js';
import type { WaterLevel } from '../water/level.js';
import { parseCurrentCsv } from './current-csv.js';
import { parseCurrentJson } from './current-json.js';
import { readGeoTiff } from './geotiff-read.js';

/** A larger text is not a table of currents. */
const MOST_BYTES = 64 * 2 ** 20;
const SETTING = 'water.current.file';
const DAY_S = 86_400;

/** The `water.current` setting. */
export type CurrentSetting =
  | { readonly kind: 'none' }
  | { readonly kind: 'constant'; readonly speedMps: number; readonly setDeg: number; readonly sigmaMps: number }
  | { readonly kind: 'file'; readonly file: string };

/** What a current file holds, read once. */
export type CurrentFile = { readonly kind: 'parsed'; readonly parsed: ParsedCurrent } | { readonly kind: 'raster'; readonly raster: CurrentRaster; readonly epsg: number };

/** Times a current is wanted for, UTC [s]. */
export interface CurrentSpan {
  readonly startS: number;
  readonly endS: number;
}

/**
 * Times a current is laid for where sorties leave between two times: whole days, one before and three after, so that every start
 * of a day meets the same current.
 */
export function currentSpan(fromS: number, toS = fromS): CurrentSpan {
  return { startS: (Math.floor(fromS / DAY_S) - 1) * DAY_S, endS: (Math.floor(toS / DAY_S) + 4) * DAY_S };
}

/** Reads a current file: CSV, JSON, or a GeoTIFF of vectors, told by its name and its first sign. @throws FormatError, UseError naming the file */
export async function readCurrentFile(source: ByteSource): Promise<CurrentFile> {
  const { name } = source;
  if (/\.tiff?$/i.test(name)) {
    const tiff = await readGeoTiff(source);
    const [east, north] = tiff.bands;
    if (tiff.kind !== 'utm') throw new UseError(`${name}: expected a raster in a UTM frame, found one in degrees; project it first`, { path: SETTING });
    if (east === undefined || north === undefined) throw new UseError(`${name}: expected two bands, the current towards east and towards north in m/s, found ${tiff.bands.length}`, { path: SETTING });
    return { kind: 'raster', raster: { grid: tiff.grid, frames: [{ timeS: null, eastMps: east.values, northMps: north.values }], axes: 'true' }, epsg: tiff.epsg };
  }
  if (source.byteLength > MOST_BYTES) throw new UseError(`${name}: ${Math.round(source.byteLength / 2 ** 20)} MiB: expected a table of currents of at most ${MOST_BYTES / 2 ** 20} MiB`, { path: SETTING });
  const text = new TextDecoder().decode(await source.read(0, source.byteLength));
  return { kind: 'parsed', parsed: /^\s*\{/.test(text) ? parseCurrentJson(text, name) : parseCurrentCsv(text, name) };
}

/**
 * The current as the settings say; still water where they say none.
 * @param file what `readCurrentFile` gave for a setting of kind `file`, else null
 * @param level the survey's tide, for a stream table without high waters of its own
 * @throws UseError where the file cannot be used here
 */
export function currentOfSetting(setting: CurrentSetting, file: CurrentFile | null, about: { readonly convergenceDeg: number; readonly epsg: number; readonly level: WaterLevel | null; readonly span: CurrentSpan }): CurrentField {
  const { convergenceDeg, level, span } = about;
  if (setting.kind === 'none') return constantCurrent(0, 0, 0, 'no current is reckoned with');
  if (setting.kind === 'constant') {
    const [xMps, yMps] = velocityFromSet(setting.speedMps, setting.setDeg, convergenceDeg);
    return constantCurrent(xMps, yMps, setting.sigmaMps, `${setting.speedMps} m/s towards ${setting.setDeg} degrees, as set`);
  }
  const name = setting.file;
  if (file === null) throw new UseError(`${name}: it was not read`, { path: SETTING });
  try {
    if (file.kind === 'raster') {
      if (file.epsg !== about.epsg) throw new UseError(`${name}: expected a raster in the survey's frame (EPSG ${about.epsg}), found EPSG ${file.epsg}; project it first`, { path: SETTING });
      return currentFromRaster(file.raster, { convergenceDeg, source: name });
    }
    return currentFromParsed(file.parsed, { convergenceDeg, startS: span.startS, endS: span.endS, source: name, ...(level === null ? {} : { level }) });
  } catch (error) {
    throw error instanceof RangeError ? new UseError(`${name}: ${error.message}`, { path: SETTING }) : error;
  }
}
