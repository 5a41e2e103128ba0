/**
 * Exact Euclidean distance from each cell's centre to the nearest marked cell's centre, in cells.
 *
 * Two passes of the lower envelope of parabolas, linear in the number of cells. The nearest marked cell down each column
 * comes first (integers), then the envelope along each row.
 *
 * @param marked [rows * cols], non-zero is marked
 * @returns squared distance in cells squared [rows * cols]: exact integers below 2^53; Infinity where nothing is marked
 *
 * Source: Felzenszwalb & Huttenlocher (2012), Distance Transforms of Sampled Functions, Theory of Computing 8, 415-428,
 * section 2.
 */
export function squaredDistanceCells(marked: ArrayLike<number>, cols: number, rows: number): Float64Array {
  const squared = new Float64Array(cols * rows);
  const above = new Float64Array(cols).fill(Infinity);
  for (let row = 0, at = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++, at++) {
      const distance = marked[at] ? 0 : above[col]! + 1;
      above[col] = distance;
      squared[at] = distance;
    }
  }
  const below = new Float64Array(cols).fill(Infinity);
  for (let row = rows - 1; row >= 0; row--) {
    for (let col = 0, at = row * cols; col < cols; col++, at++) {
      let distance = below[col]! + 1;
      if (squared[at]! < distance) distance = squared[at]!;
      below[col] = distance;
      squared[at] = distance * distance;
    }
  }
  const heights = new Float64Array(cols);
  const apex = new Int32Array(cols);
  const from = new Float64Array(cols + 1);
  for (let row = 0; row < rows; row++) envelopeRow(squared, row * cols, cols, heights, apex, from);
  return squared;
}

function envelopeRow(squared: Float64Array, start: number, cols: number, heights: Float64Array, apex: Int32Array, from: Float64Array): void {
  let top = -1;
  for (let q = 0; q < cols; q++) {
    const height = squared[start + q]!;
    heights[q] = height;
    if (height === Infinity) continue;
    let cut = -Infinity;
    while (top >= 0) {
      const p = apex[top]!;
      cut = (height + q * q - (heights[p]! + p * p)) / (2 * (q - p));
      if (cut > from[top]!) break;
      top--;
    }
    if (top < 0) cut = -Infinity;
    top++;
    apex[top] = q;
    from[top] = cut;
  }
  if (top < 0) return;
  from[top + 1] = Infinity;
  for (let q = 0, k = 0; q < cols; q++) {
    while (from[k + 1]! < q) k++;
    const p = apex[k]!;
    squared[start + q] = (q - p) * (q - p) + heights[p]!;
  }
}
