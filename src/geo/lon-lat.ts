import { signedRingAreaM2 } from './ring.js';

/** A closed ring on WGS 84: [lon0, lat0, lon1, lat1, ...] in degrees, without a repeated last vertex. */
export type LonLatRing = Float64Array;

/** A polygon on WGS 84 as a file gives it; rings may run either way. */
export interface LonLatPolygon {
  readonly outer: LonLatRing;
  readonly holes: readonly LonLatRing[];
}

/** A position in words for messages: `46.12345 N 030.54321 W`. */
export function positionInWords(latDeg: number, lonDeg: number): string {
  if (!Number.isFinite(latDeg) || !Number.isFinite(lonDeg)) return `latitude ${latDeg}, longitude ${lonDeg}`;
  const lat = Math.abs(latDeg).toFixed(5).padStart(8, '0');
  const lon = Math.abs(lonDeg).toFixed(5).padStart(9, '0');
  return `${lat} ${latDeg < 0 ? 'S' : 'N'} ${lon} ${lonDeg < 0 ? 'W' : 'E'}`;
}

/** A ring as files want it: running counter-clockwise or clockwise as asked, from its own first vertex, which is repeated last. */
export function closedLonLatRing(ring: LonLatRing, counterClockwise: boolean): Float64Array {
  const n = ring.length / 2;
  const turn = n > 0 && signedRingAreaM2(ring) > 0 !== counterClockwise;
  const closed = new Float64Array(n > 0 ? ring.length + 2 : 0);
  for (let i = 0; i < closed.length / 2; i++) {
    const from = turn ? (n - i) % n : i % n;
    closed[2 * i] = ring[2 * from]!;
    closed[2 * i + 1] = ring[2 * from + 1]!;
  }
  return closed;
}
