import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { rootMeanSquare } from '../../src/base/statistics.js';
import { rasterValueAt } from '../../src/geo/raster.js';
import type { CorrectedStretch } from '../../src/imagery/correct-stretch.js';
import { correctStretch } from '../../src/imagery/correct-stretch.js';
import { geocodeStretch, type MosaicLayer } from '../../src/imagery/geocode-stretch.js';
import { angleLevels, learnGain } from '../../src/imagery/learn-gain.js';
import { withPings } from '../../src/imagery/learned-gain.js';
import { chooseCell } from '../../src/imagery/mosaic-cell.js';
import { mosaicPieces } from '../../src/imagery/mosaic-piece.js';
import { MosaicTiles, type BlendRule } from '../../src/imagery/mosaic-tiles.js';
import { plainPings } from './plain-pings.js';

/** A straight track through (1000, 2000) on a heading; spacing from ping to ping [m]. */
function straight(n: number, headingDeg: number, spacingM: number, pingS = 0.1) {
  const rad = (headingDeg * Math.PI) / 180;
  return {
    n,
    timeS: Float64Array.from({ length: n }, (_, i) => i * pingS),
    xM: Float64Array.from({ length: n }, (_, i) => 1000 + i * spacingM * Math.sin(rad)),
    yM: Float64Array.from({ length: n }, (_, i) => 2000 + i * spacingM * Math.cos(rad)),
    gridHeadingDeg: new Float32Array(n).fill(headingDeg),
    line: new Int32Array(n),
  };
}

function flatStretch(n: number, width: number, binM: number, levelDb: (ping: number, groundM: number, side: number) => number): CorrectedStretch {
  const groundM = Float32Array.from({ length: width }, (_, bin) => (bin + 0.5) * binM);
  const side = (sign: number): Float32Array => Float32Array.from({ length: n * width }, (_, i) => levelDb(Math.floor(i / width), groundM[i % width]!, sign));
  return { n, width, binM, groundM, port: side(-1), starboard: side(1) };
}

const GEOCODE = { cellM: 0.2, beamRad: Math.PI / 180, minGroundM: 0, maxGroundM: 20, breakS: 1 };
const all = (): boolean => true;

describe('geocodeStretch', () => {
  it('geocodeStretch: port lies to port and starboard to starboard on every heading', () => {
    for (const headingDeg of [0, 37, 90, 200, 315]) {
      const track = straight(40, headingDeg, 0.15);
      const stretch = flatStretch(40, 130, 0.15, (_, groundM, side) => (side > 0 ? groundM : -groundM));
      const layer = geocodeStretch(stretch, 0, track, new Float32Array(40).fill(4), all, GEOCODE)!;
      const at = rasterValueAt({ grid: layer.grid, values: Float32Array.from(layer.levels) });
      const rad = (headingDeg * Math.PI) / 180;
      for (const groundM of [2, 6, 11, 17]) {
        for (const sign of [-1, 1]) {
          const [x, y] = [1000 + 3 * Math.sin(rad) + sign * groundM * Math.cos(rad), 2000 + 3 * Math.cos(rad) - sign * groundM * Math.sin(rad)];
          // 4 steps a dB, and the level is the ground range: half a cell's diagonal is 0.6 steps, rounding 0.5.
          expect(Math.abs(at(x, y) - (128 + 4 * sign * groundM)), `${headingDeg} deg, ${sign * groundM} m`).toBeLessThanOrEqual(1.5);
        }
      }
    }
  });
  it('geocodeStretch: no hole between pings that are closer than the footprint, and nothing further out', () => {
    // 0.5 m apart: the beam of 1 deg covers it from 28.6 m on.
    const track = straight(30, 90, 0.5);
    const stretch = flatStretch(30, 400, 0.1, () => 0);
    const layer = geocodeStretch(stretch, 0, track, new Float32Array(30).fill(4), all, { ...GEOCODE, cellM: 0.1, maxGroundM: 40 })!;
    const at = rasterValueAt({ grid: layer.grid, values: Float32Array.from(layer.levels) });
    const filled = (groundM: number): number => {
      let n = 0;
      for (let k = 0; k < 100; k++) if (at(1002.05 + k * 0.1, 2000 - groundM) > 0) n++;
      return n / 100;
    };
    expect(filled(35)).toBe(1);
    // At 10.77 m slant the beam covers 0.188 m of 0.5: with cells of 0.1 m, between that share and a cell more.
    expect(filled(10)).toBeGreaterThanOrEqual(0.37);
    expect(filled(10)).toBeLessThanOrEqual(0.65);
    expect(at(1005, 2000 - 40.3)).toBe(0);
  });
  it('geocodeStretch: pings that are not used or have no place leave a gap; null where none is left', () => {
    const track = straight(30, 0, 0.15);
    const stretch = flatStretch(30, 100, 0.15, () => 0);
    const height = new Float32Array(30).fill(4);
    const layer = geocodeStretch(stretch, 0, track, height, (row) => row < 10 || row >= 20, { ...GEOCODE, maxGroundM: 14 })!;
    const at = rasterValueAt({ grid: layer.grid, values: Float32Array.from(layer.levels) });
    expect(at(1005, 2000 + 15 * 0.15)).toBe(0);
    expect(at(1005, 2000 + 5 * 0.15)).toBe(128);
    expect(geocodeStretch(stretch, 0, track, height, () => false, GEOCODE)).toBeNull();
    expect(geocodeStretch(stretch, 0, { ...track, xM: track.xM.map(() => NaN) }, height, all, GEOCODE)).toBeNull();
  });
  it('geocodeStretch: in pieces as in one, but for rounding', () => {
    const track = straight(200, 25, 0.12);
    const random = createRandom(9);
    const noise = Float32Array.from({ length: 200 * 100 }, () => random.normal() * 3);
    const stretch = flatStretch(200, 100, 0.15, (ping, groundM, side) => noise[ping * 100 + Math.floor(groundM / 0.15)]! + side);
    const height = new Float32Array(200).fill(4);
    const whole = geocodeStretch(stretch, 0, track, height, all, { ...GEOCODE, maxGroundM: 14 })!;
    const cut = (from: number, to: number): CorrectedStretch => ({ ...stretch, n: to - from, port: stretch.port.subarray(from * 100, to * 100), starboard: stretch.starboard.subarray(from * 100, to * 100) });
    const tiles = new MosaicTiles(0.2, 'latest');
    tiles.add(geocodeStretch(cut(0, 101), 0, track, height, all, { ...GEOCODE, maxGroundM: 14, continues: true })!);
    tiles.add(geocodeStretch(cut(100, 200), 100, track, height, all, { ...GEOCODE, maxGroundM: 14 })!);
    const once = new MosaicTiles(0.2, 'latest');
    once.add(whole);
    expect(tiles.grid()).toEqual(once.grid());
    const { rows } = once.grid()!;
    const [a, b] = [tiles.rows(0, rows), once.rows(0, rows)];
    let holes = 0;
    let off = 0;
    a.forEach((level, cell) => {
      if ((level === 0) !== (b[cell] === 0)) holes++;
      else if (Math.abs(level - b[cell]!) > 1) off++;
    });
    expect(holes).toBe(0);
    // Cells on the seam have the mean of fewer hits.
    expect(off / a.length).toBeLessThan(0.02);
  });
});

describe('MosaicTiles', () => {
  const layer = (westM: number, northM: number, levels: number[], quality: number[]): MosaicLayer => ({ grid: { westM, northM, cellM: 1, cols: levels.length, rows: 1 }, levels: Uint8Array.from(levels), quality: Uint8Array.from(quality) });
  const blended = (rule: BlendRule): number[] => {
    const tiles = new MosaicTiles(1, rule);
    tiles.add(layer(-1, 5, [100, 0, 120, 90], [9, 9, 9, 3]));
    tiles.add(layer(-1, 5, [50, 60, 0, 201], [10, 1, 10, 2]));
    return Array.from(tiles.rows(0, 1));
  };
  it('MosaicTiles: each rule as its words say', () => {
    expect(blended('best')).toEqual([50, 60, 120, 90]);
    expect(blended('mean')).toEqual([75, 60, 120, 146]);
    expect(blended('brightest')).toEqual([100, 60, 120, 201]);
    expect(blended('latest')).toEqual([50, 60, 120, 201]);
  });
  it('MosaicTiles: the grid is just what holds something, over tile edges and on both sides of 0', () => {
    const tiles = new MosaicTiles(1, 'latest');
    tiles.add(layer(-300, 400, [0, 7, 0], [1, 1, 1]));
    tiles.add(layer(500, -300, [9], [1]));
    expect(tiles.grid()).toEqual({ westM: -299, northM: 400, cellM: 1, cols: 800, rows: 701 });
    const rows = tiles.rows(0, 701);
    expect(rows[0]).toBe(7);
    expect(rows[rows.length - 1]).toBe(9);
    expect(tiles.filled()).toBe(2);
    expect(new MosaicTiles(1, 'mean').grid()).toBeNull();
    expect(() => tiles.add({ ...layer(0, 0, [1], [1]), grid: { westM: 0, northM: 0, cellM: 2, cols: 1, rows: 1 } })).toThrow('layer cell 2');
  });
});

describe('mosaicPieces', () => {
  it('mosaicPieces: every used ping in a piece of its own line and log, breaks kept apart', () => {
    const track = straight(5000, 0, 0.1);
    track.line.fill(2, 4000);
    track.timeS.forEach((time, i) => (track.timeS[i] = i >= 4500 ? time + 60 : time));
    const use = (row: number): boolean => row % 10 !== 0 && (row < 1000 || row >= 1100);
    const pieces = mosaicPieces(track, use, [0, 3000, 5000], 2);
    const seen = new Uint8Array(5000);
    for (const { start, end, line, readStart, readEnd } of pieces) {
      for (let row = start; row < end; row++) {
        seen[row] = 1;
        expect(track.line[row]).toBe(line);
      }
      expect(start < 3000 ? readEnd <= 3000 : readStart >= 3000).toBe(true);
      expect(start < 1000 && end > 1100).toBe(false);
      expect(start < 4500 && end > 4500).toBe(false);
    }
    for (let row = 0; row < 5000; row++) if (use(row)) expect(seen[row]).toBe(1);
  });
});

describe('chooseCell', () => {
  it('chooseCell: the usual step below the coarsest grain, coarser where the picture would be too large', () => {
    expect(chooseCell({ pingSpacingM: 0.13, footprintM: 0.09, sampleM: 0.03 }, 1e6, 2e8)).toEqual({ cellM: 0.1, why: '0.1 m: pings are 0.13 m apart, the beam covers 0.09 m along the track at a third of the range, two samples cover 0.06 m across it' });
    expect(chooseCell({ pingSpacingM: 0.13, footprintM: 0.29, sampleM: 0.03 }, 1e6, 2e8).cellM).toBe(0.25);
    expect(chooseCell({ pingSpacingM: 0.13, footprintM: 0.09, sampleM: 0.03 }, 1e6, 3e7)).toMatchObject({ cellM: 0.2, why: expect.stringContaining('not so large a picture') as string });
  });
});

describe('mosaic of planted objects', () => {
  it('mosaic: bright objects lie within 0.3 m of where they were planted, by two lines on opposite headings', () => {
    const objects = [[1012, 2009], [1013, 2031], [991, 2020], [985, 2040]] as const;
    const tiles = new MosaicTiles(0.1, 'best');
    [0, 180].forEach((headingDeg, line) => {
      const n = 400;
      const rad = (headingDeg * Math.PI) / 180;
      const track = straight(n, headingDeg, 0.12);
      if (line === 1) track.yM.forEach((y, i) => (track.yM[i] = y + 48));
      const height = (ping: number): number => 4 + 0.3 * Math.sin(ping / 40);
      const { heads, samples } = plainPings({
        random: createRandom(20 + line), n, samples: 1024, rangeM: 25, pingS: 0.1, soundSpeedMps: 1500, heightM: height,
        spot: (ping, groundM) => {
          const [x, y] = [track.xM[ping]! + groundM * Math.cos(rad), track.yM[ping]! - groundM * Math.sin(rad)];
          return objects.some(([ox, oy]) => Math.abs(x - ox) < 0.25 && Math.abs(y - oy) < 0.25) ? 8 : 1;
        },
      });
      const floor = { heightM: Float32Array.from({ length: n }, (_, i) => height(i)), portSlope: new Float32Array(n), starboardSlope: new Float32Array(n) };
      const options = { soundSpeedMps: 1500, spreadingDb: 30, absorptionDbPerKm: 0 };
      const gain = learnGain([angleLevels(samples, heads, floor, 0, 0, n, options)], options);
      const stretch = correctStretch(samples, 0, heads, floor, floor, withPings(gain, n), { soundSpeedMps: 1500, binM: 0.075, maxGroundM: 24 });
      tiles.add(geocodeStretch(stretch, 0, track, floor.heightM, all, { ...GEOCODE, cellM: 0.1, maxGroundM: 24 })!);
    });
    const grid = tiles.grid()!;
    const levels = tiles.rows(0, grid.rows);
    const off: number[] = [];
    for (const [ox, oy] of objects) {
      let [weight, sx, sy] = [0, 0, 0];
      for (let row = 0; row < grid.rows; row++) {
        for (let col = 0; col < grid.cols; col++) {
          const [x, y] = [grid.westM + (col + 0.5) * grid.cellM, grid.northM - (row + 0.5) * grid.cellM];
          if (Math.hypot(x - ox, y - oy) > 1 || levels[row * grid.cols + col]! < 128 + 4 * 9) continue;
          const w = 10 ** ((levels[row * grid.cols + col]! - 128) / 80);
          weight += w;
          sx += w * x;
          sy += w * y;
        }
      }
      off.push(Math.hypot(sx / weight - ox, sy / weight - oy));
    }
    expect(rootMeanSquare(off)).toBeLessThan(0.3);
  });
});
