import { laybackM } from './slant-range.js';

/** A place on the boat: ahead of its reference point and to starboard of it [m]. */
export interface OnBoat {
  readonly forwardM: number;
  readonly starboardM: number;
}

/** How a sonar is towed. */
export interface Towed {
  /** Cable from tow point to sonar [m]. */
  readonly cableOutM: number;
  /** Tow point below the water surface, above it negative [m]. */
  readonly pointDownM: number;
  /** Tow point astern of where the sonar is mounted [m]. */
  readonly pointAftM: number;
}

/** Where an antenna's position puts a place on the boat. @returns east and north to add [m] */
export function onBoatShift(gridHeadingDeg: number, from: OnBoat, to: OnBoat): [number, number] {
  const rad = (gridHeadingDeg * Math.PI) / 180;
  const [forward, starboard] = [to.forwardM - from.forwardM, to.starboardM - from.starboardM];
  return [forward * Math.sin(rad) + starboard * Math.cos(rad), forward * Math.cos(rad) - starboard * Math.sin(rad)];
}

/**
 * Places of the sonar from those of the antenna. Towed, it follows sqrt(WO^2 - DS^2) behind the tow point on the course made
 * good; carried, it sits at its place on the boat.
 *
 * @param antennaX, antennaY in the frame [m]; gridHeadingDeg and gridCourseDeg clockwise from grid north. Shape [n]
 * @param sonarDepthM below the water surface, for a towed sonar; NaN: the cable is taken as level [m]
 * @returns xM, yM; NaN where position or heading is, or the sonar is deeper than its cable is long
 * Source: IHO C-13 (2005) ch. 4 (layback).
 */
export function placeSonar(antennaX: Float64Array, antennaY: Float64Array, gridHeadingDeg: ArrayLike<number>, gridCourseDeg: ArrayLike<number>, antenna: OnBoat, mount: OnBoat, towed: Towed | null, sonarDepthM: ArrayLike<number>): { xM: Float64Array; yM: Float64Array } {
  const xM = new Float64Array(antennaX.length);
  const yM = new Float64Array(antennaX.length);
  const point = towed === null ? mount : { forwardM: mount.forwardM - towed.pointAftM, starboardM: mount.starboardM };
  for (let i = 0; i < xM.length; i++) {
    const [east, north] = onBoatShift(gridHeadingDeg[i]!, antenna, point);
    xM[i] = antennaX[i]! + east;
    yM[i] = antennaY[i]! + north;
    if (towed === null) continue;
    const below = Number.isNaN(sonarDepthM[i]!) ? 0 : Math.max(0, sonarDepthM[i]! - towed.pointDownM);
    const behindM = laybackM(0, towed.cableOutM, below);
    const rad = (gridCourseDeg[i]! * Math.PI) / 180;
    xM[i]! -= behindM * Math.sin(rad);
    yM[i]! -= behindM * Math.cos(rad);
  }
  return { xM, yM };
}
