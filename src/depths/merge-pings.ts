import type { PingLog } from './reduce.js';
import { timeOrder } from './track.js';

/** Pings of all logs by true time. Shape of every column: [n]. */
export interface MergedPings {
  readonly n: number;
  readonly timeS: Float64Array;
  readonly depthM: Float32Array;
  readonly offsetM: Float32Array;
  readonly from: Uint8Array;
  readonly log: Uint16Array;
  readonly record: Uint32Array;
}

/**
 * Pings of all logs by true time; those without a time are left out, those logged twice appear once.
 * @param addS added to logged times [s]
 */
export function mergePings(logs: readonly PingLog[], addS: number): MergedPings {
  const total = logs.reduce((sum, one) => sum + one.pings.n, 0);
  const allS = new Float64Array(total);
  const source = new Uint16Array(total);
  const place = new Uint32Array(total);
  let timed = 0;
  logs.forEach(({ pings }, which) => {
    for (let i = 0; i < pings.n; i++) {
      const time = pings.timeS[i]! + addS;
      if (!Number.isFinite(time)) continue;
      allS[timed] = time;
      source[timed] = which;
      place[timed] = i;
      timed++;
    }
  });
  const order = timeOrder(allS, timed);
  let n = 0;
  for (let i = 0; i < timed; i++) {
    const row = order[i]!;
    let twice = false;
    for (let j = n - 1; j >= 0 && !twice && allS[order[j]!] === allS[row]!; j--) {
      const other = order[j]!;
      twice = source[other] !== source[row] && logs[source[other]!]!.pings.depthM[place[other]!] === logs[source[row]!]!.pings.depthM[place[row]!];
    }
    if (!twice) order[n++] = row;
  }
  const merged = {
    n,
    timeS: new Float64Array(n),
    depthM: new Float32Array(n),
    offsetM: new Float32Array(n),
    from: new Uint8Array(n),
    log: new Uint16Array(n),
    record: new Uint32Array(n),
  };
  for (let i = 0; i < n; i++) {
    const row = order[i]!;
    const { log, pings } = logs[source[row]!]!;
    const at = place[row]!;
    merged.timeS[i] = allS[row]!;
    merged.depthM[i] = pings.depthM[at]!;
    merged.offsetM[i] = pings.offsetM[at]!;
    merged.from[i] = pings.from[at]!;
    merged.log[i] = log;
    merged.record[i] = pings.record[at]!;
  }
  return merged;
}
