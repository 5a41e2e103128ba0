/** A point of a bottom drawn by hand: row of the pings and slant range [m]. */
export interface BottomPoint {
  readonly row: number;
  readonly slantM: number;
}

/** A hand's stroke is thinned to what it says within this [m]. */
const STROKE_TOLERANCE_M = 0.03;

/** Points by rising row, one a row, the latest drawn of each. */
export function orderedPoints(points: readonly BottomPoint[]): readonly BottomPoint[] {
  const byRow = new Map<number, BottomPoint>();
  for (const point of points) byRow.set(Math.round(point.row), { row: Math.round(point.row), slantM: point.slantM });
  return [...byRow.values()].sort((a, b) => a.row - b.row);
}

/** Thins a stroke (Ramer 1972, Douglas and Peucker 1973), measured in slant range: no point of it is off by more than the tolerance. */
export function thinStroke(points: readonly BottomPoint[], toleranceM = STROKE_TOLERANCE_M): readonly BottomPoint[] {
  const all = orderedPoints(points);
  if (all.length <= 2) return all;
  const keep = new Uint8Array(all.length);
  keep[0] = keep[all.length - 1] = 1;
  const stretches: [number, number][] = [[0, all.length - 1]];
  for (let stretch = stretches.pop(); stretch !== undefined; stretch = stretches.pop()) {
    const [from, to] = stretch;
    const [a, b] = [all[from] as BottomPoint, all[to] as BottomPoint];
    let [worst, at] = [toleranceM, -1];
    for (let i = from + 1; i < to; i++) {
      const point = all[i] as BottomPoint;
      const off = Math.abs(point.slantM - (a.slantM + ((point.row - a.row) / (b.row - a.row)) * (b.slantM - a.slantM)));
      if (off > worst) [worst, at] = [off, i];
    }
    if (at < 0) continue;
    keep[at] = 1;
    stretches.push([from, at], [at, to]);
  }
  return all.filter((_, i) => keep[i] === 1);
}

/** What a stroke makes of the first echoes: straight between its points. Told row by row. */
export function alongStroke(points: readonly BottomPoint[], tell: (row: number, slantM: number) => void): void {
  const all = orderedPoints(points);
  const only = all[0];
  if (all.length === 1 && only !== undefined) tell(only.row, only.slantM);
  for (let k = 0; k + 1 < all.length; k++) {
    const [a, b] = [all[k] as BottomPoint, all[k + 1] as BottomPoint];
    for (let row = a.row; row < b.row + (k + 2 === all.length ? 1 : 0); row++) tell(row, a.slantM + ((row - a.row) / (b.row - a.row)) * (b.slantM - a.slantM));
  }
}
