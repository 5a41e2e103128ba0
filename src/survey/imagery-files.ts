import type { BottomTrack } from '../imagery/bottom-track.js';
import { withPings, type LearnedGain, type SurveyGain } from '../imagery/learned-gain.js';
import type { SonarTrack } from '../imagery/sonar-track.js';
import { writeParquet, type Column, type ColumnData } from '../formats/parquet-columns.js';
import { makeAtomic, writeMade } from './atomic-file.js';
import { readColumnsFile } from './columns-file.js';
import { isThere, placeIn, readTextIfThere } from './folder.js';

/** Where the side-scan steps put what they make. */
export const IMAGERY_PLACES = {
  bottom: 'derived/imagery/bottom.parquet',
  bottomFigures: 'derived/imagery/bottom.json',
  track: 'derived/imagery/sonar-track.parquet',
  clock: 'derived/imagery/clock.json',
  gain: 'derived/imagery/gain.json',
  pingGain: 'derived/imagery/gain.parquet',
  mosaic: 'derived/imagery/mosaic.tif',
  mosaicFigures: 'derived/imagery/mosaic.json',
} as const;

/** A line's own picture. */
export function linePicturePlace(line: number): string {
  return `derived/imagery/lines/line-${String(line).padStart(3, '0')}.tif`;
}

const BOTTOM_COLUMNS = ['heightM', 'heightSigmaM', 'confidence', 'source'] as const;
const TRACK_COLUMNS = ['timeS', 'xM', 'yM', 'headingDeg', 'courseDeg', 'speedMps', 'sigmaM', 'headingSigmaDeg', 'line', 'fault', 'gridHeadingDeg', 'portSlope', 'starboardSlope'] as const;

async function writeColumns(folder: string, place: string, names: readonly string[], table: Readonly<Record<string, unknown>>): Promise<{ sha256: string; bytes: number }> {
  const columns: Column[] = names.map((name) => ({ name, data: table[name] as ColumnData }));
  return makeAtomic(placeIn(folder, place), (sink) => writeParquet(sink, columns));
}

async function readColumns(folder: string, place: string, names: readonly string[]): Promise<Record<string, ColumnData> | null> {
  if (!(await isThere(placeIn(folder, place)))) return null;
  return readColumnsFile(placeIn(folder, place), names);
}

export async function writeText(folder: string, place: string, value: unknown): Promise<{ sha256: string; bytes: number }> {
  const text = `${JSON.stringify(value, null, 2)}\n`;
  return writeMade(placeIn(folder, place), text);
}

export function writeBottom(folder: string, bottom: BottomTrack): Promise<{ sha256: string; bytes: number }> {
  return writeColumns(folder, IMAGERY_PLACES.bottom, BOTTOM_COLUMNS, { ...bottom });
}

/** The bottom track as it stands; null where there is none. */
export async function readBottom(folder: string): Promise<BottomTrack | null> {
  const columns = await readColumns(folder, IMAGERY_PLACES.bottom, BOTTOM_COLUMNS);
  return columns === null ? null : ({ n: columns['heightM']!.length, ...columns } as unknown as BottomTrack);
}

export function writeSonarTrack(folder: string, track: SonarTrack): Promise<{ sha256: string; bytes: number }> {
  return writeColumns(folder, IMAGERY_PLACES.track, TRACK_COLUMNS, { ...track });
}

/** The sonar's track as it stands; null where there is none. */
export async function readSonarTrack(folder: string): Promise<SonarTrack | null> {
  const columns = await readColumns(folder, IMAGERY_PLACES.track, TRACK_COLUMNS);
  return columns === null ? null : ({ n: columns['timeS']!.length, ...columns } as unknown as SonarTrack);
}

export async function writeGain(folder: string, gain: SurveyGain): Promise<Record<string, { sha256: string; bytes: number }>> {
  const { portPingDb, starboardPingDb, ...learned } = gain;
  return {
    [IMAGERY_PLACES.gain]: await writeText(folder, IMAGERY_PLACES.gain, learned),
    [IMAGERY_PLACES.pingGain]: await writeColumns(folder, IMAGERY_PLACES.pingGain, ['portPingDb', 'starboardPingDb'], { portPingDb, starboardPingDb }),
  };
}

/** The learned gain with what each ping is off its neighbours, as it stands; null where there is none. */
export async function readGain(folder: string): Promise<SurveyGain | null> {
  const text = await readTextIfThere(placeIn(folder, IMAGERY_PLACES.gain));
  const columns = await readColumns(folder, IMAGERY_PLACES.pingGain, ['portPingDb', 'starboardPingDb']);
  if (text === null || columns === null) return null;
  const learned = JSON.parse(text) as LearnedGain;
  return { ...withPings(learned, 0), portPingDb: columns['portPingDb'] as Float32Array, starboardPingDb: columns['starboardPingDb'] as Float32Array };
}
