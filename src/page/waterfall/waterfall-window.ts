import type { PingRun } from './ping-runs.js';

/** What of a run the waterfall shows: later pings higher up, port left, starboard right. */
export interface WaterfallWindow {
  /** Row of the pings in the middle, a fraction. */
  readonly centreRow: number;
  readonly pingsPerPx: number;
  readonly metresPerPx: number;
  /** Range in the middle of the width [m]; 0 the track. */
  readonly shiftM: number;
}

/** The plot's box inside its host [px]. */
export interface PlotBox {
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
}

/** Rows of a tile, and the most pings that are put into one row of it. */
export const TILE_ROWS = 256;
export const STEP_MAX = 8;
const PINGS_PER_PX_MAX = 12;
const PINGS_PER_PX_LEAST = 0.02;
const METRES_PER_PX_LEAST = 0.004;

/** A run from its start on, at its full range and true to scale along and across. */
export function fitWindow(run: PingRun, box: PlotBox, atRow = NaN): WaterfallWindow {
  const metresPerPx = (2 * run.rangeM) / Math.max(50, box.width);
  const alongM = run.alongM > 0.005 ? run.alongM : metresPerPx;
  const pingsPerPx = Math.min(PINGS_PER_PX_MAX, Math.max(PINGS_PER_PX_LEAST, metresPerPx / alongM));
  const centreRow = Number.isFinite(atRow) ? atRow : run.rowStart + (box.height / 2) * pingsPerPx;
  return held({ centreRow, pingsPerPx, metresPerPx, shiftM: 0 }, run, box);
}

/** Keeps a window on its run. */
export function held(window: WaterfallWindow, run: PingRun, box: PlotBox): WaterfallWindow {
  const half = (box.height / 2) * window.pingsPerPx;
  const [first, last] = [run.rowStart + half, run.rowEnd - half];
  const centreRow = first > last ? (run.rowStart + run.rowEnd) / 2 : Math.min(last, Math.max(first, window.centreRow));
  const room = Math.max(0, run.rangeM - (box.width / 2) * window.metresPerPx);
  return { ...window, centreRow, shiftM: Math.min(room, Math.max(-room, window.shiftM)) };
}

/** Zooms about a point of the plot that stays where it is; the shape of things does not change. */
export function zoomed(window: WaterfallWindow, by: number, x: number, y: number, run: PingRun, box: PlotBox): WaterfallWindow {
  const most = (2.2 * run.rangeM) / Math.max(50, box.width);
  let factor = 1 / by;
  factor = Math.min(factor, most / window.metresPerPx, PINGS_PER_PX_MAX / window.pingsPerPx);
  factor = Math.max(factor, METRES_PER_PX_LEAST / window.metresPerPx, PINGS_PER_PX_LEAST / window.pingsPerPx);
  const row = rowAt(window, box, y);
  const across = acrossAt(window, box, x);
  const next = { ...window, pingsPerPx: window.pingsPerPx * factor, metresPerPx: window.metresPerPx * factor };
  return held({ ...next, centreRow: row - (box.top + box.height / 2 - y) * next.pingsPerPx, shiftM: across - (x - box.left - box.width / 2) * next.metresPerPx }, run, box);
}

export function rowAt(window: WaterfallWindow, box: PlotBox, y: number): number {
  return window.centreRow + (box.top + box.height / 2 - y) * window.pingsPerPx;
}

export function yAt(window: WaterfallWindow, box: PlotBox, row: number): number {
  return box.top + box.height / 2 - (row - window.centreRow) / window.pingsPerPx;
}

/** Range to starboard at a place of the plot [m]; negative to port. */
export function acrossAt(window: WaterfallWindow, box: PlotBox, x: number): number {
  return window.shiftM + (x - box.left - box.width / 2) * window.metresPerPx;
}

export function xAt(window: WaterfallWindow, box: PlotBox, acrossM: number): number {
  return box.left + box.width / 2 + (acrossM - window.shiftM) / window.metresPerPx;
}

/** One tile of a run: rows of the pings [from, to), `step` of them to a row of the picture, `width` columns a side. */
export interface TilePlace {
  readonly from: number;
  readonly to: number;
  readonly step: number;
  readonly width: number;
}

/** Columns a side that are as fine as the screen, a power of two. */
export function tileWidth(run: PingRun, metresPerPx: number, pixelRatio: number): number {
  const wanted = (run.rangeM / metresPerPx) * Math.min(2, pixelRatio);
  return Math.min(2048, Math.max(256, 2 ** Math.ceil(Math.log2(wanted) - 0.2)));
}

/** Tiles that a window shows, those in the middle first. */
export function tilesOf(window: WaterfallWindow, run: PingRun, box: PlotBox, pixelRatio: number): readonly TilePlace[] {
  const step = Math.min(STEP_MAX, 2 ** Math.max(0, Math.floor(Math.log2(window.pingsPerPx / pixelRatio) + 0.3)));
  const width = tileWidth(run, window.metresPerPx, pixelRatio);
  const span = TILE_ROWS * step;
  const half = (box.height / 2) * window.pingsPerPx;
  const first = Math.max(0, Math.floor((window.centreRow - half - run.rowStart) / span));
  const last = Math.min(Math.ceil((run.rowEnd - run.rowStart) / span) - 1, Math.floor((window.centreRow + half - run.rowStart) / span));
  const tiles: TilePlace[] = [];
  for (let k = first; k <= last; k++) tiles.push({ from: run.rowStart + k * span, to: Math.min(run.rowEnd, run.rowStart + (k + 1) * span), step, width });
  const off = ({ from, to }: TilePlace): number => Math.abs((from + to) / 2 - window.centreRow);
  return tiles.sort((a, b) => off(a) - off(b));
}
