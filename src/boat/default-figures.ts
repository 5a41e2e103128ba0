import type { CardFigure, CardFigureName } from './boat-card.js';

/**
 * A boat of this class before anything is known of it: about 1.2 m and 18 kg, two reversible thrusters, top speed just under
 * 3 m/s reached in about 2 s, two to three days at low speed on the largest battery. Common practice, no source.
 */
const TOP_SPEED_MPS = 2.8;
const TIME_TO_95_S = 2;
/** Thrust astern over thrust ahead of a thruster made to push ahead; common practice. */
const ASTERN_SHARE = 0.7;
/** Thrust x speed over electrical power of a small thruster; common practice, 0.3 to 0.4. */
const PROPULSION_SHARE = 0.35;
const HOTEL_W = 8;
/** Two and a half days at 1 m/s. */
const LOW_SPEED_DAYS = 2.5;

/** Nobody has measured this boat: a figure may be off by this share of itself, 95 %. */
const DEFAULT_SHARE_95 = 0.4;

/**
 * Figures for a small twin-thruster boat, worked out from its mass and the figures usual for the class, all marked `default`.
 * Those that cannot be told without trials (turning, spin, track keeping) are left out.
 *
 * Thrust against quadratic drag: v = vmax tanh(t/tau), so 95 % is reached at 1.832 tau; the coasting length is tau vmax; the way
 * to rest under astern thrust r T is (L/2) ln(1 + 1/r), the time (tau/sqrt r) atan(1/sqrt r). Power at top speed is thrust
 * times speed over the propulsion's share, falling with the cube of speed.
 *
 * @param massKg ready to run
 * @throws RangeError for a mass that is not positive
 */
export function defaultFigures(massKg: number): Partial<Record<CardFigureName, CardFigure>> {
  if (!(massKg > 0)) throw new RangeError(`massKg ${massKg}: expected more than 0`);
  const tauS = TIME_TO_95_S / Math.atanh(0.95);
  const coastLengthM = tauS * TOP_SPEED_MPS;
  const thrustN = (massKg * TOP_SPEED_MPS) / tauS;
  const coefficient = thrustN / (PROPULSION_SHARE * TOP_SPEED_MPS ** 2);
  const figure = (value: number, unit: string, method: string): CardFigure => ({ value, uncertainty95: DEFAULT_SHARE_95 * value, unit, source: 'default', trials: [], method, note: 'usual for the class; trials replace it' });
  const kinematics = 'thrust against quadratic drag, from the class\'s top speed and time to reach it';
  return {
    topSpeed: figure(TOP_SPEED_MPS, 'm/s', 'common practice for this class'),
    timeTo63: figure(tauS * Math.atanh(0.63), 's', kinematics),
    timeTo90: figure(tauS * Math.atanh(0.9), 's', kinematics),
    timeTo95: figure(TIME_TO_95_S, 's', 'common practice for this class'),
    distanceTo90: figure(coastLengthM * Math.log(Math.cosh(Math.atanh(0.9))), 'm', kinematics),
    coastLength: figure(coastLengthM, 'm', kinematics),
    coastTo10: figure(coastLengthM * Math.LN10, 'm', kinematics),
    stopAstern: figure((coastLengthM / 2) * Math.log(1 + 1 / ASTERN_SHARE), 'm', `${kinematics}; astern thrust ${ASTERN_SHARE} of ahead`),
    stopAsternTime: figure((tauS / Math.sqrt(ASTERN_SHARE)) * Math.atan(1 / Math.sqrt(ASTERN_SHARE)), 's', `${kinematics}; astern thrust ${ASTERN_SHARE} of ahead`),
    hotelPower: figure(HOTEL_W, 'W', 'common practice for this class'),
    powerCoefficient: figure(coefficient, 'W/(m/s)^n', `thrust at top speed, propulsion ${PROPULSION_SHARE}`),
    powerExponent: { ...figure(3, '1', 'about 3 below hull speed'), uncertainty95: 0.3 },
    batteryEnergy: figure((HOTEL_W + coefficient) * LOW_SPEED_DAYS * 24, 'Wh', `${LOW_SPEED_DAYS} days at 1 m/s, common practice for the largest fit`),
  };
}
