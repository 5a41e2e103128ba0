import type { Soundings } from '../../depths/soundings.js';
import type { LoadedShapes } from '../work/messages.js';
import { areaText } from '../words/figures.js';
import { soundingFigure } from './figure.js';
import { isBeyond, type CrossingMarks } from './crossing-marks.js';
import type { LabelBook } from './label-book.js';
import type { LineBook } from './line-book.js';
import { Occupancy } from './occupancy.js';
import type { Palette } from './palette.js';
import { labelPlaces } from './simplify.js';
import { forgetTrialWidths, paintTrials } from './paint-trials.js';
import type { TrialMarks } from './trial-marks.js';
import { pointInRing } from '../../geo/ring.js';
import { extentOf, metresX, metresY, pixelX, pixelY, type Viewport } from './viewport.js';

type Shapes = LoadedShapes['shapes'];

/** All that is drawn in ink and magenta over the tints. */
export interface InkScene {
  readonly soundings: Soundings | null;
  readonly labels: LabelBook | null;
  readonly track: LineBook | null;
  readonly contours: { readonly book: LineBook; readonly depthM: readonly number[] } | null;
  readonly dangerM: readonly number[];
  readonly shore: Shapes;
  readonly area: readonly (readonly Float64Array[])[];
  readonly keepouts: Shapes;
  readonly gaps: Shapes;
  readonly planLines: readonly { readonly vertices: Float64Array; readonly kind: string; readonly number: number }[];
  readonly fillIn: readonly Float64Array[];
  /** Set-aside soundings that have a place. */
  readonly setAside: Int32Array;
  readonly selection: Int32Array;
  /** Where lines cross; null while they are not shown. */
  readonly crossings: CrossingMarks | null;
  /** Sea trials; null where they are not what is looked at. */
  readonly trials: TrialMarks | null;
  /** Parts of the screen that hold the rose and the like: no figure is printed there [px]. */
  readonly reserved: readonly Box[];
  readonly show: { readonly setAside: boolean; readonly track: boolean; readonly lines: boolean; readonly fillIn: boolean; readonly areaLimit: boolean; /** Planned lines in full, with their numbers and directions. */ readonly planning: boolean };
}

/** A part of the screen [px]. */
export interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

const SOUNDING_PX = 15;
const DECIMETRE_PX = 10.5;

/**
 * Draws the scene; the context is scaled to CSS pixels and clear.
 * @returns what must stand over all else that comes on the chart, the numbers of lines: drawn by `over`, in `boxes`
 */
export function paintInk(ctx: CanvasRenderingContext2D, view: Viewport, scene: InkScene, palette: Palette): { readonly over: () => void; readonly boxes: readonly Box[] } {
  const reserved = new Occupancy(view.widthPx, view.heightPx);
  const taken = new Occupancy(view.widthPx, view.heightPx);
  for (const box of scene.reserved) reserved.claim(box.x, box.y, box.width, box.height, true);
  const names = areaNames(ctx, view, scene, palette);
  for (const name of names) reserved.claim(name.x - name.width / 2 - 2, name.y - 12, name.width + 4, 16, true);
  paintContours(ctx, view, scene, palette);
  if (scene.show.lines) paintPlanLines(ctx, view, scene, palette);
  if (scene.show.track) paintTrack(ctx, view, scene, palette);
  paintShore(ctx, view, scene, palette);
  const numbers = scene.show.planning ? lineNumbers(ctx, view, scene, palette, reserved) : [];
  paintSoundings(ctx, view, scene, palette, taken, reserved);
  paintContourFigures(ctx, view, scene, palette, taken, reserved);
  paintKeepouts(ctx, view, scene, palette);
  if (scene.show.areaLimit) paintArea(ctx, view, scene.area, palette);
  paintGaps(ctx, view, scene, palette);
  if (scene.show.fillIn) paintFillIn(ctx, view, scene, palette);
  if (scene.show.setAside && scene.soundings !== null) paintRings(ctx, view, scene.soundings, scene.setAside, palette);
  if (scene.crossings !== null) paintCrossings(ctx, view, scene.crossings, palette);
  if (scene.selection.length > 0 && scene.soundings !== null) paintSelection(ctx, view, scene.soundings, scene.selection, palette);
  if (scene.trials !== null) paintTrials(ctx, view, scene.trials, palette, reserved);
  paintNames(ctx, names, palette);
  return { over: () => paintLineNumbers(ctx, numbers, palette), boxes: numbers.filter(({ text }) => text !== '').map(({ x, y, half }) => ({ x: x - half, y: y - 7, width: 2 * half, height: 14 })) };
}

function trace(ctx: CanvasRenderingContext2D, view: Viewport, line: Float64Array, close = false): void {
  for (let i = 0; i + 1 < line.length; i += 2) {
    const x = pixelX(view, line[i] as number);
    const y = pixelY(view, line[i + 1] as number);
    if (i === 0) ctx.moveTo(x, y);
    else ctx.lineTo(x, y);
  }
  if (close) ctx.closePath();
}

function paintContours(ctx: CanvasRenderingContext2D, view: Viewport, scene: InkScene, palette: Palette): void {
  if (scene.contours === null) return;
  const extent = extentOf(view, 4);
  ctx.save();
  ctx.strokeStyle = palette.contour;
  ctx.lineJoin = 'round';
  for (const heavy of [false, true]) {
    ctx.lineWidth = heavy ? 1.4 : 0.7;
    ctx.beginPath();
    for (const { index, line } of scene.contours.book.visible(extent, view.metresPerPixel)) {
      if (scene.dangerM.includes(scene.contours.depthM[index] ?? NaN) === heavy) trace(ctx, view, line);
    }
    ctx.stroke();
  }
  ctx.restore();
}

/** Upright figures on the contours; the line is broken under each. Danger depths come first. */
function paintContourFigures(ctx: CanvasRenderingContext2D, view: Viewport, scene: InkScene, palette: Palette, taken: Occupancy, reserved: Occupancy): void {
  if (scene.contours === null) return;
  const { book, depthM } = scene.contours;
  ctx.save();
  ctx.font = `500 11.5px ${palette.font}`;
  ctx.textAlign = 'center';
  ctx.textBaseline = 'middle';
  const extent = extentOf(view, 4);
  const lines = [...book.visible(extent, view.metresPerPixel)].sort((a, b) => Number(scene.dangerM.includes(depthM[b.index] ?? NaN)) - Number(scene.dangerM.includes(depthM[a.index] ?? NaN)));
  for (const { index, line } of lines) {
    const depth = depthM[index] ?? NaN;
    if (!Number.isFinite(depth)) continue;
    const text = Number.isInteger(depth) ? String(depth) : depth.toFixed(1);
    const width = ctx.measureText(text).width + 5;
    const level = 2 ** (Math.round(Math.log2(view.metresPerPixel) * 4) / 4);
    const places = labelPlaces(line, 90 * level, width * level);
    let lastX = -Infinity;
    let lastY = -Infinity;
    for (let k = 0; k < places.length; k += 2) {
      const x = pixelX(view, places[k] as number);
      const y = pixelY(view, places[k + 1] as number);
      if (x < 10 || y < 10 || x > view.widthPx - 10 || y > view.heightPx - 10) continue;
      if (Math.hypot(x - lastX, y - lastY) < 260) continue;
      if (reserved.holds(x - width / 2, y - 7, width, 14) || !taken.claim(x - width / 2 - 1, y - 7, width + 2, 14)) continue;
      lastX = x;
      lastY = y;
      knockOut(ctx, x - width / 2, y - 6.5, width, 13);
      ctx.fillStyle = palette.contour;
      ctx.fillText(text, x, y + 0.5);
    }
  }
  ctx.restore();
}

/** Clears ink under a figure, so that the tint shows through and the line breaks. */
function knockOut(ctx: CanvasRenderingContext2D, x: number, y: number, width: number, height: number): void {
  ctx.save();
  ctx.globalCompositeOperation = 'destination-out';
  ctx.beginPath();
  ctx.roundRect(x, y, width, height, 4);
  ctx.fill();
  ctx.restore();
}

function paintPlanLines(ctx: CanvasRenderingContext2D, view: Viewport, scene: InkScene, palette: Palette): void {
  ctx.save();
  ctx.strokeStyle = palette.magenta;
  ctx.lineWidth = scene.show.planning ? 1.5 : 0.8;
  ctx.setLineDash([7, 4]);
  ctx.globalAlpha = scene.show.planning ? 1 : 0.75;
  ctx.beginPath();
  for (const { vertices, kind } of scene.planLines) if (kind !== 'fill-in') trace(ctx, view, vertices);
  ctx.stroke();
  ctx.restore();
}

interface LineNumber {
  readonly text: string;
  readonly x: number;
  readonly y: number;
  readonly half: number;
  /** Tip of the arrow at the line's end, and its direction. */
  readonly tip: readonly [x: number, y: number, ux: number, uy: number];
}

/**
 * The number of each line where its run begins, and an arrow where it ends; left out where lines are too close to tell. A number
 * keeps off other numbers and, where it can, off hatched ground.
 */
function lineNumbers(ctx: CanvasRenderingContext2D, view: Viewport, scene: InkScene, palette: Palette, reserved: Occupancy): LineNumber[] {
  const numbers: LineNumber[] = [];
  ctx.font = numberFont(palette);
  const hatched = [...scene.keepouts, ...scene.gaps].filter(({ kind }) => kind === 'polygon').map(({ parts }) => parts[0] ?? new Float64Array(0));
  const onHatch = (x: number, y: number): boolean => {
    const [xM, yM] = [metresX(view, x), metresY(view, y)];
    return hatched.some((ring) => pointInRing(ring, xM, yM));
  };
  for (const { vertices, number } of scene.planLines) {
    const n = vertices.length;
    if (n < 4) continue;
    const [fromX, fromY] = [pixelX(view, vertices[0] as number), pixelY(view, vertices[1] as number)];
    const [toX, toY] = [pixelX(view, vertices[n - 2] as number), pixelY(view, vertices[n - 1] as number)];
    const length = Math.hypot(toX - fromX, toY - fromY);
    if (length < 24) continue;
    const [ux, uy] = [(toX - fromX) / length, (toY - fromY) / length];
    const text = String(number);
    const half = widthOf(ctx, text) / 2 + 2;
    const before = (by: number): readonly [number, number] => [fromX - (half + by) * ux, fromY - (by + 7) * uy];
    const beside = (side: number, along = 10): readonly [number, number] => [fromX + along * ux + side * (half + 4) * -uy, fromY + along * uy + side * 11 * ux];
    const free = [before(4), before(16), beside(1), beside(-1), beside(1, 36), beside(-1, 36)].filter(([x, y]) => !reserved.holds(x - half, y - 5, 2 * half, 10));
    const place = free.find(([x, y]) => !onHatch(x, y)) ?? free[0];
    const tip = [toX, toY, ux, uy] as const;
    if (place === undefined) {
      numbers.push({ text: '', x: 0, y: 0, half: 0, tip });
      continue;
    }
    reserved.claim(place[0] - half, place[1] - 5, 2 * half, 10, true);
    numbers.push({ text, x: place[0], y: place[1], half, tip });
  }
  return numbers;
}

const numberFont = (palette: Palette): string => `600 13px ${palette.font}`;

function paintLineNumbers(ctx: CanvasRenderingContext2D, numbers: readonly LineNumber[], palette: Palette): void {
  ctx.save();
  ctx.fillStyle = palette.magenta;
  ctx.font = numberFont(palette);
  ctx.textAlign = 'center';
  ctx.textBaseline = 'middle';
  for (const { text, x, y, half, tip: [toX, toY, ux, uy] } of numbers) {
    ctx.beginPath();
    ctx.moveTo(toX + 3 * ux, toY + 3 * uy);
    ctx.lineTo(toX - 6 * ux - 3.5 * uy, toY - 6 * uy + 3.5 * ux);
    ctx.lineTo(toX - 6 * ux + 3.5 * uy, toY - 6 * uy - 3.5 * ux);
    ctx.fill();
    if (text === '') continue;
    knockOut(ctx, x - half, y - 6.5, 2 * half, 13);
    ctx.fillText(text, x, y + 0.5);
  }
  ctx.restore();
}

function paintFillIn(ctx: CanvasRenderingContext2D, view: Viewport, scene: InkScene, palette: Palette): void {
  ctx.save();
  ctx.strokeStyle = palette.magenta;
  ctx.fillStyle = palette.magenta;
  ctx.lineWidth = 2;
  ctx.setLineDash([9, 4]);
  ctx.beginPath();
  for (const line of scene.fillIn) trace(ctx, view, line);
  ctx.stroke();
  ctx.setLineDash([]);
  for (const line of scene.fillIn) {
    if (line.length < 4) continue;
    const x = pixelX(view, line[line.length - 2] as number);
    const y = pixelY(view, line[line.length - 1] as number);
    if (Math.hypot(x - pixelX(view, line[0] as number), y - pixelY(view, line[1] as number)) < 60) continue;
    const back = Math.atan2(y - pixelY(view, line[line.length - 3] as number), x - pixelX(view, line[line.length - 4] as number));
    ctx.beginPath();
    ctx.moveTo(x + 4 * Math.cos(back), y + 4 * Math.sin(back));
    ctx.lineTo(x - 8 * Math.cos(back - 0.45), y - 8 * Math.sin(back - 0.45));
    ctx.lineTo(x - 8 * Math.cos(back + 0.45), y - 8 * Math.sin(back + 0.45));
    ctx.fill();
  }
  ctx.restore();
}

function paintTrack(ctx: CanvasRenderingContext2D, view: Viewport, scene: InkScene, palette: Palette): void {
  if (scene.track === null) return;
  ctx.save();
  ctx.strokeStyle = palette.ink;
  ctx.lineWidth = 0.9;
  ctx.globalAlpha = scene.show.planning ? 0.3 : 0.8;
  ctx.lineJoin = 'round';
  ctx.beginPath();
  for (const { line } of scene.track.visible(extentOf(view, 4), view.metresPerPixel)) trace(ctx, view, line);
  ctx.stroke();
  ctx.restore();
}

function paintShore(ctx: CanvasRenderingContext2D, view: Viewport, scene: InkScene, palette: Palette): void {
  ctx.save();
  ctx.strokeStyle = palette.ink;
  ctx.lineWidth = 1.5;
  ctx.beginPath();
  for (const shape of scene.shore) for (const part of shape.parts) trace(ctx, view, part, shape.kind === 'polygon');
  ctx.stroke();
  ctx.restore();
}

const widths = new Map<string, number>();

function widthOf(ctx: CanvasRenderingContext2D, text: string): number {
  const key = ctx.font + text;
  let width = widths.get(key);
  if (width === undefined) {
    width = ctx.measureText(text).width;
    widths.set(key, width);
  }
  return width;
}

/** Figures on the page may have been measured before their font came. */
export function forgetWidths(): void {
  widths.clear();
  forgetTrialWidths();
}

function paintSoundings(ctx: CanvasRenderingContext2D, view: Viewport, scene: InkScene, palette: Palette, taken: Occupancy, reserved: Occupancy): void {
  const { soundings, labels } = scene;
  if (soundings === null || labels === null) return;
  ctx.save();
  ctx.textBaseline = 'alphabetic';
  ctx.fillStyle = palette.ink;
  ctx.strokeStyle = palette.ink;
  for (const i of labels.labels(view)) {
    const x = pixelX(view, soundings.xM[i] as number);
    const y = pixelY(view, soundings.yM[i] as number);
    if (x < 8 || y < 8 || x > view.widthPx - 14 || y > view.heightPx - 10) continue;
    const figure = soundingFigure(soundings.depthM[i] as number);
    if (figure === null) continue;
    ctx.font = `italic 500 ${SOUNDING_PX}px ${palette.font}`;
    const large = widthOf(ctx, figure.metres);
    ctx.font = `italic 500 ${DECIMETRE_PX}px ${palette.font}`;
    const small = figure.decimetres === '' ? 0 : widthOf(ctx, figure.decimetres);
    // The figure stands on its place: the middle of the metres (S-4 B-412).
    const left = x - large / 2;
    if (reserved.holds(left - 2, y - 8, large + small + 4, 17)) continue;
    taken.claim(left - 2, y - 9, large + small + 5, 20, true);
    knockOut(ctx, left - 2.5, y - 7.5, large + small + 5, 17);
    if (figure.decimetres !== '') ctx.fillText(figure.decimetres, left + large + 0.5, y + 8.5);
    ctx.font = `italic 500 ${SOUNDING_PX}px ${palette.font}`;
    ctx.fillText(figure.metres, left, y + 5.2);
    if (figure.drying) ctx.fillRect(left, y + 7, large, 1);
  }
  ctx.restore();
}

function paintArea(ctx: CanvasRenderingContext2D, view: Viewport, area: InkScene['area'], palette: Palette): void {
  ctx.save();
  ctx.strokeStyle = palette.magenta;
  ctx.lineWidth = 1.8;
  ctx.setLineDash([4, 4]);
  ctx.beginPath();
  for (const rings of area) for (const ring of rings) trace(ctx, view, ring, true);
  ctx.stroke();
  ctx.restore();
}

function paintKeepouts(ctx: CanvasRenderingContext2D, view: Viewport, scene: InkScene, palette: Palette): void {
  ctx.save();
  ctx.strokeStyle = palette.magenta;
  for (const shape of scene.keepouts) {
    const outer = shape.parts[0];
    if (shape.kind !== 'polygon' || outer === undefined) continue;
    hatch(ctx, view, shape.parts, 14, true);
    ctx.lineWidth = 1.4;
    ctx.beginPath();
    for (const part of shape.parts) trace(ctx, view, part, true);
    ctx.stroke();
  }
  ctx.restore();
}

function paintGaps(ctx: CanvasRenderingContext2D, view: Viewport, scene: InkScene, palette: Palette): void {
  ctx.save();
  ctx.strokeStyle = palette.magenta;
  for (const shape of scene.gaps) {
    const outer = shape.parts[0];
    if (shape.kind !== 'polygon' || outer === undefined) continue;
    // What was sounded, but not well enough, is hatched thinly and dashed around.
    const weak = shape.properties['kind'] === 'order';
    hatch(ctx, view, shape.parts, weak ? 14 : 8, false);
    ctx.lineWidth = 1.3;
    ctx.setLineDash(weak ? [4, 3] : []);
    ctx.beginPath();
    for (const part of shape.parts) trace(ctx, view, part, true);
    ctx.stroke();
    ctx.setLineDash([]);
  }
  ctx.restore();
}

/** Lines at 45 degrees inside a polygon, still while the chart pans. */
export function hatch(ctx: CanvasRenderingContext2D, view: Viewport, parts: readonly Float64Array[], everyPx: number, crossed: boolean): void {
  ctx.save();
  ctx.beginPath();
  for (const part of parts) trace(ctx, view, part, true);
  ctx.clip('evenodd');
  let [left, top, right, bottom] = [Infinity, Infinity, -Infinity, -Infinity];
  const outer = parts[0] ?? new Float64Array(0);
  for (let i = 0; i + 1 < outer.length; i += 2) {
    const x = pixelX(view, outer[i] as number);
    const y = pixelY(view, outer[i + 1] as number);
    left = Math.min(left, x);
    right = Math.max(right, x);
    top = Math.min(top, y);
    bottom = Math.max(bottom, y);
  }
  left = Math.max(left, -2);
  top = Math.max(top, -2);
  right = Math.min(right, view.widthPx + 2);
  bottom = Math.min(bottom, view.heightPx + 2);
  const anchor = pixelX(view, 0) + pixelY(view, 0);
  ctx.lineWidth = 0.8;
  ctx.beginPath();
  const start = left + top;
  const phase = (((anchor - start) % everyPx) + everyPx) % everyPx;
  for (let c = start + phase; c < right + bottom; c += everyPx) {
    ctx.moveTo(c - top, top);
    ctx.lineTo(c - bottom, bottom);
  }
  if (crossed) {
    const anchor2 = pixelX(view, 0) - pixelY(view, 0);
    const start2 = left - bottom;
    const phase2 = (((anchor2 - start2) % everyPx) + everyPx) % everyPx;
    for (let c = start2 + phase2; c < right - top; c += everyPx) {
      ctx.moveTo(c + top, top);
      ctx.lineTo(c + bottom, bottom);
    }
  }
  ctx.stroke();
  ctx.restore();
}

interface AreaName {
  readonly text: string;
  readonly font: string;
  readonly x: number;
  readonly y: number;
  readonly width: number;
}

/** What gaps and keep-outs are called, each over the top of its ring and kept on the chart. */
function areaNames(ctx: CanvasRenderingContext2D, view: Viewport, scene: InkScene, palette: Palette): AreaName[] {
  const names: AreaName[] = [];
  const add = (ring: Float64Array | undefined, text: string, font: string) => {
    if (ring === undefined) return;
    let [left, right, top, bottom] = [Infinity, -Infinity, Infinity, -Infinity];
    for (let i = 0; i + 1 < ring.length; i += 2) {
      const y = pixelY(view, ring[i + 1] as number);
      left = Math.min(left, pixelX(view, ring[i] as number));
      right = Math.max(right, pixelX(view, ring[i] as number));
      top = Math.min(top, y);
      bottom = Math.max(bottom, y);
    }
    if (right < 0 || left > view.widthPx || top > view.heightPx || bottom < 0) return;
    ctx.font = font;
    const width = ctx.measureText(text).width;
    // A sliver smaller than its name is named only when the chart is large enough for it.
    if (right - left < width * 0.4 && bottom - top < 14) return;
    const x = Math.min(view.widthPx - width / 2 - 6, Math.max(width / 2 + 6, (left + right) / 2));
    const clear = (y: number) => y > 14 && y < view.heightPx - 4 && !names.some((other) => Math.abs(other.y - y) < 16 && Math.abs(other.x - x) < (other.width + width) / 2 + 6);
    const y = [top - 6, bottom + 15, top - 22, bottom + 31].find(clear) ?? Math.max(16, top - 6);
    names.push({ text, font, width, x, y });
  };
  for (const shape of scene.gaps) if (shape.kind === 'polygon') add(shape.parts[0], `gap ${areaText(Number(shape.properties['areaM2']))}`, `600 13px ${palette.font}`);
  for (const shape of scene.keepouts) if (shape.kind === 'polygon') add(shape.parts[0], typeof shape.properties['name'] === 'string' ? shape.properties['name'] : 'keep out', `500 13px ${palette.font}`);
  return names;
}

function paintNames(ctx: CanvasRenderingContext2D, names: readonly AreaName[], palette: Palette): void {
  ctx.save();
  ctx.textAlign = 'center';
  ctx.fillStyle = palette.magenta;
  for (const { text, font, x, y, width } of names) {
    ctx.font = font;
    knockOut(ctx, x - width / 2 - 3, y - 11, width + 6, 15);
    ctx.fillText(text, x, y);
  }
  ctx.restore();
}

/** Keeps one of many marks that fall on the same few pixels. */
function eachApart(view: Viewport, soundings: Soundings, rows: ArrayLike<number>, apartPx: number, draw: (x: number, y: number) => void): void {
  const cols = Math.ceil(view.widthPx / apartPx) + 1;
  const seen = new Uint8Array(cols * (Math.ceil(view.heightPx / apartPx) + 1));
  for (let k = 0; k < rows.length; k++) {
    const i = rows[k] as number;
    const x = pixelX(view, soundings.xM[i] as number);
    const y = pixelY(view, soundings.yM[i] as number);
    if (!(x >= 0 && y >= 0 && x < view.widthPx && y < view.heightPx)) continue;
    const cell = Math.floor(y / apartPx) * cols + Math.floor(x / apartPx);
    if (seen[cell] === 1) continue;
    seen[cell] = 1;
    draw(x, y);
  }
}

function paintRings(ctx: CanvasRenderingContext2D, view: Viewport, soundings: Soundings, rows: Int32Array, palette: Palette): void {
  const places: number[] = [];
  eachApart(view, soundings, rows, 4, (x, y) => places.push(x, y));
  // Many rings are drawn smaller, so that the figures between them can still be read.
  const radius = places.length > 600 ? 2 : places.length > 240 ? 2.6 : 3.4;
  ctx.save();
  ctx.strokeStyle = palette.magenta;
  ctx.lineWidth = places.length > 600 ? 1 : 1.3;
  ctx.beginPath();
  for (let k = 0; k < places.length; k += 2) {
    ctx.moveTo((places[k] as number) + radius, places[k + 1] as number);
    ctx.arc(places[k] as number, places[k + 1] as number, radius, 0, 2 * Math.PI);
  }
  ctx.stroke();
  ctx.restore();
}

/** Radius of the ring of a crossing that differs by as much as is claimed, and the largest [px]. */
const CLAIM_PX = 9;
const RING_PX = 26;

/** A small cross where lines cross, with a ring as large as they differ: full where the later run reads deeper, in the accent beyond what is claimed. */
function paintCrossings(ctx: CanvasRenderingContext2D, view: Viewport, marks: CrossingMarks, palette: Palette): void {
  ctx.save();
  ctx.lineCap = 'round';
  for (const beyond of [false, true]) {
    const arm = beyond ? 4.5 : 3.2;
    const colour = beyond ? palette.magenta : palette.ink;
    const crosses = new Path2D();
    const rings = new Path2D();
    const deeper = new Path2D();
    for (let i = 0; i < marks.n; i++) {
      if (isBeyond(marks, i) !== beyond) continue;
      const x = pixelX(view, marks.xM[i] as number);
      const y = pixelY(view, marks.yM[i] as number);
      if (x < -RING_PX || y < -RING_PX || x > view.widthPx + RING_PX || y > view.heightPx + RING_PX) continue;
      crosses.moveTo(x - arm, y - arm);
      crosses.lineTo(x + arm, y + arm);
      crosses.moveTo(x - arm, y + arm);
      crosses.lineTo(x + arm, y - arm);
      const differenceM = marks.differenceM[i] as number;
      const claimedM = marks.claimedM[i] as number;
      const radius = Math.min(RING_PX, (Math.abs(differenceM) / (claimedM > 0 ? claimedM : 0.3)) * CLAIM_PX);
      if (radius < arm) continue;
      for (const path of differenceM > 0 ? [rings, deeper] : [rings]) {
        path.moveTo(x + radius, y);
        path.arc(x, y, radius, 0, 2 * Math.PI);
      }
    }
    // A halo of paper keeps the marks apart from the tracks under them.
    ctx.strokeStyle = palette.paper;
    ctx.lineWidth = beyond ? 4.6 : 4;
    ctx.stroke(rings);
    ctx.stroke(crosses);
    ctx.globalAlpha = 0.22;
    ctx.fillStyle = colour;
    ctx.fill(deeper);
    ctx.globalAlpha = 1;
    ctx.strokeStyle = colour;
    ctx.lineWidth = beyond ? 1.8 : 1.5;
    ctx.stroke(rings);
    ctx.stroke(crosses);
  }
  ctx.restore();
}

function paintSelection(ctx: CanvasRenderingContext2D, view: Viewport, soundings: Soundings, rows: Int32Array, palette: Palette): void {
  ctx.save();
  ctx.fillStyle = palette.magenta;
  ctx.beginPath();
  if (rows.length > 2000) eachApart(view, soundings, rows, 3, (x, y) => ctx.fillRect(x - 1.5, y - 1.5, 3.5, 3.5));
  else {
    eachApart(view, soundings, rows, 2, (x, y) => {
      ctx.moveTo(x + 2.4, y);
      ctx.arc(x, y, 2.4, 0, 2 * Math.PI);
    });
    ctx.fill();
  }
  ctx.restore();
}
