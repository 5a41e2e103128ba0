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
