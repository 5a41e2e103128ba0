/** A curve thinned to what a strip of pixels can show. Shape of each column: [n]. */
export interface ThinnedCurve {
  readonly timeS: Float64Array;
  readonly value: Float64Array;
  /** Index of the sounding each point is, -1 for the break between two runs (value NaN). */
  readonly index: Int32Array;
}

/** First row whose time is not before `t`, in ascending times. */
export function rowAt(timeS: ArrayLike<number>, t: number): number {
  let low = 0;
  let high = timeS.length;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if ((timeS[middle] as number) < t) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** The row nearest in time, -1 for none. */
export function nearestRow(timeS: ArrayLike<number>, t: number): number {
  if (timeS.length === 0) return -1;
  const after = rowAt(timeS, t);
  if (after === 0) return 0;
  if (after === timeS.length) return after - 1;
  return t - (timeS[after - 1] as number) <= (timeS[after] as number) - t ? after - 1 : after;
}

/**
 * The least and greatest value in each pixel of a time window, in the order they happened, so that no spike is lost.
 * A silence longer than `maxGapS` breaks the curve.
 *
 * @param use whether a row takes part
 * @param pixels width of the strip [px]
 */
export function thinByMinMax(
  timeS: ArrayLike<number>,
  value: ArrayLike<number>,
  use: (row: number) => boolean,
  window: { readonly startS: number; readonly endS: number; readonly pixels: number; readonly maxGapS: number },
): ThinnedCurve {
  const { startS, endS, pixels, maxGapS } = window;
  const times: number[] = [];
  const values: number[] = [];
  const indices: number[] = [];
  // One row beyond each edge, so that the curve runs to the border.
  const first = Math.max(0, rowAt(timeS, startS) - 1);
  const last = Math.min(timeS.length, rowAt(timeS, endS) + 1);
  const scale = pixels / Math.max(1e-9, endS - startS);
  let bucket = -Infinity;
  let low = -1;
  let high = -1;
  let lastS = NaN;
  const push = (row: number) => {
    times.push(timeS[row] as number);
    values.push(value[row] as number);
    indices.push(row);
  };
  const flush = () => {
    if (low < 0) return;
    if (low === high) push(low);
    else {
      push(Math.min(low, high));
      push(Math.max(low, high));
    }
    low = -1;
    high = -1;
  };
  for (let i = first; i < last; i++) {
    if (!use(i) || !Number.isFinite(value[i] as number)) continue;
    const t = timeS[i] as number;
    const b = Math.floor((t - startS) * scale);
    const silent = t - lastS > maxGapS;
    if (b !== bucket || silent) {
      flush();
      bucket = b;
    }
    if (silent) {
      times.push((t + lastS) / 2);
      values.push(NaN);
      indices.push(-1);
    }
    if (low < 0) {
      low = i;
      high = i;
    } else {
      if ((value[i] as number) < (value[low] as number)) low = i;
      if ((value[i] as number) > (value[high] as number)) high = i;
    }
    lastS = t;
  }
  flush();
  return { timeS: Float64Array.from(times), value: Float64Array.from(values), index: Int32Array.from(indices) };
}
