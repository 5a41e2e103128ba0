import { readFile } from 'node:fs/promises';
import { UseError } from '../base/errors.js';
import { convergenceDeg } from '../geo/bearing.js';
import type { Frame } from '../geo/frame.js';
import { parseCurrentCsv } from '../formats/current-csv.js';
import { parseCurrentJson } from '../formats/current-json.js';
import { readGeoTiff } from '../formats/geotiff-read.js';
import type { Place } from '../rehearse/rehearsal.js';
import { constantCurrent, type CurrentField } from '../water/current-field.js';
import { currentFromParsed } from '../water/current-parsed.js';
import { currentFromRaster } from '../water/current-raster.js';
import { velocityFromSet } from '../water/current-vector.js';
import type { WaterLevel } from '../water/level.js';
import { openFileSource } from './file-source.js';
import { insideFolder } from './folder.js';
import type { Settings } from './settings.js';

/** A larger text is not a table of currents. */
const MOST_BYTES = 64 * 2 ** 20;

/** Times a current is wanted for, UTC [s]. */
export interface CurrentSpan {
  readonly startS: number;
  readonly endS: number;
}

/**
 * The current of a survey as its settings say; still water where they say none.
 * @param level the survey's tide, for a stream table without high waters of its own
 * @throws UseError, FormatError naming file and line
 */
export async function currentOf(folder: string, settings: Settings, frame: Frame, near: Place, level: WaterLevel | null, span: CurrentSpan): Promise<CurrentField> {
  const { current } = settings.water;
  if (current.kind === 'none') return constantCurrent(0, 0, 0, 'no current is reckoned with');
  const convergence = convergenceDeg(frame, near.xM, near.yM);
  if (current.kind === 'constant') {
    const [xMps, yMps] = velocityFromSet(current.speedMps, current.setDeg, convergence);
    return constantCurrent(xMps, yMps, current.sigmaMps, `${current.speedMps} m/s towards ${current.setDeg} degrees, as set`);
  }
  const file = insideFolder(folder, current.file, 'water.current.file');
  try {
    if (/\.tiff?$/i.test(current.file)) return await rasterCurrent(file, current.file, frame, convergence);
    const bytes = await readFile(file).catch((error: NodeJS.ErrnoException) => {
      throw new UseError(`${current.file}: ${error.code === 'ENOENT' ? 'there is no such file in the survey folder; put it there, or change water.current' : error.message}`, { path: 'water.current.file' });
    });
    if (bytes.byteLength > MOST_BYTES) throw new UseError(`${current.file}: ${Math.round(bytes.byteLength / 2 ** 20)} MiB: expected a table of currents of at most ${MOST_BYTES / 2 ** 20} MiB`, { path: 'water.current.file' });
    const text = bytes.toString('utf8');
    const parsed = /^\s*\{/.test(text.replace(/^\uFEFF/, '')) ? parseCurrentJson(text, current.file) : parseCurrentCsv(text, current.file);
    return currentFromParsed(parsed, { convergenceDeg: convergence, startS: span.startS, endS: span.endS, source: current.file, ...(level === null ? {} : { level }) });
  } catch (error) {
    throw error instanceof RangeError ? new UseError(`${current.file}: ${error.message}`, { path: 'water.current.file' }) : error;
  }
}

async function rasterCurrent(file: string, name: string, frame: Frame, convergence: number): Promise<CurrentField> {
  const source = await openFileSource(file);
  try {
    const tiff = await readGeoTiff(source);
    if (tiff.kind !== 'utm' || tiff.epsg !== frame.epsg) throw new UseError(`${name}: expected a raster in the survey's frame (EPSG ${frame.epsg}), found EPSG ${tiff.epsg}; project it first`, { path: 'water.current.file' });
    const [east, north] = tiff.bands;
    if (east === undefined || north === undefined) throw new UseError(`${name}: expected two bands, the current towards east and towards north in m/s, found ${tiff.bands.length}`, { path: 'water.current.file' });
    return currentFromRaster({ grid: tiff.grid, frames: [{ timeS: null, eastMps: east.values, northMps: north.values }], axes: 'true' }, { convergenceDeg: convergence, source: name });
  } finally {
    await source.close();
  }
}
