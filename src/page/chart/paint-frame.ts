import type { Frame } from '../../geo/frame.js';
import { edgeGraduations, graduationFigure, graduationStep, scaleBar, type EdgeGraduations } from './graduate.js';
import type { Palette } from './palette.js';
import { extentOf, type Viewport } from './viewport.js';

/** Paper left around the chart for the border and its figures [px]. */
export const MARGIN = { left: 46, right: 30, top: 44, bottom: 30 } as const;

const BAR_PX = 7;
const GUTTER_PX = 4;

export interface Furniture {
  readonly frame: Frame;
  readonly view: Viewport;
  /** True north and magnetic variation, east positive [deg]; NaN not known. */
  readonly trueNorthDeg: number;
  readonly variationDeg: number;
  readonly variationText: string;
  readonly compact: boolean;
}

/** Draws the border with its graduation and figures, the rose and the scale bar, on a canvas that covers the whole sheet. */
export function paintFrame(ctx: CanvasRenderingContext2D, sheetWidth: number, sheetHeight: number, furniture: Furniture, palette: Palette): void {
  const { view, frame } = furniture;
  const left = MARGIN.left;
  const top = MARGIN.top;
  const right = sheetWidth - MARGIN.right;
  const bottom = sheetHeight - MARGIN.bottom;
  const centre = frame.toGeographic(view.centreXM, view.centreYM);
  const metresPerLat = 111_200;
  const metresPerLon = Math.max(1, metresPerLat * Math.cos((centre[0] * Math.PI) / 180));
  const lonStep = graduationStep((130 * view.metresPerPixel) / metresPerLon);
  const latStep = graduationStep((105 * view.metresPerPixel) / metresPerLat);
  const extent = extentOf(view);
  const bars = edgeGraduations(frame, extent, lonStep.barDeg, latStep.barDeg);
  const figures = edgeGraduations(frame, extent, lonStep.figureDeg, latStep.figureDeg);
  const inch = 1 / view.metresPerPixel;

  ctx.save();
  ctx.strokeStyle = palette.ink;
  ctx.fillStyle = palette.ink;
  ctx.lineWidth = 1;
  ctx.strokeRect(left - 0.5, top - 0.5, right - left + 1, bottom - top + 1);
  ctx.strokeRect(left - GUTTER_PX - 0.5, top - GUTTER_PX - 0.5, right - left + 2 * GUTTER_PX + 1, bottom - top + 2 * GUTTER_PX + 1);
  const out = GUTTER_PX + BAR_PX;
  ctx.lineWidth = 1.6;
  ctx.strokeRect(left - out - 0.8, top - out - 0.8, right - left + 2 * out + 1.6, bottom - top + 2 * out + 1.6);

  paintBars(ctx, bars, lonStep.barDeg, latStep.barDeg, { left, top, right, bottom, inch });
  paintTicks(ctx, figures, { left, top, right, bottom, inch });
  paintFigures(ctx, figures, lonStep.decimals, latStep.decimals, { left, top, right, bottom, inch }, palette);
  paintGraticule(ctx, figures, { left, top, right, bottom, inch });
  // On a narrow chart the title stands across the bottom: the scale goes above it.
  paintScale(ctx, view, right - 38, bottom - (furniture.compact ? 150 : 22), palette);
  const { x, y, radius } = rosePlace(right - left, furniture.compact);
  paintRose(ctx, left + x, top + y, radius, furniture, palette);
  ctx.restore();
}

/** Where the rose stands on the chart: its top right corner [px]. */
export function rosePlace(chartWidth: number, compact: boolean): { readonly x: number; readonly y: number; readonly radius: number } {
  const radius = compact ? 34 : 44;
  return { x: chartWidth - radius - 34, y: radius + 32, radius };
}

/** Parts of the chart that the rose and the scale bar take [px]. */
export function furnitureBoxes(chartWidth: number, chartHeight: number, compact: boolean): readonly { readonly x: number; readonly y: number; readonly width: number; readonly height: number }[] {
  const { x, y, radius } = rosePlace(chartWidth, compact);
  return [
    { x: x - radius - 4, y: y - radius - 24, width: 2 * radius + 8, height: 2 * radius + 70 },
    { x: chartWidth - 240, y: chartHeight - (compact ? 180 : 52), width: 240, height: 52 },
  ];
}

interface Edges {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
  /** Pixels per metre. */
  readonly inch: number;
}

/** Bars alternate by the parity of their step, so that they keep their colour as the chart pans. */
function paintBars(ctx: CanvasRenderingContext2D, bars: EdgeGraduations, lonBarDeg: number, latBarDeg: number, edges: Edges): void {
  const { left, top, right, bottom, inch } = edges;
  const row = (marks: EdgeGraduations['top'], stepDeg: number, length: number, draw: (from: number, to: number) => void) => {
    const first = marks[0];
    if (first === undefined) return;
    const stops = [0, ...marks.map((mark) => mark.alongM * inch), length];
    let parity = Math.round(first.valueDeg / stepDeg) - 1;
    for (let k = 0; k + 1 < stops.length; k++, parity++) {
      if (((parity % 2) + 2) % 2 === 0) draw(stops[k] as number, stops[k + 1] as number);
    }
  };
  const width = right - left;
  const height = bottom - top;
  row(bars.top, lonBarDeg, width, (from, to) => ctx.fillRect(left + from, top - GUTTER_PX - BAR_PX, to - from, BAR_PX - 1));
  row(bars.bottom, lonBarDeg, width, (from, to) => ctx.fillRect(left + from, bottom + GUTTER_PX + 1, to - from, BAR_PX - 1));
  row(bars.left, latBarDeg, height, (from, to) => ctx.fillRect(left - GUTTER_PX - BAR_PX, bottom - to, BAR_PX - 1, to - from));
  row(bars.right, latBarDeg, height, (from, to) => ctx.fillRect(right + GUTTER_PX + 1, bottom - to, BAR_PX - 1, to - from));
}

function paintTicks(ctx: CanvasRenderingContext2D, figures: EdgeGraduations, edges: Edges): void {
  const { left, top, right, bottom, inch } = edges;
  const out = GUTTER_PX + BAR_PX;
  ctx.lineWidth = 1;
  ctx.beginPath();
  for (const mark of figures.top) tick(ctx, left + mark.alongM * inch, top, left + mark.alongM * inch, top - out - 4);
  for (const mark of figures.bottom) tick(ctx, left + mark.alongM * inch, bottom, left + mark.alongM * inch, bottom + out + 4);
  for (const mark of figures.left) tick(ctx, left, bottom - mark.alongM * inch, left - out - 4, bottom - mark.alongM * inch);
  for (const mark of figures.right) tick(ctx, right, bottom - mark.alongM * inch, right + out + 4, bottom - mark.alongM * inch);
  ctx.stroke();
}

function tick(ctx: CanvasRenderingContext2D, x0: number, y0: number, x1: number, y1: number): void {
  ctx.moveTo(x0, y0);
  ctx.lineTo(x1, y1);
}

function paintFigures(ctx: CanvasRenderingContext2D, figures: EdgeGraduations, lonDecimals: number, latDecimals: number, edges: Edges, palette: Palette): void {
  const { left, top, right, bottom, inch } = edges;
  ctx.fillStyle = palette.ink;
  ctx.font = `500 13px ${palette.font}`;
  ctx.textBaseline = 'alphabetic';
  ctx.textAlign = 'center';
  for (const mark of figures.top) {
    const text = graduationFigure(mark.valueDeg, 'lon', lonDecimals);
    const x = left + mark.alongM * inch;
    const half = ctx.measureText(text).width / 2;
    if (x - half >= left - 20 && x + half <= right + 12) ctx.fillText(text, x, top - GUTTER_PX - BAR_PX - 8);
  }
  for (const mark of figures.left) {
    const text = graduationFigure(mark.valueDeg, 'lat', latDecimals);
    const y = bottom - mark.alongM * inch;
    const half = ctx.measureText(text).width / 2;
    if (y - half < top - 8 || y + half > bottom + 8) continue;
    ctx.save();
    ctx.translate(left - GUTTER_PX - BAR_PX - 8, y);
    ctx.rotate(-Math.PI / 2);
    ctx.fillText(text, 0, 0);
    ctx.restore();
  }
}

/** Hairlines across the chart at the figures: from edge to edge they are straight to well under a pixel at a survey's size. */
function paintGraticule(ctx: CanvasRenderingContext2D, figures: EdgeGraduations, edges: Edges): void {
  const { left, top, right, bottom, inch } = edges;
  ctx.save();
  ctx.globalAlpha = 0.13;
  ctx.lineWidth = 1;
  ctx.beginPath();
  for (const mark of figures.top) {
    const end = figures.bottom.find((other) => Math.abs(other.valueDeg - mark.valueDeg) < 1e-9);
    if (end !== undefined) tick(ctx, left + mark.alongM * inch, top, left + end.alongM * inch, bottom);
  }
  for (const mark of figures.left) {
    const end = figures.right.find((other) => Math.abs(other.valueDeg - mark.valueDeg) < 1e-9);
    if (end !== undefined) tick(ctx, left, bottom - mark.alongM * inch, right, bottom - end.alongM * inch);
  }
  ctx.stroke();
  ctx.restore();
}

function paintScale(ctx: CanvasRenderingContext2D, view: Viewport, right: number, bottom: number, palette: Palette): void {
  const { lengthM, bars } = scaleBar(view.metresPerPixel, 190);
  const length = lengthM / view.metresPerPixel;
  const left = right - length;
  ctx.save();
  ctx.globalAlpha = 0.82;
  ctx.fillStyle = palette.paper;
  ctx.beginPath();
  ctx.roundRect(left - 14, bottom - 25, length + 42, 36, 3);
  ctx.fill();
  ctx.globalAlpha = 1;
  ctx.strokeStyle = palette.ink;
  ctx.lineWidth = 1;
  ctx.fillStyle = palette.ink;
  for (let k = 0; k < bars; k += 2) ctx.fillRect(left + (k * length) / bars, bottom - 3, length / bars, 6);
  ctx.strokeRect(left + 0.5, bottom - 2.5, length - 1, 5);
  ctx.font = `500 13px ${palette.font}`;
  ctx.textAlign = 'center';
  ctx.textBaseline = 'alphabetic';
  const unit = lengthM >= 2000 ? { per: 1000, name: 'km' } : { per: 1, name: 'm' };
  const text = (m: number) => String(Number((m / unit.per).toPrecision(6)));
  ctx.fillText('0', left, bottom - 9);
  if (bars % 2 === 0) ctx.fillText(text(lengthM / 2), left + length / 2, bottom - 9);
  ctx.fillText(`${text(lengthM)} ${unit.name}`, right, bottom - 9);
  ctx.restore();
}

/** The rose: outer ring true, inner ring magnetic, both turned by the convergence of the grid. */
function paintRose(ctx: CanvasRenderingContext2D, x: number, y: number, radius: number, furniture: Furniture, palette: Palette): void {
  const { trueNorthDeg, variationDeg, variationText } = furniture;
  ctx.save();
  ctx.translate(x, y);
  ctx.strokeStyle = palette.magenta;
  ctx.fillStyle = palette.magenta;
  ctx.save();
  ctx.rotate((trueNorthDeg * Math.PI) / 180);
  ring(ctx, radius, 5, 10, 7);
  ctx.beginPath();
  ctx.moveTo(0, -radius - 21);
  ctx.lineTo(5.5, -radius - 2);
  ctx.lineTo(-5.5, -radius - 2);
  ctx.fill();
  ctx.font = `600 10.5px ${palette.font}`;
  ctx.textAlign = 'center';
  ctx.textBaseline = 'middle';
  for (const degrees of [90, 270]) {
    const a = (degrees * Math.PI) / 180;
    ctx.fillText(String(degrees).padStart(3, '0'), (radius + 12) * Math.sin(a), -(radius + 10) * Math.cos(a));
  }
  if (Number.isFinite(variationDeg)) {
    ctx.rotate((variationDeg * Math.PI) / 180);
    ring(ctx, radius * 0.68, 10, 30, 5);
    ctx.lineWidth = 1.2;
    ctx.beginPath();
    ctx.moveTo(0, radius * 0.5);
    ctx.lineTo(0, -radius * 0.62);
    ctx.stroke();
    ctx.beginPath();
    ctx.moveTo(0, -radius * 0.68);
    ctx.lineTo(3.2, -radius * 0.45);
    ctx.lineTo(-3.2, -radius * 0.45);
    ctx.fill();
  }
  ctx.restore();
  ctx.beginPath();
  ctx.arc(0, 0, 1.8, 0, 2 * Math.PI);
  ctx.fill();
  ctx.font = `500 12px ${palette.font}`;
  ctx.textAlign = 'center';
  ctx.textBaseline = 'alphabetic';
  const width = ctx.measureText(variationText).width;
  ctx.globalAlpha = 0.82;
  ctx.fillStyle = palette.paper;
  ctx.beginPath();
  ctx.roundRect(-width / 2 - 5, radius + 8, width + 10, 18, 3);
  ctx.fill();
  ctx.globalAlpha = 1;
  ctx.fillStyle = palette.magenta;
  ctx.fillText(variationText, 0, radius + 21);
  ctx.restore();
}

function ring(ctx: CanvasRenderingContext2D, radius: number, smallDeg: number, largeDeg: number, longPx: number): void {
  ctx.lineWidth = 0.9;
  ctx.beginPath();
  ctx.arc(0, 0, radius, 0, 2 * Math.PI);
  for (let degrees = 0; degrees < 360; degrees += smallDeg) {
    const a = (degrees * Math.PI) / 180;
    const inner = radius - (degrees % largeDeg === 0 ? longPx : longPx * 0.55);
    ctx.moveTo(radius * Math.sin(a), -radius * Math.cos(a));
    ctx.lineTo(inner * Math.sin(a), -inner * Math.cos(a));
  }
  ctx.stroke();
}
