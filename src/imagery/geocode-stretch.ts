import { gridCovering, type RasterGrid } from '../geo/raster.js';
import { SIDES } from '../base/sonar.js';
import type { CorrectedStretch } from './correct-stretch.js';
import { decibels } from './decibels.js';
import { levelByte } from './learned-gain.js';
import { slantOfGroundM } from './slant-range.js';
import { outward, type SonarTrack } from './sonar-track.js';

/** A stretch of pings laid onto the cells of the mosaic. Arrays [rows * cols], row 0 = north. */
export interface MosaicLayer {
  /** Aligned with the mosaic: edges are whole cells from 0. */
  readonly grid: RasterGrid;
  /** `levelByte` of the mean amplitude; 0 no data. */
  readonly levels: Uint8Array;
  /** How small the footprint was: 22 steps an octave of its area, higher is smaller. */
  readonly quality: Uint8Array;
}

export interface GeocodeOptions {
  readonly cellM: number;
  /** Full horizontal beam width [rad]. */
  readonly beamRad: number;
  /** Ground range from and to that is used [m]. */
  readonly minGroundM: number;
  readonly maxGroundM: number;
  /** A longer silence parts pings [s]. */
  readonly breakS: number;
  /** The last ping is the first of the next stretch: what lies beyond it is laid there. */
  readonly continues?: boolean;
}

/** Neighbours in cells are looked at this often a cell, so that no cell between two pings is passed over. */
const STEPS_A_CELL = 1.4;
/** Pings further apart than this many footprints have nothing to do with each other. */
const FAR_APART = 8;
const CELLS_MAX = 2 ** 25;
/**
 * Sums of amplitudes take 28 bits, hits 17, quality 8: together the 53 of a double. A boat that lies still for all 512 pings of
 * a piece hits a cell some 2000 times, one that turns at 8 deg/s some 10 000 times.
 */
const HIT = 2 ** 28;
const WORTH = 2 ** 45;
/** Amplitude of the usual return, in whole numbers. */
const UNIT = 64;
/** Levels are told apart by a sixteenth of a dB, from this one up. */
const STEPS_A_DB = 16;
const LEAST_DB = -50;
const LAST_STEP = 90 * STEPS_A_DB;
const AMPLITUDES = Int32Array.from({ length: LAST_STEP + 1 }, (_, step) => Math.max(1, Math.round(UNIT * 10 ** ((LEAST_DB + step / STEPS_A_DB) / 20))));

/** Room for the cells of one stretch, kept for the next. */
export class CellScratch {
  #room = new Float64Array(0);

  /** So many cells, all 0. */
  cells(count: number): Float64Array {
    if (this.#room.length < count) this.#room = new Float64Array(count);
    else this.#room.fill(0, 0, count);
    return this.#room;
  }
}

/**
 * Lays corrected pings onto cells: every bin of a ping at its place on the floor, and what lies between two pings on the straight
 * line between their bins, as far as the beam reaches: never across more than the footprint Rs phi (or a cell's diagonal).
 * A cell hit several times has the mean of the amplitudes: that of decibels would be darker the more echoes are single.
 *
 * Footprint area Rs phi x dR Rs / g, so that the smallest is seen at 45 deg and grows with range: quality is g / Rs^2.
 *
 * @param rowStart row in `track` of the stretch's first ping
 * @param use whether a ping of the stretch is used
 * @param heightM by row of `track`, for the footprint
 * @returns null where no ping has a place
 * @throws RangeError for a stretch that covers more than 2^25 cells: cut it shorter
 */
export function geocodeStretch(stretch: CorrectedStretch, rowStart: number, track: Pick<SonarTrack, 'timeS' | 'xM' | 'yM' | 'gridHeadingDeg'>, heightM: Float32Array, use: (row: number) => boolean, options: GeocodeOptions, scratch: CellScratch = new CellScratch()): MosaicLayer | null {
  const { cellM, beamRad, breakS } = options;
  const { groundM, width } = stretch;
  let binStart = 0;
  while (binStart < width && groundM[binStart]! < options.minGroundM) binStart++;
  let binEnd = width;
  while (binEnd > binStart && groundM[binEnd - 1]! > options.maxGroundM) binEnd--;
  if (binEnd <= binStart) return null;
  const farM = groundM[binEnd - 1]!;
  const used: number[] = [];
  let [westM, southM, eastM, northM] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let ping = 0; ping < stretch.n; ping++) {
    const row = rowStart + ping;
    const [x, y, heading] = [track.xM[row]!, track.yM[row]!, track.gridHeadingDeg[row]!];
    if (!use(row) || !Number.isFinite(x + y + heading) || !(heightM[row]! > 0)) continue;
    used.push(ping);
    for (const side of SIDES) {
      const [east, north] = outward(side, heading);
      for (const ground of [0, farM]) {
        westM = Math.min(westM, x + east * ground);
        eastM = Math.max(eastM, x + east * ground);
        southM = Math.min(southM, y + north * ground);
        northM = Math.max(northM, y + north * ground);
      }
    }
  }
  if (used.length === 0) return null;
  // A ping without neighbours still fills half its footprint to either side.
  const marginM = 2 * cellM + farM * beamRad;
  const grid = gridCovering({ westM: westM - marginM, southM: southM - marginM, eastM: eastM + marginM, northM: northM + marginM }, cellM, CELLS_MAX);
  const cells = grid.cols * grid.rows;
  /** Quality of a cell, its hits and the sum of their amplitudes in one number: one place in memory to go to. In tiles of 32 x 32, since a ping crosses many rows. */
  const tilesAcross = Math.ceil(grid.cols / 32);
  const held = scratch.cells(tilesAcross * Math.ceil(grid.rows / 32) * 1024);
  const bins = binEnd - binStart;
  /** Of the bins, for one ping: how far the beam reaches along the track, and the footprint's worth. */
  const reachM = new Float32Array(bins);
  const worth = new Uint8Array(bins);
  const joined = new Uint8Array(bins);
  const reached = new Uint8Array(bins);
  const way = new Float32Array(bins);
  let tableM = NaN;
  const tablesFor = (height: number): void => {
    const step = Math.round(height * 20) / 20 || 0.05;
    if (step === tableM) return;
    tableM = step;
    for (let bin = 0; bin < bins; bin++) {
      const ground = groundM[binStart + bin]!;
      const slant = slantOfGroundM(ground, step);
      reachM[bin] = Math.max(slant * beamRad, Math.SQRT2 * cellM);
      worth[bin] = Math.min(255, Math.max(1, Math.round(256 + 22 * Math.log2(ground / (slant * slant)))));
    }
  };

  let [here, there] = [new Int32Array(bins), new Int32Array(bins)];
  for (const side of SIDES) {
    const levels = stretch[side];
    let afterAnother = false;
    readLevels(levels, used[0]!, there);
    for (let k = 0; k < used.length; k++) {
      const ping = used[k]!;
      const row = rowStart + ping;
      const next = k + 1 < used.length ? used[k + 1]! : -1;
      tablesFor(heightM[row]!);
      [here, there] = [there, here];
      if (next >= 0) readLevels(levels, next, there);
      const [x0, y0] = [track.xM[row]!, track.yM[row]!];
      const [e0, n0] = outward(side, track.gridHeadingDeg[row]!);
      let [x1, y1, e1, n1] = [x0, y0, e0, n0];
      const apart = next < 0 || track.timeS[rowStart + next]! - track.timeS[row]! > breakS;
      if (!apart) {
        [x1, y1] = [track.xM[rowStart + next]!, track.yM[rowStart + next]!];
        [e1, n1] = outward(side, track.gridHeadingDeg[rowStart + next]!);
      }
      const isAlone = apart || Math.hypot(x1 - x0, y1 - y0) > FAR_APART * Math.max(farM * beamRad, 2 * cellM);
      let longest = 0;
      let allJoined = 1;
      for (let bin = 0; bin < bins; bin++) {
        // The places of a bin in two pings differ by d + g e.
        const ground = groundM[binStart + bin]!;
        const [dx, dy] = [x1 - x0 + ground * (e1 - e0), y1 - y0 + ground * (n1 - n0)];
        const apartM = Math.sqrt(dx * dx + dy * dy);
        way[bin] = apartM;
        joined[bin] = !isAlone && apartM <= reachM[bin]! ? 1 : 0;
        if (joined[bin] === 0) allJoined = 0;
        if (apartM > longest) longest = apartM;
      }
      if (isAlone) {
        // Half a footprint before it where nothing led up to it, and after it.
        if (k === used.length - 1 && options.continues === true) continue;
        const steps = Math.ceil((STEPS_A_CELL * farM * beamRad) / 2 / cellM);
        for (let step = afterAnother ? 0 : -steps; step <= steps; step++) {
          const off = step * (cellM / STEPS_A_CELL);
          const [ax, ay] = side === 'starboard' ? [-n0 * off, e0 * off] : [n0 * off, -e0 * off];
          for (let bin = 0; bin < bins; bin++) reached[bin] = Math.abs(off) <= reachM[bin]! / 2 ? 1 : 0;
          splat(here, here, 0, x0 + ax, y0 + ay, e0, n0, reached);
        }
        afterAnother = false;
        continue;
      }
      afterAnother = true;
      const steps = Math.max(1, Math.ceil((STEPS_A_CELL * longest) / cellM));
      for (let step = 0; step < steps; step++) {
        const share = step / steps;
        const [x, y] = [x0 + share * (x1 - x0), y0 + share * (y1 - y0)];
        const [east, north] = [e0 + share * (e1 - e0), n0 + share * (n1 - n0)];
        splat(here, there, share, x, y, east, north, allJoined === 1 ? null : joined);
        if (allJoined === 1) continue;
        // Further apart than the beam reaches: each ping fills its own half.
        const near = share < 0.5 ? here : there;
        const off = share < 0.5 ? share : 1 - share;
        for (let bin = 0; bin < bins; bin++) reached[bin] = joined[bin] === 0 && off * way[bin]! <= reachM[bin]! / 2 ? 1 : 0;
        splat(near, near, 0, x, y, east, north, reached);
      }
    }
  }

  /** Amplitudes of a ping against the usual return, in parts of `UNIT`, at least 1; 0 no data. */
  function readLevels(levels: Float32Array, ping: number, out: Int32Array): void {
    const start = ping * width + binStart;
    for (let bin = 0; bin < bins; bin++) {
      const step = (levels[start + bin]! - LEAST_DB) * STEPS_A_DB + 0.5;
      out[bin] = step >= 0 ? AMPLITUDES[step < LAST_STEP ? step | 0 : LAST_STEP]! : step < 0 ? 1 : 0;
    }
  }

  function splat(from: Int32Array, to: Int32Array, share: number, x: number, y: number, east: number, north: number, only: Uint8Array | null): void {
    const ground0 = groundM[binStart]!;
    const step = stretch.binM;
    let across = (x - grid.westM + east * ground0) / cellM;
    let down = (grid.northM - y - north * ground0) / cellM;
    const [acrossStep, downStep] = [(east * step) / cellM, (-north * step) / cellM];
    const parts = Math.round(share * 256);
    for (let bin = 0; bin < bins; bin++, across += acrossStep, down += downStep) {
      if (only !== null && only[bin] === 0) continue;
      const a = from[bin]!;
      const b = to[bin]!;
      // Where one of two neighbours has no echo, the nearer one says.
      const level = a === 0 || b === 0 ? (parts < 128 ? a : b) : (a + (((b - a) * parts) >> 8)) || 1;
      if (level === 0) continue;
      const row = down | 0;
      const col = across | 0;
      const cell = (((row >> 5) * tilesAcross + (col >> 5)) << 10) | ((row & 31) << 5) | (col & 31);
      const before = held[cell]!;
      held[cell] = before + level + (before === 0 ? worth[bin]! * WORTH + HIT : HIT);
    }
  }

  const bytes = new Uint8Array(cells);
  const quality = new Uint8Array(cells);
  for (let row = 0; row < grid.rows; row++) {
    const from = ((row >> 5) * tilesAcross << 10) | ((row & 31) << 5);
    for (let col = 0; col < grid.cols; col++) {
      const packed = held[from + ((col >> 5) << 10) + (col & 31)]!;
      if (packed === 0) continue;
      const cell = row * grid.cols + col;
      const worthOf = Math.floor(packed / WORTH);
      const rest = packed - worthOf * WORTH;
      const hits = Math.floor(rest / HIT);
      quality[cell] = worthOf;
      bytes[cell] = levelByte(decibels((rest - hits * HIT) / (hits * UNIT)));
    }
  }
  return { grid, levels: bytes, quality };
}
