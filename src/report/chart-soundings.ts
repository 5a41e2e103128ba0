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

/**
 * Soundings for a chart, shoal-biased: the shoalest first, each keeping deeper ones at a distance. Every good sounding on the
 * map then has one no deeper than itself within the spacing, where labels leave room.
 * The figures' middle is the sounding's place. Labels take their places from `labels`.
 *
 * @param spacingMm least distance between two soundings on the sheet
 */
export function drawSoundings(frame: ChartFrame, soundings: Soundings, labels: LabelIndex, spacingMm = 8): SelectedSoundings {
  const candidates = shoalestOfBins(frame, soundings, spacingMm / 3);
  const inner = { x0: frame.map.x0 + 0.6, y0: frame.map.y0 + 0.6, x1: frame.map.x1 - 0.6, y1: frame.map.y1 - 0.6 };
  const near = new Map<number, number[]>();
  const keyOf = (col: number, row: number): number => row * 100_003 + col;
  const shown: number[] = [];
  const parts: string[] = [];
  for (const i of candidates) {
    const x = frame.xMm(soundings.xM[i] as number);
    const y = frame.yMm(soundings.yM[i] as number);
    const col = Math.floor(x / spacingMm);
    const row = Math.floor(y / spacingMm);
    if (isTooNear(near, keyOf, col, row, x, y, spacingMm)) continue;
    const figure = chartFigure(soundings.depthM[i] as number);
    const metresMm = textWidth(figure.metres, FIGURE_MM, 400, true);
    const widthMm = metresMm + textWidth(figure.decimetres, SUBSCRIPT_MM, 400, true);
    const box = { x0: x - widthMm / 2 - 0.4, y0: y - 1.2, x1: x + widthMm / 2 + 0.4, y1: y + 1.8 };
    if (!isWithin(box, inner) || !labels.tryTake(box)) continue;
    const key = keyOf(col, row);
    const held = near.get(key);
    if (held === undefined) near.set(key, [x, y]);
    else held.push(x, y);
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

/** The shoalest good sounding of each square bin of the map, shoalest first; equal depths in time order. */
function shoalestOfBins(frame: ChartFrame, soundings: Soundings, binMm: number): number[] {
  const { map } = frame;
  const cols = Math.max(1, Math.ceil((map.x1 - map.x0) / binMm));
  const rows = Math.max(1, Math.ceil((map.y1 - map.y0) / binMm));
  const shoalest = new Int32Array(cols * rows).fill(-1);
  const { n, xM, yM, depthM, reason } = soundings;
  for (let i = 0; i < n; i++) {
    if (reason[i] !== 0) continue;
    const depth = depthM[i] as number;
    if (!Number.isFinite(depth)) continue;
    const col = Math.floor((frame.xMm(xM[i] as number) - map.x0) / binMm);
    const row = Math.floor((frame.yMm(yM[i] as number) - map.y0) / binMm);
    if (!(col >= 0 && col < cols && row >= 0 && row < rows)) continue;
    const bin = row * cols + col;
    const held = shoalest[bin] as number;
    if (held < 0 || depth < (depthM[held] as number)) shoalest[bin] = i;
  }
  return Array.from(shoalest.filter((i) => i >= 0)).sort((a, b) => (depthM[a] as number) - (depthM[b] as number) || a - b);
}

function isTooNear(
  near: ReadonlyMap<number, readonly number[]>,
  keyOf: (col: number, row: number) => number,
  col: number,
  row: number,
  x: number,
  y: number,
  spacingMm: number,
): boolean {
  for (let r = row - 1; r <= row + 1; r++) {
    for (let c = col - 1; c <= col + 1; c++) {
      const held = near.get(keyOf(c, r));
      if (held === undefined) continue;
      for (let k = 0; k < held.length; k += 2) {
        if (Math.hypot(x - (held[k] as number), y - (held[k + 1] as number)) < spacingMm) return true;
      }
    }
  }
  return false;
}
