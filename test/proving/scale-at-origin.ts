import proj4 from 'proj4';
import { ORIGIN_E_M, ORIGIN_N_M } from '../../src/proving/floor.js';

/** Frame metres per metre on the ground at the middle of Hollin Sound, from proj4 and the radius of curvature along the meridian. */
export function scaleAtOrigin(): number {
  const utm = '+proj=utm +zone=26 +datum=WGS84 +units=m +no_defs';
  const [lon, lat] = proj4(utm, 'WGS84', [ORIGIN_E_M, ORIGIN_N_M]) as [number, number];
  const [x, y] = proj4('WGS84', utm, [lon, lat + 1e-3]) as [number, number];
  const e2 = 0.00669437999014;
  const radiusM = (6_378_137 * (1 - e2)) / (1 - e2 * Math.sin((lat * Math.PI) / 180) ** 2) ** 1.5;
  return Math.hypot(x - ORIGIN_E_M, y - ORIGIN_N_M) / (radiusM * 1e-3 * (Math.PI / 180));
}
