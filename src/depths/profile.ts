import type { Polyline } from '../geo/shapes.js';
import type { FloorRasters } from './volumes.js';
import { sampleRaster } from './surface-sample.js';
import type { Soundings } from './soundings.js';

/** Depths along a line. Shape of every column: [n]. */
export interface DepthProfile {
  readonly n: number;
  /** From the start of the line [m]. */
  readonly distanceM: Float64Array;
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** Of the surface, with its 95 %; NaN off it [m]. */
  readonly depthM: Float32Array;
  readonly uncertaintyM: Float32Array;
  readonly lengthM: number;
}

/** Most points of one profile. */
const MOST = 200_000;

/**
 * The surface along a line through two points or more, every half cell, ends and corners included.
 * @throws RangeError for a line of fewer than two points, or one that would take more than 200 000 of them
 */
export function depthProfile(floor: FloorRasters, line: Polyline): DepthProfile {
  if (line.length < 4) throw new RangeError('profile: expected two points or more');
  const stepM = floor.depth.grid.cellM / 2;
  const distance: number[] = [];
  const xs: number[] = [];
  const ys: number[] = [];
  let before = 0;
  for (let i = 0; i + 3 < line.length; i += 2) {
    const [x0, y0, x1, y1] = [line[i]!, line[i + 1]!, line[i + 2]!, line[i + 3]!];
    const lengthM = Math.hypot(x1 - x0, y1 - y0);
    const steps = Math.max(1, Math.ceil(lengthM / stepM));
    if (distance.length + steps > MOST) throw new RangeError(`profile: more than ${MOST} points; expected a shorter line or larger cells`);
    for (let k = i === 0 ? 0 : 1; k <= steps; k++) {
      distance.push(before + (lengthM * k) / steps);
      xs.push(x0 + ((x1 - x0) * k) / steps);
      ys.push(y0 + ((y1 - y0) * k) / steps);
    }
    before += lengthM;
  }
  const depth = sampleRaster(floor.depth);
  const uncertainty = sampleRaster(floor.uncertainty);
  return {
    n: distance.length,
    distanceM: Float64Array.from(distance),
    xM: Float64Array.from(xs),
    yM: Float64Array.from(ys),
    depthM: Float32Array.from(xs, (x, k) => depth(x, ys[k]!)),
    uncertaintyM: Float32Array.from(xs, (x, k) => uncertainty(x, ys[k]!)),
    lengthM: before,
  };
}

/** Good soundings near a line, by where they lie along it. Shape of every column: [n], in order of distance. */
export interface ProfileSoundings {
  readonly n: number;
  readonly row: Uint32Array;
  readonly distanceM: Float64Array;
  /** Off the line, positive to its right [m]. */
  readonly offM: Float32Array;
}

/** Soundings of reason 0 within a distance of a line. A sounding near two parts of it counts on the nearer. */
export function soundingsNear(soundings: Pick<Soundings, 'n' | 'xM' | 'yM' | 'reason'>, line: Polyline, withinM: number): ProfileSoundings {
  const found: { row: number; distanceM: number; offM: number }[] = [];
  for (let row = 0; row < soundings.n; row++) {
    if (soundings.reason[row] !== 0) continue;
    const [x, y] = [soundings.xM[row]!, soundings.yM[row]!];
    let best = withinM;
    let distanceM = NaN;
    let offM = NaN;
    let before = 0;
    for (let i = 0; i + 3 < line.length; i += 2) {
      const [x0, y0] = [line[i]!, line[i + 1]!];
      const [dx, dy] = [line[i + 2]! - x0, line[i + 3]! - y0];
      const lengthM = Math.hypot(dx, dy);
      const share = lengthM === 0 ? 0 : Math.max(0, Math.min(1, ((x - x0) * dx + (y - y0) * dy) / (lengthM * lengthM)));
      const away = Math.hypot(x - x0 - share * dx, y - y0 - share * dy);
      if (away <= best) {
        best = away;
        distanceM = before + share * lengthM;
        offM = (x - x0) * dy - (y - y0) * dx >= 0 ? away : -away;
      }
      before += lengthM;
    }
    if (distanceM === distanceM) found.push({ row, distanceM, offM });
  }
  found.sort((a, b) => a.distanceM - b.distanceM || a.row - b.row);
  return {
    n: found.length,
    row: Uint32Array.from(found, (one) => one.row),
    distanceM: Float64Array.from(found, (one) => one.distanceM),
    offM: Float32Array.from(found, (one) => one.offM),
  };
}
