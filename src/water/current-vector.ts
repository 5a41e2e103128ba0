/**
 * How good a current is believed to be: one sigma of either part is hypot(baseMps, share * speed).
 * `baseMps` is what is always there (rounding, wind drift), `share` what grows with the stream (its clock, its range).
 */
export interface CurrentWorth {
  readonly baseMps: number;
  readonly share: number;
}

const RAD = Math.PI / 180;

/**
 * Velocity along the frame's axes from speed and set.
 *
 * @param speedMps speed of the water over the ground [m/s]
 * @param setDeg direction it flows towards, true [deg]
 * @param convergenceDeg what to add to a grid bearing to get a true one (`convergenceDeg` of src/geo/bearing.ts) [deg]
 * @returns [x, y] [m/s]; NaN for NaN
 */
export function velocityFromSet(speedMps: number, setDeg: number, convergenceDeg: number): [number, number] {
  const gridRad = (setDeg - convergenceDeg) * RAD;
  return [speedMps * Math.sin(gridRad), speedMps * Math.cos(gridRad)];
}

/** Velocity along the frame's axes from its parts towards true east and true north [m/s]; as `velocityFromSet`. */
export function velocityFromEastNorth(eastMps: number, northMps: number, convergenceDeg: number): [number, number] {
  const cos = Math.cos(convergenceDeg * RAD);
  const sin = Math.sin(convergenceDeg * RAD);
  return [eastMps * cos - northMps * sin, eastMps * sin + northMps * cos];
}

/** Speed [m/s] and set, true, 0 to 360 [deg] of a velocity along the frame's axes; set 0 where there is no current. */
export function setAndSpeed(xMps: number, yMps: number, convergenceDeg: number): { readonly speedMps: number; readonly setDeg: number } {
  const speedMps = Math.hypot(xMps, yMps);
  if (!(speedMps > 0)) return { speedMps, setDeg: speedMps === 0 ? 0 : NaN };
  const setDeg = (((Math.atan2(xMps, yMps) / RAD + convergenceDeg) % 360) + 360) % 360;
  return { speedMps, setDeg: setDeg >= 360 ? 0 : setDeg };
}

/** @throws RangeError naming the argument where a worth is not two numbers of 0 or more */
export function checkWorth(worth: CurrentWorth): void {
  if (!(worth.baseMps >= 0 && Number.isFinite(worth.baseMps))) throw new RangeError(`worth.baseMps ${worth.baseMps}: expected 0 or more`);
  if (!(worth.share >= 0 && Number.isFinite(worth.share))) throw new RangeError(`worth.share ${worth.share}: expected 0 or more`);
}
