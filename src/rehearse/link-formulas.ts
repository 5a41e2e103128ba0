/** Formulas of radio propagation on short paths near the ground. Frequencies MHz, lengths m, losses dB. */

/** [m/s] */
const LIGHT_MPS = 299_792_458;
/** Radius of the earth that makes rays straight in the standard atmosphere [m]. Source: ITU-R P.526-15, 1. */
export const EFFECTIVE_EARTH_M = 8_500_000;
/** Share of the first Fresnel zone to keep clear for no loss by diffraction. Source: ITU-R P.530-17, 2.2; TRADE (common practice). */
export const CLEAR_SHARE = 0.6;

/** [m] */
export function wavelengthM(frequencyMhz: number): number {
  return LIGHT_MPS / (frequencyMhz * 1e6);
}

/**
 * Loss between isotropic antennas in free space [dB].
 * Source: ITU-R P.525-4, 2.3: 32.4 + 20 log f(MHz) + 20 log d(km), here as (4 pi d / lambda)^2. Check: 2400 MHz, 1 km: 100.0; 915 MHz, 5 km: 105.6.
 */
export function freeSpaceLossDb(frequencyMhz: number, distanceM: number): number {
  return 20 * Math.log10((4 * Math.PI * distanceM) / wavelengthM(frequencyMhz));
}

/**
 * Radius of the n-th Fresnel zone at a place on the path [m].
 * @param fromM, toM from the place to either end [m]
 * Source: ITU-R P.526-15, eq. 1: sqrt(n lambda d1 d2 / (d1 + d2)). Check: 2.4 GHz, middle of 1 km: 5.6 (550 sqrt(d1 d2 / ((d1 + d2) f)), MHz and km, gives 5.61).
 */
export function fresnelRadiusM(frequencyMhz: number, fromM: number, toM: number, zone = 1): number {
  return Math.sqrt((zone * wavelengthM(frequencyMhz) * fromM * toM) / (fromM + toM));
}

/** How far the earth bulges above the straight line between two places on it [m]; rays as in the standard atmosphere. Source: d1 d2 / (2 a), ITU-R P.526-15, 4.5 (500 Ce d1 d2, km). */
export function earthBulgeM(fromM: number, toM: number): number {
  return (fromM * toM) / (2 * EFFECTIVE_EARTH_M);
}

/** Beyond this the direct and the reflected wave only weaken each other, and loss grows as 40 log d: 4 h1 h2 / lambda [m]. */
export function breakDistanceM(frequencyMhz: number, heightAM: number, heightBM: number): number {
  return (4 * heightAM * heightBM) / wavelengthM(frequencyMhz);
}

/**
 * Loss over a knife edge [dB], 0 where it is too low to matter.
 *
 * @param v height of the edge above the line of sight over the first Fresnel radius there, times sqrt 2; negative below it
 * Source: ITU-R P.526-15, eq. 31 (0 for v <= -0.78). Check: v = 0: 6.0 dB; v = 1: 13.9; v = 2.4: 20.7 or 13 + 20 log v within 0.3.
 */
export function knifeEdgeLossDb(v: number): number {
  if (!(v > -0.78)) return Number.isNaN(v) ? NaN : 0;
  return 6.9 + 20 * Math.log10(Math.sqrt((v - 0.1) ** 2 + 1) + v - 0.1);
}

/** The parameter v of `knifeEdgeLossDb`. Source: ITU-R P.526-15, eq. 26: h sqrt(2 / lambda (1/d1 + 1/d2)). */
export function knifeEdgeParameter(frequencyMhz: number, heightAboveLineM: number, fromM: number, toM: number): number {
  return heightAboveLineM * Math.sqrt((2 / wavelengthM(frequencyMhz)) * (1 / fromM + 1 / toM));
}

/**
 * What the curve of the earth takes beyond flat water, for antennas low over it [dB, 0 or more].
 *
 * The distance term F(X) of diffraction over a smooth sphere, less its part for X -> 0, which with the height gains 20 log Y of
 * low antennas is the flat-water law of 40 log d. Good for antennas up to about 20 m at 2.4 GHz (Y below 2).
 * Source: ITU-R P.526-15, 3.1.1.2, eq. 14a, 15, 16a (beta = 1), from memory; held against the horizon and the join at X = 1.6 in the tests.
 */
export function curvatureLossDb(frequencyMhz: number, distanceM: number): number {
  const x = distanceM * Math.cbrt(Math.PI / (wavelengthM(frequencyMhz) * EFFECTIVE_EARTH_M ** 2));
  if (!(x > 0)) return x === 0 ? 0 : NaN;
  return x < 1.6 ? 5.6488 * x ** 1.425 : Math.max(0, 17.6 * x - 11 - 30 * Math.log10(x));
}
