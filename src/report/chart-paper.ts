import type { RasterGrid } from '../geo/raster.js';
import { BORDER_MM } from './chart-border.js';
import type { GroundBox } from './chart-frame.js';
import { boxesOverlap } from './chart-frame.js';
import type { Box } from './label-index.js';
import { niceScale } from './nice-steps.js';

/** Sheets by name, the long side first [mm]. Source: ISO 216. */
export const PAPERS = { A4: [297, 210], A3: [420, 297], A2: [594, 420] } as const;
export type PaperName = keyof typeof PAPERS;

export interface PaperChoice {
  readonly paper: 'auto' | PaperName;
  /** 1:scale; null: the largest usual one at which the ground fits one sheet. */
  readonly scale: number | null;
}

/** How ground is laid out on sheets of paper. */
export interface PaperPlan {
  readonly paper: PaperName;
  readonly widthMm: number;
  readonly heightMm: number;
  /** The neat line of every sheet, and the panel of words beside it [mm]. */
  readonly map: Box;
  readonly panel: Box;
  readonly scale: number;
  /** Sheets in reading order, with the middle of the ground each shows [m]. */
  readonly sheets: readonly { readonly number: number; readonly row: number; readonly col: number; readonly ground: GroundBox }[];
  readonly rows: number;
  readonly cols: number;
}

/** What a usual printer leaves white all round. Common practice. */
const EDGE_MM = 6;
const PANEL_MM = { A4: 56, A3: 62, A2: 68 } as const;
/** Ground beside the area that is shown where there is room, and what two sheets share. */
const MARGIN_SHARE = 0.02;
const OVERLAP_MM = 12;
/** Automatic paper: the first on which the scale is at least as large as here. */
const AUTO: readonly (readonly [PaperName, number])[] = [['A4', 1000], ['A3', 2500], ['A2', Infinity]];
/** More sheets than this are no chart any more. */
export const MOST_SHEETS = 40;

/**
 * Chooses paper, its way up and the scale, and lays the sheets out; sheets on which nothing lies are left out.
 * Null where more than MOST_SHEETS would be needed: a smaller scale or larger paper is called for.
 *
 * @param isNeeded whether anything worth drawing lies in a box of the ground
 */
export function planPaper(ground: GroundBox, choice: PaperChoice, isNeeded: (box: GroundBox) => boolean): PaperPlan | null {
  const { paper, scale } = choice;
  const names: readonly PaperName[] = paper === 'auto' ? ['A4', 'A3', 'A2'] : [paper];
  if (scale !== null) {
    const single = names.flatMap((name) => waysUp(name)).find((way) => neededScale(ground, way.map) <= scale);
    const ways = single === undefined ? waysUp(names[names.length - 1] as PaperName) : [single];
    const plans = ways.map((way) => layOut(ground, way, scale, isNeeded)).filter((plan) => plan !== null);
    return plans.sort((a, b) => a.sheets.length - b.sheets.length)[0] ?? null;
  }
  for (const [name, limit] of paper === 'auto' ? AUTO : ([[paper, Infinity]] as const)) {
    const best = waysUp(name).map((way) => ({ way, scale: niceScale(neededScale(ground, way.map)) })).sort((a, b) => a.scale - b.scale)[0]!;
    if (best.scale <= limit) return layOut(ground, best.way, best.scale, isNeeded);
  }
  return null;
}

type Way = Pick<PaperPlan, 'paper' | 'widthMm' | 'heightMm' | 'map' | 'panel'>;

function waysUp(paper: PaperName): readonly [Way, Way] {
  const [long, short] = PAPERS[paper];
  const way = (widthMm: number, heightMm: number): Way => {
    const panelX = widthMm - EDGE_MM - PANEL_MM[paper];
    return {
      paper, widthMm, heightMm,
      map: { x0: EDGE_MM + BORDER_MM.left, y0: EDGE_MM + BORDER_MM.top, x1: panelX - 4 - BORDER_MM.right, y1: heightMm - EDGE_MM - BORDER_MM.bottom },
      panel: { x0: panelX, y0: EDGE_MM, x1: widthMm - EDGE_MM, y1: heightMm - EDGE_MM },
    };
  };
  return [way(long, short), way(short, long)];
}

function neededScale(ground: GroundBox, map: Box): number {
  const roomy = 1000 * (1 + 2 * MARGIN_SHARE);
  return Math.max(((ground.eastM - ground.westM) * roomy) / (map.x1 - map.x0), ((ground.northM - ground.southM) * roomy) / (map.y1 - map.y0));
}

function layOut(ground: GroundBox, way: Way, scale: number, isNeeded: (box: GroundBox) => boolean): PaperPlan | null {
  const spanX = ((way.map.x1 - way.map.x0) * scale) / 1000;
  const spanY = ((way.map.y1 - way.map.y0) * scale) / 1000;
  const shared = (OVERLAP_MM * scale) / 1000;
  const count = (length: number, span: number): number => (length <= span ? 1 : Math.ceil((length - shared) / (span - shared) - 1e-9));
  const cols = count(ground.eastM - ground.westM, spanX);
  const rows = count(ground.northM - ground.southM, spanY);
  if (cols * rows > 4 * MOST_SHEETS) return null;
  const westM = (ground.westM + ground.eastM) / 2 - (cols * spanX - (cols - 1) * shared) / 2;
  const northM = (ground.southM + ground.northM) / 2 + (rows * spanY - (rows - 1) * shared) / 2;
  const sheets: { number: number; row: number; col: number; ground: GroundBox }[] = [];
  for (let row = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++) {
      const west = westM + col * (spanX - shared);
      const north = northM - row * (spanY - shared);
      const box = { westM: west, eastM: west + spanX, northM: north, southM: north - spanY };
      if (rows * cols === 1 || isNeeded(box)) sheets.push({ number: sheets.length + 1, row, col, ground: box });
    }
  }
  return sheets.length > MOST_SHEETS || sheets.length === 0 ? null : { ...way, scale, sheets, rows, cols };
}

/** Whether any cell with a depth lies in a box. */
export function hasDepths(grid: RasterGrid, depthM: Float32Array, box: GroundBox): boolean {
  const whole = { westM: grid.westM, eastM: grid.westM + grid.cols * grid.cellM, northM: grid.northM, southM: grid.northM - grid.rows * grid.cellM };
  if (!boxesOverlap(whole, box)) return false;
  const rowStart = Math.max(0, Math.floor((grid.northM - box.northM) / grid.cellM));
  const rowEnd = Math.min(grid.rows, Math.ceil((grid.northM - box.southM) / grid.cellM));
  const colStart = Math.max(0, Math.floor((box.westM - grid.westM) / grid.cellM));
  const colEnd = Math.min(grid.cols, Math.ceil((box.eastM - grid.westM) / grid.cellM));
  for (let row = rowStart; row < rowEnd; row++) for (let col = colStart; col < colEnd; col++) if (!Number.isNaN(depthM[row * grid.cols + col] as number)) return true;
  return false;
}
