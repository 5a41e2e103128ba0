/** Below this many values insertion sort beats selection. */
const INSERTION_MAX = 24;

/**
 * Median of values[start, end), reordering that range in place.
 *
 * Exact: the middle value for an odd count, the mean of the two middle values for an even count. Insertion sort for
 * short ranges, otherwise quickselect with a median-of-three pivot (Hoare 1961, Algorithm 65 FIND), which stays fast
 * on sorted, reversed and constant input.
 *
 * @param values finite values, reordered within the range
 * @returns the median; NaN for an empty range
 */
export function medianInPlace(values: Float32Array | Float64Array, start: number, end: number): number {
  const n = end - start;
  if (n <= 0) return NaN;
  if (n === 1) return values[start]!;
  if (n === 2) return (values[start]! + values[start + 1]!) / 2;
  const middle = start + (n >> 1);
  if (n <= INSERTION_MAX) insertionSort(values, start, end);
  else selectInPlace(values, start, end - 1, middle);
  const upper = values[middle]!;
  if (n % 2 === 1) return upper;
  if (n <= INSERTION_MAX) return (values[middle - 1]! + upper) / 2;
  let lower = values[start]!;
  for (let i = start + 1; i < middle; i++) if (values[i]! > lower) lower = values[i]!;
  return (lower + upper) / 2;
}

function insertionSort(values: Float32Array | Float64Array, start: number, end: number): void {
  for (let i = start + 1; i < end; i++) {
    const value = values[i]!;
    let j = i - 1;
    while (j >= start && values[j]! > value) {
      values[j + 1] = values[j]!;
      j--;
    }
    values[j + 1] = value;
  }
}

/** Puts the k-th smallest of values[left..right] at k, smaller or equal before it, larger or equal after it. */
export function selectInPlace(values: Float32Array | Float64Array, left: number, right: number, k: number): void {
  while (right > left) {
    if (right - left < INSERTION_MAX) {
      insertionSort(values, left, right + 1);
      return;
    }
    const mid = (left + right) >>> 1;
    if (values[mid]! < values[left]!) swap(values, mid, left);
    if (values[right]! < values[left]!) swap(values, right, left);
    if (values[right]! < values[mid]!) swap(values, right, mid);
    const pivot = values[mid]!;
    let i = left;
    let j = right;
    while (i <= j) {
      while (values[i]! < pivot) i++;
      while (values[j]! > pivot) j--;
      if (i <= j) {
        swap(values, i, j);
        i++;
        j--;
      }
    }
    if (k <= j) right = j;
    else if (k >= i) left = i;
    else return;
  }
}

function swap(values: Float32Array | Float64Array, a: number, b: number): void {
  const value = values[a]!;
  values[a] = values[b]!;
  values[b] = value;
}
