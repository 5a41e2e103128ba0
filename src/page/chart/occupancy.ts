const CELL_PX = 6;

/** Which parts of the screen already hold a label. */
export class Occupancy {
  readonly #cols: number;
  readonly #rows: number;
  readonly #taken: Uint8Array;

  constructor(widthPx: number, heightPx: number) {
    this.#cols = Math.ceil(widthPx / CELL_PX) + 1;
    this.#rows = Math.ceil(heightPx / CELL_PX) + 1;
    this.#taken = new Uint8Array(this.#cols * this.#rows);
  }

  /** Whether any of a box is taken. */
  holds(x: number, y: number, width: number, height: number): boolean {
    const colStart = Math.max(0, Math.floor(x / CELL_PX));
    const colEnd = Math.min(this.#cols, Math.ceil((x + width) / CELL_PX));
    const rowStart = Math.max(0, Math.floor(y / CELL_PX));
    const rowEnd = Math.min(this.#rows, Math.ceil((y + height) / CELL_PX));
    for (let row = rowStart; row < rowEnd; row++) {
      for (let col = colStart; col < colEnd; col++) if (this.#taken[row * this.#cols + col] === 1) return true;
    }
    return false;
  }

  /** Takes a box if nothing is in it; a box wholly off the screen counts as free. */
  claim(x: number, y: number, width: number, height: number, force = false): boolean {
    const colStart = Math.max(0, Math.floor(x / CELL_PX));
    const colEnd = Math.min(this.#cols, Math.ceil((x + width) / CELL_PX));
    const rowStart = Math.max(0, Math.floor(y / CELL_PX));
    const rowEnd = Math.min(this.#rows, Math.ceil((y + height) / CELL_PX));
    if (!force && this.holds(x, y, width, height)) return false;
    for (let row = rowStart; row < rowEnd; row++) this.#taken.fill(1, row * this.#cols + colStart, row * this.#cols + Math.max(colStart, colEnd));
    return true;
  }
}
