/** Sums over rectangles of a table at the cost of four look-ups, however large: values that are NaN count for nothing. */
export interface WindowSums {
  readonly rows: number;
  readonly cols: number;
  /** Running sums and counts from the top left. Shape [(rows + 1) * (cols + 1)]. */
  readonly sum: Float64Array;
  readonly count: Int32Array;
}

/** Source: summed-area tables, Crow (1984), SIGGRAPH Computer Graphics 18(3), 207-212. @param values shape [rows * cols] */
export function windowSums(values: ArrayLike<number>, rows: number, cols: number): WindowSums {
  const wide = cols + 1;
  const sum = new Float64Array((rows + 1) * wide);
  const count = new Int32Array((rows + 1) * wide);
  for (let row = 0; row < rows; row++) {
    let rowSum = 0;
    let rowCount = 0;
    const above = row * wide;
    const here = above + wide;
    for (let col = 0; col < cols; col++) {
      const value = values[row * cols + col]!;
      if (value === value) {
        rowSum += value;
        rowCount++;
      }
      sum[here + col + 1] = sum[above + col + 1]! + rowSum;
      count[here + col + 1] = count[above + col + 1]! + rowCount;
    }
  }
  return { rows, cols, sum, count };
}

/** Sum of the values in rows [rowStart, rowEnd) and columns [colStart, colEnd), cut to the table. */
export function sumIn({ rows, cols, sum }: WindowSums, rowStart: number, rowEnd: number, colStart: number, colEnd: number): number {
  return corners(sum, rows, cols, rowStart, rowEnd, colStart, colEnd);
}

export function countIn({ rows, cols, count }: WindowSums, rowStart: number, rowEnd: number, colStart: number, colEnd: number): number {
  return corners(count, rows, cols, rowStart, rowEnd, colStart, colEnd);
}

function corners(table: Float64Array | Int32Array, rows: number, cols: number, rowStart: number, rowEnd: number, colStart: number, colEnd: number): number {
  const top = rowStart < 0 ? 0 : rowStart > rows ? rows : rowStart;
  const bottom = rowEnd < top ? top : rowEnd > rows ? rows : rowEnd;
  const left = colStart < 0 ? 0 : colStart > cols ? cols : colStart;
  const right = colEnd < left ? left : colEnd > cols ? cols : colEnd;
  const wide = cols + 1;
  return table[bottom * wide + right]! - table[top * wide + right]! - table[bottom * wide + left]! + table[top * wide + left]!;
}
