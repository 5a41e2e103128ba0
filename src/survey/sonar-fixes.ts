import type { FixColumns, LogObservations } from '../base/observations.js';
import type { SonarHeads } from '../base/sonar.js';
import { isSonarKind } from '../formats/log-kind.js';
import type { LogEntry } from './summary.js';

const NOT_STATED = 255;

/** The positions that side-scan records carry, as fixes: one where it changes, since a sonar repeats a position until the next comes in. */
export function sonarFixes(heads: SonarHeads): FixColumns {
  const rows: number[] = [];
  let before = -1;
  for (let i = 0; i < heads.n; i++) {
    if (Number.isNaN(heads.timeS[i] as number) || Number.isNaN(heads.latDeg[i] as number) || Number.isNaN(heads.lonDeg[i] as number)) continue;
    if (before >= 0 && heads.latDeg[i] === heads.latDeg[before] && heads.lonDeg[i] === heads.lonDeg[before]) continue;
    rows.push(i);
    before = i;
  }
  const n = rows.length;
  const take = (column: ArrayLike<number>): Float64Array => Float64Array.from(rows, (i) => column[i] as number);
  const none = (): Float32Array => new Float32Array(n).fill(NaN);
  return {
    n,
    timeS: take(heads.timeS),
    latDeg: take(heads.latDeg),
    lonDeg: take(heads.lonDeg),
    heightM: none(),
    geoidM: none(),
    quality: new Uint8Array(n).fill(NOT_STATED),
    satellites: new Uint8Array(n),
    hdop: none(),
    sigmaM: none(),
    courseDeg: none(),
    speedMps: none(),
    record: Uint32Array.from(rows, (i) => heads.record[i] as number),
  };
}

/** Columns of no fix. */
function without(fixes: FixColumns): FixColumns {
  return Object.fromEntries(Object.entries(fixes).map(([key, column]) => [key, key === 'n' ? 0 : (column as Float64Array).subarray(0, 0)])) as unknown as FixColumns;
}

/** Observations in which the positions of side-scan records stand only where no other log has a position in the time that the record covers. */
export function withoutNeedlessFixes(logs: readonly LogEntry[], all: readonly LogObservations[]): LogObservations[] {
  return all.map((observations, i) => {
    const { timeStartS, timeEndS, kind } = logs[i] as LogEntry;
    if (!isSonarKind(kind) || observations.fixes.n === 0) return observations;
    const covered = all.some(({ fixes }, other) => !isSonarKind((logs[other] as LogEntry).kind) && fixes.timeS.some((time) => time >= timeStartS && time <= timeEndS));
    return covered ? { ...observations, fixes: without(observations.fixes) } : observations;
  });
}
