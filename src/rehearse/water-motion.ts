import type { RehearsalOptions, RehearsalRequest, Wind } from './rehearsal.js';

/** Writes current x, y, its sigma and the drift (current and leeway) x, y [m/s] into out [5]; NaN where the current is not known. */
export type WaterMotion = (xM: number, yM: number, timeS: number, out: Float64Array) => void;

/** The current of a request with the leeway of its wind. */
export function waterMotion(request: Pick<RehearsalRequest, 'current' | 'wind' | 'convergenceDeg'>, options: Pick<RehearsalOptions, 'leewayShare'>): WaterMotion {
  const { current, wind = null, convergenceDeg = 0 } = request;
  const { leewayShare } = options;
  if (wind === null || leewayShare === 0) {
    return (xM, yM, timeS, out) => {
      current.at(xM, yM, timeS, out);
      out[3] = out[0]!;
      out[4] = out[1]!;
    };
  }
  const leewayInto = (one: Wind, out: Float64Array): void => {
    // Blown towards the direction opposite to that the wind comes from; the frame's bearing is the true one less the convergence.
    const towards = ((one.fromDeg + 180 - convergenceDeg) * Math.PI) / 180;
    out[3] = out[0]! + one.speedMps * leewayShare * Math.sin(towards);
    out[4] = out[1]! + one.speedMps * leewayShare * Math.cos(towards);
  };
  return (xM, yM, timeS, out) => {
    current.at(xM, yM, timeS, out);
    leewayInto(typeof wind === 'function' ? wind(timeS) : wind, out);
  };
}
