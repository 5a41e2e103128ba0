import { parquetMetadataAsync, parquetRead } from 'hyparquet';
import type { LogFault } from '../../boat/check-log.js';
import type { IntendedLine } from '../../boat/track-keeping.js';
import type { Trial, TrialLog } from '../../boat/trial-log.js';
import { simplifyLine, trackLines } from '../chart/simplify.js';

/** derived/trials.json: the trials of the logs as they stand, rows into derived/trial-log.parquet. */
export interface TrialsFile {
  readonly logs: readonly string[];
  readonly convergenceDeg: number;
  readonly trials: readonly Trial[];
  /** Found, but dropped by the user. */
  readonly dropped: readonly Trial[];
  readonly faults: readonly LogFault[];
  /** Lines the boat was to keep, by id of the straight leg. */
  readonly lines: Readonly<Record<string, IntendedLine>>;
  readonly notes: readonly string[];
}

/** Trials with their log, and what is drawn of it. */
export interface LoadedTrials {
  readonly file: TrialsFile;
  readonly log: TrialLog;
  /** Speed over the ground, smoothed over a second or so. Shape [n]; NaN across gaps [m/s]. */
  readonly groundMps: Float32Array;
  /** The track as lines, thinned to 5 cm [m]. */
  readonly track: readonly Float64Array[];
}

/** A longer silence breaks track and curves [s]. */
export const TRIAL_GAP_S = 5;
const TRACK_TOLERANCE_M = 0.05;
/** Speeds are told over this long [s]. */
const SPEED_OVER_S = 1;

/**
 * Reads the trials of a survey and their log.
 * @returns null where there are none
 * @throws Error with plain words where they cannot be read
 */
export async function readTrials(trialsUrl: string, logUrl: string, signal: AbortSignal): Promise<LoadedTrials | null> {
  const [trialsAnswer, logAnswer] = await Promise.all([fetch(trialsUrl, { signal, cache: 'no-cache' }), fetch(logUrl, { signal, cache: 'no-cache' })]);
  if (trialsAnswer.status === 404 || logAnswer.status === 404) return null;
  for (const answer of [trialsAnswer, logAnswer]) if (!answer.ok) throw new Error(`the server answered ${answer.status}`);
  const file = trialsFromJson(await trialsAnswer.text());
  const log = await trialLogFromParquet(await logAnswer.arrayBuffer(), file.convergenceDeg);
  const beyond = file.trials.find((trial) => trial.rowEnd > log.n);
  if (beyond !== undefined) throw new Error(`trial ${beyond.id} ends at row ${beyond.rowEnd}, the log has ${log.n}`);
  const track = trackLines(log.timeS, log.xM, log.yM, new Uint8Array(log.n), TRIAL_GAP_S).map((line) => simplifyLine(line, TRACK_TOLERANCE_M));
  return { file, log, groundMps: groundSpeeds(log), track };
}

/** Trials as they stand in their file: what is not a number is null there. */
export function trialsFromJson(text: string): TrialsFile {
  const read = JSON.parse(text, (key, value: unknown) => (value === null && NUMBERS.has(key) ? NaN : value)) as TrialsFile & { readonly format?: string; readonly version?: number };
  if (read.format !== 'tallow-trials' || read.version !== 1) throw new Error(`expected tallow-trials of version 1, found ${String(read.format)} ${String(read.version)}`);
  return { logs: read.logs, convergenceDeg: read.convergenceDeg, trials: read.trials, dropped: read.dropped, faults: read.faults, lines: read.lines, notes: read.notes };
}

const NUMBERS = new Set(['courseDeg', 'speedMps', 'commandPct', 'steadiness']);

async function trialLogFromParquet(file: ArrayBuffer, convergenceDeg: number): Promise<TrialLog> {
  const metadata = await parquetMetadataAsync(file);
  const n = Number(metadata.num_rows);
  const wide = () => new Float64Array(n).fill(NaN);
  const narrow = () => new Float32Array(n).fill(NaN);
  const columns = { timeS: wide(), xM: wide(), yM: wide(), sigmaM: narrow(), headingDeg: narrow(), speedThroughWaterMps: narrow(), thrusterPortPct: narrow(), thrusterStarboardPct: narrow(), batteryVoltageV: narrow(), batteryCurrentA: narrow() };
  const present = new Set(metadata.schema.map((element) => element.name));
  const wanted = Object.keys(columns);
  const missing = wanted.filter((name) => !present.has(name));
  if (missing.length > 0) throw new Error(`${missing.join(', ')} missing from it`);
  await parquetRead({
    file,
    metadata,
    columns: wanted,
    onChunk: ({ columnName, columnData, rowStart }) => {
      const column = columns[columnName as keyof typeof columns];
      for (let i = 0; i < columnData.length; i++) column[rowStart + i] = columnData[i] === null ? NaN : Number(columnData[i]);
    },
  });
  return { n, ...columns, convergenceDeg };
}

/** Speed over the ground from the positions half a second before and after each. */
export function groundSpeeds(log: Pick<TrialLog, 'n' | 'timeS' | 'xM' | 'yM'>): Float32Array {
  const { n, timeS, xM, yM } = log;
  const out = new Float32Array(n).fill(NaN);
  let before = 0;
  let after = 0;
  for (let i = 0; i < n; i++) {
    const t = timeS[i] as number;
    while ((timeS[before] as number) < t - SPEED_OVER_S / 2 - 1e-6) before++;
    if (after < i) after = i;
    while (after + 1 < n && (timeS[after + 1] as number) <= t + SPEED_OVER_S / 2 + 1e-6) after++;
    // A rate of one a second or less: the neighbours, whatever they are apart.
    const a = before < i ? before : Math.max(0, i - 1);
    const b = after > i ? after : Math.min(n - 1, i + 1);
    const dt = (timeS[b] as number) - (timeS[a] as number);
    if (!(dt > 0) || dt > TRIAL_GAP_S) continue;
    out[i] = Math.hypot((xM[b] as number) - (xM[a] as number), (yM[b] as number) - (yM[a] as number)) / dt;
  }
  return out;
}
