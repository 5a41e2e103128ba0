import { performance } from 'node:perf_hooks';

/** One comparison: ours, the peer where there is one, and whether the budget is met. */
export interface BenchResult {
  /** E.g. `readLog: 60 MB of NMEA 0183`. */
  name: string;
  ours: { median: number; min: number; max: number; unit: 's' | 'MB/s' | '%' };
  /** In the unit of ours. */
  peer: { name: string; median: number; min: number; max: number } | null;
  /** How many times better ours is than the peer; null without a peer. */
  ratio: number | null;
  /** In plain words. */
  budget: string;
  met: boolean;
}

/** Times of the repeats of one thing [s]. */
export interface Spread {
  readonly median: number;
  readonly min: number;
  readonly max: number;
}

/** Where results go so that no work can be left out as unused. */
let sink = 0;

/** Takes a number that depends on the work done. */
export function keep(value: number): void {
  sink += value;
}

/** What was kept so far; for the runner to print. */
export function kept(): number {
  return sink;
}

/**
 * Times a function: one warm-up, then `repeats` runs.
 * @returns seconds a run
 */
export async function measure(fn: () => unknown, repeats = 7): Promise<Spread> {
  const [spread] = await measureInTurn([fn], repeats);
  return spread as Spread;
}

/**
 * Times several functions in turn (one run of each, then again), so that what else the machine does falls on all alike.
 * @returns seconds a run, in the order given
 */
export async function measureInTurn(fns: readonly (() => unknown)[], repeats = 7): Promise<Spread[]> {
  const times: number[][] = fns.map(() => []);
  for (const fn of fns) await fn();
  for (let i = 0; i < repeats; i++) {
    for (let k = 0; k < fns.length; k++) {
      const start = performance.now();
      await (fns[k] as () => unknown)();
      (times[k] as number[]).push((performance.now() - start) / 1000);
    }
  }
  return times.map(spreadOf);
}

/** Median and extremes. */
export function spreadOf(times: readonly number[]): Spread {
  const sorted = times.slice().sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  const median = sorted.length % 2 === 1 ? (sorted[middle] as number) : ((sorted[middle - 1] as number) + (sorted[middle] as number)) / 2;
  return { median, min: sorted[0] as number, max: sorted[sorted.length - 1] as number };
}

/** Seconds to megabytes a second. */
export function asRate(spread: Spread, bytes: number): Spread {
  return { median: bytes / 1e6 / spread.median, min: bytes / 1e6 / spread.max, max: bytes / 1e6 / spread.min };
}
