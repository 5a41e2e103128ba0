import type { Palette } from '../chart/palette.js';
import { niceSteps } from '../strip/strip-svg.js';
import { clock, fixed } from '../words/figures.js';
import type { LoadedPings } from '../work/imagery-messages.js';
import type { BottomPoint } from './bottom-stroke.js';
import type { DrawnShape } from './drawn-shape.js';
import type { Echo } from './echo-place.js';
import type { PingRun } from './ping-runs.js';
import { acrossAt, rowAt, xAt, yAt, type PlotBox, type WaterfallWindow } from './waterfall-window.js';

/** A shape over the picture, with its name: an object and its shadow, or a place to look at. */
export interface WaterfallMark extends DrawnShape {
  readonly key: string;
  readonly label: string;
  readonly strong: boolean;
}

/** The frame of the waterfall: metres across on top, clock times at the left. */
export function paintAxes(ctx: CanvasRenderingContext2D, palette: Palette, window: WaterfallWindow, box: PlotBox, pings: LoadedPings, run: PingRun): void {
  const { ink, quiet, font, hairline } = palette;
  ctx.strokeStyle = ink;
  ctx.lineWidth = 1;
  ctx.strokeRect(box.left - 0.5, box.top - 0.5, box.width + 1, box.height + 1);
  ctx.font = `500 13px ${font}`;
  ctx.fillStyle = quiet;
  ctx.textBaseline = 'alphabetic';
  ctx.textAlign = 'center';
  const [left, right] = [acrossAt(window, box, box.left), acrossAt(window, box, box.left + box.width)];
  let lastX = -Infinity;
  for (const at of niceSteps(left, right, Math.max(3, Math.floor(box.width / 72)))) {
    const x = xAt(window, box, at);
    if (Math.abs(at) > run.rangeM * 1.001 || x - lastX < 34) continue;
    lastX = x;
    ctx.strokeStyle = quiet;
    ctx.beginPath();
    ctx.moveTo(x, box.top - 5);
    ctx.lineTo(x, box.top);
    ctx.stroke();
    ctx.fillText(at === 0 ? '0 m' : fixed(Math.abs(at), right - left < 8 ? 1 : 0), Math.min(box.left + box.width - 6, Math.max(box.left + 8, x)), box.top - 9);
  }
  // Times: every so many rows that a label has room.
  ctx.textAlign = 'right';
  const [low, high] = [Math.max(run.rowStart, Math.ceil(rowAt(window, box, box.top + box.height))), Math.min(run.rowEnd - 1, Math.floor(rowAt(window, box, box.top)))];
  if (high <= low) return;
  const [t0, t1] = [pings.timeS[low] as number, pings.timeS[high] as number];
  const steps = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1800];
  const perLabel = ((t1 - t0) / box.height) * 56;
  const stepS = steps.find((one) => one >= perLabel) ?? 3600;
  let next = Math.ceil(t0 / stepS) * stepS;
  ctx.strokeStyle = hairline;
  for (let row = low; row <= high; row++) {
    const time = pings.timeS[row] as number;
    if (!(time >= next)) continue;
    const y = yAt(window, box, row);
    ctx.fillText(clock(next), box.left - 7, Math.min(box.top + box.height - 2, Math.max(box.top + 10, y + 4)));
    ctx.strokeStyle = quiet;
    ctx.beginPath();
    ctx.moveTo(box.left - 5, y);
    ctx.lineTo(box.left, y);
    ctx.stroke();
    next = (Math.floor(time / stepS) + 1) * stepS;
  }
}

/** The floor's first echo on both sides; dashed where it is carried on without being heard, dotted where the depths gave it. */
export function paintBottom(ctx: CanvasRenderingContext2D, palette: Palette, window: WaterfallWindow, box: PlotBox, pings: LoadedPings, run: PingRun): void {
  const step = Math.max(1, Math.floor(window.pingsPerPx));
  const low = Math.max(run.rowStart, Math.floor(rowAt(window, box, box.top + box.height)) - step);
  const high = Math.min(run.rowEnd, Math.ceil(rowAt(window, box, box.top)) + step);
  const dashes: Readonly<Record<number, readonly number[]>> = { 2: [7, 5], 4: [2, 4] };
  for (const [colour, width] of [[palette.paper, 4], [palette.magenta, 1.8]] as const) {
    ctx.strokeStyle = colour;
    ctx.lineWidth = width;
    for (const sign of [-1, 1]) {
      let source = -1;
      for (let row = low; row < high; row += step) {
        const slant = pings.firstEchoM[row] as number;
        const now = slant > 0 ? (pings.source[row] as number) : -1;
        const x = xAt(window, box, sign * slant);
        const y = yAt(window, box, row + 0.5);
        if (now !== source) {
          if (source >= 0) {
            if (now >= 0) ctx.lineTo(x, y);
            ctx.stroke();
          }
          source = now;
          if (now < 0) continue;
          ctx.setLineDash(width > 3 ? [] : [...(dashes[now] ?? [])]);
          ctx.beginPath();
          ctx.moveTo(x, y);
        } else if (now >= 0) ctx.lineTo(x, y);
      }
      if (source >= 0) ctx.stroke();
    }
  }
  ctx.setLineDash([]);
}

/** A bottom being drawn by hand, on both sides, before it is kept. */
export function paintPending(ctx: CanvasRenderingContext2D, palette: Palette, pending: readonly BottomPoint[], window: WaterfallWindow, box: PlotBox): void {
  if (pending.length === 0) return;
  const points = [...pending].sort((a, b) => a.row - b.row);
  for (const sign of [-1, 1]) {
    ctx.strokeStyle = palette.magenta;
    ctx.lineWidth = 2.5;
    ctx.beginPath();
    points.forEach(({ row, slantM }, k) => {
      const [x, y] = [xAt(window, box, sign * slantM), yAt(window, box, row + 0.5)];
      if (k === 0) ctx.moveTo(x, y);
      else ctx.lineTo(x, y);
    });
    ctx.stroke();
    if (points.length > 60) continue;
    for (const { row, slantM } of points) {
      ctx.beginPath();
      ctx.arc(xAt(window, box, sign * slantM), yAt(window, box, row + 0.5), 5, 0, 2 * Math.PI);
      ctx.fillStyle = palette.paper;
      ctx.fill();
      ctx.stroke();
    }
  }
}

/** Objects and their shadows, boxed and named. @param acrossOf across the track of an echo [m], port negative */
export function paintMarks(ctx: CanvasRenderingContext2D, palette: Palette, marks: readonly WaterfallMark[], window: WaterfallWindow, box: PlotBox, pings: LoadedPings, acrossOf: (echo: Echo) => number): void {
  ctx.font = `600 14px ${palette.font}`;
  ctx.textBaseline = 'bottom';
  ctx.textAlign = 'left';
  for (const mark of marks) {
    const row = Math.min(pings.n - 1, Math.max(0, Math.round((mark.rowStart + mark.rowEnd) / 2)));
    const x = (slantM: number): number => xAt(window, box, acrossOf({ row, side: mark.side, slantM }));
    const [y0, y1] = [yAt(window, box, Math.max(mark.rowStart, mark.rowEnd) + 1), yAt(window, box, Math.min(mark.rowStart, mark.rowEnd))];
    if (y1 < box.top - 20 || y0 > box.top + box.height + 20) continue;
    const [xa, xb] = [x(mark.slantStart), x(mark.slantEnd)];
    const pad = mark.strong ? 4 : 3;
    const [left, top, width, height] = [Math.min(xa, xb) - pad, y0 - pad, Math.abs(xb - xa) + 2 * pad, y1 - y0 + 2 * pad];
    for (const [colour, line] of [[palette.paper, mark.strong ? 5 : 4], [palette.magenta, mark.strong ? 2.5 : 1.6]] as const) {
      ctx.strokeStyle = colour;
      ctx.lineWidth = line;
      ctx.strokeRect(left, top, width, height);
      if (!Number.isFinite(mark.shadowEndSlant)) continue;
      const far = x(mark.shadowEndSlant);
      const near = Math.abs(far - xa) < Math.abs(far - xb) ? xa : xb;
      ctx.setLineDash(line > 3 ? [] : [5, 4]);
      ctx.strokeRect(Math.min(near, far), y0 - pad, Math.abs(far - near), y1 - y0 + 2 * pad);
      ctx.setLineDash([]);
    }
    if (mark.label === '') continue;
    ctx.strokeStyle = palette.paper;
    ctx.lineWidth = 4;
    ctx.strokeText(mark.label, left, top - 3);
    ctx.fillStyle = palette.magenta;
    ctx.fillText(mark.label, left, top - 3);
  }
}

/** The ping and the echo pointed at. @param x of the echo on the screen; NaN where there is none [px] */
export function paintCursor(ctx: CanvasRenderingContext2D, palette: Palette, window: WaterfallWindow, box: PlotBox, cursor: Echo, x: number): void {
  const y = yAt(window, box, cursor.row + 0.5);
  if (y < box.top || y > box.top + box.height) return;
  for (const [colour, width] of [[palette.paper, 3], [palette.magenta, 1.2]] as const) {
    ctx.strokeStyle = colour;
    ctx.lineWidth = width;
    ctx.beginPath();
    ctx.moveTo(box.left, y);
    ctx.lineTo(box.left + box.width, y);
    ctx.stroke();
    if (!Number.isFinite(x)) continue;
    ctx.beginPath();
    ctx.arc(x, y, 8, 0, 2 * Math.PI);
    ctx.stroke();
  }
}

/** Which side is which. */
export function paintSides(ctx: CanvasRenderingContext2D, palette: Palette, box: PlotBox): void {
  ctx.font = `600 13px ${palette.font}`;
  ctx.textBaseline = 'top';
  for (const [words, x, align] of [['Port', box.left + 8, 'left'], ['Starboard', box.left + box.width - 8, 'right']] as const) {
    ctx.textAlign = align;
    ctx.lineWidth = 4;
    ctx.strokeStyle = palette.paper;
    ctx.strokeText(words, x, box.top + 7);
    ctx.fillStyle = palette.ink;
    ctx.fillText(words, x, box.top + 7);
  }
}

/** Canvases of one size on one sheet of paper. */
export function layered(canvases: readonly HTMLCanvasElement[], paper: string): HTMLCanvasElement {
  const out = document.createElement('canvas');
  out.width = canvases[0]?.width ?? 0;
  out.height = canvases[0]?.height ?? 0;
  const ctx = out.getContext('2d');
  if (ctx === null) return out;
  ctx.fillStyle = paper;
  ctx.fillRect(0, 0, out.width, out.height);
  for (const canvas of canvases) ctx.drawImage(canvas, 0, 0);
  return out;
}
