import type { Frame } from './frame.js';

/** An angle turned into 0 <= angle < 360 [deg]. */
export function wrap360Deg(angleDeg: number): number {
  const wrapped = ((angleDeg % 360) + 360) % 360;
  return wrapped >= 360 ? 0 : wrapped;
}

/** A bearing without its sense: 0 <= bearing < 180 [deg]. */
export function foldBearingDeg(bearingDeg: number): number {
  const folded = ((bearingDeg % 180) + 180) % 180;
  return folded >= 180 - 1e-9 ? 0 : folded;
}

/** Bearing from a to b, clockwise from grid north [deg, 0..360); 0 where a = b. */
export function gridBearingDeg(ax: number, ay: number, bx: number, by: number): number {
  return wrap360Deg((Math.atan2(bx - ax, by - ay) * 180) / Math.PI);
}

/**
 * Meridian convergence of the frame at a place: what to add to a grid bearing to get a true one [deg].
 * Positive east of the central meridian in the northern hemisphere.
 *
 * Taken from the projection itself: the frame direction of a short step along the meridian.
 * Check: tan(convergence) = tan(lon - lon0) sin(lat) on the sphere (Snyder 1987, USGS PP 1395, eq. 8-4 ff.); the
 * ellipsoid changes it by less than 0.001 deg within a zone.
 */
export function convergenceDeg(frame: Frame, xM: number, yM: number): number {
  const [latDeg, lonDeg] = frame.toGeographic(xM, yM);
  const stepDeg = 1e-3;
  const [x0, y0] = frame.toFrame(latDeg - stepDeg, lonDeg);
  const [x1, y1] = frame.toFrame(latDeg + stepDeg, lonDeg);
  return (-Math.atan2(x1 - x0, y1 - y0) * 180) / Math.PI;
}
