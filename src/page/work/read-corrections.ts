import { parquetMetadataAsync, parquetRead } from 'hyparquet';
import { CORRECTIONS } from '../../depths/corrections.js';
import type { CorrectionCurve, LoadedCorrections } from './depths-messages.js';

/** What the file says of one column. */
interface CorrectionNote {
  readonly column: string;
  readonly label?: string;
  readonly on?: boolean;
  readonly horizontal?: boolean;
}

/** Settings of switches that do not stand with the others. */
const ELSEWHERE: Readonly<Record<string, string>> = { slope: 'sounder.slopeCorrection' };

/**
 * What a corrections file says of its columns: a JSON list under the key `corrections`, or an object by column name.
 * A file that says nothing has columns named for what they are, all applied.
 */
export function correctionNotes(metadata: readonly { readonly key: string; readonly value?: string }[]): readonly CorrectionNote[] {
  const text = metadata.find(({ key }) => key === 'corrections')?.value;
  if (text === undefined) return [];
  const said = JSON.parse(text) as readonly CorrectionNote[] | Readonly<Record<string, Omit<CorrectionNote, 'column'>>>;
  return Array.isArray(said) ? (said as readonly CorrectionNote[]) : Object.entries(said).map(([column, note]) => ({ ...note, column }) as CorrectionNote);
}

/** A column of metres as one curve. */
export function correctionCurve(column: string, valueM: Float32Array, note: CorrectionNote | undefined): CorrectionCurve {
  let [leastM, mostM] = [Infinity, -Infinity];
  for (const value of valueM) {
    if (value < leastM) leastM = value;
    if (value > mostM) mostM = value;
  }
  const name = CORRECTIONS.find((one) => one.column === column)?.switch;
  return {
    column,
    label: note?.label ?? column.replace(/M$/, '').replace(/([a-z])([A-Z])/g, '$1 $2').toLowerCase(),
    on: note?.on ?? true,
    horizontal: note?.horizontal ?? /(Along|Across)M$/.test(column),
    setting: name == null ? null : (ELSEWHERE[name] ?? `corrections.${name}`),
    valueM,
    leastM: mostM >= leastM ? leastM : NaN,
    mostM: mostM >= leastM ? mostM : NaN,
  };
}

/**
 * Reads the corrections of a survey's soundings.
 * @returns null where the file is not there yet
 */
export async function readCorrections(url: string, signal: AbortSignal): Promise<LoadedCorrections | null> {
  const response = await fetch(url, { signal });
  if (response.status === 404) return null;
  if (!response.ok) throw new Error(`the server answered ${response.status}`);
  const file = await response.arrayBuffer();
  const metadata = await parquetMetadataAsync(file);
  const n = Number(metadata.num_rows);
  const names = metadata.schema.slice(1).map(({ name }) => name).filter((name) => name !== 'timeS' && /M$/.test(name));
  const timeS = new Float64Array(n);
  const columns = new Map<string, Float32Array | Float64Array>([['timeS', timeS], ...names.map((name) => [name, new Float32Array(n)] as const)]);
  await parquetRead({
    file,
    metadata,
    columns: ['timeS', ...names],
    onChunk: ({ columnName, columnData, rowStart }) => {
      const column = columns.get(columnName);
      if (column !== undefined) for (let i = 0; i < columnData.length; i++) column[rowStart + i] = columnData[i] === null ? NaN : Number(columnData[i]);
    },
  });
  const notes = correctionNotes(metadata.key_value_metadata ?? []);
  return { timeS, curves: names.map((name) => correctionCurve(name, columns.get(name) as Float32Array, notes.find(({ column }) => column === name))) };
}
