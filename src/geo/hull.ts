import { foldBearingDeg } from './bearing.js';
import type { Ring } from './shapes.js';

/**
 * Convex hull of points [x0, y0, ...], counter-clockwise, without points on its edges.
 * Source: Andrew (1979), Information Processing Letters 9(5), 216-219 (monotone chain).
 * @returns fewer than three vertices where all points are on one line
 */
export function convexHull(pointsM: Float64Array): Ring {
  const n = pointsM.length / 2;
  const order = Array.from({ length: n }, (_, i) => i).sort(
    (a, b) => pointsM[2 * a]! - pointsM[2 * b]! || pointsM[2 * a + 1]! - pointsM[2 * b + 1]!,
  );
  const half = (sequence: readonly number[]): number[] => {
    const chain: number[] = [];
    for (const i of sequence) {
      while (chain.length >= 2) {
        const a = chain[chain.length - 2]!;
        const b = chain[chain.length - 1]!;
        const cross =
          (pointsM[2 * b]! - pointsM[2 * a]!) * (pointsM[2 * i + 1]! - pointsM[2 * a + 1]!) -
          (pointsM[2 * b + 1]! - pointsM[2 * a + 1]!) * (pointsM[2 * i]! - pointsM[2 * a]!);
        if (cross > 0) break;
        chain.pop();
      }
      chain.push(i);
    }
    chain.pop();
    return chain;
  };
  const chain = [...half(order), ...half(order.reverse())];
  const hull = new Float64Array(chain.length * 2);
  chain.forEach((i, k) => hull.set([pointsM[2 * i]!, pointsM[2 * i + 1]!], 2 * k));
  return hull;
}

/** A rectangle lying at an angle. */
export interface TurnedRectangle {
  readonly centreXM: number;
  readonly centreYM: number;
  readonly lengthM: number;
  readonly widthM: number;
  /** Bearing of its long side, clockwise from grid north, 0 <= bearing < 180 [deg]. */
  readonly bearingDeg: number;
}

/**
 * The rectangle of least area around points.
 * One side lies along an edge of the convex hull (Freeman & Shapira 1975, Comm. ACM 18(7), 409-413): each is tried.
 * @throws RangeError without any point
 */
export function minimumAreaRectangle(pointsM: Float64Array): TurnedRectangle {
  if (pointsM.length < 2) throw new RangeError('pointsM: expected at least one point');
  const hull = convexHull(pointsM);
  const vertices = hull.length >= 2 ? hull : pointsM.slice(0, 2);
  const n = vertices.length / 2;
  let best: TurnedRectangle | null = null;
  let leastArea = Infinity;
  for (let i = 0; i < n; i++) {
    const j = (i + 1) % n;
    const length = Math.hypot(vertices[2 * j]! - vertices[2 * i]!, vertices[2 * j + 1]! - vertices[2 * i + 1]!);
    const ux = length > 0 ? (vertices[2 * j]! - vertices[2 * i]!) / length : 1;
    const uy = length > 0 ? (vertices[2 * j + 1]! - vertices[2 * i + 1]!) / length : 0;
    let alongMin = Infinity;
    let alongMax = -Infinity;
    let acrossMin = Infinity;
    let acrossMax = -Infinity;
    for (let k = 0; k < n; k++) {
      const dx = vertices[2 * k]! - vertices[0]!;
      const dy = vertices[2 * k + 1]! - vertices[1]!;
      const along = dx * ux + dy * uy;
      const across = dy * ux - dx * uy;
      alongMin = Math.min(alongMin, along);
      alongMax = Math.max(alongMax, along);
      acrossMin = Math.min(acrossMin, across);
      acrossMax = Math.max(acrossMax, across);
    }
    const alongM = alongMax - alongMin;
    const acrossM = acrossMax - acrossMin;
    const area = alongM * acrossM;
    if (area >= leastArea * (1 - 1e-12)) continue;
    leastArea = area;
    const midAlong = (alongMin + alongMax) / 2;
    const midAcross = (acrossMin + acrossMax) / 2;
    const longAlong = alongM >= acrossM;
    best = {
      centreXM: vertices[0]! + midAlong * ux - midAcross * uy,
      centreYM: vertices[1]! + midAlong * uy + midAcross * ux,
      lengthM: Math.max(alongM, acrossM),
      widthM: Math.min(alongM, acrossM),
      bearingDeg: foldBearingDeg((Math.atan2(longAlong ? ux : -uy, longAlong ? uy : ux) * 180) / Math.PI),
    };
    if (n < 3) break;
  }
  return best!;
}

/** The two points furthest apart among the hull's vertices, and the bearing from one to the other, 0..180 [deg grid]. */
export function longestDirection(pointsM: Float64Array): { readonly lengthM: number; readonly bearingDeg: number } {
  const hull = convexHull(pointsM);
  let lengthM = 0;
  let bearingDeg = 0;
  for (let i = 0; i < hull.length; i += 2) {
    for (let j = 0; j < i; j += 2) {
      const dx = hull[i]! - hull[j]!;
      const dy = hull[i + 1]! - hull[j + 1]!;
      const length = Math.hypot(dx, dy);
      if (length > lengthM) {
        lengthM = length;
        bearingDeg = foldBearingDeg((Math.atan2(dx, dy) * 180) / Math.PI);
      }
    }
  }
  return { lengthM, bearingDeg };
}
