/** A box on the sheet [mm], y down. */
export interface Box {
  readonly x0: number;
  readonly y0: number;
  readonly x1: number;
  readonly y1: number;
}

/** Which boxes on a sheet are taken: first come, first served. A grid of cells, each with the boxes that touch it. */
export class LabelIndex {
  private readonly cells = new Map<number, Box[]>();
  private readonly cellMm: number;

  constructor(cellMm = 6) {
    this.cellMm = cellMm;
  }

  isFree(box: Box): boolean {
    for (const key of this.keys(box)) {
      for (const other of this.cells.get(key) ?? []) {
        if (box.x0 < other.x1 && box.x1 > other.x0 && box.y0 < other.y1 && box.y1 > other.y0) return false;
      }
    }
    return true;
  }

  take(box: Box): void {
    for (const key of this.keys(box)) {
      const held = this.cells.get(key);
      if (held === undefined) this.cells.set(key, [box]);
      else held.push(box);
    }
  }

  /** Takes a box where it is free; says whether it was. */
  tryTake(box: Box): boolean {
    if (!this.isFree(box)) return false;
    this.take(box);
    return true;
  }

  private keys(box: Box): number[] {
    const keys: number[] = [];
    const colEnd = Math.floor(box.x1 / this.cellMm);
    const rowEnd = Math.floor(box.y1 / this.cellMm);
    for (let row = Math.floor(box.y0 / this.cellMm); row <= rowEnd; row++) {
      for (let col = Math.floor(box.x0 / this.cellMm); col <= colEnd; col++) keys.push(row * 100_003 + col);
    }
    return keys;
  }
}

/** Whether one box lies wholly in another. */
export function isWithin(box: Box, outer: Box): boolean {
  return box.x0 >= outer.x0 && box.y0 >= outer.y0 && box.x1 <= outer.x1 && box.y1 <= outer.y1;
}
