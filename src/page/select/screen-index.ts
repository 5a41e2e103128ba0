/** Side of a cell [px]. */
const CELL_PX = 8;

/** Soundings where they fall on a screen, for picking what is under the pointer. Made anew when the view moves. */
export class ScreenIndex {
  readonly #rows: Int32Array;
  readonly #x: Float32Array;
  readonly #y: Float32Array;
  readonly #cols: number;
  readonly #lines: number;
  readonly #starts: Uint32Array;
  readonly #members: Uint32Array;

  /**
   * @param rows the soundings; null: row k is sounding k
   * @param x, y where each falls [px]; NaN or off the screen is not picked. Shape [n]
   */
  constructor(rows: Int32Array | null, x: Float32Array, y: Float32Array, widthPx: number, heightPx: number) {
    const n = x.length;
    this.#rows = rows ?? new Int32Array(0);
    this.#x = x;
    this.#y = y;
    this.#cols = Math.max(1, Math.ceil(widthPx / CELL_PX));
    this.#lines = Math.max(1, Math.ceil(heightPx / CELL_PX));
    const starts = new Uint32Array(this.#cols * this.#lines + 1);
    const cell = new Int32Array(n);
    for (let i = 0; i < n; i++) {
      const px = x[i] as number;
      const py = y[i] as number;
      if (!(px >= 0 && py >= 0 && px < widthPx && py < heightPx)) {
        cell[i] = -1;
        continue;
      }
      const at = ((py / CELL_PX) | 0) * this.#cols + ((px / CELL_PX) | 0);
      cell[i] = at;
      starts[at + 1] = (starts[at + 1] as number) + 1;
    }
    for (let k = 1; k < starts.length; k++) starts[k] = (starts[k] as number) + (starts[k - 1] as number);
    const fill = starts.slice();
    const members = new Uint32Array(starts[starts.length - 1] as number);
    for (let i = 0; i < n; i++) {
      const at = cell[i] as number;
      if (at < 0) continue;
      const to = fill[at] as number;
      fill[at] = to + 1;
      members[to] = i;
    }
    this.#starts = starts;
    this.#members = members;
  }

  /** Where the point of a row falls, where row k is sounding k; NaN for one that is not picked [px]. */
  placeOf(row: number): readonly [x: number, y: number] {
    return [this.#x[row] ?? NaN, this.#y[row] ?? NaN];
  }

  /** Rows inside a box of the screen. */
  inBox(left: number, top: number, right: number, bottom: number): Int32Array {
    return this.#gather(left, top, right, bottom, (x, y) => x >= left && x <= right && y >= top && y <= bottom);
  }

  /** Rows no further from a place than a radius. */
  within(x: number, y: number, radiusPx: number): Int32Array {
    const square = radiusPx * radiusPx;
    return this.#gather(x - radiusPx, y - radiusPx, x + radiusPx, y + radiusPx, (px, py) => (px - x) ** 2 + (py - y) ** 2 <= square);
  }

  /** The row nearest to a place within a reach, -1 for none. */
  nearest(x: number, y: number, reachPx: number): number {
    let best = -1;
    let least = reachPx * reachPx;
    this.#each(x - reachPx, y - reachPx, x + reachPx, y + reachPx, (i) => {
      const distance = ((this.#x[i] as number) - x) ** 2 + ((this.#y[i] as number) - y) ** 2;
      if (distance > least) return;
      least = distance;
      best = i;
    });
    return best < 0 ? -1 : this.#rowOf(best);
  }

  #rowOf(i: number): number {
    return this.#rows.length === 0 ? i : (this.#rows[i] as number);
  }

  #gather(left: number, top: number, right: number, bottom: number, take: (x: number, y: number) => boolean): Int32Array {
    const out: number[] = [];
    this.#each(left, top, right, bottom, (i) => {
      if (take(this.#x[i] as number, this.#y[i] as number)) out.push(this.#rowOf(i));
    });
    return Int32Array.from(out);
  }

  #each(left: number, top: number, right: number, bottom: number, visit: (i: number) => void): void {
    const colStart = Math.max(0, Math.floor(left / CELL_PX));
    const colEnd = Math.min(this.#cols - 1, Math.floor(right / CELL_PX));
    const rowStart = Math.max(0, Math.floor(top / CELL_PX));
    const rowEnd = Math.min(this.#lines - 1, Math.floor(bottom / CELL_PX));
    for (let row = rowStart; row <= rowEnd; row++) {
      for (let col = colStart; col <= colEnd; col++) {
        const cell = row * this.#cols + col;
        for (let k = this.#starts[cell] as number; k < (this.#starts[cell + 1] as number); k++) visit(this.#members[k] as number);
      }
    }
  }
}
