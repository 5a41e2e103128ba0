import type { Circle } from './boat-path.js';
import type { RunLine } from './proving-survey.js';

/**
 * A simple line plan: parallel lines east and west over a convex area, run to and fro from south to north, broken where
 * they meet a circle to be kept clear of, then two lines across.
 *
 * @param ring corners of a convex area [x0, y0, ...] [m]
 * @param endsM how far lines go on past the area's edge [m]
 */
export function planOwnLines(ring: Float64Array, spacingM: number, speedMps: number, endsM: number, keepClear: Circle): RunLine[] {
  const lines: RunLine[] = [];
  const [south, north] = extent(ring, 1);
  const [west, east] = extent(ring, 0);
  const count = Math.max(1, Math.ceil((north - south) / spacingM));
  const stepM = (north - south) / count;
  for (let i = 0; i < count; i++) {
    const y = south + (i + 0.5) * stepM;
    const [from, to] = chord(ring, 1, y);
    if (!(to - from > 5)) continue;
    const pieces = breakAt(from - endsM, to + endsM, y, keepClear);
    const runs = pieces.map(([a, b]) => [a, y, b, y]);
    if (i % 2 === 1) {
      runs.reverse();
      for (const run of runs) [run[0], run[2]] = [run[2]!, run[0]!];
    }
    for (const path of runs) lines.push({ path, speedMps });
  }
  for (const [share, up] of [
    [0.7, false],
    [0.3, true],
  ] as const) {
    const x = west + (east - west) * share;
    const [from, to] = chord(ring, 0, x);
    const path = up ? [x, from - endsM, x, to + endsM] : [x, to + endsM, x, from - endsM];
    lines.push({ path, speedMps });
  }
  return lines;
}

function extent(ring: Float64Array, axis: 0 | 1): [number, number] {
  let low = Infinity;
  let high = -Infinity;
  for (let i = axis; i < ring.length; i += 2) {
    low = Math.min(low, ring[i]!);
    high = Math.max(high, ring[i]!);
  }
  return [low, high];
}

/** Where a line of constant x (axis 0) or y (axis 1) enters and leaves a convex ring; NaN where it misses it. */
function chord(ring: Float64Array, axis: 0 | 1, value: number): [number, number] {
  const n = ring.length / 2;
  let low = NaN;
  let high = NaN;
  for (let i = 0; i < n; i++) {
    const k = (i + 1) % n;
    const a = ring[2 * i + axis]!;
    const b = ring[2 * k + axis]!;
    if ((a < value) === (b < value)) continue;
    const along = ring[2 * i + 1 - axis]! + ((value - a) / (b - a)) * (ring[2 * k + 1 - axis]! - ring[2 * i + 1 - axis]!);
    low = Number.isNaN(low) ? along : Math.min(low, along);
    high = Number.isNaN(high) ? along : Math.max(high, along);
  }
  return [low, high];
}

function breakAt(from: number, to: number, y: number, circle: Circle): [number, number][] {
  const clear = circle.radiusM + 1;
  const half2 = clear * clear - (y - circle.yM) ** 2;
  if (half2 <= 0) return [[from, to]];
  const half = Math.sqrt(half2);
  return (
    [
      [from, circle.xM - half],
      [circle.xM + half, to],
    ] as [number, number][]
  ).filter(([a, b]) => b - a > 5);
}
