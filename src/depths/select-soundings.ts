import type { Polygon } from '../geo/shapes.js';
import { pointInPolygons } from '../geo/ring.js';
import type { Soundings } from './soundings.js';

/**
 * Soundings selected for a chart, shoal-biased: the shoalest first, each keeping all deeper ones out of a circle.
 *
 * No two selected ones are nearer than the radius, and every good sounding has a selected one no deeper than itself within it:
 * nothing shoal is lost, whatever the scale. On a chart at 1 : S figures `f` mm apart need a radius of f S / 1000 m.
 *
 * @returns rows of the soundings, shoalest first
 * @throws RangeError for a radius that is not positive
 *
 * Source: shoal-biased selection as of IHO S-4 (least depths first); algorithm: greedy by rank, common practice.
 */
export function selectSoundings(soundings: Pick<Soundings, 'n' | 'xM' | 'yM' | 'depthM' | 'reason'>, radiusM: number): Uint32Array {
  if (!(radiusM > 0)) throw new RangeError(`radiusM ${radiusM}: expected more than 0`);
  const { n, xM, yM, depthM, reason } = soundings;
  const rows: number[] = [];
  for (let i = 0; i < n; i++) if (reason[i] === 0 && Number.isFinite(depthM[i]!) && Number.isFinite(xM[i]!)) rows.push(i);
  const order = Uint32Array.from(rows).sort((a, b) => depthM[a]! - depthM[b]! || a - b);
  const near = new Map<number, number[]>();
  const key = (col: number, row: number): number => row * 67_108_859 + col;
  const kept: number[] = [];
  for (const i of order) {
    const col = Math.floor(xM[i]! / radiusM);
    const row = Math.floor(yM[i]! / radiusM);
    let free = true;
    for (let r = row - 1; r <= row + 1 && free; r++) {
      for (let c = col - 1; c <= col + 1 && free; c++) {
        for (const other of near.get(key(c, r)) ?? []) {
          if (Math.hypot(xM[i]! - xM[other]!, yM[i]! - yM[other]!) < radiusM) {
            free = false;
            break;
          }
        }
      }
    }
    if (!free) continue;
    const held = near.get(key(col, row));
    if (held === undefined) near.set(key(col, row), [i]);
    else held.push(i);
    kept.push(i);
  }
  return Uint32Array.from(kept);
}

/** The least depth in an area. */
export interface LeastDepth {
  /** Row of the shoalest good sounding; -1 where there is none. */
  readonly row: number;
  readonly depthM: number;
  /** Its total vertical and horizontal uncertainty, 95 % [m]. */
  readonly tvuM: number;
  readonly thuM: number;
  /** Good soundings inside. */
  readonly count: number;
}

/** The shoalest good sounding inside polygons; null for polygons: anywhere. A place on the edge may count either way. */
export function leastDepth(soundings: Pick<Soundings, 'n' | 'xM' | 'yM' | 'depthM' | 'reason' | 'tvuM' | 'thuM'>, polygons: readonly Polygon[] | null): LeastDepth {
  let row = -1;
  let count = 0;
  for (let i = 0; i < soundings.n; i++) {
    if (soundings.reason[i] !== 0 || !Number.isFinite(soundings.depthM[i]!)) continue;
    if (polygons !== null && !pointInPolygons(polygons, soundings.xM[i]!, soundings.yM[i]!)) continue;
    count++;
    if (row < 0 || soundings.depthM[i]! < soundings.depthM[row]!) row = i;
  }
  const of = (column: ArrayLike<number>): number => (row < 0 ? NaN : column[row]!);
  return { row, depthM: of(soundings.depthM), tvuM: of(soundings.tvuM), thuM: of(soundings.thuM), count };
}
