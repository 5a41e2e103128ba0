import type { LoadedPings } from '../work/imagery-messages.js';

/** Pings of one log that were run one after the other on one line, or off any. Rows of the pings: [rowStart, rowEnd). */
export interface PingRun {
  readonly rowStart: number;
  readonly rowEnd: number;
  readonly log: number;
  /** -1 off any line. */
  readonly line: number;
  /** Largest slant range heard [m]. */
  readonly rangeM: number;
  /** Ground covered from a ping to the next, on average [m]; NaN where it is not known. */
  readonly alongM: number;
  /** The ground it lies in with its range [m]; NaN where no ping has a place. */
  readonly box: { readonly westM: number; readonly southM: number; readonly eastM: number; readonly northM: number };
}

/** A longer silence ends a run [s]. */
const SILENCE_S = 30;
/** Shorter stretches off any line are left with the run before them. */
const LEAST_PINGS = 24;

/** Parts the pings into runs. */
export function pingRuns(pings: LoadedPings, soundSpeedMps: number): readonly PingRun[] {
  const bounds: number[] = [];
  for (let row = 0; row < pings.n; row++) {
    if (row === 0 || pings.log[row] !== pings.log[row - 1] || pings.line[row] !== pings.line[row - 1] || Math.abs((pings.timeS[row] as number) - (pings.timeS[row - 1] as number)) > SILENCE_S) bounds.push(row);
  }
  const runs: PingRun[] = [];
  bounds.forEach((rowStart, k) => {
    const rowEnd = bounds[k + 1] ?? pings.n;
    const before = runs[runs.length - 1];
    const line = pings.line[rowStart] as number;
    if (line < 0 && rowEnd - rowStart < LEAST_PINGS && before !== undefined && before.log === pings.log[rowStart]) runs[runs.length - 1] = runOf(pings, before.rowStart, rowEnd, before.line, soundSpeedMps);
    else runs.push(runOf(pings, rowStart, rowEnd, line, soundSpeedMps));
  });
  return runs;
}

function runOf(pings: LoadedPings, rowStart: number, rowEnd: number, line: number, soundSpeedMps: number): PingRun {
  let rangeM = 0;
  let [westM, southM, eastM, northM] = [Infinity, Infinity, -Infinity, -Infinity];
  let [alongM, steps] = [0, 0];
  for (let row = rowStart; row < rowEnd; row++) {
    const samples = Math.max(pings.portSamples[row] as number, pings.starboardSamples[row] as number);
    const range = (soundSpeedMps / 2) * ((pings.delayS[row] as number) + samples * (pings.intervalS[row] as number));
    if (range > rangeM) rangeM = range;
    const [x, y] = [pings.xM[row] as number, pings.yM[row] as number];
    if (!Number.isFinite(x) || !Number.isFinite(y)) continue;
    westM = Math.min(westM, x);
    eastM = Math.max(eastM, x);
    southM = Math.min(southM, y);
    northM = Math.max(northM, y);
    if (row === rowStart) continue;
    const step = Math.hypot(x - (pings.xM[row - 1] as number), y - (pings.yM[row - 1] as number));
    if (!Number.isFinite(step)) continue;
    alongM += step;
    steps++;
  }
  return { rowStart, rowEnd, log: pings.log[rowStart] as number, line, rangeM: rangeM > 0 ? rangeM : 1, alongM: steps > 0 ? alongM / steps : NaN, box: { westM: westM - rangeM, southM: southM - rangeM, eastM: eastM + rangeM, northM: northM + rangeM } };
}

/** Index of the run a row lies in; -1 for none. */
export function pingRunAt(runs: readonly PingRun[], row: number): number {
  let [low, high] = [0, runs.length - 1];
  while (low <= high) {
    const mid = (low + high) >> 1;
    const run = runs[mid] as PingRun;
    if (row < run.rowStart) high = mid - 1;
    else if (row >= run.rowEnd) low = mid + 1;
    else return mid;
  }
  return -1;
}
