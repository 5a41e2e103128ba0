import type { Leg } from '../lines/sortie.js';

/** A sortie's legs as straight stretches, in the order they are run. Shape of every column: [n]. */
export interface LegTrack {
  readonly n: number;
  readonly fromXM: Float64Array;
  readonly fromYM: Float64Array;
  /** Unit vector along it, and its length [m], more than 0. */
  readonly alongX: Float64Array;
  readonly alongY: Float64Array;
  readonly lengthM: Float64Array;
  /** Bearing in the frame [rad]. */
  readonly bearingRad: Float64Array;
  readonly speedMps: Float64Array;
  readonly legIndex: Int32Array;
  /** Way along the leg at its start [m]. */
  readonly legWayM: Float64Array;
  /** Corner to the next stretch, to starboard positive [rad]; 0 at the last. */
  readonly cornerRad: Float64Array;
}

/** Shorter stretches are not steered along [m]. */
const LEAST_M = 1e-6;

/** Cuts legs at their vertices; vertices on top of each other count once. */
export function legTrack(legs: readonly Leg[]): LegTrack {
  const rows: number[][] = [];
  legs.forEach((leg, legIndex) => {
    let way = 0;
    for (let i = 2; i + 1 < leg.path.length; i += 2) {
      const x = leg.path[i - 2]!;
      const y = leg.path[i - 1]!;
      const dx = leg.path[i]! - x;
      const dy = leg.path[i + 1]! - y;
      const length = Math.hypot(dx, dy);
      if (length <= LEAST_M) continue;
      rows.push([x, y, dx / length, dy / length, length, Math.atan2(dx, dy), leg.speedMps, legIndex, way]);
      way += length;
    }
  });
  const column = (k: number): Float64Array => Float64Array.from(rows, (row) => row[k]!);
  const bearingRad = column(5);
  return {
    n: rows.length,
    fromXM: column(0),
    fromYM: column(1),
    alongX: column(2),
    alongY: column(3),
    lengthM: column(4),
    bearingRad,
    speedMps: column(6),
    legIndex: Int32Array.from(rows, (row) => row[7]!),
    legWayM: column(8),
    cornerRad: bearingRad.map((bearing, i) => (i + 1 < rows.length ? wrapRad(bearingRad[i + 1]! - bearing) : 0)),
  };
}

/** The angle within a half turn either way: -pi up to pi [rad]. */
export function wrapRad(angle: number): number {
  return angle - 2 * Math.PI * Math.round(angle / (2 * Math.PI));
}
