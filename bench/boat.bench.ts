import { createRandom } from '../src/base/random.js';
import { findTrials } from '../src/boat/find-trials.js';
import { makeCard } from '../src/boat/make-card.js';
import type { Trial, TrialLog } from '../src/boat/trial-log.js';
import { dayOfTrials } from '../test/boat/synthetic-trials.js';
import type { BenchResult } from './bench.js';
import { keep, measure } from './bench.js';

const HOURS = 10;
const BUDGET_S = 1;
const OPTIONS = { name: '', lengthM: 1.2, massKg: 18, hand: {}, defaults: true };

/** Ten hours at 10 Hz: twenty-minute days of trials one after the other until the time is full. */
function tenHours(): { log: TrialLog; trials: Trial[] } {
  const logs: TrialLog[] = [];
  const trials: Trial[] = [];
  let rows = 0;
  for (let day = 0; rows < HOURS * 36_000; day++) {
    const writer = dayOfTrials(createRandom(day));
    const log = writer.log();
    const shiftS = rows / 10;
    for (const trial of writer.trials()) trials.push({ ...trial, id: `${trial.id}-${day}`, rowStart: trial.rowStart + rows, rowEnd: trial.rowEnd + rows, startS: trial.startS + shiftS, endS: trial.endS + shiftS, series: trial.series < 0 ? -1 : trial.series + 4 * day });
    logs.push({ ...log, timeS: log.timeS.map((t) => t + shiftS) });
    rows += log.n;
  }
  const join = <T extends Float64Array | Float32Array>(whole: T, part: (log: TrialLog) => T): T => {
    let at = 0;
    for (const log of logs) {
      whole.set(part(log), at);
      at += log.n;
    }
    return whole;
  };
  const narrow = (part: (log: TrialLog) => Float32Array): Float32Array => join(new Float32Array(rows), part);
  return {
    log: {
      n: rows,
      timeS: join(new Float64Array(rows), (log) => log.timeS),
      xM: join(new Float64Array(rows), (log) => log.xM),
      yM: join(new Float64Array(rows), (log) => log.yM),
      sigmaM: narrow((log) => log.sigmaM),
      headingDeg: narrow((log) => log.headingDeg),
      speedThroughWaterMps: narrow((log) => log.speedThroughWaterMps),
      thrusterPortPct: narrow((log) => log.thrusterPortPct),
      thrusterStarboardPct: narrow((log) => log.thrusterStarboardPct),
      batteryVoltageV: narrow((log) => log.batteryVoltageV),
      batteryCurrentA: narrow((log) => log.batteryCurrentA),
      convergenceDeg: logs[0]!.convergenceDeg,
    },
    trials,
  };
}

export async function run(): Promise<BenchResult[]> {
  const { log, trials } = tenHours();
  const whole = await measure(() => keep(makeCard(log, findTrials(log), OPTIONS).figures.topSpeed!.value));
  const { median, min, max } = await measure(() => keep(makeCard(log, trials, OPTIONS).figures.topSpeed!.value));
  return [
    {
      name: `findTrials and makeCard: ${HOURS} h of 10 Hz log, ${log.n} rows, ${findTrials(log).length} trials found`,
      ours: { median: whole.median, min: whole.min, max: whole.max, unit: 's' },
      peer: null,
      ratio: null,
      budget: `under ${BUDGET_S} s`,
      met: whole.median < BUDGET_S,
    },
    {
      name: `makeCard: ${HOURS} h of 10 Hz log, ${log.n} rows, ${trials.length} trials`,
      ours: { median, min, max, unit: 's' },
      peer: null,
      ratio: null,
      budget: `under ${BUDGET_S} s`,
      met: median < BUDGET_S,
    },
  ];
}
