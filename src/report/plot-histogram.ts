import { formatCount, formatNumber } from './figures.js';
import { textWidth } from './fonts.js';
import { INK } from './ink.js';
import { decimalsOf, multiplesIn, niceAbove } from './nice-steps.js';
import { PLOT_TYPE_MM, valueAxis } from './plot-frame.js';
import { svgFigure, svgLine, svgRect, svgText } from './svg-text.js';

/** Room at the left and right of the bars, more at the right where a mark's label needs it [mm]. */
const X0 = 13;
const X1_LEFT = 4;

/** A value marked on the horizontal axis. */
export interface HistogramMark {
  readonly value: number;
  readonly text: string;
}

/**
 * How often values fall in bins of one width. Values beyond the last bin are counted in it, and its label says so.
 * Empty text where there is no finite value.
 *
 * @param axis what the values are, with the unit: `uncertainty of depth, 95 % [m]`
 */
export function histogramSvg(values: ArrayLike<number>, axis: string, marks: readonly HistogramMark[], widthMm = 88, heightMm = 52): string {
  const finite = Float64Array.from(Array.from(values).filter((value) => Number.isFinite(value))).sort();
  const n = finite.length;
  if (n === 0) return '';
  /* One in a thousand is let go to either end, so that one wild value does not flatten the rest. */
  const least = finite[Math.floor(0.001 * (n - 1))] as number;
  const greatest = finite[Math.ceil(0.999 * (n - 1))] as number;
  const shown = marks.filter(({ value }) => value >= least - (greatest - least) && value <= greatest + (greatest - least));
  const from = Math.min(least, ...shown.map(({ value }) => value));
  const to = Math.max(greatest, ...shown.map(({ value }) => value));
  const stepM = niceAbove(Math.max(to - from, Math.abs(to) * 1e-3, 1e-6) / 24);
  const start = Math.floor(from / stepM + 1e-9);
  const bins = Math.max(1, Math.floor(to / stepM + 1e-9) + 1 - start);
  const counts = new Float64Array(bins);
  for (const value of finite) {
    const bin = Math.max(0, Math.min(bins - 1, Math.floor(value / stepM + 1e-9) - start));
    counts[bin] = (counts[bin] as number) + 1;
  }
  /* Marks stand above the plot, their lines run down: a label stands below every label that its line would cross. */
  const roomRight = Math.max(X1_LEFT, ...shown.filter(({ value }) => value / stepM - start > 0.6 * bins).map(({ text }) => textWidth(text, PLOT_TYPE_MM, 500) + 1.4));
  const xMm = (value: number): number => X0 + ((value / stepM - start) / bins) * (widthMm - roomRight - X0);
  const rowEnds: number[] = [];
  const placed = [...shown]
    .sort((a, b) => a.value - b.value)
    .map(({ value, text }) => {
      const x = xMm(value);
      const row = rowEnds.findLastIndex((end) => end + 1.2 >= x) + 1;
      rowEnds[row] = x + 0.7 + textWidth(text, PLOT_TYPE_MM, 500);
      return { x, text, left: x + 0.7, row };
    });
  const box = { x0: X0, x1: widthMm - roomRight, y0: 8 + 2.9 * rowEnds.length, y1: heightMm - 10 };
  const most = counts.reduce((a, b) => Math.max(a, b), 0);
  const frame = valueAxis(box, 0, (most / n) * 100, '% of all', false);
  const parts: string[] = [frame.svg];
  counts.forEach((count, bin) => {
    if (count === 0) return;
    const x = box.x0 + (bin / bins) * (box.x1 - box.x0);
    const y = frame.yMm((count / n) * 100);
    parts.push(svgRect(x + 0.12, y, (box.x1 - box.x0) / bins - 0.24, box.y1 - y, INK.contour));
  });
  parts.push(svgLine(box.x0, box.y1, box.x1, box.y1, INK.ink, 0.25));
  const tickStep = niceAbove((bins * stepM) / Math.max(2, (box.x1 - box.x0) / 13));
  for (const value of multiplesIn(start * stepM, (start + bins) * stepM, tickStep)) {
    const x = xMm(value);
    parts.push(svgLine(x, box.y1, x, box.y1 + 1, INK.ink, 0.25), svgText(x, box.y1 + 3.6, formatNumber(value, decimalsOf(tickStep)), { size: PLOT_TYPE_MM, anchor: 'middle', colour: INK.quiet }));
  }
  parts.push(svgText((box.x0 + box.x1) / 2, box.y1 + 7.4, axis, { size: PLOT_TYPE_MM, anchor: 'middle', colour: INK.quiet }));
  for (const { x, text, left, row } of placed) {
    const baseline = 7.4 + 2.9 * row;
    parts.push(svgLine(x, baseline - 2, x, box.y1, INK.accent, 0.25, '0.9 0.6'));
    parts.push(svgText(left, baseline, text, { size: PLOT_TYPE_MM, weight: 500, colour: INK.accent }));
  }
  parts.push(svgText(widthMm - X1_LEFT, 3.4, `${formatCount(n)} values`, { size: PLOT_TYPE_MM, anchor: 'end', colour: INK.quiet }));
  return svgFigure(widthMm, heightMm, `Histogram: ${axis}`, parts);
}
