import type { TrialLog } from '../../src/boat/trial-log.js';

type Columns = { readonly [Name in Exclude<keyof TrialLog, 'n' | 'convergenceDeg'>]?: ArrayLike<number> };

/** A log from the columns given; NaN in the others. */
export function trialLog(columns: Columns & { readonly timeS: ArrayLike<number>; readonly n?: number; readonly convergenceDeg?: number }): TrialLog {
  const n = columns.timeS.length;
  const wide = (values: ArrayLike<number> | undefined): Float64Array => (values === undefined ? new Float64Array(n).fill(NaN) : Float64Array.from(values));
  const narrow = (values: ArrayLike<number> | undefined): Float32Array => (values === undefined ? new Float32Array(n).fill(NaN) : Float32Array.from(values));
  return {
    n,
    timeS: wide(columns.timeS),
    xM: wide(columns.xM),
    yM: wide(columns.yM),
    sigmaM: narrow(columns.sigmaM),
    headingDeg: narrow(columns.headingDeg),
    speedThroughWaterMps: narrow(columns.speedThroughWaterMps),
    thrusterPortPct: narrow(columns.thrusterPortPct),
    thrusterStarboardPct: narrow(columns.thrusterStarboardPct),
    batteryVoltageV: narrow(columns.batteryVoltageV),
    batteryCurrentA: narrow(columns.batteryCurrentA),
    convergenceDeg: columns.convergenceDeg ?? 0,
  };
}
