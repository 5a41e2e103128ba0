import { indexAtOrBefore } from '../base/interpolate.js';
import type { RasterGrid } from '../geo/raster.js';
import type { CurrentField } from './current-field.js';
import { checkWorth, velocityFromEastNorth, type CurrentWorth } from './current-vector.js';

/** Velocity on a raster in the survey frame. Shapes [rows * cols] row-major, row 0 = north; NaN is no data. */
export interface CurrentFrame {
  /** UTC second it is the current of; null for a raster that holds always (then the only one). */
  readonly timeS: number | null;
  readonly eastMps: Float32Array;
  readonly northMps: Float32Array;
}

export interface CurrentRaster {
  readonly grid: RasterGrid;
  /** In any order of time. */
  readonly frames: readonly CurrentFrame[];
  /** `true`: parts towards true east and north; `grid`: along the axes of the survey frame. */
  readonly axes: 'true' | 'grid';
}

export interface RasterOptions {
  /** At the middle of the raster [deg]. */
  readonly convergenceDeg: number;
  /** Frames further apart are not joined [s]; default two hours and a second. */
  readonly maxGapS?: number;
  /** Default 0.1 m/s and a fifth of the speed: what a model of the coast commonly misses by (common practice). */
  readonly worth?: CurrentWorth;
  readonly source?: string;
}

const MODELLED: CurrentWorth = { baseMps: 0.1, share: 0.2 };

/**
 * The current of one raster of vectors or a row of them in time.
 *
 * Between cell centres the parts run bilinearly; cells without data take no part, but a place inside such a cell has no
 * current. Outside the raster there is none. Between frames the parts run straight (hourly frames of a semidiurnal stream: at
 * most 3 % of its amplitude low).
 *
 * @throws RangeError for no frame, a frame of another size, a frame without time beside others, or two frames at one time
 */
export function currentFromRaster(raster: CurrentRaster, options: RasterOptions): CurrentField {
  const { convergenceDeg, maxGapS = 2 * 3600 + 1, worth = MODELLED, source = 'raster of current' } = options;
  checkWorth(worth);
  const { grid, axes } = raster;
  const cells = grid.rows * grid.cols;
  const frames = [...raster.frames].sort((a, b) => (a.timeS ?? 0) - (b.timeS ?? 0));
  if (frames.length === 0) throw new RangeError('current raster: no frame: expected one or more');
  const always = frames.length === 1 && frames[0]!.timeS === null;
  frames.forEach((frame, i) => {
    if (frame.eastMps.length !== cells || frame.northMps.length !== cells) throw new RangeError(`current raster: frame ${i}: ${frame.eastMps.length} and ${frame.northMps.length} values: expected ${cells}`);
    if (!always && (frame.timeS === null || !Number.isFinite(frame.timeS))) throw new RangeError(`current raster: frame ${i}: no time: expected one for each of several frames`);
    if (i > 0 && frames[i - 1]!.timeS === frame.timeS) throw new RangeError(`current raster: two frames at the same time ${frame.timeS}: expected one a time`);
  });
  const times = always ? new Float64Array(0) : Float64Array.from(frames, (frame) => frame.timeS!);
  const turned = frames.map((frame) => (axes === 'grid' ? { x: frame.eastMps, y: frame.northMps } : turnedFrame(frame, convergenceDeg)));
  let maxMps = 0;
  for (const { x, y } of turned) for (let i = 0; i < cells; i++) if (x[i]! * x[i]! + y[i]! * y[i]! > maxMps * maxMps) maxMps = Math.hypot(x[i]!, y[i]!);

  const weights = new Float64Array(4);
  const cellOf = new Int32Array(4);
  const here = new Float64Array(2);
  const read = (frame: number, own: number): void => {
    const { x, y } = turned[frame]!;
    let sumX = 0;
    let sumY = 0;
    let sum = 0;
    if (!Number.isNaN(x[own]! + y[own]!)) {
      for (let k = 0; k < 4; k++) {
        const cell = cellOf[k]!;
        if (cell < 0 || Number.isNaN(x[cell]! + y[cell]!)) continue;
        sum += weights[k]!;
        sumX += weights[k]! * x[cell]!;
        sumY += weights[k]! * y[cell]!;
      }
    }
    here[0] = sum > 0 ? sumX / sum : NaN;
    here[1] = sum > 0 ? sumY / sum : NaN;
  };
  let hint = 0;
  return {
    at(xM, yM, timeS, out) {
      out[0] = out[1] = out[2] = NaN;
      const acrossCols = (xM - grid.westM) / grid.cellM;
      const downRows = (grid.northM - yM) / grid.cellM;
      if (!(acrossCols >= 0 && acrossCols <= grid.cols && downRows >= 0 && downRows <= grid.rows) || Number.isNaN(timeS)) return;
      const own = Math.min(grid.rows - 1, Math.floor(downRows)) * grid.cols + Math.min(grid.cols - 1, Math.floor(acrossCols));
      const col = Math.floor(acrossCols - 0.5);
      const row = Math.floor(downRows - 0.5);
      const right = acrossCols - 0.5 - col;
      const down = downRows - 0.5 - row;
      for (let k = 0; k < 4; k++) {
        const c = col + (k & 1);
        const r = row + (k >> 1);
        cellOf[k] = c >= 0 && c < grid.cols && r >= 0 && r < grid.rows ? r * grid.cols + c : -1;
        weights[k] = ((k & 1) === 1 ? right : 1 - right) * (k >> 1 === 1 ? down : 1 - down);
      }
      if (always) read(0, own);
      else {
        const n = times.length;
        const low = indexAtOrBefore(times, timeS, hint);
        if (low < 0 || timeS > times[n - 1]!) return;
        hint = low;
        read(low, own);
        if (times[low] !== timeS) {
          const gapS = times[low + 1]! - times[low]!;
          if (gapS > maxGapS) return;
          const share = (timeS - times[low]!) / gapS;
          const [x, y] = [here[0]!, here[1]!];
          read(low + 1, own);
          here[0] = x + share * (here[0]! - x);
          here[1] = y + share * (here[1]! - y);
        }
      }
      const [x, y] = [here[0]!, here[1]!];
      out[0] = x;
      out[1] = y;
      out[2] = Math.sqrt(worth.baseMps * worth.baseMps + worth.share * worth.share * (x * x + y * y));
    },
    startS: always ? -Infinity : times[0]!,
    endS: always ? Infinity : times[times.length - 1]!,
    maxMps,
    source,
  };
}

function turnedFrame(frame: CurrentFrame, convergenceDeg: number): { x: Float32Array; y: Float32Array } {
  const x = new Float32Array(frame.eastMps.length);
  const y = new Float32Array(frame.eastMps.length);
  for (let i = 0; i < x.length; i++) {
    const [xMps, yMps] = velocityFromEastNorth(frame.eastMps[i]!, frame.northMps[i]!, convergenceDeg);
    x[i] = xMps;
    y[i] = yMps;
  }
  return { x, y };
}
