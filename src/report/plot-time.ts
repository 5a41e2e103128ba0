import type { Soundings } from '../depths/soundings.js';
import type { FoldedTime } from './folded-time.js';
import { foldTime } from './folded-time.js';
import { INK } from './ink.js';
import { PLOT_TYPE_MM, timeAxis, valueAxis } from './plot-frame.js';
import type { PlotFrame } from './plot-frame.js';
import type { ReportWaterLevel } from './report-input.js';
import { mm, svgFigure, svgLine, svgText } from './svg-text.js';

/** Columns a millimetre: what lies in one column is drawn from its least to its greatest value. */
const COLUMNS_PER_MM = 5;

/**
 * Depth below datum against time, least to greatest in each column of 0.2 mm, with what was set aside as rings.
 * Pauses are folded away. Empty text where there is no sounding.
 */
export function depthProfileSvg(soundings: Soundings, widthMm = 180, heightMm = 62): string {
  const box = { x0: 11, x1: widthMm - 3, y0: 7, y1: heightMm - 9 };
  const time = foldTime(soundings.timeS, box.x0, box.x1);
  if (time === null) return '';
  const { n, depthM, reason } = soundings;
  let [min, max] = [0, -Infinity];
  for (let i = 0; i < n; i++) {
    const depth = depthM[i] as number;
    if (reason[i] !== 0 || !Number.isFinite(depth)) continue;
    if (depth < min) min = depth;
    if (depth > max) max = depth;
  }
  if (max === -Infinity) max = 10;
  const frame = valueAxis(box, min, max * 1.04, 'm', true);
  const line = decimate(frame, time, n, soundings.timeS, depthM, (i) => reason[i] === 0);
  const rings: string[] = [];
  const taken = new Set<number>();
  let outside = 0;
  for (let i = 0; i < n; i++) {
    const depth = depthM[i] as number;
    if (reason[i] === 0 || !Number.isFinite(depth)) continue;
    const x = time.xMm(soundings.timeS[i] as number);
    const y = frame.yMm(depth);
    if (!Number.isFinite(x)) continue;
    if (y > frame.y1 || y < frame.y0) {
      outside += 1;
      continue;
    }
    const key = Math.round(x / 0.8) * 10_007 + Math.round(y / 0.8);
    if (taken.has(key)) continue;
    taken.add(key);
    rings.push(`<circle cx="${mm(x)}" cy="${mm(y)}" r="0.55"/>`);
  }
  const note = rings.length === 0 && outside === 0 ? '' : `rings: set aside${outside > 0 ? `; ${outside} more lie outside the plot` : ''}`;
  return svgFigure(widthMm, heightMm, 'Depth below datum against time', [
    frame.svg,
    `<path d="${line}" fill="none" stroke="${INK.ink}" stroke-width="0.18" stroke-linejoin="round"/>`,
    rings.length === 0 ? '' : `<g fill="none" stroke="${INK.accent}" stroke-width="0.18">${rings.join('')}</g>`,
    timeAxis(frame, time),
    note === '' ? '' : svgText(box.x1, box.y0 - 2.4, note, { size: PLOT_TYPE_MM, anchor: 'end', colour: INK.accent }),
  ]);
}

/** Water level above datum against time: the series, and beside it the stretch used by the soundings. Empty where there is neither. */
export function waterLevelSvg(series: ReportWaterLevel | null, soundings: Soundings | null, widthMm = 180, heightMm = 44): string {
  const box = { x0: 11, x1: widthMm - 3, y0: 7, y1: heightMm - 9 };
  const used = soundings === null ? null : usedLevel(soundings);
  if (used === null && series === null) return '';
  const time = foldTime(soundings !== null && used !== null ? soundings.timeS : (series?.timeS ?? new Float64Array(0)), box.x0, box.x1);
  if (time === null) return '';
  let [min, max] = used ?? [Infinity, -Infinity];
  if (series !== null) {
    for (let i = 0; i < series.timeS.length; i++) {
      const level = series.levelM[i] as number;
      if (!Number.isFinite(level) || Number.isNaN(time.xMm(series.timeS[i] as number))) continue;
      if (level < min) min = level;
      if (level > max) max = level;
    }
  }
  if (!(max >= min)) return '';
  const pad = Math.max(0.05, (max - min) * 0.1);
  const frame = valueAxis(box, min - pad, max + pad, 'm', false);
  const usedLine = soundings === null || used === null ? '' : decimate(frame, time, soundings.n, soundings.timeS, soundings.waterLevelM, (i) => Number.isFinite(soundings.waterLevelM[i] as number));
  const marks: string[] = [];
  if (series !== null && series.timeS.length <= 2000) {
    for (let i = 0; i < series.timeS.length; i++) {
      const x = time.xMm(series.timeS[i] as number);
      const y = frame.yMm(series.levelM[i] as number);
      if (Number.isFinite(x) && Number.isFinite(y)) marks.push(`<circle cx="${mm(x)}" cy="${mm(y)}" r="0.5"/>`);
    }
  }
  const seriesLine = series === null || marks.length > 0 ? '' : decimate(frame, time, series.timeS.length, series.timeS, series.levelM, () => true);
  return svgFigure(widthMm, heightMm, 'Water level above datum against time', [
    frame.svg,
    frame.yMm(0) >= frame.y0 && frame.yMm(0) <= frame.y1 ? svgLine(frame.x0, frame.yMm(0), frame.x1, frame.yMm(0), INK.quiet, 0.2, '1.2 0.8') : '',
    seriesLine === '' ? '' : `<path d="${seriesLine}" fill="none" stroke="${INK.contour}" stroke-width="0.25" stroke-dasharray="1.2 0.8"/>`,
    usedLine === '' ? '' : `<path d="${usedLine}" fill="none" stroke="${INK.ink}" stroke-width="0.25" stroke-linejoin="round"/>`,
    marks.length === 0 ? '' : `<g fill="${INK.paper}" stroke="${INK.contour}" stroke-width="0.2">${marks.join('')}</g>`,
    timeAxis(frame, time),
    svgText(box.x1, box.y0 - 2.4, marks.length > 0 ? 'line: used for the soundings; rings: values given' : 'used for the soundings', { size: PLOT_TYPE_MM, anchor: 'end', colour: INK.quiet }),
  ]);
}

function usedLevel(soundings: Soundings): [number, number] | null {
  let [min, max] = [Infinity, -Infinity];
  for (const level of soundings.waterLevelM) {
    if (level < min) min = level;
    if (level > max) max = level;
  }
  return max >= min ? [min, max] : null;
}

/** Path data of a series: in each column its first, least, greatest and last value, so that no peak is lost. */
function decimate(
  frame: PlotFrame,
  time: FoldedTime,
  n: number,
  timeS: Float64Array,
  values: ArrayLike<number>,
  counts: (i: number) => boolean,
): string {
  const parts: string[] = [];
  let column = NaN;
  let stretch = -1;
  let [first, least, greatest, last, x, seen] = [NaN, NaN, NaN, NaN, NaN, 0];
  let pen = 'M';
  const flush = (): void => {
    if (seen === 0) return;
    const middle = Math.round(x * COLUMNS_PER_MM) / COLUMNS_PER_MM;
    const stops = first <= last ? [first, least, greatest, last] : [first, greatest, least, last];
    let before = NaN;
    for (const value of stops) {
      if (value === before) continue;
      parts.push(`${pen}${mm(middle)} ${mm(frame.yMm(value))}`);
      pen = 'L';
      before = value;
    }
    seen = 0;
  };
  for (let i = 0; i < n; i++) {
    const value = values[i] as number;
    if (!counts(i) || !Number.isFinite(value)) continue;
    const at = time.xMm(timeS[i] as number);
    if (Number.isNaN(at)) continue;
    const here = time.stretches.length === 1 ? 0 : time.stretches.findIndex((each) => at <= each.x1);
    const nextColumn = Math.round(at * COLUMNS_PER_MM);
    if (nextColumn !== column || here !== stretch) {
      flush();
      if (here !== stretch) pen = 'M';
      column = nextColumn;
      stretch = here;
    }
    if (seen === 0) [first, least, greatest] = [value, value, value];
    if (value < least) least = value;
    if (value > greatest) greatest = value;
    last = value;
    x = at;
    seen += 1;
  }
  flush();
  return parts.join('');
}
