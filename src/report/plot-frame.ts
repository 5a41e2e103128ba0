import { formatNumber, formatUtcDate, formatUtcTime } from './figures.js';
import type { FoldedTime } from './folded-time.js';
import { INK } from './ink.js';
import { decimalsOf, multiplesIn, niceAbove } from './nice-steps.js';
import { mm, svgLine, svgText } from './svg-text.js';

/** Size of the small type in plots [mm]. */
export const PLOT_TYPE_MM = 2.5;

/** A plot's inner rectangle [mm] and its vertical scale. */
export interface PlotFrame {
  readonly x0: number;
  readonly x1: number;
  /** Top and bottom edge. */
  readonly y0: number;
  readonly y1: number;
  /** Place of a value. */
  yMm(value: number): number;
  /** Axis lines, figures and the unit. */
  readonly svg: string;
}

/**
 * A vertical axis with hairlines across at round values.
 * @param downwards true: the value grows downwards, as depth does
 */
export function valueAxis(box: { readonly x0: number; readonly x1: number; readonly y0: number; readonly y1: number }, min: number, max: number, unit: string, downwards: boolean): PlotFrame {
  const span = max > min ? max - min : 1;
  const step = niceAbove(span / Math.max(2, (box.y1 - box.y0) / 8));
  const low = Math.floor(min / step + 1e-9) * step;
  const high = Math.max(low + step, Math.ceil(max / step - 1e-9) * step);
  const yMm = (value: number): number => {
    const share = (value - low) / (high - low);
    return downwards ? box.y0 + share * (box.y1 - box.y0) : box.y1 - share * (box.y1 - box.y0);
  };
  const parts = multiplesIn(low, high, step).map((value) => {
    const y = yMm(value);
    return svgLine(box.x0, y, box.x1, y, INK.hairline, 0.15) + svgText(box.x0 - 1.2, y + 0.85, formatNumber(value, decimalsOf(step)), { size: PLOT_TYPE_MM, anchor: 'end', colour: INK.quiet });
  });
  parts.push(svgText(box.x0 - 1.2, box.y0 - 2.4, unit, { size: PLOT_TYPE_MM, anchor: 'end', colour: INK.quiet }));
  return { ...box, yMm, svg: parts.join('') };
}

/** The time axis under a plot: times of day, the date under the first of each day, and folds where pauses were left out. */
export function timeAxis(frame: PlotFrame, time: FoldedTime): string {
  const parts: string[] = [];
  for (const stretch of time.stretches) parts.push(svgLine(stretch.x0, frame.y1, stretch.x1, frame.y1, INK.ink, 0.25));
  time.stretches.slice(1).forEach((stretch, i) => {
    const before = time.stretches[i]?.x1 ?? stretch.x0;
    for (const x of [before, stretch.x0]) parts.push(`<path d="M${mm(x - 0.5)} ${mm(frame.y1 + 1.1)}L${mm(x + 0.5)} ${mm(frame.y1 - 1.1)}" stroke="${INK.ink}" stroke-width="0.25"/>`);
  });
  let day = '';
  for (const { timeS, x } of time.ticks(15)) {
    parts.push(svgLine(x, frame.y1, x, frame.y1 + 1, INK.ink, 0.25));
    parts.push(svgText(x, frame.y1 + 3.6, formatUtcTime(timeS), { size: PLOT_TYPE_MM, anchor: 'middle', colour: INK.quiet }));
    const date = formatUtcDate(timeS);
    if (date !== day) parts.push(svgText(x, frame.y1 + 6.6, `${date} UTC`, { size: PLOT_TYPE_MM, anchor: x < frame.x0 + 10 ? 'start' : 'middle', colour: INK.quiet }));
    day = date;
  }
  return parts.join('');
}
