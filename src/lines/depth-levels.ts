import type { Polygon } from '../geo/shapes.js';
import { boundsOfPolygons, pointInPolygons } from '../geo/ring.js';
import type { LaidLine, SweptGround } from './lay-lines.js';
import { fromSweep, insideStretches, sweepAxes, type Levels } from './sweep.js';

/** The area is looked at in so many places at most, and so many times in the narrowest spacing across the lines. */
const MOST_PLACES = 300_000;
/** While an area is dragged: some lines more may be laid than are needed. */
export const PLACES_DRAGGED = 150_000;
const A_SPACING = 12;
/** What adding and taking off again may cost [m]. */
const ROUNDING_M = 1e-6;
/** Places coverage is measured at. */
const MEASURED = 20_000;

/** Spacing at a place [m]; NaN where the depth is not known. */
export type SpacingAt = (xM: number, yM: number) => number;

/**
 * Levels of parallel lines whose spacing follows the depth: each next line as far on as leaves no place uncovered.
 *
 * A place is covered by a line within half of the spacing that its own depth has: a swath reaches it when its angle off the
 * vertical is no more than half the fan's. From one side to the other, a line is put where the first place that is not
 * covered yet, anywhere along it, is only just covered (greedy, which takes the fewest lines for levels that are free). Places
 * are looked at on a grid; what lies between them is taken at the narrowest about, a step less.
 *
 * @param narrowestM taken where the depth is not known
 * @param mostPlaces the area is looked at in so many places at most
 * @returns null where the inset leaves nothing
 */
export function levelsByDepth(swept: SweptGround, spacingAt: SpacingAt, narrowestM: number, mostPlaces = MOST_PLACES): Levels | null {
  const { acrossMinM, acrossMaxM, alongMinM, alongMaxM } = swept;
  const widthM = acrossMaxM - acrossMinM;
  const lengthM = alongMaxM - alongMinM;
  if (!(widthM > 0) || !(lengthM > 0)) return null;
  const coarser = Math.max(1, Math.sqrt(((widthM / narrowestM) * A_SPACING * 2 * (lengthM / narrowestM)) / mostPlaces));
  const rows = Math.max(2, Math.ceil(widthM / ((narrowestM / A_SPACING) * Math.min(coarser, 3))));
  const cols = Math.max(2, Math.min(Math.ceil(mostPlaces / rows), Math.ceil((2 * lengthM) / narrowestM)));
  const stepM = widthM / (rows - 1);
  const axes = sweepAxes(swept.originXM, swept.originYM, swept.bearingDeg);
  const inside = new Uint8Array(rows * cols);
  const alongOf = (c: number): number => alongMinM + ((c + 0.5) * lengthM) / cols;
  for (const rings of swept.areas) {
    insideStretches(rings, { startM: acrossMinM, stepM, count: rows }).forEach((stretches, r) => {
      for (let k = 0; k < stretches.length; k += 2) {
        const first = Math.max(0, Math.floor(((stretches[k]! - alongMinM) / lengthM) * cols - 0.5));
        const last = Math.min(cols - 1, Math.ceil(((stretches[k + 1]! - alongMinM) / lengthM) * cols - 0.5));
        for (let c = first; c <= last; c++) inside[r * cols + c] = 1;
      }
    });
  }
  const own = new Float64Array(rows * cols);
  for (let r = 0; r < rows; r++) {
    for (let c = 0; c < cols; c++) {
      if (inside[r * cols + c] === 0) continue;
      const at = spacingAt(...fromSweep(axes, alongOf(c), acrossMinM + r * stepM));
      own[r * cols + c] = at > 0 ? at : narrowestM;
    }
  }
  // Half the spacing, the narrowest of a place and its neighbours, less the step between places.
  const half = new Float64Array(rows * cols);
  for (let r = 0; r < rows; r++) {
    for (let c = 0; c < cols; c++) {
      if (inside[r * cols + c] === 0) continue;
      let least = Infinity;
      for (let dr = -1; dr <= 1; dr++) {
        for (let dc = -1; dc <= 1; dc++) {
          const [y, x] = [r + dr, c + dc];
          if (y >= 0 && x >= 0 && y < rows && x < cols && inside[y * cols + x] === 1) least = Math.min(least, own[y * cols + x]!);
        }
      }
      half[r * cols + c] = Math.max(least / 4, (least - stepM) / 2);
    }
  }
  const frontier = new Int32Array(cols);
  const onTo = (c: number, levelM: number): void => {
    let r = frontier[c]!;
    while (r < rows && (inside[r * cols + c] === 0 || Math.abs(acrossMinM + r * stepM - levelM) <= half[r * cols + c]! + ROUNDING_M)) r++;
    frontier[c] = r;
  };
  for (let c = 0; c < cols; c++) onTo(c, -Infinity);
  const values: number[] = [];
  // Every line covers one row more in some column, so there are no more than places.
  while (values.length < rows) {
    let levelM = Infinity;
    for (let c = 0; c < cols; c++) {
      for (let r = frontier[c]!; r < rows && acrossMinM + r * stepM < levelM; r++) {
        if (inside[r * cols + c] === 1) levelM = Math.min(levelM, acrossMinM + r * stepM + half[r * cols + c]!);
      }
    }
    if (levelM === Infinity) break;
    levelM = Math.min(levelM, acrossMaxM);
    values.push(levelM);
    for (let c = 0; c < cols; c++) onTo(c, levelM);
  }
  return values.length === 0 ? null : { startM: values[0]!, stepM: narrowestM, count: values.length, valuesM: Float64Array.from(values) };
}

/** Share of an area, keep-outs left out, that lies within half its own spacing of a line and abreast of it; on a grid of some 20 000 places. */
export function coveredByDepth(area: readonly Polygon[], keepouts: readonly Polygon[], lines: readonly LaidLine[], spacingAt: SpacingAt, narrowestM: number): number {
  const box = boundsOfPolygons(area);
  const stepM = Math.sqrt(((box.eastM - box.westM) * (box.northM - box.southM)) / MEASURED);
  let wet = 0;
  let covered = 0;
  for (let y = box.southM + stepM / 2; y < box.northM; y += stepM) {
    for (let x = box.westM + stepM / 2; x < box.eastM; x += stepM) {
      if (!pointInPolygons(area, x, y) || pointInPolygons(keepouts, x, y)) continue;
      wet++;
      const at = spacingAt(x, y);
      const halfM = (at > 0 ? at : narrowestM) / 2;
      const isCovered = lines.some(({ ax, ay, bx, by, lengthM }) => {
        const [ux, uy] = [(bx - ax) / lengthM, (by - ay) / lengthM];
        const along = (x - ax) * ux + (y - ay) * uy;
        return along >= 0 && along <= lengthM && Math.abs((x - ax) * uy - (y - ay) * ux) <= halfM;
      });
      if (isCovered) covered++;
    }
  }
  return wet === 0 ? NaN : covered / wet;
}
