/** Geometry of a ping across the track: slant range, ground range, grazing angle and footprint, over a floor that may slope to the side. */

/** Slant range of a sample [m]: half the two-way time times the sound speed. */
export function slantRangeM(sample: number, delayS: number, intervalS: number, soundSpeedMps: number): number {
  return (soundSpeedMps / 2) * (delayS + sample * intervalS);
}

/**
 * Distance along the horizontal from under the sonar to where an echo of a slant range comes from.
 *
 * On a floor that rises to the side by `slopeAcross` the floor lies h - s g below the sonar at a distance g, so that
 * Rs^2 = g^2 + (h - s g)^2 and g = (h s + sqrt((1 + s^2) Rs^2 - h^2)) / (1 + s^2); flat: sqrt(Rs^2 - h^2).
 *
 * @param slantM slant range [m]
 * @param heightM sonar above the floor straight below it [m]
 * @param slopeAcross rise of the floor per metre away from the track, on this side [1]; 0 flat
 * @returns NaN for an echo from before the first the floor can give, h / sqrt(1 + s^2); a place short of straight below, on the
 *   other side, is negative
 *
 * Source: IHO C-13 (2005) ch. 4 for flat ground; with a slope, the same triangle.
 */
export function groundRangeM(slantM: number, heightM: number, slopeAcross = 0): number {
  const square = 1 + slopeAcross * slopeAcross;
  return (heightM * slopeAcross + Math.sqrt(square * slantM * slantM - heightM * heightM)) / square;
}

/** Slant range at which a place of the floor is heard: the inverse of `groundRangeM` [m]. */
export function slantOfGroundM(groundM: number, heightM: number, slopeAcross = 0): number {
  const belowM = heightM - slopeAcross * groundM;
  return Math.sqrt(groundM * groundM + belowM * belowM);
}

/** Slant range of the first echo of a floor that slopes to the side: its foot of the perpendicular, or straight below where that lies on the other side [m]. */
export function firstEchoM(heightM: number, slopeAcross = 0): number {
  return slopeAcross > 0 ? heightM / Math.sqrt(1 + slopeAcross * slopeAcross) : heightM;
}

/**
 * Sonar above the floor straight below it, from the slant range of the first echo heard on either side, which comes from the
 * foot of the perpendicular on the side that rises: first echo times sqrt(1 + s^2) [m].
 */
export function heightBelowM(firstEchoM: number, portSlope: number, starboardSlope: number): number {
  const rise = Math.max(0, portSlope, starboardSlope);
  return firstEchoM * Math.sqrt(1 + rise * rise);
}

/** Sine of the angle between the echo's path and the floor [1]; 1 straight onto it, 0 grazing. NaN as `groundRangeM`. */
export function sineGrazing(slantM: number, heightM: number, slopeAcross = 0): number {
  const square = 1 + slopeAcross * slopeAcross;
  // Distance from the sonar to the plane of the floor, over the slant range.
  const sine = heightM / (Math.sqrt(square) * slantM);
  return sine <= 1 ? sine : NaN;
}

/**
 * Ground that one sample of one ping covers.
 *
 * @param slantM slant range [m]
 * @param groundM ground range [m]
 * @param beamRad full horizontal beam width [rad]
 * @param resolutionM range resolution along the slant: half the pulse's length in water, or a sample's, the larger [m]
 * @returns alongM Rs phi; acrossM the resolution laid onto the ground, dRs Rs / g, no more than the arc under the sonar allows
 *
 * Source: IHO C-13 (2005) ch. 4: beam width on the ground Bw = Rs phi; the second is the derivative of the ground range.
 */
export function pingFootprint(slantM: number, groundM: number, beamRad: number, resolutionM: number): { alongM: number; acrossM: number } {
  const flat = (resolutionM * slantM) / Math.max(Math.abs(groundM), 1e-9);
  const nadir = Math.sqrt(2 * slantM * resolutionM + resolutionM * resolutionM);
  return { alongM: slantM * beamRad, acrossM: Math.min(flat, nadir) };
}

/**
 * Fastest speed at which an object gets a number of hits [m/s].
 *
 * `lengthM` along the track, two-way time from ping to ping `pingS` = 2 Rm / c, beam width on the ground Bw at its range:
 * the first hit may come Bw before the object is abeam and the last after, so L = V t (N - 1) - Bw; the strict form takes N.
 *
 * Source: IHO C-13 (2005) ch. 4. Check values: N 5, t 0.2 s, Bw 0.6545 m: 3 m 4.57 m/s, 1 m 2.07 m/s.
 */
export function speedForHitsMps(lengthM: number, hits: number, pingS: number, beamOnGroundM: number, strict = false): number {
  const steps = strict ? hits : hits - 1;
  if (!(steps > 0 && pingS > 0)) throw new RangeError(`hits ${hits} at ${pingS} s: expected more than one hit and a time above 0`);
  return (lengthM + beamOnGroundM) / (pingS * steps);
}

/**
 * How far behind the positioning antenna a towed sonar is [m]: DT + sqrt(WO^2 - DS^2), the cable taken as straight.
 *
 * @param aftM antenna to tow point, astern positive [m] (DT)
 * @param cableOutM cable from tow point to sonar [m] (WO)
 * @param belowPointM sonar below the tow point [m] (DS)
 * @returns NaN where the sonar is deeper than the cable is long
 *
 * Source: IHO C-13 (2005) ch. 4.
 */
export function laybackM(aftM: number, cableOutM: number, belowPointM: number): number {
  return aftM + Math.sqrt(cableOutM * cableOutM - belowPointM * belowPointM);
}
