import { contours as d3contours } from 'd3-contour';
import fc from 'fast-check';
import { createHash } from 'node:crypto';
import { describe, expect, test } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { gridSoundings } from '../../src/depths/blocks.js';
import { contourLevels, levelsPassed } from '../../src/depths/contour-levels.js';
import { smoothTowardsShoal } from '../../src/depths/contour-smooth.js';
import type { Contours } from '../../src/depths/contour.js';
import { contourLines } from '../../src/depths/contour.js';
import type { Raster, RasterGrid } from '../../src/geo/raster.js';
import { HAVE_RECORDED, recorded, referenceTable, SKIP_NOTE } from './recorded-soundings.js';
import { wavyFloor } from './surface-floor.js';

function raster(cols: number, rows: number, depth: (col: number, row: number) => number, cellM = 1): Raster {
  const values = Float32Array.from({ length: cols * rows }, (_, cell) => depth(cell % cols, Math.floor(cell / cols)));
  return { grid: { westM: 0, northM: rows * cellM, cellM, cols, rows }, values };
}

const noisy = (seed: number, cols: number, rows: number, holes = 0) => {
  const random = createRandom(seed);
  return raster(cols, rows, () => (random.uniform() < holes ? NaN : random.between(0, 10)));
};

/** Ends of every piece of contour, found square by square, with no joining: [x0, y0, x1, y1]. With `flipped` saddles are joined the other way. */
function naivePieces({ grid, values }: Raster, levelM: number, flipped = false): number[][] {
  const pieces: number[][] = [];
  const { cols, rows } = grid;
  const z = (col: number, row: number) => values[row * cols + col]!;
  for (let row = 0; row + 1 < rows; row++) {
    for (let col = 0; col + 1 < cols; col++) {
      const corners = [[col, row], [col + 1, row], [col + 1, row + 1], [col, row + 1]] as const;
      const depths = corners.map(([c, r]) => z(c, r));
      if (depths.some(Number.isNaN)) continue;
      const crossings: { side: number; x: number; y: number }[] = [];
      for (let side = 0; side < 4; side++) {
        const a = depths[side]!;
        const b = depths[(side + 1) % 4]!;
        if (a >= levelM === b >= levelM) continue;
        const t = (levelM - a) / (b - a);
        const [ca, ra] = corners[side]!;
        const [cb, rb] = corners[(side + 1) % 4]!;
        crossings.push({ side, x: grid.westM + (ca + (cb - ca) * t + 0.5) * grid.cellM, y: grid.northM - (ra + (rb - ra) * t + 0.5) * grid.cellM });
      }
      const piece = (i: number, j: number) => pieces.push([crossings[i]!.x, crossings[i]!.y, crossings[j]!.x, crossings[j]!.y]);
      if (crossings.length === 2) piece(0, 1);
      if (crossings.length === 4) {
        const middleDeep = (depths[0]! + depths[1]! + depths[2]! + depths[3]!) / 4 >= levelM;
        // sides 0, 1 meet at corner 1 and sides 2, 3 at corner 3: cut those off when they differ from the middle
        if ((depths[1]! >= levelM !== middleDeep) !== flipped) {
          piece(0, 1);
          piece(2, 3);
        } else {
          piece(1, 2);
          piece(3, 0);
        }
      }
    }
  }
  return pieces;
}

/** How much longer each saddle would be if joined the other way. */
function saddleLengths(r: Raster, levelM: number): number[] {
  const out: number[] = [];
  for (let row = 0; row + 1 < r.grid.rows; row++) {
    for (let col = 0; col + 1 < r.grid.cols; col++) {
      const square = raster(2, 2, (c, q) => r.values[(row + q) * r.grid.cols + col + c]!);
      const pieces = naivePieces(square, levelM);
      if (pieces.length === 2) out.push(total(naivePieces(square, levelM, true)) - total(pieces));
    }
  }
  return out;
}

const total = (pieces: number[][]) => pieces.reduce((sum, [a, b, c, d]) => sum + Math.hypot(c! - a!, d! - b!), 0);
const lengthAt = (c: Contours, levelM: number) => c.lengthM.reduce((sum, length, i) => sum + (c.levelM[i] === levelM ? length : 0), 0);

function pieceKeys(c: Contours, levelM: number): string[] {
  const keys: string[] = [];
  c.lines.forEach((line, i) => {
    if (c.levelM[i] !== levelM) return;
    for (let k = 2; k < line.length; k += 2) keys.push(keyOf([line[k - 2]!, line[k - 1]!, line[k]!, line[k + 1]!]));
  });
  return keys.sort();
}
const keyOf = (p: number[]) => {
  const ends = [`${p[0]!.toFixed(9)},${p[1]!.toFixed(9)}`, `${p[2]!.toFixed(9)},${p[3]!.toFixed(9)}`];
  return ends.sort().join(' ');
};

function signedArea(line: Float64Array): number {
  let twice = 0;
  for (let i = 2; i < line.length; i += 2) twice += line[i - 2]! * line[i + 1]! - line[i]! * line[i - 1]!;
  return twice / 2;
}

describe('contourLines', () => {
  test('contourLines: the pieces are those found square by square when depths are any, with holes', () => {
    const depth = fc.oneof({ weight: 9, arbitrary: fc.double({ min: 0, max: 6, noNaN: true }) }, { weight: 1, arbitrary: fc.constant(NaN) });
    const surface = fc.integer({ min: 2, max: 9 }).chain((cols) => fc.tuple(fc.constant(cols), fc.array(depth, { minLength: 2 * cols, maxLength: 8 * cols })));
    fc.assert(
      fc.property(surface, ([cols, depths]) => {
        const rows = Math.floor(depths.length / cols);
        const r = raster(cols, rows, (col, row) => depths[row * cols + col]!);
        const levels = [1.0000001, 2.3, 3.7, 5.1];
        const c = contourLines(r, { levels });
        for (const level of levels) {
          const expected = naivePieces(r, level).map(keyOf).filter((key) => key.split(' ')[0] !== key.split(' ')[1]);
          expect(pieceKeys(c, level).filter((key) => key.split(' ')[0] !== key.split(' ')[1])).toEqual(expected.sort());
        }
      }),
      { seed: 31, numRuns: 400 },
    );
  });

  test('contourLines: total length is that found square by square when depths equal the levels at many centres', () => {
    const surface = fc.integer({ min: 2, max: 8 }).chain((cols) => fc.tuple(fc.constant(cols), fc.array(fc.integer({ min: 0, max: 3 }), { minLength: 2 * cols, maxLength: 7 * cols })));
    fc.assert(
      fc.property(surface, ([cols, depths]) => {
        const rows = Math.floor(depths.length / cols);
        const r = raster(cols, rows, (col, row) => depths[row * cols + col]!);
        const c = contourLines(r, { levels: [1, 2, 3] });
        for (const level of [1, 2, 3]) {
          const expected = total(naivePieces(r, level));
          // a row of centres at the level, shoal on both sides, is a ring without area and left out
          expect(lengthAt(c, level)).toBeLessThanOrEqual(expected + 1e-9);
          const withoutArea = total(naivePieces(r, level)) - lengthAt(c, level);
          if (withoutArea > 1e-9) expect(depths.includes(level)).toBe(true);
        }
        for (const line of c.lines) for (let k = 2; k < line.length; k += 2) expect(line[k] !== line[k - 2] || line[k + 1] !== line[k - 1]).toBe(true);
      }),
      { seed: 32, numRuns: 300 },
    );
  });

  test('contourLines: every line is a ring or ends where the surface ends, and no two could be joined, when holes are many', () => {
    for (let seed = 1; seed <= 20; seed++) {
      const r = noisy(seed, 40, 30, 0.03);
      const c = contourLines(r, { levels: [2.5, 5, 7.5] });
      const ends = new Set<string>();
      c.lines.forEach((line, i) => {
        const first = `${c.levelM[i]} ${line[0]} ${line[1]}`;
        const last = `${c.levelM[i]} ${line.at(-2)} ${line.at(-1)}`;
        if (c.closed[i] === 1) expect(last).toBe(first);
        else
          for (const end of [first, last]) {
            expect(ends.has(end)).toBe(false); // an end shared by two lines would have been a join
            ends.add(end);
          }
        expect(c.lengthM[i]).toBeCloseTo(total(Array.from({ length: line.length / 2 - 1 }, (_, k) => [...line.subarray(2 * k, 2 * k + 4)])), 9);
      });
    }
  });

  test('contourLines: deeper water is on the right hand of every piece when depths are any', () => {
    const r = noisy(4, 30, 30, 0.02);
    const c = contourLines(r, { levels: [3, 5, 7] });
    const cell = (x: number, y: number) => r.values[Math.floor(r.grid.northM - y) * 30 + Math.floor(x)]!;
    let checked = 0;
    c.lines.forEach((line, i) => {
      for (let k = 2; k < line.length; k += 2) {
        const [x0, y0, , y1] = line.subarray(k - 2, k + 2) as unknown as [number, number, number, number];
        // a start on a level side between two centres: the centre right of the piece is the deeper one
        if (Math.abs((y0 % 1) - 0.5) > 1e-12 || Math.abs((x0 % 1) - 0.5) < 1e-9) continue;
        const west = Math.floor(x0 - 0.5) + 0.5;
        const rightIsWest = y1 < y0;
        const deeper = rightIsWest ? cell(west, y0) : cell(west + 1, y0);
        const shoaler = rightIsWest ? cell(west + 1, y0) : cell(west, y0);
        expect(deeper >= c.levelM[i]! && shoaler < c.levelM[i]!).toBe(true);
        checked++;
      }
    });
    expect(checked).toBeGreaterThan(500);
  });

  test('contourLines: a ring round a shoal runs counter-clockwise with the circle\'s length and area, round a deep clockwise', () => {
    const bowl = (sign: number) => raster(101, 101, (col, row) => 20 + sign * Math.hypot(col - 50, row - 50) * 0.5);
    for (const [sign, level] of [[1, 35], [-1, 5]] as const) {
      const c = contourLines(bowl(sign), { levels: [level] });
      expect([c.n, c.closed[0]]).toEqual([1, 1]);
      const area = signedArea(c.lines[0]!);
      expect(Math.sign(area)).toBe(sign);
      // a chord of at most sqrt 2 cells lies within 1/8 x 2 / 30 = 0.0083 of a circle of 30; interpolation on a cone errs as much
      expect(Math.abs(Math.sqrt(Math.abs(area) / Math.PI) - 30)).toBeLessThan(0.017);
      expect(Math.abs(c.lengthM[0]! / (2 * Math.PI * 30) - 1)).toBeLessThan(0.001);
      for (let k = 0; k < c.lines[0]!.length; k += 2) expect(Math.abs(Math.hypot(c.lines[0]![k]! - 50.5, c.lines[0]![k + 1]! - 50.5) - 30)).toBeLessThan(0.0084);
    }
  });

  test('contourLines: contours of different levels never cross when the floor is rough and saddles are many', () => {
    const r = noisy(9, 24, 24);
    for (const smooth of [false, true]) {
      const c = contourLines(r, { intervalM: 0.7, smooth });
      const bySquare = new Map<string, number[][]>();
      c.lines.forEach((line, i) => {
        for (let k = 2; k < line.length; k += 2) {
          const key = `${Math.floor((line[k - 2]! + line[k]!) / 2 - 0.5)},${Math.floor((line[k - 1]! + line[k + 1]!) / 2 - 0.5)}`;
          bySquare.set(key, [...(bySquare.get(key) ?? []), [c.levelM[i]!, ...line.subarray(k - 2, k + 2)]]);
        }
      });
      let compared = 0;
      for (const pieces of bySquare.values()) {
        for (const p of pieces) {
          for (const q of pieces) {
            if (p[0]! >= q[0]!) continue;
            compared++;
            const turn = (s: number[], x: number, y: number) => (s[3]! - s[1]!) * (y - s[2]!) - (s[4]! - s[2]!) * (x - s[1]!);
            const cross = turn(p, q[1]!, q[2]!) * turn(p, q[3]!, q[4]!) < -1e-12 && turn(q, p[1]!, p[2]!) * turn(q, p[3]!, p[4]!) < -1e-12;
            expect(cross).toBe(false);
          }
        }
      }
      expect(compared).toBeGreaterThan(100);
    }
  });

  test('contourLines: runs through the same crossings as d3-contour when compared between centres', () => {
    const random = createRandom(77);
    const floor = wavyFloor(random, 6, 40);
    const r = raster(60, 45, (col, row) => floor(col, row));
    for (const level of [11.9, 12.0001, 12.2]) {
      const peer = d3contours().size([60, 45]).smooth(true).contour([...r.values], level);
      const inner = (x: number, y: number) => x > 0.5 && x < 59.5 && y > 0.5 && y < 44.5;
      const theirs = new Set<string>();
      for (const polygon of peer.coordinates) for (const ring of polygon) for (const [x, y] of ring) if (inner(x!, y!)) theirs.add(`${x!.toFixed(6)},${y!.toFixed(6)}`);
      const ours = new Set<string>();
      for (const line of contourLines(r, { levels: [level] }).lines) {
        for (let k = 0; k < line.length; k += 2) {
          const y = 45 - line[k + 1]!;
          if (inner(line[k]!, y)) ours.add(`${line[k]!.toFixed(6)},${y.toFixed(6)}`);
        }
      }
      expect(ours.size).toBeGreaterThan(50);
      expect([...ours].sort()).toEqual([...theirs].sort());
    }
  });

  test('contourLines: contours move and grow with the frame when it is shifted and scaled by powers of two', () => {
    const r = noisy(14, 20, 20, 0.05);
    const a = contourLines(r, { levels: [2, 5, 8] });
    const b = contourLines({ grid: { ...r.grid, westM: 2 ** 20, northM: 2 ** 23 + 40, cellM: 2 }, values: r.values.map((z) => 4 * z) }, { levels: [8, 20, 32] });
    expect(b.n).toBe(a.n);
    expect([...b.closed]).toEqual([...a.closed]);
    a.lines.forEach((line, i) => line.forEach((v, k) => expect(b.lines[i]![k]).toBeCloseTo(2 * v + (k % 2 ? 2 ** 23 : 2 ** 20), 8)));
  });

  test('contourLines: no contour when the surface is flat, empty, one cell wide or all no data', () => {
    for (const r of [raster(5, 5, () => 3), raster(5, 5, () => NaN), raster(1, 9, (_, row) => row), raster(9, 1, (col) => col), raster(1, 1, () => 2)]) {
      expect(contourLines(r, { intervalM: 1 }).n).toBe(0);
      expect(contourLines(r, { intervalM: 1, smooth: true }).n).toBe(0);
    }
    expect(contourLines({ grid: { westM: 0, northM: 0, cellM: 1, cols: 0, rows: 0 }, values: new Float32Array(0) }, { intervalM: 1 }).n).toBe(0);
  });

  test('contourLines: a short line is left out but a ring round a shoal is kept when a least length is set', () => {
    const r = raster(12, 12, (col, row) => (col === 3 && row === 3 ? 1 : col === 8 && row === 8 ? 9 : 5));
    const c = contourLines(r, { levels: [4, 6], minLengthM: 50 });
    expect([...c.levelM]).toEqual([4]);
    expect(signedArea(c.lines[0]!)).toBeGreaterThan(0);
  });

  test('contourLines: refuses what it cannot draw and says why', () => {
    const r = raster(3, 3, (col) => col);
    expect(() => contourLines(r, {})).toThrow('give either intervalM or levels');
    expect(() => contourLines(r, { intervalM: 1, levels: [1] })).toThrow('give either intervalM or levels');
    expect(() => contourLines(r, { intervalM: 0 })).toThrow('intervalM 0: expected more than 0');
    expect(() => contourLines(r, { intervalM: 1e-9 })).toThrow('choose a larger interval');
    expect(() => contourLines(r, { levels: [2, 1] })).toThrow('levels[1] 1: expected a finite depth greater than the one before');
    expect(() => contourLines(raster(2, 2, (col) => (col ? Infinity : 1)), { intervalM: 1 })).toThrow('infinite');
    expect(() => contourLines({ ...r, values: new Float32Array(4) }, { intervalM: 1 })).toThrow('4 values for 3 x 3 cells');
  });
});

interface ContourTable {
  intervalM: number;
  levels: { levelM: number; lengthM: number; rings: number; pieces: number }[];
}

describe('contourLines against gdal_contour', () => {
  // Source: gdal_contour 3.6.2; test/reference/depths/make.py. GDAL prints vertices to about 1e-9 of a cell here.
  const [formula, tracks] = referenceTable('contours.json') as [
    { cols: number; rows: number; sha256: string; contours: ContourTable[] },
    { input: string; sha256: string; grid: RasterGrid; window: { row: number; col: number; rows: number; cols: number }; contours: ContourTable[] },
  ];

  test('contourLines: has the length and the rings of gdal_contour at every level when the floor is a polynomial', () => {
    const { cols, rows } = formula;
    const r = raster(cols, rows, (col, row) => {
      const u = col / cols;
      const v = row / rows;
      return 10 + 40 * u * (1 - u) * (v - 0.3) * (v - 0.8) * 8 + 6 * u * u - 5 * v * u;
    });
    expect(createHash('sha256').update(new Uint8Array(r.values.buffer)).digest('hex')).toBe(formula.sha256);
    for (const { intervalM, levels } of formula.contours) {
      const c = contourLines(r, { intervalM });
      const drawn = new Set(c.levelM);
      for (const level of levels) {
        drawn.delete(level.levelM);
        // the west side of the floor is 10 exactly, and GDAL moves a depth equal to the level a little off it
        expect(Math.abs(lengthAt(c, level.levelM) - level.lengthM)).toBeLessThan(level.levelM === 10 ? 1e-3 : 1e-6 * level.pieces);
        if (level.rings > 0) expect(c.closed.reduce((n, closed, i) => n + (c.levelM[i] === level.levelM ? closed : 0), 0)).toBe(level.rings);
      }
      expect(drawn.size).toBe(0);
    }
  });

  test.skipIf(!HAVE_RECORDED)(`contourLines: has the length of gdal_contour at every level when the surface is block medians of recorded tracks${SKIP_NOTE}`, () => {
    const { grid, window, contours } = tracks;
    const points = recorded(tracks.input);
    expect(points.sha256).toBe(tracks.sha256);
    const { median } = gridSoundings(points, grid, { statistics: ['median'] });
    const r = raster(window.cols, window.rows, (col, row) => median![(row + window.row) * grid.cols + col + window.col]!);
    for (const { intervalM, levels } of contours) {
      const c = contourLines(r, { intervalM });
      let saddles = 0;
      for (const level of levels) {
        // GDAL joins saddles by another rule: its length lies between ours and that with all saddles the other way
        const ours = lengthAt(c, level.levelM);
        const pieces = naivePieces(r, level.levelM);
        expect(pieces.length).toBe(level.pieces);
        const other = saddleLengths(r, level.levelM);
        saddles += other.length;
        const low = ours + other.reduce((sum, d) => sum + Math.min(0, d), 0);
        const high = ours + other.reduce((sum, d) => sum + Math.max(0, d), 0);
        expect(level.lengthM, `level ${level.levelM}`).toBeGreaterThan(low - 1e-6 * level.pieces);
        expect(level.lengthM, `level ${level.levelM}`).toBeLessThan(high + 1e-6 * level.pieces);
      }
      expect(saddles).toBeLessThan(levels.length / 2); // most levels are compared to a millionth of a cell a piece
      expect(new Set(c.levelM).size).toBe(levels.length);
    }
  });
});

describe('contour levels', () => {
  test('contourLevels: multiples of the interval without stray digits, above the least and up to the greatest depth', () => {
    expect([...contourLevels(Float32Array.of(-0.15, 0.35), 0.1)]).toEqual([-0.1, 0, 0.1, 0.2, 0.3]);
    expect([...contourLevels(Float32Array.of(1, NaN, 4), 1)]).toEqual([2, 3, 4]);
    expect([...contourLevels(Float32Array.of(2.5, 2.5), 0.5)]).toEqual([]);
    expect([...contourLevels(Float32Array.of(NaN), 1)]).toEqual([]);
    expect(Object.is([...contourLevels(Float32Array.of(-1, 1), 1)][0], 0)).toBe(true);
  });

  test('levelsPassed: counts the levels at or above each depth when levels are uneven', () => {
    const levels = Float64Array.of(-2, 0, 0.5, 7);
    const values = Float32Array.of(-3, -2, 8, NaN, 0.25, 0.5, 7, -9);
    expect([...levelsPassed(values, levels)]).toEqual([0, 1, 4, -1, 2, 3, 4, 0]);
  });
});

describe('smoothing', () => {
  const surfaces = () => [noisy(1, 30, 25), noisy(2, 30, 25, 0.1), raster(30, 25, (col, row) => 5 + (col === 12 && row === 9 ? -3 : 0)), raster(30, 25, (col) => (col < 15 ? 3 : 9))];

  test('smoothTowardsShoal: nowhere deeper, and shoaler by no more than the limit, with the same holes', () => {
    for (const r of surfaces()) {
      for (const limit of [0, 0.25, Infinity]) {
        const s = smoothTowardsShoal(r, limit);
        r.values.forEach((z, cell) => {
          const value = s.values[cell]!;
          if (Number.isNaN(z)) expect(value).toBeNaN();
          else {
            expect(value).toBeLessThanOrEqual(z);
            expect(value).toBeGreaterThanOrEqual(z - limit - 1e-6);
          }
        });
      }
    }
  });

  test('smoothTowardsShoal: leaves a sloping plane as it is away from its edges, and takes roughness off', () => {
    const plane = raster(20, 20, (col, row) => 100 + 0.5 * col - 0.25 * row);
    const s = smoothTowardsShoal(plane).values;
    for (let row = 6; row < 14; row++) for (let col = 6; col < 14; col++) expect(s[row * 20 + col]).toBe(plane.values[row * 20 + col]);
    const floor = wavyFloor(createRandom(5), 30, 90);
    const random = createRandom(6);
    const rough = raster(120, 120, (col, row) => floor(col, row) + 0.05 * random.normal());
    const before = contourLines(rough, { intervalM: 0.5 });
    const after = contourLines(rough, { intervalM: 0.5, smooth: true });
    const length = (c: Contours) => c.lengthM.reduce((a, b) => a + b, 0);
    expect(length(after)).toBeLessThan(0.9 * length(before));
    // nearly as few lines as the floor has without its roughness: taking the shoaler of smooth and rough would leave thrice as many
    const even = contourLines(raster(120, 120, floor), { intervalM: 0.5 });
    expect(before.n).toBeGreaterThan(3 * even.n);
    expect(after.n).toBeLessThan(1.5 * even.n);
  });

  test('contourLines: a smoothed contour lies where the surface is at its level or up to half an interval deeper when the floor is rough', () => {
    const r = noisy(3, 40, 40, 0.02);
    const intervalM = 1.5;
    const c = contourLines(r, { intervalM, smooth: true });
    let vertices = 0;
    c.lines.forEach((line, i) => {
      for (let k = 0; k < line.length; k += 2) {
        const u = line[k]! - 0.5;
        const v = 40 - line[k + 1]! - 0.5;
        // vertices lie on the side between two centres, where the surface runs straight
        const [col, row] = [Math.floor(u + 1e-9), Math.floor(v + 1e-9)];
        const across = u - col > 1e-9;
        const t = across ? u - col : v - row;
        const a = r.values[row * 40 + col]!;
        const b = r.values[across ? row * 40 + col + 1 : Math.min(39, row + 1) * 40 + col]!;
        const z = t < 1e-9 ? a : a + (b - a) * t;
        expect(z).toBeGreaterThanOrEqual(c.levelM[i]! - 1e-4);
        expect(z).toBeLessThanOrEqual(c.levelM[i]! + intervalM / 2 + 1e-4);
        vertices++;
      }
    });
    expect(vertices).toBeGreaterThan(300);
  });

  test('smoothTowardsShoal: a single shoal keeps its depth when all round it is deep', () => {
    const r = raster(15, 15, (col, row) => (col === 7 && row === 7 ? 2 : 10));
    expect(smoothTowardsShoal(r).values[7 * 15 + 7]).toBeLessThanOrEqual(2);
    expect(contourLines(r, { levels: [2.5, 5], smooth: true }).n).toBe(2);
  });
});
