import { CORRECTIONS } from '../../depths/corrections.js';
import type { CorrectionCurve, LoadedCorrections } from './depths-messages.js';
import { readColumns } from './read-columns.js';

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
  const read = await readColumns(url, { signal }, (n, metadata) => {
    const names = metadata.schema.slice(1).map(({ name }) => name).filter((name) => name !== 'timeS' && /M$/.test(name));
    return { ...Object.fromEntries(names.map((name) => [name, new Float32Array(n)])), timeS: new Float64Array(n) };
  });
  if (read === null) return null;
  const { timeS, ...columns } = read.columns;
  const notes = correctionNotes(read.metadata.key_value_metadata ?? []);
  return { timeS, curves: Object.entries(columns as Readonly<Record<string, Float32Array>>).map(([name, valueM]) => correctionCurve(name, valueM, notes.find(({ column }) => column === name))) };
}
