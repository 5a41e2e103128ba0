import type { Mishap, MomentOutcomes, Outcome } from '../../rehearse/rehearsal.js';
import { OUTCOMES } from '../../rehearse/rehearsal.js';
import type { Palette } from './palette.js';
import { haloText, paintOutcome } from './rehearse-paint.js';
import { pixelX, pixelY, type Viewport } from './viewport.js';

/** The boat at the moment pointed at. */
export interface BoatAt {
  readonly xM: number;
  readonly yM: number;
  /** In the frame [deg]. */
  readonly headingDeg: number;
  readonly text: string;
  /** What would come of the mishap that is looked at, then. */
  readonly mishap: { readonly moments: MomentOutcomes; readonly i: number; readonly mishap: Mishap; readonly text: string } | null;
}

/** Draws the boat where it is at a moment, its heading, what is known then, and where a mishap then would end. */
export function paintBoat(ctx: CanvasRenderingContext2D, view: Viewport, boat: BoatAt, palette: Palette): void {
  const [x, y] = [pixelX(view, boat.xM), pixelY(view, boat.yM)];
  if (boat.mishap !== null) paintEnd(ctx, view, boat.mishap, x, y, palette);
  ctx.save();
  ctx.translate(x, y);
  ctx.rotate((boat.headingDeg * Math.PI) / 180);
  ctx.strokeStyle = palette.magenta;
  ctx.lineWidth = 1.6;
  ctx.setLineDash([]);
  ctx.beginPath();
  ctx.moveTo(0, -9);
  ctx.lineTo(0, -36);
  ctx.stroke();
  // Two hulls and the deck between them.
  for (const [colour, width] of [[palette.paper, 4], [palette.ink, 0]] as const) {
    ctx.fillStyle = colour;
    ctx.strokeStyle = colour;
    ctx.lineWidth = width;
    ctx.beginPath();
    for (const side of [-4.6, 4.6]) {
      ctx.moveTo(side, -11);
      ctx.lineTo(side + 2, -6);
      ctx.lineTo(side + 2, 9);
      ctx.lineTo(side - 2, 9);
      ctx.lineTo(side - 2, -6);
      ctx.closePath();
    }
    ctx.rect(-5, -3, 10, 7);
    if (width > 0) ctx.stroke();
    ctx.fill();
  }
  ctx.restore();
  ctx.font = `600 13px ${palette.font}`;
  ctx.textBaseline = 'middle';
  ctx.textAlign = 'left';
  const lines = [boat.text, ...(boat.mishap === null ? [] : [boat.mishap.text])];
  const width = Math.max(...lines.map((line) => ctx.measureText(line).width)) + 16;
  const height = 18 * lines.length + 8;
  const left = x + 22 + width > view.widthPx - 4 ? Math.max(4, x - 22 - width) : x + 22;
  const top = y - 44 - height < 4 ? y + 44 : y - 44 - height;
  ctx.fillStyle = palette.paper;
  ctx.strokeStyle = palette.ink;
  ctx.lineWidth = 1;
  ctx.beginPath();
  ctx.rect(left, top, width, height);
  ctx.fill();
  ctx.stroke();
  lines.forEach((line, k) => {
    ctx.fillStyle = k === 0 ? palette.ink : palette.magenta;
    ctx.fillText(line, left + 8, top + 13 + 18 * k);
  });
}

function paintEnd(ctx: CanvasRenderingContext2D, view: Viewport, { moments, i, mishap }: NonNullable<BoatAt['mishap']>, x: number, y: number, palette: Palette): void {
  const ends = moments.outcomes[mishap];
  const [toX, toY] = [pixelX(view, ends.xM[i] as number), pixelY(view, ends.yM[i] as number)];
  if (!Number.isFinite(toX + toY)) return;
  const outcome = OUTCOMES[ends.outcome[i] as number] as Outcome;
  const bad = (ends.outcome[i] as number) >= 2;
  ctx.strokeStyle = bad ? palette.magenta : palette.ink;
  ctx.lineWidth = 1.6;
  ctx.setLineDash([5, 4]);
  ctx.beginPath();
  ctx.moveTo(x, y);
  ctx.lineTo(toX, toY);
  ctx.stroke();
  ctx.setLineDash([]);
  paintOutcome(ctx, outcome, toX, toY, palette, 2.2);
  if (Math.hypot(toX - x, toY - y) > 30) {
    ctx.font = `600 13px ${palette.font}`;
    ctx.textAlign = 'center';
    ctx.textBaseline = 'middle';
    haloText(ctx, 'ends here', toX, toY + 18, bad ? palette.magenta : palette.ink, palette);
  }
}
