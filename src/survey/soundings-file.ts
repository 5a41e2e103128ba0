import type { Soundings } from '../depths/soundings.js';
import { writeGeoParquetPoints } from '../formats/geoparquet.js';
import type { Column } from '../formats/parquet-columns.js';
import type { Frame } from '../geo/frame.js';
import { makeAtomic } from './atomic-file.js';
import { readColumnsFile } from './columns-file.js';

/** Soundings with their places in degrees, as derived/soundings.parquet holds them. */
export interface PlacedSoundings extends Soundings {
  readonly latDeg: Float64Array;
  readonly lonDeg: Float64Array;
}

/** The columns of derived/soundings.parquet in their order, beside `geometry`; docs/formats.md gives their units. */
export const SOUNDING_COLUMNS = [
  'timeS', 'latDeg', 'lonDeg', 'xM', 'yM', 'measuredM', 'depthM', 'waterLevelM', 'tvuM', 'thuM', 'reason', 'ruleReason', 'line', 'log', 'record',
] as const;

/** Adds latitude and longitude [deg]; NaN where a sounding has no place. */
export function placeSoundings(soundings: Soundings, frame: Frame): PlacedSoundings {
  const latDeg = new Float64Array(soundings.n).fill(NaN);
  const lonDeg = new Float64Array(soundings.n).fill(NaN);
  for (let i = 0; i < soundings.n; i++) {
    const xM = soundings.xM[i] as number;
    const yM = soundings.yM[i] as number;
    if (Number.isNaN(xM) || Number.isNaN(yM)) continue;
    const [lat, lon] = frame.toGeographic(xM, yM);
    latDeg[i] = lat;
    lonDeg[i] = lon;
  }
  return { ...soundings, latDeg, lonDeg };
}

/** Writes soundings as GeoParquet. */
export function writeSoundingsFile(target: string, soundings: PlacedSoundings): Promise<{ sha256: string; bytes: number }> {
  const columns: Column[] = SOUNDING_COLUMNS.map((name) => ({ name, data: soundings[name] }));
  return makeAtomic(target, (sink) => writeGeoParquetPoints(sink, columns, soundings.lonDeg, soundings.latDeg, { metadata: { caution: 'not for navigation' } }));
}

/** Reads them back. */
export async function readSoundingsFile(file: string): Promise<PlacedSoundings> {
  const columns = await readColumnsFile(file, SOUNDING_COLUMNS);
  return { n: columns['timeS']!.length, ...columns } as unknown as PlacedSoundings;
}
