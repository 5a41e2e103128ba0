import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { describe, expect, it } from 'vitest';
import { warpGeolocated, writeGeolocated } from '../../bench/gdal-geolocation.js';
import { hasProgram } from '../../bench/has-program.js';
import type { CorrectedStretch } from '../../src/imagery/correct-stretch.js';
import { geocodeStretch } from '../../src/imagery/geocode-stretch.js';

const CELL_M = 0.2;

describe.skipIf(!hasProgram('gdalwarp'))('mosaic against gdalwarp with geolocation arrays', () => {
  it('geocodeStretch: the same pings lie in the same places, on a track that turns', () => {
    const n = 400;
    const width = 140;
    const binM = 0.15;
    const track = { timeS: new Float64Array(n), xM: new Float64Array(n), yM: new Float64Array(n), gridHeadingDeg: new Float32Array(n) };
    let [x, y] = [500_000, 5_100_000];
    for (let i = 0; i < n; i++) {
      const heading = 25 + 10 * Math.sin(i / 90);
      track.timeS[i] = i / 10;
      track.gridHeadingDeg[i] = heading;
      track.xM[i] = x;
      track.yM[i] = y;
      x += 0.15 * Math.sin((heading * Math.PI) / 180);
      y += 0.15 * Math.cos((heading * Math.PI) / 180);
    }
    // A smooth pattern on the ground, so that a place is told by its level.
    const groundM = Float32Array.from({ length: width }, (_, bin) => (bin + 0.5) * binM);
    const side = (sign: number): Float32Array =>
      Float32Array.from({ length: n * width }, (_, i) => {
        const [ping, ground] = [Math.floor(i / width), groundM[i % width]!];
        const rad = (track.gridHeadingDeg[ping]! * Math.PI) / 180;
        const [px, py] = [track.xM[ping]! + sign * ground * Math.cos(rad), track.yM[ping]! - sign * ground * Math.sin(rad)];
        return 12 * Math.sin((px - 500_000) / 2.1) * Math.cos((py - 5_100_000) / 2.7);
      });
    const stretch: CorrectedStretch = { n, width, binM, groundM, port: side(-1), starboard: side(1) };
    const layer = geocodeStretch(stretch, 0, track, new Float32Array(n).fill(4), () => true, { cellM: CELL_M, beamRad: Math.PI / 60, minGroundM: 0, maxGroundM: 21, breakS: 1 })!;
    const { westM, northM, cols, rows } = layer.grid;
    const folder = mkdtempSync(path.join(tmpdir(), 'geolocated-'));
    try {
      const file = writeGeolocated(folder, 'pings', stretch, 0, track, 32626);
      warpGeolocated(folder, [file], 'warped.raw', 32626, CELL_M, { westM, southM: northM - rows * CELL_M, eastM: westM + cols * CELL_M, northM });
      const theirs = readFileSync(path.join(folder, 'warped.raw'));
      expect(theirs.length).toBe(cols * rows);
      // How well the two fit when one is shifted by whole cells: best where it is not shifted, and there all but the same.
      const fit = (dx: number, dy: number): { rms: number; cells: number } => {
        let [sum, cells] = [0, 0];
        for (let row = 2; row < rows - 2; row++) {
          for (let col = 2; col < cols - 2; col++) {
            const [a, b] = [layer.levels[row * cols + col]!, theirs[(row + dy) * cols + col + dx]!];
            if (a === 0 || b === 0) continue;
            sum += (a - b) ** 2;
            cells++;
          }
        }
        return { rms: Math.sqrt(sum / cells), cells };
      };
      const here = fit(0, 0);
      // Two cells in three of what we fill are filled by both: gdalwarp leaves cells out where its inverse finds no pixel.
      expect(here.cells).toBeGreaterThan(0.67 * layer.levels.reduce((count, level) => count + (level > 0 ? 1 : 0), 0));
      // The steepest the pattern gets is 12 dB / 2.1 m, 23 steps a metre: the two differ by less than 0.1 m.
      expect(here.rms).toBeLessThan(2.3);
      for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]] as const) expect(fit(dx, dy).rms, `shifted ${dx}, ${dy}`).toBeGreaterThan(here.rms);
      // A parabola through the shifts gives what is left between cells.
      const left = (a: number, b: number): number => (a ** 2 - b ** 2) / (2 * (a ** 2 + b ** 2 - 2 * here.rms ** 2));
      expect(Math.abs(left(fit(-1, 0).rms, fit(1, 0).rms) * CELL_M)).toBeLessThan(0.05);
      expect(Math.abs(left(fit(0, -1).rms, fit(0, 1).rms) * CELL_M)).toBeLessThan(0.05);
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  });
});
