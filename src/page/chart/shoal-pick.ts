/** Where soundings lie and how deep they are; the part of the columns a choice of labels needs. Shape of each: [n]. */
export interface PickInput {
  readonly n: number;
  readonly xM: ArrayLike<number>;
  readonly yM: ArrayLike<number>;
  readonly depthM: ArrayLike<number>;
  /** 0 is good; nothing else is labelled. */
  readonly reason: ArrayLike<number>;
}

export interface Box {
  readonly westM: number;
  readonly southM: number;
  readonly eastM: number;
  readonly northM: number;
}

/** A choice of soundings on a grid of label cells anchored at frame zero, so that it does not change as the chart pans. */
export interface CellPicks {
  readonly colStart: number;
  readonly rowStart: number;
  readonly cols: number;
  readonly rows: number;
  readonly cellWidthM: number;
  readonly cellHeightM: number;
  /** Index of the shoalest good sounding of each cell, -1 where there is none. [rows * cols], row 0 = south. */
  readonly pick: Int32Array;
}

/**
 * The shoalest good sounding in each cell of a grid over a box.
 *
 * @param ids soundings to choose from; null for all
 * @throws RangeError for more than 2^24 cells
 */
export function shoalestPerCell(input: PickInput, ids: ArrayLike<number> | null, box: Box, cellWidthM: number, cellHeightM: number): CellPicks {
  const colStart = Math.floor(box.westM / cellWidthM);
  const rowStart = Math.floor(box.southM / cellHeightM);
  const cols = Math.floor(box.eastM / cellWidthM) - colStart + 1;
  const rows = Math.floor(box.northM / cellHeightM) - rowStart + 1;
  if (!(cols * rows <= 2 ** 24)) throw new RangeError(`cells ${cols} x ${rows}: more than 2^24; choose larger cells or a smaller box`);
  const pick = new Int32Array(cols * rows).fill(-1);
  const { xM, yM, depthM, reason } = input;
  const count = ids === null ? input.n : ids.length;
  for (let k = 0; k < count; k++) {
    const i = ids === null ? k : (ids[k] as number);
    if (reason[i] !== 0) continue;
    const col = Math.floor((xM[i] as number) / cellWidthM) - colStart;
    const row = Math.floor((yM[i] as number) / cellHeightM) - rowStart;
    if (!(col >= 0 && col < cols && row >= 0 && row < rows)) continue;
    const cell = row * cols + col;
    const held = pick[cell] as number;
    if (held < 0 || (depthM[i] as number) < (depthM[held] as number)) pick[cell] = i;
  }
  return { colStart, rowStart, cols, rows, cellWidthM, cellHeightM, pick };
}

/**
 * Of the picks, those whose labels do not overlap: where two would, the shoaler stays. The choice of a cell depends on
 * its neighbours alone, so labels do not flicker as the chart pans. A pick held back only by picks that were themselves
 * held back gets a second chance.
 *
 * @param widthM room a label needs, at most one cell wide [m]
 * @param heightM at most one cell high [m]
 * @returns indices of soundings, cell by cell
 */
export function declutterPicks(input: PickInput, picks: CellPicks, widthM: number, heightM: number): Int32Array {
  const { cols, rows, pick } = picks;
  const { xM, yM, depthM } = input;
  /** 0 nothing, 1 waiting, 2 shown, 3 held back for good. */
  const state = new Uint8Array(pick.length);
  for (let cell = 0; cell < pick.length; cell++) state[cell] = (pick[cell] as number) < 0 ? 0 : 1;
  for (let pass = 0; pass < 3; pass++) {
    const next = state.slice();
    for (let row = 0; row < rows; row++) {
      for (let col = 0; col < cols; col++) {
        const cell = row * cols + col;
        if (state[cell] !== 1) continue;
        const i = pick[cell] as number;
        let shown = true;
        for (let r = Math.max(0, row - 1); r <= Math.min(rows - 1, row + 1) && shown; r++) {
          for (let c = Math.max(0, col - 1); c <= Math.min(cols - 1, col + 1); c++) {
            const other = r * cols + c;
            const s = state[other];
            if (other === cell || s === 0 || s === 3) continue;
            const j = pick[other] as number;
            if (Math.abs((xM[i] as number) - (xM[j] as number)) >= widthM) continue;
            if (Math.abs((yM[i] as number) - (yM[j] as number)) >= heightM) continue;
            if (s === 2) {
              next[cell] = 3;
              shown = false;
              break;
            }
            const di = depthM[i] as number;
            const dj = depthM[j] as number;
            if (dj < di || (dj === di && j < i)) {
              shown = false;
              break;
            }
          }
        }
        if (shown) next[cell] = 2;
      }
    }
    state.set(next);
  }
  let count = 0;
  for (let cell = 0; cell < state.length; cell++) if (state[cell] === 2) count++;
  const chosen = new Int32Array(count);
  let k = 0;
  for (let cell = 0; cell < state.length; cell++) if (state[cell] === 2) chosen[k++] = pick[cell] as number;
  return chosen;
}
