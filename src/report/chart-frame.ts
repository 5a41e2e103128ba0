import type { Polygon } from '../geo/shapes.js';
import type { Box } from './label-index.js';
import { niceScale } from './nice-steps.js';
import type { ReportInput } from './report-input.js';

/** A box of the ground in the survey frame [m]. */
export interface GroundBox {
  readonly westM: number;
  readonly southM: number;
  readonly eastM: number;
  readonly northM: number;
}

/** How ground becomes sheet: the neat line, what ground lies at its corner, and the scale. */
export interface ChartFrame {
  /** The neat line [mm]. */
  readonly map: Box;
  readonly ground: GroundBox;
  /** 1:scale at the printed size. */
  readonly scale: number;
  xMm(xM: number): number;
  yMm(yM: number): number;
}

/** What of a survey says which ground a chart shows. */
export type ChartedGround = Pick<ReportInput, 'area' | 'surface' | 'soundings' | 'track' | 'planLines'>;

/**
 * The ground a chart should show: the area; where there is none, or nothing was measured in it, what was measured.
 * Null where there is neither.
 */
export function chartGround(input: ChartedGround): GroundBox | null {
  const area = polygonsBox(input.area);
  const measured = measuredBox(input);
  if (area === null) return measured;
  if (measured === null || boxesOverlap(area, measured)) return area;
  return union(area, measured);
}

/**
 * Lays ground out on a map of a given size, centred.
 * @param scale 1:scale; left out: the largest usual scale at which the ground with a margin of 4 % fits
 */
export function layOutChart(ground: GroundBox, map: Box, scale?: number): ChartFrame {
  const widthMm = map.x1 - map.x0;
  const heightMm = map.y1 - map.y0;
  const needed = Math.max(((ground.eastM - ground.westM) * 1080) / widthMm, ((ground.northM - ground.southM) * 1080) / heightMm);
  const chosen = scale ?? niceScale(needed);
  if (!(chosen > 0) || !Number.isFinite(chosen)) throw new RangeError(`scale ${chosen}: expected a number above 0`);
  const metresPerMm = chosen / 1000;
  const westM = (ground.westM + ground.eastM) / 2 - (widthMm / 2) * metresPerMm;
  const northM = (ground.southM + ground.northM) / 2 + (heightMm / 2) * metresPerMm;
  return {
    map,
    scale: chosen,
    ground: { westM, northM, eastM: westM + widthMm * metresPerMm, southM: northM - heightMm * metresPerMm },
    xMm: (xM) => map.x0 + (xM - westM) / metresPerMm,
    yMm: (yM) => map.y0 + (northM - yM) / metresPerMm,
  };
}

/** The box of all polygons' outer rings; null where there is none. */
export function polygonsBox(polygons: readonly Polygon[]): GroundBox | null {
  let box: GroundBox | null = null;
  for (const { outer } of polygons) box = union(box, pointsBox(outer));
  return box;
}

function pointsBox(points: ArrayLike<number>): GroundBox | null {
  let [westM, southM, eastM, northM] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let i = 0; i + 1 < points.length; i += 2) {
    const x = points[i] ?? NaN;
    const y = points[i + 1] ?? NaN;
    if (!Number.isFinite(x) || !Number.isFinite(y)) continue;
    if (x < westM) westM = x;
    if (x > eastM) eastM = x;
    if (y < southM) southM = y;
    if (y > northM) northM = y;
  }
  return westM <= eastM ? { westM, southM, eastM, northM } : null;
}

/** Cells of the surface that hold a depth; else good soundings; else the track without its jumps; else the planned lines. */
function measuredBox(input: ChartedGround): GroundBox | null {
  const { surface, soundings, track } = input;
  if (surface !== null) {
    const { grid, depthM } = surface;
    let [colMin, colMax, rowMin, rowMax] = [Infinity, -1, Infinity, -1];
    for (let row = 0; row < grid.rows; row++) {
      for (let col = 0; col < grid.cols; col++) {
        if (Number.isNaN(depthM[row * grid.cols + col])) continue;
        if (col < colMin) colMin = col;
        if (col > colMax) colMax = col;
        if (row < rowMin) rowMin = row;
        rowMax = row;
      }
    }
    if (colMax >= 0) {
      return {
        westM: grid.westM + colMin * grid.cellM,
        eastM: grid.westM + (colMax + 1) * grid.cellM,
        northM: grid.northM - rowMin * grid.cellM,
        southM: grid.northM - (rowMax + 1) * grid.cellM,
      };
    }
  }
  let box: GroundBox | null = null;
  if (soundings !== null) box = columnsBox(soundings.n, soundings.xM, soundings.yM, (i) => soundings.reason[i] === 0);
  if (box === null && track !== null) box = columnsBox(track.n, track.xM, track.yM, (i) => track.jump?.[i] !== 1);
  if (box === null) for (const { line } of input.planLines) box = union(box, pointsBox(line));
  return box;
}

function columnsBox(n: number, xM: Float64Array, yM: Float64Array, counts: (i: number) => boolean): GroundBox | null {
  let [westM, southM, eastM, northM] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let i = 0; i < n; i++) {
    const x = xM[i] ?? NaN;
    const y = yM[i] ?? NaN;
    if (!Number.isFinite(x) || !Number.isFinite(y) || !counts(i)) continue;
    if (x < westM) westM = x;
    if (x > eastM) eastM = x;
    if (y < southM) southM = y;
    if (y > northM) northM = y;
  }
  return westM <= eastM ? { westM, southM, eastM, northM } : null;
}

export function boxesOverlap(a: GroundBox, b: GroundBox): boolean {
  return a.westM < b.eastM && a.eastM > b.westM && a.southM < b.northM && a.northM > b.southM;
}

function union(a: GroundBox | null, b: GroundBox | null): GroundBox | null {
  if (a === null || b === null) return a ?? b;
  return {
    westM: Math.min(a.westM, b.westM),
    southM: Math.min(a.southM, b.southM),
    eastM: Math.max(a.eastM, b.eastM),
    northM: Math.max(a.northM, b.northM),
  };
}
