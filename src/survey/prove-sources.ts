import { mkdtemp, rm } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import { normalQuantile } from '../base/normal-quantile.js';
import { throwIfCancelled, type WorkContext } from '../base/progress.js';
import { createRandom } from '../base/random.js';
import { compareWithTruth, type ProvingFigures, type SurfaceFigures } from '../proving/compare.js';
import { ERROR_SOURCES, spreadSigmas, type ErrorSource } from '../proving/error-sources.js';
import type { Share } from '../proving/error-figures.js';
import type { Truth } from '../proving/truth.js';
import { makeProof } from './make-demo.js';
import { stepWork } from './open-desk.js';
import { soundingsOf } from './step-soundings.js';
import { surfaceOf } from './step-surface.js';

/** Errors and claims of many surveys together. */
export interface PooledFigures {
  readonly n: number;
  readonly biasM: number;
  readonly rmsM: number;
  /** How many claims of 95 % hold the truth. */
  readonly within: Share;
}

/** What one source of error came to. */
export interface SourceProof {
  readonly key: string;
  readonly words: string;
  readonly surveys: number;
  readonly soundings: PooledFigures & { readonly thu: Share };
  /** Root mean square error with the corrections switched off that take the source out, of the first survey, and with them on; null where there is none. */
  readonly corrected: { readonly offM: number; readonly onM: number } | null;
  readonly spikesMissed: number;
  readonly goodFlagged: Share;
  readonly measured: PooledFigures;
  readonly filled: PooledFigures;
  readonly verdict: 'held' | 'cautious' | 'short';
  /** What falls outside, in words; empty where all claims hold between 93 and 97 %. */
  readonly notes: readonly string[];
}

/** The names of the sources, in their order. */
export function sourceKeys(): readonly string[] {
  return ERROR_SOURCES.map(({ key }) => key);
}

const LEAST = 0.93;
const MOST = 0.97;
/** Positions as good as this are exact but for the digits they are written with, root mean square [m]. */
const EXACT_M = 0.03;

/**
 * Every source of error by itself and all together, over so many surveys each: whether what is claimed holds what happened.
 *
 * @param keys the sources wanted; all where left out
 */
export async function proveSources(seed: number, surveys: number, context: WorkContext, keys?: readonly string[]): Promise<SourceProof[]> {
  const sources = ERROR_SOURCES.filter(({ key }) => keys === undefined || keys.includes(key));
  const done: SourceProof[] = [];
  for (const [at, source] of sources.entries()) {
    done.push(await proveSource(source, seed, surveys, { ...context, progress: (what, share, detail) => context.progress?.(what, (at + (share ?? 0)) / sources.length, detail) }));
  }
  return done;
}

/** One source of error over so many surveys. */
export async function proveSource(source: ErrorSource, seed: number, surveys: number, context: WorkContext): Promise<SourceProof> {
  const orders = new Map<string, Uint32Array>();
  const orderOf = (name: string): Uint32Array => {
    if (!orders.has(name)) orders.set(name, shuffled(surveys, createRandom(seed).fork(source.key).fork(name).integer));
    return orders.get(name)!;
  };
  const quiet: WorkContext = context.signal === undefined ? {} : { signal: context.signal };
  const pool = newPool();
  let corrected: SourceProof['corrected'] = null;
  for (let k = 0; k < surveys; k++) {
    throwIfCancelled(context.signal);
    context.progress?.('proving', k / surveys, `${source.words}: survey ${k + 1} of ${surveys}`);
    const drawnSigmas = { ...spreadSigmas(source, k, surveys, orderOf, normalQuantile), ...source.changes.drawnSigmas };
    const folder = await mkdtemp(path.join(os.tmpdir(), 'tallow-prove-'));
    try {
      const target = path.join(folder, 'survey');
      const { desk, truth } = await makeProof(target, seed + k, source.size, quiet, { ...source.changes, drawnSigmas });
      await desk.build(quiet, 'surface');
      const figures = await figuresOf(target, truth, quiet);
      add(pool, figures);
      if (k === 0 && source.corrections.length > 0) {
        for (const name of source.corrections) await desk.set(`corrections.${name}`, false);
        await desk.build(quiet, 'soundings');
        corrected = { offM: (await figuresOf(target, truth, quiet)).good.atReported.rmsM, onM: figures.good.atReported.rmsM };
      }
    } finally {
      await rm(folder, { recursive: true, force: true });
    }
  }
  return proofOf(source, surveys, pool, corrected);
}

async function figuresOf(folder: string, truth: Truth, context: WorkContext): Promise<ProvingFigures> {
  const work = await stepWork(folder, context);
  const surface = await surfaceOf(work);
  return compareWithTruth(
    truth,
    work.logs.map((log) => log.file),
    await soundingsOf(work),
    surface === null ? null : { depth: { grid: surface.grid, values: surface.depthM }, uncertaintyM: surface.uncertaintyM, count: surface.count },
  );
}

/** The whole numbers under n in an order by chance. */
function shuffled(n: number, integer: (count: number) => number): Uint32Array {
  const order = Uint32Array.from({ length: n }, (_, i) => i);
  for (let i = n - 1; i > 0; i--) {
    const j = integer(i + 1);
    [order[i], order[j]] = [order[j]!, order[i]!];
  }
  return order;
}

interface Sums {
  n: number;
  sum: number;
  squares: number;
  count: number;
  of: number;
}

const newSums = (): Sums => ({ n: 0, sum: 0, squares: 0, count: 0, of: 0 });
const newPool = () => ({ soundings: newSums(), thu: newSums(), measured: newSums(), filled: newSums(), flagged: newSums(), missed: 0 });

function take(sums: Sums, errors: { readonly n: number; readonly biasM: number; readonly rmsM: number }, within: Share): void {
  if (errors.n === 0) return;
  sums.n += errors.n;
  sums.sum += errors.n * errors.biasM;
  sums.squares += errors.n * errors.rmsM ** 2;
  sums.count += within.count;
  sums.of += within.of;
}

function add(pool: ReturnType<typeof newPool>, { good, surface, goodFlagged, spikes }: ProvingFigures): void {
  take(pool.soundings, good.atReported, good.tvuAtReported);
  take(pool.thu, good.position, good.thu);
  const takeSurface = (sums: Sums, figures: SurfaceFigures | null | undefined): void => (figures ? take(sums, figures, figures.within) : undefined);
  takeSurface(pool.measured, surface?.measured);
  takeSurface(pool.filled, surface?.filled);
  pool.flagged.count += goodFlagged.count;
  pool.flagged.of += goodFlagged.of;
  pool.missed += spikes.filter(({ fromM }) => fromM >= 1).reduce((sum, { missed }) => sum + missed, 0);
}

const shareOf = ({ count, of }: Sums): Share => ({ count, of, share: of > 0 ? count / of : NaN });
const pooled = (sums: Sums): PooledFigures => ({ n: sums.n, biasM: sums.sum / sums.n, rmsM: Math.sqrt(sums.squares / sums.n), within: shareOf(sums) });

function proofOf(source: ErrorSource, surveys: number, pool: ReturnType<typeof newPool>, corrected: SourceProof['corrected']): SourceProof {
  const soundings = { ...pooled(pool.soundings), thu: shareOf(pool.thu) };
  const measured = pooled(pool.measured);
  const filled = pooled(pool.filled);
  const notes: string[] = [];
  let verdict: SourceProof['verdict'] = 'held';
  for (const [what, { share }] of [['depths of soundings', soundings.within], ['positions', soundings.thu], ['measured cells', measured.within], ['filled cells', filled.within]] as const) {
    if (share >= LEAST && share <= MOST) continue;
    // Where positions have no error of their own, what they are claimed to have says nothing.
    if (what === 'positions' && share > MOST && Math.sqrt(pool.thu.squares / pool.thu.n) < EXACT_M) continue;
    if (share < LEAST) verdict = 'short';
    else if (verdict === 'held') verdict = 'cautious';
    notes.push(`${what}: ${share < LEAST ? 'claimed too little' : 'claimed more than needed'}`);
  }
  return { key: source.key, words: source.words, surveys, soundings, corrected, spikesMissed: pool.missed, goodFlagged: shareOf(pool.flagged), measured, filled, verdict, notes };
}
