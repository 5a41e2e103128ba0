import { freeSpaceLossDb, wavelengthM } from './link-formulas.js';

/** Water as the wave sees it. */
export interface WaterSurface {
  readonly temperatureC: number;
  /** Practical salinity; 0 for fresh water. */
  readonly salinity: number;
  /** Significant wave height; takes off the reflection where the crests are steep for the wavelength [m]. */
  readonly waveHeightM: number;
}

export type Polarisation = 'vertical' | 'horizontal';

/** A complex number: [real, imaginary]. */
type Complex = readonly [number, number];

/**
 * Complex relative permittivity of water, e' - j e''.
 *
 * One relaxation and the conductivity of the salt.
 * @param frequencyMhz up to some 10 000
 * @returns [e', -e''], the second part negative
 * Source: Klein and Swift (1977), IEEE Trans. Antennas Propag. AP-25(1), 104-111; -2..30 deg C, salinity 4..35 (0 gives fresh water).
 */
export function waterPermittivity(frequencyMhz: number, temperatureC: number, salinity: number): Complex {
  const t = temperatureC;
  const s = salinity;
  const staticFresh = 87.134 - 1.949e-1 * t - 1.276e-2 * t * t + 2.491e-4 * t ** 3;
  const staticValue = staticFresh * (1 + 1.613e-5 * s * t - 3.656e-3 * s + 3.21e-5 * s * s - 4.232e-7 * s ** 3);
  const relaxationS = (1.768e-11 - 6.086e-13 * t + 1.104e-14 * t * t - 8.111e-17 * t ** 3) * (1 + 2.282e-5 * s * t - 7.638e-4 * s - 7.76e-6 * s * s + 1.105e-8 * s ** 3);
  const delta = 25 - t;
  const fall = 2.033e-2 + 1.266e-4 * delta + 2.464e-6 * delta * delta - s * (1.849e-5 - 2.551e-7 * delta + 2.551e-8 * delta * delta);
  const conductivity = s * (0.182521 - 1.46192e-3 * s + 2.09324e-5 * s * s - 1.28205e-7 * s ** 3) * Math.exp(-delta * fall);
  const omega = 2e6 * Math.PI * frequencyMhz;
  const high = 4.9;
  const turn = omega * relaxationS;
  const vacuum = 8.854_187_8e-12;
  return [high + (staticValue - high) / (1 + turn * turn), -((staticValue - high) * turn) / (1 + turn * turn) - conductivity / (omega * vacuum)];
}

/**
 * Complex reflection coefficient of flat water at a grazing angle: Fresnel's equations. At grazing incidence both come to -1.
 *
 * @param grazingRad angle between ray and water, above 0 [rad]
 * Source: ITU-R P.527-5 and P.1008 write it so; standard optics (common practice). Check: -> -1 at 0; |vertical| least near atan(1/sqrt|e|).
 */
export function reflectionCoefficient(permittivity: Complex, grazingRad: number, polarisation: Polarisation): Complex {
  const sin = Math.sin(grazingRad);
  const cosSquared = Math.cos(grazingRad) ** 2;
  const root = complexRoot([permittivity[0] - cosSquared, permittivity[1]]);
  const front: Complex = polarisation === 'vertical' ? [permittivity[0] * sin, permittivity[1] * sin] : [sin, 0];
  return complexQuotient([front[0] - root[0], front[1] - root[1]], [front[0] + root[0], front[1] + root[1]]);
}

/**
 * How much of the wave a rough sea still reflects as a mirror, 0 to 1.
 * Source: Ament (1953), Proc. IRE 41(1), 142-146: exp(-2 (2 pi s sin(psi) / lambda)^2), s a quarter of the significant wave height.
 */
export function roughnessFactor(frequencyMhz: number, grazingRad: number, waveHeightM: number): number {
  const phase = (2 * Math.PI * (waveHeightM / 4) * Math.sin(grazingRad)) / wavelengthM(frequencyMhz);
  return Math.exp(-2 * phase * phase);
}

/**
 * Loss between isotropic antennas over flat water: the direct wave and the one mirrored in the water, as complex numbers [dB].
 *
 * Swings about free space near by, and grows as 40 log d beyond about 4 h1 h2 / lambda. Flat: the curve of the earth comes on
 * top (`curvatureLossDb`). The same when the antennas change places.
 *
 * @param distanceM between the antennas, along the water [m]
 * @param heightAM, heightBM above the water [m]
 * Check (total reflection, lambda 0.3 m, 2 m and 2 m): 69.0 dB at 100 m, 108.0 at 1 km, 148.0 at 10 km [published worked table].
 */
export function twoRayLossDb(frequencyMhz: number, distanceM: number, heightAM: number, heightBM: number, reflection: (grazingRad: number) => Complex): number {
  const direct = Math.hypot(distanceM, heightAM - heightBM);
  const mirrored = Math.hypot(distanceM, heightAM + heightBM);
  const [re, im] = reflection(Math.atan2(heightAM + heightBM, distanceM));
  // The exact difference: sqrt cancels where the antennas are low and far apart.
  const phase = ((2 * Math.PI) / wavelengthM(frequencyMhz)) * ((4 * heightAM * heightBM) / (direct + mirrored));
  const share = direct / mirrored;
  const sumRe = 1 + share * (re * Math.cos(phase) + im * Math.sin(phase));
  const sumIm = share * (im * Math.cos(phase) - re * Math.sin(phase));
  return freeSpaceLossDb(frequencyMhz, direct) - 10 * Math.log10(sumRe * sumRe + sumIm * sumIm);
}

/** The reflection of a water surface as `twoRayLossDb` takes it. */
export function waterReflection(frequencyMhz: number, surface: WaterSurface, polarisation: Polarisation): (grazingRad: number) => Complex {
  const permittivity = waterPermittivity(frequencyMhz, surface.temperatureC, surface.salinity);
  return (grazingRad) => {
    const [re, im] = reflectionCoefficient(permittivity, grazingRad, polarisation);
    const left = roughnessFactor(frequencyMhz, grazingRad, surface.waveHeightM);
    return [re * left, im * left];
  };
}

/** The root in the right half plane. */
function complexRoot([re, im]: Complex): Complex {
  const size = Math.hypot(re, im);
  const real = Math.sqrt(Math.max(0, (size + re) / 2));
  return [real, Math.sign(im || 1) * Math.sqrt(Math.max(0, (size - re) / 2))];
}

function complexQuotient(a: Complex, b: Complex): Complex {
  const size = b[0] * b[0] + b[1] * b[1];
  return [(a[0] * b[0] + a[1] * b[1]) / size, (a[1] * b[0] - a[0] * b[1]) / size];
}
