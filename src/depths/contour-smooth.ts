import type { Raster } from '../geo/raster.js';

/**
 * A smoother surface that is nowhere deeper than the given one.
 *
 * s = G z takes the roughness off (G: the 3 x 3 binomial kernel 1-2-1 by 1-2-1, over the cells that have a depth, twice).
 * Where s is deeper than z by e = max(0, s - z), the surface is lifted by G D e, D the deepest e of the neighbourhood G
 * reaches: that is at least e in every cell, so s - G D e <= z everywhere, and it is 0 where the floor is even. Last, no
 * depth is lifted by more than `maxLiftM`.
 *
 * Charts show the shoaler side where they must choose [common practice]: a smoothed contour may lie towards deeper water,
 * never towards the shoal. The price grows with the roughness: noise of 0.05 m (one sigma) lifts the floor 0.09 m on
 * average, 0.02 m lifts it 0.04 m.
 *
 * @param maxLiftM the most a depth may become shoaler; Infinity for no limit [m]
 * @returns depths with z - maxLiftM <= depth <= z; NaN exactly where z is NaN
 */
export function smoothTowardsShoal(raster: Raster, maxLiftM = Infinity): Raster {
  if (!(maxLiftM >= 0)) throw new RangeError(`maxLiftM ${maxLiftM}: expected 0 or more`);
  const { grid, values: z } = raster;
  const { cols, rows } = grid;
  const smooth = binomial(binomial(z, cols, rows), cols, rows);
  const excess = new Float64Array(z.length);
  for (let i = 0; i < z.length; i++) excess[i] = smooth[i]! > z[i]! ? smooth[i]! - z[i]! : smooth[i]! - smooth[i]!;
  const lift = binomial(binomial(deepest(deepest(excess, cols, rows), cols, rows), cols, rows), cols, rows);
  const values = new Float32Array(z.length);
  for (let i = 0; i < z.length; i++) {
    const depth = smooth[i]! - lift[i]!;
    const least = z[i]! - maxLiftM;
    // The last comparison takes back what rounding may have added.
    values[i] = depth < least ? least : depth > z[i]! ? z[i]! : depth;
    if (values[i]! > z[i]!) values[i] = z[i]!;
  }
  return { grid, values };
}

/** 1-2-1 along rows and columns at once, weights of cells without value left out; NaN stays NaN. */
function binomial(z: Float32Array | Float64Array, cols: number, rows: number): Float64Array {
  const sum = new Float64Array(z.length);
  const weight = new Float32Array(z.length);
  for (let row = 0, at = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++, at++) {
      let total = 0;
      let parts = 0;
      const here = z[at]!;
      if (here === here) {
        total = 2 * here;
        parts = 2;
      }
      if (col > 0) {
        const west = z[at - 1]!;
        if (west === west) {
          total += west;
          parts++;
        }
      }
      if (col + 1 < cols) {
        const east = z[at + 1]!;
        if (east === east) {
          total += east;
          parts++;
        }
      }
      sum[at] = total;
      weight[at] = parts;
    }
  }
  const out = new Float64Array(z.length);
  for (let row = 0, at = 0; row < rows; row++) {
    const up = row > 0 ? -cols : 0;
    const down = row + 1 < rows ? cols : 0;
    const sides = (up === 0 ? 0 : 1) + (down === 0 ? 0 : 1);
    for (let col = 0; col < cols; col++, at++) {
      if (z[at] !== z[at]) {
        out[at] = NaN;
        continue;
      }
      let total = 2 * sum[at]!;
      let parts = 2 * weight[at]!;
      if (sides > 0) {
        if (up !== 0) {
          total += sum[at + up]!;
          parts += weight[at + up]!;
        }
        if (down !== 0) {
          total += sum[at + down]!;
          parts += weight[at + down]!;
        }
      }
      out[at] = total / parts;
    }
  }
  return out;
}

/** Greatest value of the 3 x 3 cells round each that have one. */
function deepest(z: Float64Array, cols: number, rows: number): Float64Array {
  const along = new Float64Array(z.length);
  for (let row = 0, at = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++, at++) {
      let high = z[at]!;
      if (high !== high) high = -Infinity;
      if (col > 0 && z[at - 1]! > high) high = z[at - 1]!;
      if (col + 1 < cols && z[at + 1]! > high) high = z[at + 1]!;
      along[at] = high;
    }
  }
  const out = new Float64Array(z.length);
  for (let row = 0, at = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++, at++) {
      let high = along[at]!;
      if (row > 0 && along[at - cols]! > high) high = along[at - cols]!;
      if (row + 1 < rows && along[at + cols]! > high) high = along[at + cols]!;
      out[at] = z[at] === z[at] ? high : NaN;
    }
  }
  return out;
}
