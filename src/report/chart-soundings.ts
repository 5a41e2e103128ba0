import { selectSoundings } from '../depths/select-soundings.js';
import type { Soundings } from '../depths/soundings.js';
import type { ChartFrame } from './chart-frame.js';
import { textWidth } from './fonts.js';
import { INK } from './ink.js';
import type { LabelIndex } from './label-index.js';
import { isWithin } from './label-index.js';
import { mm } from './svg-text.js';
import { escapeXml } from './safe-text.js';

const FIGURE_MM = 2.5;
const SUBSCRIPT_MM = 1.8;
/** Height of a figure of the type [share of its size]. */
const FIGURE_HEIGHT = 0.7;
/** Deeper than this the decimetres are left out. Common practice. */
const WHOLE_METRES_FROM_M = 31;

/** A depth as a chart shows it: whole metres and decimetres, both rounded towards the shoal side. */
export interface ChartFigure {
  readonly metres: string;
  readonly decimetres: string;
  /** Above datum: the figures are underlined. */
  readonly dries: boolean;
}

/**
 * The figures of a depth. Shoaler, never deeper: 12.39 m is 12 with subscript 3; from 31 m whole metres only.
 * A tenth of a millimetre is forgiven, so that 12.3 kept in single precision stays 12 with subscript 3.
 *
 * @param depthM below datum, positive down; negative dries
 */
export function chartFigure(depthM: number): ChartFigure {
  const dries = depthM < -1e-4;
  if (!dries && depthM >= WHOLE_METRES_FROM_M) return { metres: String(Math.floor(depthM + 1e-4)), decimetres: '', dries };
  const tenths = dries ? Math.ceil(-depthM * 10 - 1e-3) : Math.max(0, Math.floor(depthM * 10 + 1e-3));
  return { metres: String(Math.floor(tenths / 10)), decimetres: String(tenths % 10), dries };
}

export interface SelectedSoundings {
  /** Indices of the soundings shown, shoalest first. */
  readonly shown: readonly number[];
  readonly svg: string;
}

/** Least distance between two soundings on paper [mm]. */
export const SOUNDINGS_APART_MM = 8;

/** The soundings of a chart at 1:scale, shoal-biased; rows, shoalest first. The same that `tallow ask soundings` gives for the scale. */
export function chartedSoundings(soundings: Soundings, scale: number): Uint32Array {
  return selectSoundings(soundings, (SOUNDINGS_APART_MM * scale) / 1000);
}

/**
 * Draws selected soundings, the middle of the figures at the sounding's place. Every one is drawn and takes its place from `labels`,
 * but those whose figures would be cut by the neat line: ground is shown with a margin, and sheets share more than that.
 *
 * @param rows of the soundings, shoalest first
 */
export function drawSoundings(frame: ChartFrame, soundings: Soundings, rows: ArrayLike<number>, labels: LabelIndex): SelectedSoundings {
  const inner = { x0: frame.map.x0 + 0.6, y0: frame.map.y0 + 0.6, x1: frame.map.x1 - 0.6, y1: frame.map.y1 - 0.6 };
  const shown: number[] = [];
  const parts: string[] = [];
  for (let k = 0; k < rows.length; k++) {
    const i = rows[k] as number;
    const x = frame.xMm(soundings.xM[i] as number);
    const y = frame.yMm(soundings.yM[i] as number);
    if (!(x > inner.x0 && x < inner.x1 && y > inner.y0 && y < inner.y1)) continue;
    const figure = chartFigure(soundings.depthM[i] as number);
    const metresMm = textWidth(figure.metres, FIGURE_MM, 400, true);
    const widthMm = metresMm + textWidth(figure.decimetres, SUBSCRIPT_MM, 400, true);
    const box = { x0: x - widthMm / 2 - 0.4, y0: y - 1.2, x1: x + widthMm / 2 + 0.4, y1: y + 1.8 };
    if (!isWithin(box, inner)) continue;
    labels.take(box);
    shown.push(i);
    parts.push(figureSvg(figure, x - widthMm / 2, y + (FIGURE_MM * FIGURE_HEIGHT) / 2, metresMm, widthMm));
  }
  return { shown, svg: parts.length === 0 ? '' : `<g font-size="${FIGURE_MM}" font-style="italic" fill="${INK.ink}">${parts.join('\n')}</g>` };
}

/** A figure from its left end at its baseline. */
export function figureSvg(figure: ChartFigure, x: number, baseline: number, metresMm: number, widthMm: number): string {
  const subscript = figure.decimetres === '' ? '' : `<tspan x="${mm(x + metresMm)}" dy="0.75" font-size="${SUBSCRIPT_MM}">${escapeXml(figure.decimetres)}</tspan>`;
  const line = figure.dries ? `<path d="M${mm(x)} ${mm(baseline + 0.35)}h${mm(widthMm)}" stroke="${INK.ink}" stroke-width="0.15"/>` : '';
  return `<text x="${mm(x)}" y="${mm(baseline)}">${escapeXml(figure.metres)}${subscript}</text>${line}`;
}
