import type { Raster } from '../geo/raster.js';

/**
 * Slope of a surface [deg], by the eight neighbours of each cell; NaN where one of the nine is missing.
 *
 * Source: Horn (1981), Proc. IEEE 69(1), 14-47: weighted differences, 1 2 1 over 8 cells.
 */
export function slopeDegrees(depth: Raster): Raster {
  return overNine(depth, (z, cellM) => {
    const east = (z[2]! + 2 * z[5]! + z[8]! - z[0]! - 2 * z[3]! - z[6]!) / (8 * cellM);
    const north = (z[0]! + 2 * z[1]! + z[2]! - z[6]! - 2 * z[7]! - z[8]!) / (8 * cellM);
    return (Math.atan(Math.hypot(east, north)) * 180) / Math.PI;
  });
}

/**
 * Rugosity as the area of the floor over its area on the chart [1], 1 where it is level; NaN where one of nine cells is missing.
 * A tilted plane gives 1/cos of its slope: this is steepness and roughness together; see `ruggedness` for roughness alone.
 *
 * Source: Jenness (2004), Wildlife Society Bulletin 32(3), 829-839: eight triangles between the centres, a quarter of each cell's own.
 */
export function rugosity(depth: Raster): Raster {
  const around = [0, 1, 2, 5, 8, 7, 6, 3];
  return overNine(depth, (z, cellM) => {
    const centre = z[4]!;
    let area = 0;
    for (let k = 0; k < 8; k++) {
      const [i, j] = [around[k]!, around[(k + 1) % 8]!];
      // Half of each edge: the triangle's part inside the middle cell has a quarter of its area.
      const a = Math.hypot(flat(i) * cellM, z[i]! - centre) / 2;
      const b = Math.hypot(flat(j) * cellM, z[j]! - centre) / 2;
      const c = Math.hypot(cellM, z[i]! - z[j]!) / 2;
      const s = (a + b + c) / 2;
      area += Math.sqrt(Math.max(0, s * (s - a) * (s - b) * (s - c)));
    }
    return area / (cellM * cellM);
  });
}

/** Distance of a neighbour's centre from the middle one's, in cells. */
function flat(index: number): number {
  return index % 2 === 1 ? 1 : Math.SQRT2;
}

/**
 * Ruggedness of a surface by the scatter of its normals over nine cells, 0 on any plane, up to 1; NaN where one of the cells whose
 * slope it needs is missing.
 *
 * Source: Sappington, Longshore & Thompson (2007), J. Wildlife Management 71(5), 1419-1426 (vector ruggedness measure).
 */
export function ruggedness(depth: Raster): Raster {
  const { grid, values } = depth;
  const { cols, rows, cellM } = grid;
  const normals = new Float64Array(3 * cols * rows).fill(NaN);
  for (let row = 1; row + 1 < rows; row++) {
    for (let col = 1; col + 1 < cols; col++) {
      const at = (dr: number, dc: number): number => values[(row + dr) * cols + col + dc]!;
      const east = (at(-1, 1) + 2 * at(0, 1) + at(1, 1) - at(-1, -1) - 2 * at(0, -1) - at(1, -1)) / (8 * cellM);
      const north = (at(-1, -1) + 2 * at(-1, 0) + at(-1, 1) - at(1, -1) - 2 * at(1, 0) - at(1, 1)) / (8 * cellM);
      const length = Math.sqrt(1 + east * east + north * north);
      const cell = row * cols + col;
      normals[3 * cell] = east / length;
      normals[3 * cell + 1] = north / length;
      normals[3 * cell + 2] = 1 / length;
    }
  }
  const out = new Float32Array(cols * rows).fill(NaN);
  for (let row = 1; row + 1 < rows; row++) {
    for (let col = 1; col + 1 < cols; col++) {
      let [x, y, z] = [0, 0, 0];
      for (let dr = -1; dr <= 1; dr++) {
        for (let dc = -1; dc <= 1; dc++) {
          const cell = (row + dr) * cols + col + dc;
          x += normals[3 * cell]!;
          y += normals[3 * cell + 1]!;
          z += normals[3 * cell + 2]!;
        }
      }
      out[row * cols + col] = Math.max(0, 1 - Math.hypot(x, y, z) / 9);
    }
  }
  return { grid, values: out };
}

/** A value from each cell and its eight neighbours, north-west first; NaN where one is missing. */
function overNine({ grid, values }: Raster, of: (z: Float64Array, cellM: number) => number): Raster {
  const { cols, rows, cellM } = grid;
  const out = new Float32Array(cols * rows).fill(NaN);
  const z = new Float64Array(9);
  for (let row = 1; row + 1 < rows; row++) {
    for (let col = 1; col + 1 < cols; col++) {
      let k = 0;
      for (let dr = -1; dr <= 1; dr++) for (let dc = -1; dc <= 1; dc++) z[k++] = values[(row + dr) * cols + col + dc]!;
      // NaN in any of the eight makes the result NaN by itself.
      out[row * cols + col] = z[4] === z[4] ? of(z, cellM) : NaN;
    }
  }
  return { grid, values: out };
}
