import { slope } from './run-mean.js';
import type { Trial, TrialKind, TrialLog } from './trial-log.js';

/** Kinds in which the boat keeps its course. */
const STRAIGHT: ReadonlySet<TrialKind> = new Set(['steady-run', 'standing-start', 'coast-down', 'stop-astern', 'straight-leg']);
/** Scatter of the speed over its mean that counts as not steady at all, as the analysis refuses a run. */
const UNSTEADY = 0.2;

/**
 * A trial from a window drawn by hand or found: rows with startS <= time <= endS, its course, speed, command and steadiness.
 *
 * @param startS,endS UTC [s]; the window is cut to the log
 * @throws RangeError where the window ends before it begins, or holds fewer than two rows of the log
 */
export function trialWindow(log: TrialLog, kind: TrialKind, startS: number, endS: number, by: Trial['by']): Trial {
  if (!(endS > startS)) throw new RangeError(`window ${startS} to ${endS}: expected its end after its start`);
  const rowStart = firstRowAt(log, startS, false);
  const rowEnd = firstRowAt(log, endS, true);
  if (rowEnd - rowStart < 2) throw new RangeError(`window ${startS} to ${endS}: holds ${Math.max(0, rowEnd - rowStart)} rows of the log, 2 or more are needed`);
  return trialOfRows(log, kind, rowStart, rowEnd, by, -1);
}

/** A trial from rows [rowStart, rowEnd), two or more. */
export function trialOfRows(log: TrialLog, kind: TrialKind, rowStart: number, rowEnd: number, by: Trial['by'], series: number): Trial {
  const startS = log.timeS[rowStart]!;
  const endS = log.timeS[rowEnd - 1]!;
  const { vx, vy } = slope(log, rowStart, rowEnd);
  const course = ((Math.atan2(vx, vy) * 180) / Math.PI + log.convergenceDeg + 720) % 360;
  let command = 0;
  let commands = 0;
  let way = 0;
  let lastX = NaN;
  let lastY = NaN;
  // The way made is summed over a second or so at a time: noise from row to row would make it longer.
  let lastS = NaN;
  let firstS = NaN;
  const speeds: number[] = [];
  for (let i = rowStart; i < rowEnd; i++) {
    const mean = (log.thrusterPortPct[i]! + log.thrusterStarboardPct[i]!) / 2;
    if (!Number.isNaN(mean)) {
      command += mean;
      commands++;
    }
    const x = log.xM[i]!;
    const y = log.yM[i]!;
    if (Number.isNaN(x) || Number.isNaN(y)) continue;
    const t = log.timeS[i]!;
    if (Number.isNaN(lastS)) firstS = t;
    else if (t - lastS < 1 - 1e-6) continue;
    else {
      const part = Math.hypot(x - lastX, y - lastY);
      way += part;
      speeds.push(part / (t - lastS));
    }
    lastX = x;
    lastY = y;
    lastS = t;
  }
  const straight = STRAIGHT.has(kind);
  return {
    id: `${kind}@${Math.floor(startS)}`,
    kind,
    rowStart,
    rowEnd,
    startS,
    endS,
    courseDeg: straight ? course : NaN,
    speedMps: speeds.length > 0 ? way / (lastS - firstS) : Math.hypot(vx, vy),
    commandPct: command / commands,
    steadiness: steadiness(speeds),
    series,
    by,
    refused: '',
  };
}

/** 1 less the scatter of the speed from second to second over its mean, in fifths; 0 of fewer than 3. */
function steadiness(speeds: readonly number[]): number {
  if (speeds.length < 3) return 0;
  const mean = speeds.reduce((sum, one) => sum + one, 0) / speeds.length;
  const variance = speeds.reduce((sum, one) => sum + (one - mean) ** 2, 0) / (speeds.length - 1);
  return Math.max(0, 1 - Math.sqrt(variance) / (UNSTEADY * Math.max(mean, 1e-9)));
}

function firstRowAt(log: TrialLog, timeS: number, after: boolean): number {
  let low = 0;
  let high = log.n;
  while (low < high) {
    const middle = (low + high) >> 1;
    const time = log.timeS[middle]!;
    if (after ? time <= timeS : time < timeS) low = middle + 1;
    else high = middle;
  }
  return low;
}
