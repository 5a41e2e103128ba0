import type { CrossingStanding, LineAgreement } from '../../depths/line-offsets.js';
import type { LoadedCrossings } from './messages.js';

/** A figure of the file: null in JSON is not a number. */
type Written<T> = { readonly [K in keyof T]: T[K] extends number ? number | null : T[K] };

interface CrossingsFile {
  readonly points: readonly Partial<Record<'xM' | 'yM' | 'differenceM' | 'lineA' | 'lineB' | 'depthAM' | 'depthBM' | 'timeAS' | 'timeBS', number | null>>[];
  readonly pairs?: LoadedCrossings['pairs'];
  readonly lines?: readonly Written<LineAgreement>[];
  readonly standing?: Written<CrossingStanding> | null;
  readonly causes?: readonly { readonly kind: string; readonly words: string; readonly timeS?: number | null; readonly line?: number; readonly share?: number }[];
}

/**
 * Reads the crossings of a survey: where lines cross as columns, how pairs and lines agree, and what stands behind it.
 * What an older file does not hold is NaN or empty.
 * @returns null where the file is not there yet
 */
export async function readCrossings(url: string, signal: AbortSignal): Promise<LoadedCrossings | null> {
  const response = await fetch(url, { signal });
  if (response.status === 404) return null;
  if (!response.ok) throw new Error(`the server answered ${response.status}`);
  const file = (await response.json()) as CrossingsFile;
  const { points } = file;
  const column = (name: keyof CrossingsFile['points'][number]) => Float64Array.from(points, (point) => point[name] ?? NaN);
  const numbers = <T extends object>(one: Written<T>) => Object.fromEntries(Object.entries(one).map(([key, value]) => [key, value ?? NaN])) as unknown as T;
  return {
    n: points.length,
    xM: column('xM'),
    yM: column('yM'),
    differenceM: column('differenceM'),
    lineA: Int32Array.from(points, (point) => point.lineA ?? -1),
    lineB: Int32Array.from(points, (point) => point.lineB ?? -1),
    depthAM: column('depthAM'),
    depthBM: column('depthBM'),
    timeAS: column('timeAS'),
    timeBS: column('timeBS'),
    pairs: file.pairs ?? [],
    lines: (file.lines ?? []).map((one) => numbers<LineAgreement>(one)),
    standing: file.standing == null ? null : numbers<CrossingStanding>(file.standing),
    causes: (file.causes ?? []).map(({ kind, words, timeS, line, share }) => ({ kind, words, timeS: timeS ?? NaN, line: line ?? -1, share: share ?? NaN })),
  };
}
