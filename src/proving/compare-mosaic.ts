import type { Raster } from '../geo/raster.js';
import { errorFigures } from './error-figures.js';
import type { ErrorFigures } from './error-figures.js';
import type { SeaBedObject } from './sea-bed-objects.js';

/** A mosaic's levels: 128 is the usual return of the floor, 4 steps a dB, NaN no data. */
const STEPS_A_DB = 4;
/** Brighter than the floor about it by so much, an object is told from the floor [dB]. */
const BRIGHT_DB = 8;
const REACH_M = 3;
const LARGE_M = 0.8;
/** Fewer cells than this are speckle. */
const CELLS = 3;

/**
 * How far off planted objects show in a mosaic: from where an object's middle is to the middle, by strength, of what is at
 * least 8 dB brighter than the floor about it within 3 m of the object's edge. Objects of 0.8 m and larger; those that do
 * not show have no error. What shows is the side toward the sonar, so up to half an object's width is in it.
 *
 * @returns distances [m]
 */
export function compareMosaic({ grid, values }: Raster, objects: readonly SeaBedObject[]): ErrorFigures {
  const offs = objects
    .filter(({ natural, lengthM, widthM }) => !natural && Math.max(lengthM, widthM) >= LARGE_M)
    .map(({ xM, yM, lengthM, widthM }) => {
      const reach = REACH_M + 0.5 * Math.max(lengthM, widthM);
      const window: { x: number; y: number; level: number }[] = [];
      const colStart = Math.max(0, Math.floor((xM - reach - grid.westM) / grid.cellM));
      const colEnd = Math.min(grid.cols, Math.ceil((xM + reach - grid.westM) / grid.cellM));
      const rowStart = Math.max(0, Math.floor((grid.northM - yM - reach) / grid.cellM));
      const rowEnd = Math.min(grid.rows, Math.ceil((grid.northM - yM + reach) / grid.cellM));
      for (let row = rowStart; row < rowEnd; row++) {
        for (let col = colStart; col < colEnd; col++) {
          const x = grid.westM + (col + 0.5) * grid.cellM;
          const y = grid.northM - (row + 0.5) * grid.cellM;
          const level = values[row * grid.cols + col]!;
          if (Math.hypot(x - xM, y - yM) <= reach && !Number.isNaN(level)) window.push({ x, y, level });
        }
      }
      const levels = window.map(({ level }) => level).sort((a, b) => a - b);
      const usual = levels[levels.length >> 1] ?? NaN;
      const bright = window.filter(({ level }) => level - usual >= BRIGHT_DB * STEPS_A_DB);
      if (bright.length < CELLS) return NaN;
      let [sum, east, north] = [0, 0, 0];
      for (const { x, y, level } of bright) {
        const strength = 10 ** ((level - usual) / (10 * STEPS_A_DB));
        sum += strength;
        east += strength * x;
        north += strength * y;
      }
      return Math.hypot(east / sum - xM, north / sum - yM);
    });
  return errorFigures(Float64Array.from(offs));
}
