/**
 * Smooth noise in the plane: random values at the corners of unit squares, blended with the quintic
 * 6t^5 - 15t^4 + 10t^3, whose first and second derivatives are continuous across squares.
 *
 * @param seed a 32-bit integer
 * @returns noise(x, y) in [-1, 1], mean 0 over the plane; the same for the same seed
 *
 * Source: value noise, common practice; the blend is Perlin (2002), Improving noise, doi:10.1145/566654.566636.
 */
export function createValueNoise(seed: number): (x: number, y: number) => number {
  const salt = seed | 0;
  return (x, y) => {
    const col = Math.floor(x);
    const row = Math.floor(y);
    const fx = x - col;
    const fy = y - row;
    const wx = fx * fx * fx * (fx * (fx * 6 - 15) + 10);
    const wy = fy * fy * fy * (fy * (fy * 6 - 15) + 10);
    const southWest = cornerValue(col, row, salt);
    const southEast = cornerValue(col + 1, row, salt);
    const northWest = cornerValue(col, row + 1, salt);
    const northEast = cornerValue(col + 1, row + 1, salt);
    const south = southWest + (southEast - southWest) * wx;
    const north = northWest + (northEast - northWest) * wx;
    return south + (north - south) * wy;
  };
}

/** A number in [-1, 1) that looks random, for a corner of the lattice. */
function cornerValue(col: number, row: number, salt: number): number {
  let mixed = Math.imul(col, 0x27d4eb2d) ^ Math.imul(row, 0x165667b1) ^ Math.imul(salt, 0x9e3779b1);
  mixed = Math.imul(mixed ^ (mixed >>> 15), 0x85ebca6b);
  mixed = Math.imul(mixed ^ (mixed >>> 13), 0xc2b2ae35);
  mixed ^= mixed >>> 16;
  return mixed / 2 ** 31;
}
