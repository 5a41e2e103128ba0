import { createFrame } from '../geo/frame.js';
import type { FrameSetting } from '../geo/frame.js';
import { ORIGIN_E_M, ORIGIN_N_M } from './floor.js';

/** The frame of Hollin Sound. */
export const HOLLIN_FRAME: FrameSetting = { kind: 'utm', zone: 26, hemisphere: 'north' };

/**
 * Convergence and scale of the frame at the origin: tan(convergence) = tan(lon - lon0) sin(lat), and the scale of a
 * transverse Mercator plane 0.9996 (1 + x^2 / (2 R^2)) (Snyder 1987, USGS PP 1395, section 8; spherical forms, good to 1e-3 deg
 * and 1e-6 here).
 */
export function frameAtOrigin(): { convergenceDeg: number; scale: number } {
  const [latDeg, lonDeg] = createFrame(HOLLIN_FRAME).toGeographic(ORIGIN_E_M, ORIGIN_N_M);
  const radians = Math.PI / 180;
  const fromMeridian = lonDeg - (HOLLIN_FRAME.zone * 6 - 183);
  const convergence = Math.atan(Math.tan(fromMeridian * radians) * Math.sin(latDeg * radians));
  const eastM = (ORIGIN_E_M - 500_000) / 0.9996;
  return { convergenceDeg: convergence / radians, scale: 0.9996 * (1 + eastM ** 2 / (2 * 6_378_000 ** 2)) };
}
