import { KIND_DASH } from '../strip/draw-trial-strip.js';
import type { Occupancy } from './occupancy.js';
import type { Palette } from './palette.js';
import type { TrialMark, TrialMarks } from './trial-marks.js';
import { extentOf, pixelX, pixelY, type Viewport } from './viewport.js';

const widths = new Map<string, number>();

function widthOf(ctx: CanvasRenderingContext2D, text: string): number {
  const key = ctx.font + text;
  let width = widths.get(key);
  if (width === undefined) {
    if (widths.size > 4000) widths.clear();
    width = ctx.measureText(text).width;
    widths.set(key, width);
  }
  return width;
}

/** Widths may have been measured before the font came. */
export function forgetTrialWidths(): void {
  widths.clear();
}

/** Labels of these come first where there is no room for all. */
const LABEL_ORDER: readonly TrialMark['kind'][] = ['turning-circle', 'zig-zag', 'spin', 'steady-run', 'standing-start', 'stop-astern', 'coast-down'];

/** Draws trials over the chart: each kind by its line and its ends, the one at hand in the accent, planned manoeuvres dashed under them. */
export function paintTrials(ctx: CanvasRenderingContext2D, view: Viewport, trials: TrialMarks, palette: Palette, reserved: Occupancy): void {
  const planned = paintPlan(ctx, view, trials, palette);
  const extent = extentOf(view, 20);
  const seen = trials.marks.filter(({ box }) => box.eastM >= extent.westM && box.westM <= extent.eastM && box.northM >= extent.southM && box.southM <= extent.northM);
  const rank = (mark: TrialMark) => (mark.id === trials.selected ? 3 : mark.id === trials.hovered ? 2 : trials.lit.includes(mark.id) ? 1 : mark.kind === 'straight-leg' ? -1 : 0);
  for (const mark of [...seen].sort((a, b) => rank(a) - rank(b))) paintMark(ctx, view, mark, trials, palette);
  paintLabels(ctx, view, seen, trials, palette, reserved);
  // What was planned is named where what was run leaves room.
  for (const name of planned) paintPlanName(ctx, view, name, palette, reserved);
}

function trace(ctx: CanvasRenderingContext2D, view: Viewport, line: Float64Array): void {
  for (let i = 0; i + 1 < line.length; i += 2) {
    const [x, y] = [pixelX(view, line[i] as number), pixelY(view, line[i + 1] as number)];
    if (i === 0) ctx.moveTo(x, y);
    else ctx.lineTo(x, y);
  }
}

interface PlanName {
  readonly text: string;
  /** Where it may stand: left end and middle [px]. */
  readonly places: readonly (readonly [number, number])[];
}

const planFont = (palette: Palette): string => `italic 500 13px ${palette.font}`;

function paintPlanName(ctx: CanvasRenderingContext2D, view: Viewport, { text, places }: PlanName, palette: Palette, reserved: Occupancy): void {
  if (text === '') return;
  ctx.save();
  ctx.font = planFont(palette);
  ctx.textBaseline = 'middle';
  ctx.fillStyle = palette.waterLevel;
  const width = widthOf(ctx, text);
  const place = places.find(([x, y]) => x > 2 && y > 8 && x + width < view.widthPx - 2 && y < view.heightPx - 8 && reserved.claim(x - 3, y - 8, width + 6, 16));
  if (place !== undefined) halo(ctx, text, place[0], place[1], palette);
  ctx.restore();
}

/** Draws the plan; gives its names, to be drawn when the trials have theirs. */
function paintPlan(ctx: CanvasRenderingContext2D, view: Viewport, { plan, planPoints }: TrialMarks, palette: Palette): PlanName[] {
  const names: PlanName[] = [];
  if (plan.length + planPoints.length === 0) return names;
  ctx.save();
  ctx.strokeStyle = palette.waterLevel;
  ctx.fillStyle = palette.waterLevel;
  ctx.lineWidth = 1.5;
  ctx.setLineDash([3, 5]);
  ctx.beginPath();
  for (const { line } of plan) trace(ctx, view, line);
  ctx.stroke();
  ctx.setLineDash([]);
  for (const { line, label } of plan) {
    if (line.length < 4) continue;
    const middle = 2 * Math.floor(line.length / 4);
    const [x, y] = [pixelX(view, line[middle] as number), pixelY(view, line[middle + 1] as number)];
    names.push({ text: label, places: [[x + 6, y - 9], [x + 6, y + 10], [x - 40, y - 9]] });
  }
  for (const { xM, yM, label } of planPoints) {
    const [x, y] = [pixelX(view, xM), pixelY(view, yM)];
    ctx.beginPath();
    ctx.arc(x, y, 5, 0, 2 * Math.PI);
    ctx.stroke();
    names.push({ text: label, places: [[x + 9, y - 8], [x + 9, y + 9], [x - 40, y - 9], [x - 40, y + 9]] });
  }
  ctx.restore();
  return names;
}

function halo(ctx: CanvasRenderingContext2D, text: string, x: number, y: number, palette: Palette): void {
  if (text === '') return;
  ctx.save();
  ctx.setLineDash([]);
  ctx.lineJoin = 'round';
  ctx.lineWidth = 4;
  ctx.strokeStyle = palette.paper;
  ctx.strokeText(text, x, y);
  ctx.restore();
  ctx.fillText(text, x, y);
}

const WIDTH: Readonly<Record<TrialMark['kind'], number>> = { 'steady-run': 2.2, 'straight-leg': 1, 'standing-start': 1.6, 'coast-down': 1.8, 'stop-astern': 1.8, 'turning-circle': 1.5, spin: 1.5, 'zig-zag': 1.6 };

function paintMark(ctx: CanvasRenderingContext2D, view: Viewport, mark: TrialMark, { selected, hovered, lit }: TrialMarks, palette: Palette): void {
  const { line, kind } = mark;
  const n = line.length;
  if (n < 2) return;
  const chosen = mark.id === selected || lit.includes(mark.id);
  const over = mark.id === hovered;
  const faded = (selected !== null || lit.length > 0) && !chosen && !over;
  ctx.save();
  ctx.lineJoin = 'round';
  ctx.lineCap = 'butt';
  ctx.globalAlpha = faded ? 0.45 : 1;
  const width = WIDTH[kind] + (mark.id === selected ? 1.4 : over ? 0.9 : chosen ? 0.7 : 0);
  ctx.strokeStyle = palette.paper;
  ctx.lineWidth = width + 3;
  ctx.globalAlpha *= 0.7;
  ctx.beginPath();
  trace(ctx, view, line);
  if (kind !== 'straight-leg' || chosen) ctx.stroke();
  ctx.globalAlpha = faded ? 0.45 : 1;
  ctx.strokeStyle = chosen ? palette.magenta : palette.ink;
  ctx.fillStyle = ctx.strokeStyle;
  ctx.lineWidth = width;
  ctx.setLineDash([...KIND_DASH[kind]]);
  ctx.beginPath();
  trace(ctx, view, line);
  ctx.stroke();
  ctx.setLineDash([]);
  const first = [pixelX(view, line[0] as number), pixelY(view, line[1] as number)] as const;
  const last = [pixelX(view, line[n - 2] as number), pixelY(view, line[n - 1] as number)] as const;
  const direction = directionAt(view, line);
  ctx.lineWidth = 1.6;
  if (kind === 'steady-run') head(ctx, last, direction, 9);
  else if (kind === 'standing-start') {
    ring(ctx, first, 3.4, palette.paper);
    head(ctx, last, direction, 7);
  } else if (kind === 'coast-down' || kind === 'stop-astern') {
    bar(ctx, last, direction, kind === 'stop-astern' ? 8 : 5);
    if (kind === 'stop-astern') bar(ctx, [last[0] - 4 * Math.cos(direction), last[1] - 4 * Math.sin(direction)], direction, 8);
  } else if (kind === 'turning-circle') {
    dot(ctx, first, 3);
    head(ctx, last, direction, 7);
  } else if (kind === 'spin') {
    // A spin leaves next to no track: a ring with a head on it stands for the turning.
    const { box } = mark;
    const centre = [pixelX(view, (box.westM + box.eastM) / 2), pixelY(view, (box.southM + box.northM) / 2)] as const;
    const radius = Math.max(9, (box.eastM - box.westM) / 2 / view.metresPerPixel + 5);
    ctx.beginPath();
    ctx.arc(centre[0], centre[1], radius, -0.4, 1.6 * Math.PI);
    ctx.stroke();
    head(ctx, [centre[0] + radius * Math.cos(1.6 * Math.PI), centre[1] + radius * Math.sin(1.6 * Math.PI)], 1.6 * Math.PI + Math.PI / 2, 7);
  } else if (kind === 'straight-leg') {
    bar(ctx, first, direction, 3.5);
    bar(ctx, last, direction, 3.5);
  } else if (kind === 'zig-zag') head(ctx, last, direction, 7);
  ctx.restore();
}

/** Which way the track runs at its end, from a stretch long enough to be seen [rad, screen]. */
function directionAt(view: Viewport, line: Float64Array): number {
  const n = line.length;
  const [x, y] = [line[n - 2] as number, line[n - 1] as number];
  for (let i = n - 4; i >= 0; i -= 2) {
    const [dx, dy] = [x - (line[i] as number), y - (line[i + 1] as number)];
    if (Math.hypot(dx, dy) / view.metresPerPixel >= 6 || i === 0) return Math.atan2(-dy, dx);
  }
  return 0;
}

function head(ctx: CanvasRenderingContext2D, [x, y]: readonly [number, number], direction: number, size: number): void {
  ctx.beginPath();
  ctx.moveTo(x + 2 * Math.cos(direction), y + 2 * Math.sin(direction));
  ctx.lineTo(x - size * Math.cos(direction - 0.42), y - size * Math.sin(direction - 0.42));
  ctx.lineTo(x - size * Math.cos(direction + 0.42), y - size * Math.sin(direction + 0.42));
  ctx.fill();
}

function bar(ctx: CanvasRenderingContext2D, [x, y]: readonly [number, number], direction: number, half: number): void {
  ctx.beginPath();
  ctx.moveTo(x - half * Math.sin(direction), y + half * Math.cos(direction));
  ctx.lineTo(x + half * Math.sin(direction), y - half * Math.cos(direction));
  ctx.stroke();
}

function ring(ctx: CanvasRenderingContext2D, [x, y]: readonly [number, number], radius: number, fill: string): void {
  ctx.save();
  ctx.beginPath();
  ctx.arc(x, y, radius, 0, 2 * Math.PI);
  ctx.fillStyle = fill;
  ctx.fill();
  ctx.stroke();
  ctx.restore();
}

function dot(ctx: CanvasRenderingContext2D, [x, y]: readonly [number, number], radius: number): void {
  ctx.beginPath();
  ctx.arc(x, y, radius, 0, 2 * Math.PI);
  ctx.fill();
}

function paintLabels(ctx: CanvasRenderingContext2D, view: Viewport, seen: readonly TrialMark[], { selected, hovered, lit }: TrialMarks, palette: Palette, reserved: Occupancy): void {
  ctx.save();
  ctx.textBaseline = 'middle';
  const urgent = (mark: TrialMark) => mark.id === selected || mark.id === hovered;
  const order = (mark: TrialMark) => (urgent(mark) ? -2 : lit.includes(mark.id) ? -1 : LABEL_ORDER.indexOf(mark.kind));
  for (const mark of [...seen].sort((a, b) => order(a) - order(b))) {
    if (mark.kind === 'straight-leg' && !urgent(mark)) continue;
    const chosen = mark.id === selected || lit.includes(mark.id);
    const text = mark.refused ? `${mark.label} – refused` : mark.label;
    ctx.font = `${chosen || mark.id === hovered ? 600 : 500} 13px ${palette.font}`;
    const width = widthOf(ctx, text);
    // A trial too small on the screen to be told is named when the chart is larger, or when it is at hand.
    const size = Math.hypot(mark.box.eastM - mark.box.westM, mark.box.northM - mark.box.southM) / view.metresPerPixel;
    if (size < 14 && mark.kind !== 'spin' && !urgent(mark)) continue;
    const place = labelPlace(view, mark, width, reserved, urgent(mark));
    if (place === null) continue;
    reserved.claim(place.x - 8, place.y - 10, width + 16, 20, true);
    ctx.lineJoin = 'round';
    ctx.lineWidth = 4;
    ctx.strokeStyle = palette.paper;
    ctx.strokeText(text, place.x, place.y);
    ctx.fillStyle = chosen ? palette.magenta : palette.ink;
    ctx.globalAlpha = (selected !== null || lit.length > 0) && !chosen && mark.id !== hovered ? 0.6 : 1;
    ctx.fillText(text, place.x, place.y);
    ctx.globalAlpha = 1;
  }
  ctx.restore();
}

/** Beside the end of a straight one, over the top of a round one; elsewhere about it where that is taken; null where there is no room. */
function labelPlace(view: Viewport, { line, box, kind }: TrialMark, width: number, reserved: Occupancy, force: boolean): { readonly x: number; readonly y: number } | null {
  const n = line.length;
  const round = kind === 'turning-circle' || kind === 'spin';
  const top = [(pixelX(view, box.westM) + pixelX(view, box.eastM)) / 2 - width / 2, pixelY(view, box.northM) - (kind === 'spin' ? 20 : 11)] as const;
  const under = [top[0], pixelY(view, box.southM) + (kind === 'spin' ? 20 : 11)] as const;
  const middle = 2 * Math.floor(n / 4);
  const centre = [pixelX(view, ((line[0] as number) + (line[n - 2] as number)) / 2), pixelY(view, ((line[1] as number) + (line[n - 1] as number)) / 2)] as const;
  const along = [pixelX(view, line[middle] as number) + 8, pixelY(view, line[middle + 1] as number) - 9] as const;
  const end = [pixelX(view, line[n - 2] as number) + 9, pixelY(view, line[n - 1] as number) - 9] as const;
  const choices = round ? [top, under, end, along] : [[centre[0] + 8, centre[1] - 9] as const, [centre[0] - width - 8, centre[1] + 9] as const, [centre[0] + 8, centre[1] + 10] as const, end, along, top];
  const fits = ([x, y]: readonly [number, number]) => x > 2 && y > 8 && x + width < view.widthPx - 2 && y < view.heightPx - 8 && !reserved.holds(x - 2, y - 8, width + 4, 16);
  const free = choices.find(fits);
  if (free !== undefined) return { x: free[0], y: free[1] };
  const first = choices[0] as readonly [number, number];
  return force ? { x: Math.max(4, Math.min(view.widthPx - width - 4, first[0])), y: Math.max(10, Math.min(view.heightPx - 10, first[1])) } : null;
}
