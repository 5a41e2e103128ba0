import { FormatError } from '../base/errors.js';
import type { FixTruth, LogTruth, PingTruth, Truth } from './truth.js';

/** Decimals that each column is written with; the rest are whole numbers. */
const PING_DECIMALS = { record: 0, timeS: 4, xM: 3, yM: 3, depthM: 4, echoEastM: 3, echoNorthM: 3, faultSizeM: 3, fault: 0, positionFault: 0, damage: 0 } as const;
const FIX_DECIMALS = { record: 0, timeS: 3, xM: 3, yM: 3, jump: 0 } as const;

/**
 * Writes truth.json: the object of `Truth` with columns as arrays; NaN is null. Given out in pieces.
 */
export function writeTruthText(truth: Truth, write: (text: string) => void): void {
  const { logs, ...head } = truth;
  write(`${JSON.stringify(head).slice(0, -1)},"logs":[`);
  for (const [index, log] of logs.entries()) {
    const { pings, fixes, ...rest } = log;
    write(`${index > 0 ? ',' : ''}\n${JSON.stringify(rest).slice(0, -1)},"pings":{"n":${pings.n}`);
    for (const name of Object.keys(PING_DECIMALS) as (keyof typeof PING_DECIMALS)[]) write(columnText(name, pings[name], PING_DECIMALS[name]));
    write(`},"fixes":{"n":${fixes.n}`);
    for (const name of Object.keys(FIX_DECIMALS) as (keyof typeof FIX_DECIMALS)[]) write(columnText(name, fixes[name], FIX_DECIMALS[name]));
    write('}}');
  }
  write('\n]}\n');
}

function columnText(name: string, values: ArrayLike<number>, decimals: number): string {
  const unit = 10 ** decimals;
  const parts: (number | null)[] = [];
  for (let i = 0; i < values.length; i++) {
    const value = values[i]!;
    parts.push(Number.isFinite(value) ? Math.round(value * unit) / unit : null);
  }
  return `,\n"${name}":${JSON.stringify(parts)}`;
}

/**
 * Reads truth.json.
 * @param path for messages
 * @throws FormatError where it is not a truth file, is of a newer version, or a column is short
 */
export function readTruthText(text: string, path: string): Truth {
  let value: Truth;
  try {
    value = JSON.parse(text) as Truth;
  } catch (error) {
    throw new FormatError('json', path, `${path}: not valid JSON: ${(error as Error).message}; make the proving survey again`);
  }
  if (value === null || typeof value !== 'object' || value.format !== 'tallow-truth' || !Array.isArray(value.logs)) {
    throw new FormatError('truth', path, `${path}: not a truth file: expected format "tallow-truth", found ${JSON.stringify((value as { format?: unknown } | null)?.format)}; make the proving survey again`);
  }
  if (value.version !== 1) {
    throw new FormatError('truth-version', path, `${path}: expected version 1, found ${String(value.version)}; use the version of Tallow that made it`);
  }
  return { ...value, logs: value.logs.map((log, index) => readLog(log, `${path}: logs[${index}]`, path)) };
}

function readLog(log: LogTruth, where: string, path: string): LogTruth {
  const column = (group: 'pings' | 'fixes', name: string): Float64Array => {
    const source = (log[group] ?? {}) as unknown as Record<string, unknown>;
    const values = source[name];
    if (!Array.isArray(values) || values.length !== source['n']) {
      throw new FormatError('truth-column', path, `${where}.${group}.${name}: expected ${String(source['n'])} numbers, found ${Array.isArray(values) ? values.length : 'none'}; make the proving survey again`);
    }
    return Float64Array.from(values as (number | null)[], (value) => value ?? NaN);
  };
  const pings: PingTruth = {
    n: log.pings?.n,
    record: Uint32Array.from(column('pings', 'record')),
    timeS: column('pings', 'timeS'),
    xM: column('pings', 'xM'),
    yM: column('pings', 'yM'),
    depthM: Float32Array.from(column('pings', 'depthM')),
    echoEastM: Float32Array.from(column('pings', 'echoEastM')),
    echoNorthM: Float32Array.from(column('pings', 'echoNorthM')),
    faultSizeM: Float32Array.from(column('pings', 'faultSizeM')),
    fault: Uint8Array.from(column('pings', 'fault')),
    positionFault: Uint8Array.from(column('pings', 'positionFault')),
    damage: Uint8Array.from(column('pings', 'damage')),
  };
  const fixes: FixTruth = {
    n: log.fixes?.n,
    record: Uint32Array.from(column('fixes', 'record')),
    timeS: column('fixes', 'timeS'),
    xM: column('fixes', 'xM'),
    yM: column('fixes', 'yM'),
    jump: Uint8Array.from(column('fixes', 'jump')),
  };
  return { ...log, pings, fixes };
}
