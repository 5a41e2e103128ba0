import { SERIES, type FixColumns, type LogObservations, type PingColumns, type SeriesColumns, type SeriesName } from '../base/observations.js';
import { openParquetWriter, type ColumnKind, type ParquetWriter } from '../formats/parquet-columns.js';
import { openAtomic, type AtomicFile } from './atomic-file.js';
import { readColumnsFile } from './columns-file.js';
import { placeIn } from './folder.js';
import type { Made } from './step-graph.js';

/** Part of a log's observations, as a reader hands them on. */
export interface ObservationPart {
  readonly fixes?: FixColumns;
  readonly pings?: PingColumns;
  readonly series?: Partial<Record<SeriesName, SeriesColumns>>;
}

const SERIES_NAMES = Object.keys(SERIES) as SeriesName[];

type Schema = readonly { readonly name: string; readonly kind: ColumnKind }[];

const FIX_SCHEMA: Schema = [
  { name: 'timeS', kind: 'float64' },
  { name: 'latDeg', kind: 'float64' },
  { name: 'lonDeg', kind: 'float64' },
  { name: 'heightM', kind: 'float32' },
  { name: 'geoidM', kind: 'float32' },
  { name: 'quality', kind: 'uint8' },
  { name: 'satellites', kind: 'uint8' },
  { name: 'hdop', kind: 'float32' },
  { name: 'sigmaM', kind: 'float32' },
  { name: 'courseDeg', kind: 'float32' },
  { name: 'speedMps', kind: 'float32' },
  { name: 'record', kind: 'uint32' },
];
const PING_SCHEMA: Schema = [
  { name: 'timeS', kind: 'float64' },
  { name: 'depthM', kind: 'float32' },
  { name: 'offsetM', kind: 'float32' },
  { name: 'from', kind: 'uint8' },
  { name: 'record', kind: 'uint32' },
];
/** All series of a log in one table; `series` counts the names in the file's own footer. */
const SERIES_SCHEMA: Schema = [
  { name: 'series', kind: 'uint8' },
  { name: 'timeS', kind: 'float64' },
  { name: 'value', kind: 'float64' },
  { name: 'record', kind: 'uint32' },
];

/** The folder of a log's observations, relative to the survey. */
export function observationsPlace(logSha256: string): string {
  return `derived/observations/${logSha256.slice(0, 16)}`;
}

/** Somewhere to put a log's observations while it is read; they appear when committed, whole. */
export interface ObservationWriter {
  add(part: ObservationPart): Promise<void>;
  commit(): Promise<Made>;
  abandon(): Promise<void>;
}

/** Opens the three tables of a log for writing; memory stays at a row group a table. */
export async function openObservationWriter(folder: string, logSha256: string): Promise<ObservationWriter> {
  const place = observationsPlace(logSha256);
  const places = [`${place}/fixes.parquet`, `${place}/pings.parquet`, `${place}/series.parquet`] as const;
  const files: AtomicFile[] = [];
  for (const one of places) files.push(await openAtomic(placeIn(folder, one)));
  const [fixFile, pingFile, seriesFile] = files as [AtomicFile, AtomicFile, AtomicFile];
  const fixWriter = openParquetWriter(fixFile, FIX_SCHEMA);
  const pingWriter = openParquetWriter(pingFile, PING_SCHEMA);
  const seriesWriter = openParquetWriter(seriesFile, SERIES_SCHEMA, { metadata: { series: SERIES_NAMES.join(',') } });
  const addColumns = async (writer: ParquetWriter, schema: Schema, columns: FixColumns | PingColumns | undefined): Promise<void> => {
    if (columns === undefined || columns.n === 0) return;
    await writer.writeRows(schema.map(({ name }) => (columns as unknown as Record<string, Float64Array>)[name] as Float64Array));
  };
  return {
    async add(part) {
      await addColumns(fixWriter, FIX_SCHEMA, part.fixes);
      await addColumns(pingWriter, PING_SCHEMA, part.pings);
      for (const [code, name] of SERIES_NAMES.entries()) {
        const series = part.series?.[name];
        if (series === undefined || series.n === 0) continue;
        await seriesWriter.writeRows([new Uint8Array(series.n).fill(code), series.timeS, series.value, series.record]);
      }
    },
    async commit() {
      const made: Record<string, { sha256: string; bytes: number }> = {};
      for (const [index, writer] of [fixWriter, pingWriter, seriesWriter].entries()) {
        await writer.finish();
        const file = files[index] as AtomicFile;
        const sha256 = await file.commit();
        made[places[index] as string] = { sha256, bytes: file.length };
      }
      return made;
    },
    async abandon() {
      for (const file of files) await file.abandon();
    },
  };
}

/** Reads a log's observations back. @throws UseError where they are not there, FormatError where they are damaged */
export async function readObservations(folder: string, logSha256: string): Promise<LogObservations> {
  const place = observationsPlace(logSha256);
  const read = async (name: string): Promise<Record<string, ArrayLike<number>>> => (await readColumnsFile(placeIn(folder, `${place}/${name}`))) as Record<string, ArrayLike<number>>;
  const fixes = await read('fixes.parquet');
  const pings = await read('pings.parquet');
  const table = await read('series.parquet');
  return {
    fixes: { n: (fixes['timeS'] as ArrayLike<number>).length, ...fixes } as unknown as FixColumns,
    pings: { n: (pings['timeS'] as ArrayLike<number>).length, ...pings } as unknown as PingColumns,
    series: splitSeries(table),
  };
}

function splitSeries(table: Record<string, ArrayLike<number>>): Partial<Record<SeriesName, SeriesColumns>> {
  const code = table['series'] as Uint8Array;
  const counts = new Uint32Array(SERIES_NAMES.length);
  for (let i = 0; i < code.length; i++) counts[code[i] as number]++;
  const result: Partial<Record<SeriesName, SeriesColumns>> = {};
  const columns: SeriesColumns[] = SERIES_NAMES.map((name, index) => {
    const n = counts[index] as number;
    const series = { n, timeS: new Float64Array(n), value: new Float64Array(n), record: new Uint32Array(n) };
    if (n > 0) result[name] = series;
    return series;
  });
  const at = new Uint32Array(SERIES_NAMES.length);
  for (let i = 0; i < code.length; i++) {
    const series = columns[code[i] as number] as SeriesColumns;
    const row = at[code[i] as number]++;
    series.timeS[row] = (table['timeS'] as Float64Array)[i] as number;
    series.value[row] = (table['value'] as Float64Array)[i] as number;
    series.record[row] = (table['record'] as Uint32Array)[i] as number;
  }
  return result;
}
