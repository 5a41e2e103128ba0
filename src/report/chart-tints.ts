import type { ChartFrame } from './chart-frame.js';
import { INK } from './ink.js';
import { palettePng } from './png.js';
import type { ReportSurface } from './report-input.js';
import { base64 } from './base64.js';
import { mm } from './svg-text.js';

/** Dots a millimetre of the tints: the edges of tints lie under contour lines, which are drawn as lines. */
const DOTS_PER_MM = 8;
const MAX_DOTS = 3_000_000;

const SERIES = [0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000];

/**
 * The three depths between the four tints: three neighbours of 0.5, 1, 2, 5, 10, 20 ... m, the deepest of them under nine tenths of
 * the deepest water; where they would all be shallower than the survey, quarters of its depths, to whole contour intervals.
 */
export function tintBreaks(depthMinM: number, depthMaxM: number, intervalM: number): readonly [number, number, number] {
  let at = SERIES.findLastIndex((depth) => depth < depthMaxM * 0.9);
  if (at < 2) at = 2;
  const usual: [number, number, number] = [SERIES[at - 2] ?? 0, SERIES[at - 1] ?? 0, SERIES[at] ?? 0];
  if (!(depthMinM >= usual[1])) return usual;
  const step = intervalM > 0 ? intervalM : 1;
  const [a, b, c] = [0.25, 0.5, 0.75].map((share) => Math.round((depthMinM + share * (depthMaxM - depthMinM)) / step) * step) as [number, number, number];
  return a < b && b < c && depthMinM < a ? [a, b, c] : usual;
}

/** The surface as depth tints: one image under the lines of the chart. Empty where nothing of it is on the map. */
export function depthTints(frame: ChartFrame, surface: ReportSurface, breaks: readonly [number, number, number]): string {
  const { map } = frame;
  const widthMm = map.x1 - map.x0;
  const heightMm = map.y1 - map.y0;
  const dots = Math.min(DOTS_PER_MM, Math.sqrt(MAX_DOTS / (widthMm * heightMm)));
  const width = Math.max(1, Math.round(widthMm * dots));
  const height = Math.max(1, Math.round(heightMm * dots));
  const pixels = sampleTints(frame, surface, breaks, width, height);
  const png = palettePng(pixels, width, height, [INK.unsurveyed, INK.drying, ...INK.tints]);
  return `<image x="${mm(map.x0)}" y="${mm(map.y0)}" width="${mm(widthMm)}" height="${mm(heightMm)}" preserveAspectRatio="none" href="data:image/png;base64,${base64(png)}"/>`;
}

/** Palette index of each dot: 0 not surveyed, 1 dries, 2 to 5 the tints. Between four depths bilinear, else the nearest cell. */
function sampleTints(frame: ChartFrame, surface: ReportSurface, breaks: readonly [number, number, number], width: number, height: number): Uint8Array {
  const { grid, depthM } = surface;
  const { ground } = frame;
  const pixels = new Uint8Array(width * height);
  const stepX = (ground.eastM - ground.westM) / width / grid.cellM;
  const stepY = (ground.northM - ground.southM) / height / grid.cellM;
  const startX = (ground.westM - grid.westM) / grid.cellM + stepX / 2 - 0.5;
  const startY = (grid.northM - ground.northM) / grid.cellM + stepY / 2 - 0.5;
  const [b0, b1, b2] = breaks;
  for (let y = 0; y < height; y++) {
    const v = startY + y * stepY;
    const row = Math.floor(v);
    if (row < -1 || row >= grid.rows) continue;
    const fy = v - row;
    const upper = Math.max(0, row) * grid.cols;
    const lower = Math.min(grid.rows - 1, row + 1) * grid.cols;
    for (let x = 0; x < width; x++) {
      const u = startX + x * stepX;
      const col = Math.floor(u);
      if (col < -1 || col >= grid.cols) continue;
      const fx = u - col;
      const left = col < 0 ? 0 : col;
      const right = col + 1 >= grid.cols ? grid.cols - 1 : col + 1;
      const a = depthM[upper + left] as number;
      const b = depthM[upper + right] as number;
      const c = depthM[lower + left] as number;
      const d = depthM[lower + right] as number;
      let depth = (a * (1 - fx) + b * fx) * (1 - fy) + (c * (1 - fx) + d * fx) * fy;
      if (depth !== depth) depth = fy < 0.5 ? (fx < 0.5 ? a : b) : fx < 0.5 ? c : d;
      if (depth !== depth) continue;
      pixels[y * width + x] = depth < 0 ? 1 : depth < b0 ? 2 : depth < b1 ? 3 : depth < b2 ? 4 : 5;
    }
  }
  return pixels;
}
