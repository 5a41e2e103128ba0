import type { Soundings } from '../../depths/soundings.js';

/** A stretch of soundings that belong together in time: a line as it was run, or what lies between lines. */
export interface Run {
  /** Number of the line, -1 off any line. */
  readonly line: number;
  readonly rowStart: number;
  readonly rowEnd: number;
}

/** A longer silence ends a run [s]. */
const SILENCE_S = 20;
/** A line that is taken up again so soon was never left: soundings without a place lie between [s]. */
const TAKEN_UP_S = 10;

/**
 * The runs of a survey, in order of time.
 * @param soundings in order of time
 */
export function runsOf({ n, timeS, line }: Pick<Soundings, 'n' | 'timeS' | 'line'>): Run[] {
  const runs: Run[] = [];
  let rowStart = 0;
  for (let i = 1; i <= n; i++) {
    if (i < n && line[i] === line[i - 1] && (timeS[i] as number) - (timeS[i - 1] as number) <= SILENCE_S) continue;
    if (n > 0) runs.push({ line: line[rowStart] as number, rowStart, rowEnd: i });
    rowStart = i;
  }
  const out: Run[] = [];
  for (const run of runs) {
    const between = out[out.length - 1];
    const before = out[out.length - 2];
    const lastS = before === undefined ? NaN : (timeS[before.rowEnd - 1] as number);
    if (before !== undefined && between !== undefined && run.line >= 0 && between.line < 0 && before.line === run.line && (timeS[run.rowStart] as number) - lastS <= TAKEN_UP_S) {
      out.length -= 2;
      out.push({ line: run.line, rowStart: before.rowStart, rowEnd: run.rowEnd });
    } else out.push(run);
  }
  return out;
}

/** Index of the run that holds a row, -1 for none. */
export function runAt(runs: readonly Run[], row: number): number {
  let low = 0;
  let high = runs.length - 1;
  while (low <= high) {
    const middle = (low + high) >> 1;
    const run = runs[middle] as Run;
    if (row < run.rowStart) high = middle - 1;
    else if (row >= run.rowEnd) low = middle + 1;
    else return middle;
  }
  return -1;
}

/** All rows of a line, whenever it was run; those of one run where the row is off any line. */
export function rowsOfLine({ n, line }: Pick<Soundings, 'n' | 'line'>, runs: readonly Run[], row: number): Int32Array {
  const wanted = line[row] as number;
  if (!(wanted >= 0)) {
    const run = runs[runAt(runs, row)];
    return run === undefined ? new Int32Array(0) : Int32Array.from({ length: run.rowEnd - run.rowStart }, (_, k) => run.rowStart + k);
  }
  const rows: number[] = [];
  for (let i = 0; i < n; i++) if (line[i] === wanted) rows.push(i);
  return Int32Array.from(rows);
}
