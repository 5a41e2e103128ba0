import type { LeverArm } from './reduce.js';

/** Indices into what `levelArmInto` and `beamTiltInto` write. */
export const FORWARD = 0;
export const STARBOARD = 1;
export const DOWN = 2;

/**
 * A lever arm of a rolled and pitched boat, in the level frame that has the boat's heading: forward, starboard, down [m].
 *
 * The whole rotation about the boat's pitch and roll axes, not its small-angle form: pitch turns about the level starboard
 * axis, roll about the boat's own forward axis.
 *
 * @param rollRad starboard down positive
 * @param pitchRad bow up positive
 * @param out [3]; see FORWARD, STARBOARD, DOWN
 * Source: IHO C-13 (2005), 2.4 (attitude), with the axes forward, starboard, down; Ry(pitch) Rx(roll).
 */
export function levelArmInto(arm: LeverArm, rollRad: number, pitchRad: number, out: Float64Array): void {
  const sinRoll = Math.sin(rollRad);
  const cosRoll = Math.cos(rollRad);
  const sinPitch = Math.sin(pitchRad);
  const cosPitch = Math.cos(pitchRad);
  out[FORWARD] = cosPitch * arm.forwardM + sinPitch * (sinRoll * arm.starboardM + cosRoll * arm.downM);
  out[STARBOARD] = cosRoll * arm.starboardM - sinRoll * arm.downM;
  out[DOWN] = -sinPitch * arm.forwardM + cosPitch * (sinRoll * arm.starboardM + cosRoll * arm.downM);
}

/**
 * Which way a beam fixed to the boat leans: the unit vector forward and to starboard of the vertical, and the lean itself.
 *
 * @param out [3]: unit forward, unit starboard (both 0 for an upright beam), angle from the vertical [rad]
 */
export function beamTiltInto(rollRad: number, pitchRad: number, out: Float64Array): void {
  const forward = Math.sin(pitchRad) * Math.cos(rollRad);
  const starboard = -Math.sin(rollRad);
  const off = Math.hypot(forward, starboard);
  out[0] = off > 0 ? forward / off : 0;
  out[1] = off > 0 ? starboard / off : 0;
  out[2] = Math.atan2(off, Math.cos(rollRad) * Math.cos(pitchRad));
}
