import { textWidth } from './fonts.js';
import { formatNumber } from './figures.js';
import { INK } from './ink.js';
import type { Box, LabelIndex } from './label-index.js';
import { isWithin } from './label-index.js';
import type { ChartFrame } from './chart-frame.js';
import { pathOf, sheetLine } from './chart-paths.js';
import { decimalsOf } from './nice-steps.js';
import type { ReportContour } from './report-input.js';
import { svgText } from './svg-text.js';

const LABEL_SIZE_MM = 2.1;
/** A shorter line is not labelled; a line this much longer than a label's stretch gets another label. */
const LABEL_MIN_MM = 22;
const LABEL_STRETCH_MM = 90;
/** A line shorter than this cannot be told from a speck. */
const SPECK_MM = 1.5;
/** Contours closer together than 2 mm on the average over the map cannot be told apart [mm of line a mm2 of map]. */
const DENSITY_MAX = 0.5;

export interface DrawnContours {
  readonly lines: string;
  readonly labels: string;
  /** Interval drawn [m]: the interval made, or 2, 5, 10 ... times it where that would be a grey mass. */
  readonly intervalM: number;
}

/**
 * Contour lines, thicker at the depths where the tints change, with upright figures set in gaps of the line.
 * Labels take their places from `labels`.
 */
export function drawContours(
  frame: ChartFrame,
  contours: readonly ReportContour[],
  intervalM: number,
  breaks: readonly number[],
  labels: LabelIndex,
): DrawnContours {
  const drawn = contours
    .flatMap(({ depthM, line }) => sheetLine(frame, line).map((points) => ({ depthM, points, lengthMm: lengthOf(points) })))
    .filter(({ lengthMm }) => lengthMm >= SPECK_MM);
  const mapMm2 = (frame.map.x1 - frame.map.x0) * (frame.map.y1 - frame.map.y0);
  const isOf = (depthM: number, stepM: number): boolean => Math.abs(depthM / stepM - Math.round(depthM / stepM)) < 1e-6 || breaks.some((b) => Math.abs(b - depthM) < 1e-6);
  const factors = [1, 2, 5, 10, 20, 50, 100];
  const factor = factors.find((each) => drawn.reduce((sum, line) => sum + (isOf(line.depthM, each * intervalM) ? line.lengthMm : 0), 0) <= DENSITY_MAX * mapMm2) ?? 100;
  const shown = drawn.filter(({ depthM }) => factor === 1 || isOf(depthM, factor * intervalM));

  const decimals = Math.max(0, ...shown.map(({ depthM }) => decimalsOf(Number((Math.abs(depthM) % 1 || 1).toFixed(6)))));
  const byLength = shown.map((line, i) => ({ ...line, i, holes: [] as Box[] })).sort((a, b) => b.lengthMm - a.lengthMm || a.i - b.i);
  const texts: string[] = [];
  for (const line of byLength) {
    if (line.lengthMm < LABEL_MIN_MM) continue;
    const text = formatNumber(line.depthM, Number.isInteger(line.depthM) ? 0 : decimals);
    const halfW = textWidth(text, LABEL_SIZE_MM, 500) / 2 + 0.5;
    const halfH = LABEL_SIZE_MM * 0.36 + 0.3;
    const wanted = Math.max(1, Math.floor(line.lengthMm / LABEL_STRETCH_MM));
    for (let k = 0; k < wanted; k++) {
      const place = findPlace(frame, line.points, line.lengthMm, (k + 0.5) / wanted, 0.5 / wanted, halfW, halfH, labels);
      if (place === null) continue;
      line.holes.push(place);
      texts.push(svgText((place.x0 + place.x1) / 2, (place.y0 + place.y1) / 2 + LABEL_SIZE_MM * 0.36, text, { size: LABEL_SIZE_MM, weight: 500, colour: INK.contour, anchor: 'middle' }));
    }
  }
  const paths = { thin: [] as string[], thick: [] as string[] };
  for (const line of byLength) {
    const kind = breaks.some((b) => Math.abs(b - line.depthM) < 1e-6) || line.depthM === 0 ? 'thick' : 'thin';
    for (const piece of cutOut(line.points, line.holes)) paths[kind].push(pathOf(piece));
  }
  const path = (data: readonly string[], width: number): string =>
    data.length === 0 ? '' : `<path d="${data.join('')}" fill="none" stroke="${INK.contour}" stroke-width="${width}" stroke-linejoin="round"/>`;
  return { lines: path(paths.thin, 0.12) + path(paths.thick, 0.28), labels: texts.join(''), intervalM: factor * intervalM };
}

/** The free place nearest to a wanted point along the line, searched outwards; null where there is none in its reach. */
function findPlace(
  frame: ChartFrame,
  points: Float64Array,
  lengthMm: number,
  at: number,
  reach: number,
  halfW: number,
  halfH: number,
  labels: LabelIndex,
): Box | null {
  const tries = Math.max(1, Math.floor((reach * lengthMm) / 3));
  for (let k = 0; k < 2 * tries; k++) {
    const offset = ((k % 2 === 0 ? 1 : -1) * Math.ceil(k / 2) * reach) / tries;
    const [x, y] = pointAt(points, (at + offset) * lengthMm);
    const box = { x0: x - halfW, y0: y - halfH, x1: x + halfW, y1: y + halfH };
    const inner = { x0: frame.map.x0 + 0.8, y0: frame.map.y0 + 0.8, x1: frame.map.x1 - 0.8, y1: frame.map.y1 - 0.8 };
    if (isWithin(box, inner) && labels.tryTake(box)) return box;
  }
  return null;
}

function lengthOf(points: Float64Array): number {
  let sum = 0;
  for (let i = 2; i < points.length; i += 2) sum += segmentLength(points, i);
  return sum;
}

function segmentLength(points: Float64Array, i: number): number {
  return Math.hypot((points[i] as number) - (points[i - 2] as number), (points[i + 1] as number) - (points[i - 1] as number));
}

function pointAt(points: Float64Array, alongMm: number): [number, number] {
  let left = alongMm;
  for (let i = 2; i < points.length; i += 2) {
    const length = segmentLength(points, i);
    if (left <= length || i === points.length - 2) {
      const share = length > 0 ? Math.max(0, Math.min(1, left / length)) : 0;
      const [ax, ay, bx, by] = [points[i - 2] as number, points[i - 1] as number, points[i] as number, points[i + 1] as number];
      return [ax + share * (bx - ax), ay + share * (by - ay)];
    }
    left -= length;
  }
  return [points[0] ?? NaN, points[1] ?? NaN];
}

/** The parts of a line outside some boxes. Each segment is clipped by Liang and Barsky (1984). */
function cutOut(points: Float64Array, holes: readonly Box[]): number[][] {
  if (holes.length === 0) return [Array.from(points)];
  let pieces: number[][] = [Array.from(points)];
  for (const hole of holes) {
    const next: number[][] = [];
    for (const piece of pieces) {
      let run: number[] = [piece[0] as number, piece[1] as number];
      for (let i = 2; i < piece.length; i += 2) {
        const [ax, ay, bx, by] = [piece[i - 2] as number, piece[i - 1] as number, piece[i] as number, piece[i + 1] as number];
        const inside = clip(ax, ay, bx, by, hole);
        if (inside === null) {
          run.push(bx, by);
          continue;
        }
        const [start, end] = inside;
        if (start > 0) run.push(ax + start * (bx - ax), ay + start * (by - ay));
        if (run.length >= 4) next.push(run);
        run = end < 1 ? [ax + end * (bx - ax), ay + end * (by - ay), bx, by] : [bx, by];
      }
      if (run.length >= 4) next.push(run);
    }
    pieces = next;
  }
  return pieces;
}

function clip(ax: number, ay: number, bx: number, by: number, box: Box): [number, number] | null {
  let [start, end] = [0, 1];
  const dx = bx - ax;
  const dy = by - ay;
  for (const [p, q] of [[-dx, ax - box.x0], [dx, box.x1 - ax], [-dy, ay - box.y0], [dy, box.y1 - ay]] as const) {
    if (p === 0) {
      if (q < 0) return null;
      continue;
    }
    const r = q / p;
    if (p < 0) start = Math.max(start, r);
    else end = Math.min(end, r);
  }
  return start < end ? [start, end] : null;
}
