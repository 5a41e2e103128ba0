import { isMarked, type DoubtfulState } from '../state/doubtful.js';
import type { Palette } from './palette.js';
import { pixelX, pixelY, type Viewport } from './viewport.js';

/** A mark is at least this wide, so that a cell is found on a small scale [px]. */
const LEAST_PX = 7;

/** Squares about the cells in doubt; filled where a depth was chosen by hand; a heavy one about the cell looked at. */
export function paintDoubtful(ctx: CanvasRenderingContext2D, view: Viewport, palette: Palette, { cells, at }: DoubtfulState, cellM: number): void {
  const side = Math.max(LEAST_PX, cellM / view.metresPerPixel);
  ctx.save();
  const squares = (grow: number, which: (cell: DoubtfulState['cells'][number]) => boolean): void => {
    ctx.beginPath();
    for (const cell of cells) {
      if (!which(cell)) continue;
      const [x, y] = [pixelX(view, cell.xM), pixelY(view, cell.yM)];
      if (x < -side || y < -side || x > view.widthPx + side || y > view.heightPx + side) continue;
      ctx.rect(x - side / 2 - grow, y - side / 2 - grow, side + 2 * grow, side + 2 * grow);
    }
  };
  squares(0, isMarked);
  ctx.strokeStyle = palette.paper;
  ctx.lineWidth = 4;
  ctx.stroke();
  ctx.strokeStyle = palette.magenta;
  ctx.lineWidth = 1.8;
  ctx.stroke();
  // Chosen by hand: a full square inside, as it is settled.
  squares(-Math.max(2, side / 4), (cell) => cell.byHand);
  ctx.fillStyle = palette.magenta;
  ctx.fill();
  if (at !== null) {
    squares(5, ({ row, col }) => row === at.row && col === at.col);
    ctx.strokeStyle = palette.paper;
    ctx.lineWidth = 6;
    ctx.stroke();
    ctx.strokeStyle = palette.magenta;
    ctx.lineWidth = 3;
    ctx.stroke();
  }
  ctx.restore();
}
