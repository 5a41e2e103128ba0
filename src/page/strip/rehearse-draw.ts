import type { Palette } from '../chart/palette.js';
import type { ConcernMark } from '../chart/rehearse-marks.js';
import { fixed } from '../words/figures.js';
import type { ShownRehearsal } from '../work/rehearse-messages.js';
import type { Pen } from './pen.js';
import type { RehearseCurve, RehearsePanel } from './rehearse-panels.js';
import { timeSteps } from './strip-svg.js';

/** What the strip is to show; lengths in pixels. */
export interface RehearsePicture {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly startS: number;
  readonly endS: number;
  readonly shown: ShownRehearsal;
  readonly panels: readonly RehearsePanel[];
  readonly concerns: readonly ConcernMark[];
  /** The worst moment, UTC [s]; NaN for none. */
  readonly worstS: number;
}

const LEFT = 46;
const RIGHT = 12;
const LANE_PX = 15;
const AXIS_PX = 22;
const TITLE_PX = 17;
const BETWEEN_PX = 26;
/** Narrower than this the panels stand in one column [px]. */
const TWO_COLUMNS_PX = 640;
const ARROW_APART_PX = 54;

/** Where things stand. */
export interface RehearseLayout {
  readonly columns: readonly { readonly left: number; readonly right: number }[];
  readonly laneTop: number;
  readonly bottom: number;
  /** Column and box of each panel. */
  readonly boxes: readonly { readonly column: number; readonly top: number; readonly bottom: number }[];
  x(column: number, timeS: number): number;
  timeAt(x: number): number;
  y(panel: number, value: number): number;
}

export function rehearseLayout({ widthPx, heightPx, startS, endS, panels }: RehearsePicture): RehearseLayout {
  const count = widthPx >= TWO_COLUMNS_PX ? 2 : 1;
  const room = (widthPx - BETWEEN_PX * (count - 1)) / count;
  const columns = Array.from({ length: count }, (_, k) => ({ left: k * (room + BETWEEN_PX) + LEFT, right: k * (room + BETWEEN_PX) + room - RIGHT }));
  const laneTop = 5;
  const top = laneTop + LANE_PX;
  const bottom = heightPx - AXIS_PX;
  const rows = Math.ceil(panels.length / count);
  const each = (bottom - top) / rows;
  const boxes = panels.map((_, k) => {
    const column = Math.floor(k / rows);
    const row = k % rows;
    return { column, top: top + row * each + TITLE_PX, bottom: top + (row + 1) * each - 5 };
  });
  const span = Math.max(1, endS - startS);
  return {
    columns,
    laneTop,
    bottom,
    boxes,
    x: (column, timeS) => {
      const { left, right } = columns[column] as { left: number; right: number };
      return left + ((timeS - startS) / span) * (right - left);
    },
    timeAt: (x) => {
      const k = count === 2 && x > (columns[0] as { right: number }).right + RIGHT + BETWEEN_PX / 2 ? 1 : 0;
      const { left, right } = columns[k] as { left: number; right: number };
      return Math.max(startS, Math.min(endS, startS + ((x - left) / (right - left)) * span));
    },
    y: (panel, value) => {
      const { low, high } = panels[panel] as RehearsePanel;
      const box = boxes[panel] as { top: number; bottom: number };
      return box.bottom - ((Math.max(low, Math.min(high, value)) - low) / (high - low)) * (box.bottom - box.top);
    },
  };
}

/** Draws lanes, axes, curves and limits. */
export function drawRehearse(pen: Pen, picture: RehearsePicture, palette: Palette): void {
  const layout = rehearseLayout(picture);
  layout.columns.forEach((_, k) => drawLane(pen, picture, layout, k, palette));
  picture.panels.forEach((_, k) => drawPanel(pen, picture, layout, k, palette));
  layout.columns.forEach((_, k) => drawAxis(pen, picture, layout, k, palette));
}

/** Legs in a lane: lines as blocks with their numbers, the rest as a thin line; what is of concern over it. */
function drawLane(pen: Pen, { shown, concerns, worstS }: RehearsePicture, layout: RehearseLayout, column: number, palette: Palette): void {
  const top = layout.laneTop;
  const middle = top + LANE_PX / 2;
  for (const one of shown.sorties) {
    const { startS, endS } = one.totals;
    pen.line([[layout.x(column, startS), middle], [layout.x(column, endS), middle]], palette.ink, 1.2);
    for (const leg of one.legs) {
      if (leg.kind !== 'line' || !Number.isFinite(leg.startS + leg.endS)) continue;
      const [from, to] = [layout.x(column, leg.startS), layout.x(column, leg.endS)];
      const box: [number, number][] = [[from, top + 2], [Math.max(from + 0.8, to - 0.5), top + 2], [Math.max(from + 0.8, to - 0.5), top + LANE_PX - 2], [from, top + LANE_PX - 2]];
      pen.fill(box, palette.band, 0.42);
      if (to - from > 17) pen.text(String(leg.line), (from + to) / 2, top + 11.5, palette.ink, { align: 'middle', size: 11 });
    }
  }
  if (Number.isFinite(worstS)) {
    const x = layout.x(column, worstS);
    pen.line([[x, top], [x, layout.bottom]], palette.magenta, 1.2, [2, 3]);
  }
  for (const { concern } of concerns) {
    if (!Number.isFinite(concern.timeS) || concern.weight === 'note') continue;
    const x = layout.x(column, concern.timeS);
    pen.fill([[x, top + LANE_PX], [x - 5, top + 3], [x + 5, top + 3]], palette.magenta, concern.weight === 'no-go' ? 1 : 0.55);
  }
}

function drawAxis(pen: Pen, { startS, endS, heightPx }: RehearsePicture, layout: RehearseLayout, column: number, palette: Palette): void {
  const { left, right } = layout.columns[column] as { left: number; right: number };
  pen.line([[left, layout.bottom], [right, layout.bottom]], palette.ink, 1);
  for (const t of timeSteps(startS, endS, (right - left) / 76)) {
    const x = layout.x(column, t);
    pen.line([[x, layout.bottom], [x, layout.bottom + 4]], palette.ink, 1);
    if (x > left + 8 && x < right - 8) pen.text(new Date(t * 1000).toISOString().slice(11, 16), x, heightPx - 4, palette.quiet, { align: 'middle', size: 12 });
  }
}

function drawPanel(pen: Pen, { panels }: RehearsePicture, layout: RehearseLayout, k: number, palette: Palette): void {
  const panel = panels[k] as RehearsePanel;
  const box = layout.boxes[k] as { column: number; top: number; bottom: number };
  const { left, right } = layout.columns[box.column] as { left: number; right: number };
  const y = (value: number) => layout.y(k, value);
  pen.text(`${panel.title}, ${panel.unit}`, left, box.top - 5, palette.quiet, { size: 12, weight: 600 });
  if (panel.missing !== '') {
    pen.line([[left, box.bottom], [right, box.bottom]], palette.hairline, 1);
    pen.text(panel.missing, left, (box.top + box.bottom) / 2 + 4, palette.quiet, { size: 12 });
    return;
  }
  for (const step of panel.steps) {
    pen.line([[left, y(step)], [right, y(step)]], palette.hairline, 1);
    if (box.bottom - box.top > 28 || step === panel.steps[0] || step === panel.steps[panel.steps.length - 1]) pen.text(fixed(step, Number.isInteger(step) ? 0 : 1), left - 5, y(step) + 4, palette.quiet, { align: 'end', size: 12 });
  }
  const x = (timeS: number) => layout.x(box.column, timeS);
  for (const curve of panel.curves) {
    if (curve.half95 !== undefined) drawBand(pen, curve, x, y, palette);
    drawCurve(pen, curve, x, y, palette);
    if (curve.setDeg !== undefined) drawArrows(pen, curve, x, y, palette);
  }
  for (const { value, text } of panel.limits) {
    if (!Number.isFinite(value) || value < panel.low || value > panel.high) continue;
    pen.line([[left, y(value)], [right, y(value)]], palette.magenta, 1.3, [6, 3]);
    pen.text(text, right, y(value) - 3, palette.magenta, { align: 'end', size: 12, weight: 600 });
  }
}

/** Points of a curve, least and greatest of each pixel, so that no spike is lost; broken where it is not known. */
function thinned({ timeS, value }: RehearseCurve, x: (timeS: number) => number, y: (value: number) => number): [number, number][][] {
  const out: [number, number][][] = [];
  let points: [number, number][] = [];
  let pixel = NaN;
  let [low, high, lowX, highX] = [NaN, NaN, NaN, NaN];
  const flush = () => {
    if (Number.isNaN(low)) return;
    if (low === high) points.push([lowX, y(low)]);
    else if (lowX <= highX) points.push([lowX, y(low)], [highX, y(high)]);
    else points.push([highX, y(high)], [lowX, y(low)]);
    low = NaN;
  };
  const end = () => {
    flush();
    if (points.length > 1) out.push(points);
    points = [];
    pixel = NaN;
  };
  for (let i = 0; i < timeS.length; i++) {
    const v = value[i] as number;
    if (Number.isNaN(v)) {
      end();
      continue;
    }
    const px = x(timeS[i] as number);
    if (Math.floor(px) !== pixel) {
      flush();
      pixel = Math.floor(px);
      [low, high, lowX, highX] = [v, v, px, px];
    } else {
      if (v < low) [low, lowX] = [v, px];
      if (v > high) [high, highX] = [v, px];
    }
  }
  end();
  return out;
}

function drawCurve(pen: Pen, curve: RehearseCurve, x: (timeS: number) => number, y: (value: number) => number, palette: Palette): void {
  for (const points of thinned(curve, x, y)) pen.line(points, curve.dashed === true ? palette.waterLevel : palette.ink, curve.dashed === true ? 1.1 : 1.3, curve.dashed === true ? [4, 3] : undefined);
}

function drawBand(pen: Pen, { timeS, value, half95 }: RehearseCurve, x: (timeS: number) => number, y: (value: number) => number, palette: Palette): void {
  const up: [number, number][] = [];
  const down: [number, number][] = [];
  let last = -Infinity;
  for (let i = 0; i < timeS.length; i++) {
    const px = x(timeS[i] as number);
    if (px - last < 1 && i < timeS.length - 1) continue;
    last = px;
    const [v, half] = [value[i] as number, half95?.[i] ?? NaN];
    if (!Number.isFinite(v + half)) continue;
    up.push([px, y(v + half)]);
    down.unshift([px, y(v - half)]);
  }
  if (up.length > 1) pen.fill([...up, ...down], palette.band, 0.24);
}

/** Arrows along the time axis: where the current flows to, north up. */
function drawArrows(pen: Pen, { timeS, value, setDeg }: RehearseCurve, x: (timeS: number) => number, y: (value: number) => number, palette: Palette): void {
  let last = -Infinity;
  for (let i = 0; i < timeS.length; i++) {
    const px = x(timeS[i] as number);
    const [v, set] = [value[i] as number, setDeg?.[i] ?? NaN];
    if (px - last < ARROW_APART_PX || !(v > 0.005) || Number.isNaN(set)) continue;
    last = px;
    const [ux, uy] = [Math.sin((set * Math.PI) / 180), -Math.cos((set * Math.PI) / 180)];
    const [cx, cy] = [px + 8, y(v)];
    const [hx, hy] = [cx + 8 * ux, cy + 8 * uy];
    pen.line([[cx - 8 * ux, cy - 8 * uy], [hx, hy]], palette.waterLevel, 1.5);
    pen.line([[hx - 5 * ux - 3 * uy, hy - 5 * uy + 3 * ux], [hx, hy], [hx - 5 * ux + 3 * uy, hy - 5 * uy - 3 * ux]], palette.waterLevel, 1.5);
  }
}
