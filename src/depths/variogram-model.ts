/** The shape of a variogram; the Matern ones are of smoothness 1.5 and 2.5. */
export type VariogramShape = 'spherical' | 'exponential' | 'gaussian' | 'matern-1.5' | 'matern-2.5';

/** A variogram: gamma(h) = nugget + partialSill (1 - rho(h / range)) for h > 0, and 0 at h = 0. */
export interface VariogramModel {
  readonly shape: VariogramShape;
  /** What differs at the shortest distance, 0 or more, in the square of the value's unit. */
  readonly nugget: number;
  /** What distance adds, 0 or more. */
  readonly partialSill: number;
  /** Range as it stands in the formula, not where 95 % is reached [m]; more than 0. */
  readonly rangeM: number;
}

/**
 * How alike values are at a distance, 1 at none: rho of the distance in ranges.
 *
 * spherical 1 - 1.5 t + 0.5 t^3 (0 from t = 1); exponential e^-t; gaussian e^-t^2; Matern 1.5 (1 + t) e^-t;
 * Matern 2.5 (1 + t + t^2 / 3) e^-t.
 *
 * @param t distance / range, 0 or more [1]
 *
 * Source: Chiles & Delfiner (2012), Geostatistics, 2nd ed., section 2.5; the range counted as gstat does.
 */
export function correlation(shape: VariogramShape, t: number): number {
  switch (shape) {
    case 'spherical':
      return t >= 1 ? 0 : 1 - t * (1.5 - 0.5 * t * t);
    case 'exponential':
      return Math.exp(-t);
    case 'gaussian':
      return Math.exp(-t * t);
    case 'matern-1.5':
      return (1 + t) * Math.exp(-t);
    case 'matern-2.5':
      return (1 + t + (t * t) / 3) * Math.exp(-t);
  }
}

/** Semivariance at a distance [m]; 0 at none. */
export function semivarianceAt(model: VariogramModel, lagM: number): number {
  return lagM === 0 ? 0 : model.nugget + model.partialSill * (1 - correlation(model.shape, lagM / model.rangeM));
}

/** @throws RangeError for a variogram that is none: negative or not finite, or without any variance */
export function checkVariogram({ nugget, partialSill, rangeM }: VariogramModel): void {
  if (!(nugget >= 0 && partialSill >= 0 && nugget + partialSill > 0 && nugget + partialSill < Infinity)) {
    throw new RangeError(`variogram: nugget ${nugget} and partial sill ${partialSill}: expected 0 or more, and not both 0`);
  }
  if (!(rangeM > 0 && rangeM < Infinity)) throw new RangeError(`variogram: rangeM ${rangeM}: expected more than 0`);
}
