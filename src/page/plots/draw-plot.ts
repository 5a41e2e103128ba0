import { niceSteps } from '../strip/strip-svg.js';
import type { Pen } from '../strip/pen.js';
import { fixed } from '../words/figures.js';
import type { Plot, PlotAxis, PlotMark, PlotSeries } from './plot.js';

export interface PlotColours {
  readonly ink: string;
  readonly quiet: string;
  readonly hairline: string;
  readonly accent: string;
  readonly paper: string;
}

const MARGIN = { left: 40, right: 14, top: 24, bottom: 34 };
/** A dot every so many points at most [px]. */
const DOT_APART_PX = 3;

interface Scale {
  readonly x: (value: number) => number;
  readonly y: (value: number) => number;
  readonly xRange: readonly [number, number];
  readonly yRange: readonly [number, number];
}

/** Draws a plot: axes with round figures, series, what is measured on it. */
export function drawPlot(pen: Pen, plot: Plot, widthPx: number, heightPx: number, colours: PlotColours): void {
  const scale = scaleOf(plot, widthPx, heightPx);
  drawAxes(pen, plot, scale, widthPx, heightPx, colours);
  for (const series of plot.series) drawSeries(pen, series, scale, colours);
  for (const mark of plot.marks) drawMark(pen, mark, scale, widthPx, colours);
  for (const series of plot.series) if (series.label !== undefined) drawLabel(pen, series, scale, widthPx, colours);
}

function scaleOf(plot: Plot, widthPx: number, heightPx: number): Scale {
  const reach = (axis: PlotAxis, pick: 'x' | 'y', k: 0 | 1): [number, number] => {
    let low = Infinity;
    let high = -Infinity;
    const hold = (value: number) => {
      if (!Number.isFinite(value)) return;
      low = Math.min(low, value);
      high = Math.max(high, value);
    };
    for (const series of plot.series) {
      series[pick].forEach((value, i) => {
        const half = pick === 'y' ? (series.half95?.[i] ?? 0) : 0;
        hold(value);
        if (Number.isFinite(half) && half > 0) {
          hold(value - half);
          hold(value + half);
        }
      });
    }
    for (const mark of plot.marks) {
      hold(mark.from[k]);
      hold(mark.to[k]);
    }
    for (const value of axis.holds ?? []) hold(value);
    if (!(high >= low)) return [0, 1];
    if (high === low) return [low - 0.5, high + 0.5];
    const room = 0.05 * (high - low);
    const held = axis.holds ?? [];
    // An axis that begins at a value it has to hold begins there.
    return [held.includes(low) && !plot.equal ? low : low - room, held.includes(high) && !plot.equal ? high : high + room];
  };
  let [xLow, xHigh] = reach(plot.x, 'x', 0);
  let [yLow, yHigh] = reach(plot.y, 'y', 1);
  const width = widthPx - MARGIN.left - MARGIN.right;
  const height = heightPx - MARGIN.top - MARGIN.bottom;
  if (plot.equal) {
    const perPx = Math.max((xHigh - xLow) / width, (yHigh - yLow) / height);
    const [cx, cy] = [(xLow + xHigh) / 2, (yLow + yHigh) / 2];
    [xLow, xHigh] = [cx - (perPx * width) / 2, cx + (perPx * width) / 2];
    [yLow, yHigh] = [cy - (perPx * height) / 2, cy + (perPx * height) / 2];
  }
  return {
    x: (value) => MARGIN.left + ((value - xLow) / (xHigh - xLow)) * width,
    y: plot.y.down === true ? (value) => MARGIN.top + ((value - yLow) / (yHigh - yLow)) * height : (value) => heightPx - MARGIN.bottom - ((value - yLow) / (yHigh - yLow)) * height,
    xRange: [xLow, xHigh],
    yRange: [yLow, yHigh],
  };
}

function axisName({ label, unit }: PlotAxis): string {
  return unit === '' ? label : `${label}, ${unit}`;
}

function decimals(steps: readonly number[]): number {
  const step = steps.length > 1 ? (steps[1] as number) - (steps[0] as number) : 1;
  return Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
}

function drawAxes(pen: Pen, plot: Plot, { x, y, xRange, yRange }: Scale, widthPx: number, heightPx: number, colours: PlotColours): void {
  const left = MARGIN.left;
  const right = widthPx - MARGIN.right;
  const bottom = heightPx - MARGIN.bottom;
  const top = MARGIN.top;
  const ySteps = niceSteps(yRange[0], yRange[1], Math.max(3, (bottom - top) / 42));
  for (const step of ySteps) {
    pen.line([[left, y(step)], [right, y(step)]], step === 0 ? colours.quiet : colours.hairline, 1);
    pen.text(fixed(step, decimals(ySteps)), left - 6, y(step) + 4.5, colours.quiet, { align: 'end' });
  }
  const xSteps = niceSteps(xRange[0], xRange[1], Math.max(3, (right - left) / 64));
  for (const step of xSteps) {
    if (plot.equal) pen.line([[x(step), top], [x(step), bottom]], step === 0 ? colours.quiet : colours.hairline, 1);
    pen.line([[x(step), bottom], [x(step), bottom + 4]], colours.ink, 1);
    pen.text(fixed(step, decimals(xSteps)), x(step), bottom + 16, colours.quiet, { align: 'middle' });
  }
  pen.line([[left, bottom], [right, bottom]], colours.ink, 1);
  pen.text(axisName(plot.y), 2, 13, colours.quiet, { weight: 600 });
  pen.text(axisName(plot.x), right, heightPx - 4, colours.quiet, { align: 'end', weight: 600 });
}

const DASHES: Readonly<Record<string, readonly number[]>> = { dashed: [6, 4], dotted: [1.5, 3.5] };

function drawSeries(pen: Pen, series: PlotSeries, { x, y }: Scale, colours: PlotColours): void {
  const colour = series.chosen === true ? colours.accent : colours.ink;
  if (series.style === 'dots' || series.style === 'rings') {
    let last: readonly [number, number] = [-Infinity, -Infinity];
    for (let i = 0; i < series.x.length; i++) {
      const at: readonly [number, number] = [x(series.x[i] as number), y(series.y[i] as number)];
      if (!Number.isFinite(at[0]) || !Number.isFinite(at[1])) continue;
      const half = series.half95?.[i] ?? NaN;
      if (Number.isFinite(half)) {
        const [up, down] = [y((series.y[i] as number) + half), y((series.y[i] as number) - half)];
        pen.line([[at[0], up], [at[0], down]], colour, 1.4);
        for (const end of [up, down]) pen.line([[at[0] - 3, end], [at[0] + 3, end]], colour, 1.4);
      }
      if (Math.hypot(at[0] - last[0], at[1] - last[1]) < DOT_APART_PX) continue;
      last = at;
      pen.dot(at[0], at[1], series.chosen === true ? 4 : series.x.length > 60 ? 1.6 : 2.8, colour);
    }
    return;
  }
  const width = series.style === 'thin' ? 1 : series.chosen === true ? 2 : 1.5;
  for (const [from, to] of unbroken(series)) {
    if (series.half95 !== undefined) {
      const up: [number, number][] = [];
      const down: [number, number][] = [];
      for (let i = from; i < to; i++) {
        up.push([x(series.x[i] as number), y((series.y[i] as number) + (series.half95[i] as number))]);
        down.unshift([x(series.x[i] as number), y((series.y[i] as number) - (series.half95[i] as number))]);
      }
      if (up.every(([, value]) => Number.isFinite(value))) pen.fill([...up, ...down], colour, 0.14);
    }
    const points: [number, number][] = [];
    let lastX = NaN;
    let lastY = NaN;
    for (let i = from; i < to; i++) {
      const px = x(series.x[i] as number);
      const py = y(series.y[i] as number);
      // Points nearer than a third of a pixel add nothing.
      if (i > from && i < to - 1 && Math.hypot(px - lastX, py - lastY) < 0.33) continue;
      points.push([px, py]);
      lastX = px;
      lastY = py;
    }
    if (points.length > 1) pen.line(points, series.style === 'thin' && series.chosen !== true ? colours.quiet : colour, width, DASHES[series.style]);
  }
}

function unbroken({ x, y }: PlotSeries): [number, number][] {
  const out: [number, number][] = [];
  const good = (i: number) => Number.isFinite(x[i]) && Number.isFinite(y[i]);
  for (let i = 0; i < x.length; i++) {
    if (!good(i)) continue;
    const from = i;
    while (i < x.length && good(i)) i++;
    out.push([from, i]);
  }
  return out;
}

function drawMark(pen: Pen, { from, to, text, style }: PlotMark, { x, y }: Scale, widthPx: number, colours: PlotColours): void {
  const a: readonly [number, number] = [x(from[0]), y(from[1])];
  const b: readonly [number, number] = [x(to[0]), y(to[1])];
  const length = Math.hypot(b[0] - a[0], b[1] - a[1]);
  const [ux, uy] = length > 0 ? [(b[0] - a[0]) / length, (b[1] - a[1]) / length] : [1, 0];
  if (style === 'point') {
    for (const side of [1, -1]) pen.line([[a[0] - 4, a[1] - 4 * side], [a[0] + 4, a[1] + 4 * side]], colours.ink, 1.4);
    put(pen, text, a[0] + 7, a[1] + 13, 'start', widthPx, colours);
    return;
  }
  if (style === 'guide') {
    pen.line([a, b], colours.quiet, 1.2, [2, 3]);
    put(pen, text, b[0] + 4, b[1] + 10, 'start', widthPx, colours);
    return;
  }
  pen.line([a, b], colours.ink, style === 'arrow' ? 1.8 : 1.2);
  if (style === 'arrow') {
    if (length < 4) return;
    pen.line([[b[0] - 7 * ux - 4 * uy, b[1] - 7 * uy + 4 * ux], b, [b[0] - 7 * ux + 4 * uy, b[1] - 7 * uy - 4 * ux]], colours.ink, 1.8);
    put(pen, text, b[0] + 6, b[1] - 6, 'start', widthPx, colours);
    return;
  }
  for (const end of [a, b]) pen.line([[end[0] - 4 * uy, end[1] + 4 * ux], [end[0] + 4 * uy, end[1] - 4 * ux]], colours.ink, 1.2);
  const upright = Math.abs(uy) > Math.abs(ux);
  const [mx, my] = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
  put(pen, text, upright ? mx + 5 : mx, upright ? my + 4 : my - 5, upright ? 'start' : 'middle', widthPx, colours);
}

/** A text with paper about it, kept on the plot. */
function put(pen: Pen, text: string, x: number, y: number, align: 'start' | 'middle', widthPx: number, colours: PlotColours): void {
  if (text === '') return;
  const width = 6.2 * text.length;
  const left = align === 'middle' ? x - width / 2 : x;
  const kept = Math.max(2, Math.min(widthPx - width - 2, left));
  pen.fill([[kept - 1, y - 11], [kept + width, y - 11], [kept + width, y + 3], [kept - 1, y + 3]], colours.paper, 0.8);
  pen.text(text, kept, y, colours.ink, { weight: 600 });
}

function drawLabel(pen: Pen, series: PlotSeries, { x, y }: Scale, widthPx: number, colours: PlotColours): void {
  const last = series.x.length - 1;
  if (last < 0) return;
  put(pen, series.label ?? '', x(series.x[last] as number) + 3, y(series.y[last] as number) - 2, 'start', widthPx, colours);
}

/** The plot's points as CSV, units in the header. */
export function plotCsv(plot: Plot): string {
  const number = (value: number) => (Number.isFinite(value) ? String(Number(value.toPrecision(7))) : '');
  const quoted = (text: string) => (/[",\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
  let out = `# ${plot.title}. ${plot.caption}\nseries,${plot.x.column},${plot.y.column},${plot.y.column}_95\n`;
  for (const { name, x, y, half95 } of plot.series) for (let i = 0; i < x.length; i++) out += `${quoted(name)},${number(x[i] as number)},${number(y[i] as number)},${number(half95?.[i] ?? NaN)}\n`;
  for (const { to, text } of plot.marks) if (text !== '') out += `${quoted(`mark: ${text}`)},${number(to[0])},${number(to[1])},\n`;
  return out;
}
