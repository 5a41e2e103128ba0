import type { Raster } from '../geo/raster.js';
import type { FloorRasters } from './volumes.js';
import { sampleRaster } from './surface-sample.js';

/** How a floor changed between two surveys. Rasters are on the later survey's grid. */
export interface FloorChange {
  /** Later less earlier depth: positive where it is deeper now [m]; NaN where either is unknown. */
  readonly change: Raster;
  /** Its 95 % uncertainty [m]. */
  readonly uncertainty: Raster;
  /** 1 where the change is larger than that, 0 where it is not; NaN where unknown. */
  readonly significant: Raster;
  readonly comparedM2: number;
  readonly meanM: number;
  readonly deviationM: number;
  /** Share of the compared area where the change is beyond chance: 0.05 where nothing changed. */
  readonly significantShare: number;
  /** What is gone and what has come, over all compared cells and over those where it is beyond chance [m3]. */
  readonly deeperM3: number;
  readonly shoalerM3: number;
  readonly deeperSignificantM3: number;
  readonly shoalerSignificantM3: number;
  /** Half width of the net change that holds the truth with 95 %: what the two surveys have in error as a whole does not average out [m3]. */
  readonly netHalf95M3: number;
}

/**
 * Difference of two surveys with its significance, from the uncertainties of both.
 *
 * The earlier surface is read at the later one's cell centres, between its own. A change is significant where it exceeds
 * sqrt(u1^2 + u2^2), the 95 % of the difference of two independent depths. Over an area the systematic share of both stays
 * whole.
 *
 * @param shares how much of each cell of the later grid counts; `cellShares`
 * @param systematicShare of either survey's variance that is common to all its cells; 0.6 unless given
 */
export function floorChange(earlier: FloorRasters, later: FloorRasters, shares: ArrayLike<number>, systematicShare = 0.6): FloorChange {
  if (!(systematicShare >= 0 && systematicShare <= 1)) throw new RangeError(`systematicShare ${systematicShare}: expected 0 to 1`);
  const { grid } = later.depth;
  const { cols, rows, cellM, westM, northM } = grid;
  const depthThen = sampleRaster(earlier.depth);
  const uncertaintyThen = sampleRaster(earlier.uncertainty);
  const change = new Float32Array(cols * rows).fill(NaN);
  const uncertainty = new Float32Array(cols * rows).fill(NaN);
  const significant = new Float32Array(cols * rows).fill(NaN);
  let area = 0;
  let sum = 0;
  let squares = 0;
  let beyond = 0;
  const volume = { deeper: 0, shoaler: 0, deeperSure: 0, shoalerSure: 0 };
  let commonThen = 0;
  let commonNow = 0;
  let own = 0;
  for (let row = 0; row < rows; row++) {
    const y = northM - (row + 0.5) * cellM;
    for (let col = 0; col < cols; col++) {
      const cell = row * cols + col;
      const cellArea = shares[cell]! * cellM * cellM;
      if (!(cellArea > 0)) continue;
      const x = westM + (col + 0.5) * cellM;
      const d = later.depth.values[cell]! - depthThen(x, y);
      if (d !== d) continue;
      const [u1, u2] = [uncertaintyThen(x, y), later.uncertainty.values[cell]!];
      const u = Math.hypot(u1, u2);
      change[cell] = d;
      uncertainty[cell] = u;
      const sure = Math.abs(d) > u;
      significant[cell] = sure ? 1 : 0;
      area += cellArea;
      sum += cellArea * d;
      squares += cellArea * d * d;
      if (sure) beyond += cellArea;
      if (d > 0) {
        volume.deeper += cellArea * d;
        if (sure) volume.deeperSure += cellArea * d;
      } else {
        volume.shoaler -= cellArea * d;
        if (sure) volume.shoalerSure -= cellArea * d;
      }
      commonThen += cellArea * u1;
      commonNow += cellArea * u2;
      own += (cellArea * u) ** 2;
    }
  }
  const meanM = sum / area;
  return {
    change: { grid, values: change },
    uncertainty: { grid, values: uncertainty },
    significant: { grid, values: significant },
    comparedM2: area,
    meanM,
    deviationM: Math.sqrt(Math.max(0, squares / area - meanM * meanM)),
    significantShare: beyond / area,
    deeperM3: volume.deeper,
    shoalerM3: volume.shoaler,
    deeperSignificantM3: volume.deeperSure,
    shoalerSignificantM3: volume.shoalerSure,
    netHalf95M3: Math.sqrt(systematicShare * (commonThen ** 2 + commonNow ** 2) + (1 - systematicShare) * own),
  };
}
