import { parquetMetadataAsync, parquetRead } from 'hyparquet';
import type { Sortie, SortiePlan } from '../../lines/sortie.js';
import type { Mishap, MomentOutcomes, OutcomeColumns, Rehearsal, RehearsalColumns } from '../../rehearse/rehearsal.js';
import type { ShownRehearsal } from './rehearse-messages.js';

/** derived/rehearsal.json, as far as the page reads it; docs/formats.md describes it whole. */
interface RehearsalFile {
  readonly lostLink: string;
  readonly current: string;
  readonly link: { readonly why: string; readonly allowanceDb: number };
  readonly standIns: readonly string[];
  readonly sorties: readonly (Omit<Rehearsal, 'columns'> &
    Pick<MomentOutcomes, 'worstOf' | 'worst' | 'ranking' | 'turnBackByS' | 'turnBack' | 'notes'> & {
      readonly number: number;
      readonly rowStart: number;
      readonly rowEnd: number;
      readonly momentStart: number;
      readonly momentEnd: number;
    })[];
}

/** Keys whose null is a figure that is not known. */
const FIGURE = /(S|M|Mps|Deg|Db|Wh|Home|Share)$/;

/** The sorties of the folder. @returns null where there are none */
export async function readSorties(url: string, signal: AbortSignal): Promise<SortiePlan | null> {
  const answer = await fetch(url, { signal });
  if (answer.status === 404) return null;
  if (!answer.ok) throw new Error(`the server answered ${answer.status}`);
  const plan = (await answer.json()) as Omit<SortiePlan, 'sorties'> & { readonly sorties: readonly (Omit<Sortie, 'legs'> & { readonly legs: readonly (Omit<Sortie['legs'][number], 'path'> & { readonly path: readonly number[] })[] })[] };
  return { ...plan, sorties: plan.sorties.map((sortie) => ({ ...sortie, legs: sortie.legs.map((leg) => ({ ...leg, path: Float64Array.from(leg.path) })) })) };
}

/** All columns of a parquet file as doubles; NaN where a cell is empty. */
async function readColumns(url: string, signal: AbortSignal): Promise<{ readonly n: number; readonly columns: ReadonlyMap<string, Float64Array> }> {
  const answer = await fetch(url, { signal });
  if (!answer.ok) throw new Error(`the server answered ${answer.status}`);
  const file = await answer.arrayBuffer();
  const metadata = await parquetMetadataAsync(file);
  const n = Number(metadata.num_rows);
  const columns = new Map<string, Float64Array>();
  await parquetRead({
    file,
    metadata,
    onChunk: ({ columnName, columnData, rowStart }) => {
      let column = columns.get(columnName);
      if (column === undefined) columns.set(columnName, (column = new Float64Array(n).fill(NaN)));
      for (let i = 0; i < columnData.length; i++) column[rowStart + i] = columnData[i] === null ? NaN : Number(columnData[i]);
    },
  });
  return { n, columns };
}

const MISHAPS: readonly Mishap[] = ['carry-on', 'hold', 'straight-home', 'back-along-track', 'safe-lane', 'one-thruster', 'battery-less'];

/** What the folder's own rehearsal found. @returns null where there is none */
export async function readRehearsal(urls: { readonly rehearsalUrl: string; readonly columnsUrl: string; readonly momentsUrl: string }, signal: AbortSignal): Promise<ShownRehearsal | null> {
  const answer = await fetch(urls.rehearsalUrl, { signal });
  if (answer.status === 404) return null;
  if (!answer.ok) throw new Error(`the server answered ${answer.status}`);
  const file = JSON.parse(await answer.text(), (key, value: unknown) => (value === null && FIGURE.test(key) ? NaN : value)) as RehearsalFile | null;
  if (file === null) return null;
  const [rows, moments] = await Promise.all([readColumns(urls.columnsUrl, signal), readColumns(urls.momentsUrl, signal)]);
  return {
    from: 'saved',
    standIns: file.standIns,
    current: file.current,
    lostLink: file.lostLink,
    linkWhy: file.link.why,
    linkAllowanceDb: file.link.allowanceDb,
    sorties: file.sorties.map((one) => {
      const { number, verdict, totals, legs, lines, track95M, stopped, rowStart, rowEnd, momentStart, momentEnd, worstOf, worst, ranking, turnBackByS, turnBack, notes } = one;
      return {
        number,
        verdict,
        totals,
        legs,
        lines,
        track95M,
        stopped,
        columns: columnsOf(rows.columns, rowStart, rowEnd),
        moments: { ...momentsOf(moments.columns, momentStart, momentEnd), worstOf, worst, ranking, turnBackByS, turnBack, notes },
      };
    }),
  };
}

function columnsOf(columns: ReadonlyMap<string, Float64Array>, start: number, end: number): RehearsalColumns {
  const part = (name: string): Float64Array => columns.get(name)?.slice(start, end) ?? new Float64Array(end - start).fill(NaN);
  const single = (name: string): Float32Array => Float32Array.from(part(name));
  return {
    n: end - start,
    timeS: part('timeS'),
    xM: part('xM'),
    yM: part('yM'),
    headingDeg: single('headingDeg'),
    speedOverGroundMps: single('speedOverGroundMps'),
    speedThroughWaterMps: single('speedThroughWaterMps'),
    legIndex: Int32Array.from(part('legIndex')),
    energyWh: part('energyWh'),
    energy95Wh: part('energy95Wh'),
    waterUnderM: single('waterUnderM'),
    currentMps: single('currentMps'),
    currentSetDeg: single('currentSetDeg'),
    crossTrackM: single('crossTrackM'),
    linkMarginDb: single('linkMarginDb'),
    sunAltitudeDeg: single('sunAltitudeDeg'),
  };
}

function momentsOf(columns: ReadonlyMap<string, Float64Array>, start: number, end: number): Pick<MomentOutcomes, 'n' | 'timeS' | 'xM' | 'yM' | 'outcomes'> {
  const part = (name: string): Float64Array => columns.get(name)?.slice(start, end) ?? new Float64Array(end - start).fill(NaN);
  const outcomes = Object.fromEntries(
    MISHAPS.map((name): [Mishap, OutcomeColumns] => [name, { outcome: Uint8Array.from(part(`${name}:outcome`)), timeS: part(`${name}:timeS`), xM: part(`${name}:xM`), yM: part(`${name}:yM`), energyLeftWh: part(`${name}:energyLeftWh`) }]),
  ) as Record<Mishap, OutcomeColumns>;
  return { n: end - start, timeS: part('timeS'), xM: part('xM'), yM: part('yM'), outcomes };
}
