/** Arithmetic mean; NaN of nothing or where a value is NaN. */
export function mean(values: ArrayLike<number>): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i]!;
  return values.length === 0 ? NaN : sum / values.length;
}

/** Standard deviation of a sample, divisor n - 1, about its own mean; NaN of fewer than two. */
export function standardDeviation(values: ArrayLike<number>): number {
  const n = values.length;
  if (n < 2) return NaN;
  const centre = mean(values);
  let sum = 0;
  for (let i = 0; i < n; i++) sum += (values[i]! - centre) ** 2;
  return Math.sqrt(sum / (n - 1));
}

/** Root mean square; NaN of nothing. */
export function rootMeanSquare(values: ArrayLike<number>): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i]! * values[i]!;
  return values.length === 0 ? NaN : Math.sqrt(sum / values.length);
}

/** The values that are not NaN, as a new array. */
export function withoutNaN(values: ArrayLike<number>): Float64Array {
  const kept = new Float64Array(values.length);
  let n = 0;
  for (let i = 0; i < values.length; i++) if (!Number.isNaN(values[i]!)) kept[n++] = values[i]!;
  return kept.subarray(0, n);
}

/**
 * A quantile: the value below which a share of the sample lies, linear between order statistics.
 *
 * @param values no NaN; not changed
 * @param share 0 smallest, 0.5 median, 1 largest
 * @returns NaN of nothing
 * @throws RangeError for a share outside 0..1
 *
 * Source: Hyndman & Fan (1996), The American Statistician 50(4), 361-365, definition 7 (numpy's default).
 */
export function quantile(values: ArrayLike<number>, share: number): number {
  return quantileInPlace(Float64Array.from(values), share);
}

/** As `quantile`, without a copy: the array is put into another order. */
export function quantileInPlace(values: Float64Array, share: number): number {
  if (!(share >= 0 && share <= 1)) throw new RangeError(`share ${share}: expected 0 to 1`);
  const n = values.length;
  if (n === 0) return NaN;
  const place = share * (n - 1);
  const below = Math.floor(place);
  const low = selectInPlace(values, below, 0, n);
  if (place === below) return low;
  let next = Infinity;
  for (let i = below + 1; i < n; i++) if (values[i]! < next) next = values[i]!;
  return low + (place - below) * (next - low);
}

/**
 * The value that would stand at an index of [start, end) if that range were sorted. Puts the range into another order:
 * nothing before the index is larger, nothing after it smaller.
 *
 * @param values no NaN in the range
 *
 * Source: Hoare (1961), Find, CACM 4(7), 321-322; median of three as the pivot.
 */
export function selectInPlace(values: Float64Array, index: number, start: number, end: number): number {
  let low = start;
  let high = end - 1;
  while (high > low) {
    const middle = (low + high) >> 1;
    const a = values[low]!;
    const b = values[middle]!;
    const c = values[high]!;
    const pivot = a < b ? (b < c ? b : a < c ? c : a) : a < c ? a : b < c ? c : b;
    let i = low;
    let j = high;
    while (i <= j) {
      while (values[i]! < pivot) i++;
      while (values[j]! > pivot) j--;
      if (i <= j) {
        const swapped = values[i]!;
        values[i] = values[j]!;
        values[j] = swapped;
        i++;
        j--;
      }
    }
    if (index <= j) high = j;
    else if (index >= i) low = i;
    else break;
  }
  return values[index]!;
}
