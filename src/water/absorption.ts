/**
 * Absorption of sound in sea water, one way [dB/km].
 *
 * Boric acid, magnesium sulphate and water itself; takes fresh water with salinity 0.
 *
 * @param frequencyKhz frequency [kHz]
 * @param temperatureC temperature [deg C]
 * @param salinity practical salinity [1]
 * @param depthM depth below the surface, positive down [m]
 * @param pH acidity [1]; 8 when left out
 * @returns NaN if any input is NaN; evaluated, not clamped, outside the domain
 *
 * Source: Francois & Garrison (1982), J. Acoust. Soc. Am. 72(6), 1879-1890. Domain -2..22 deg C, 30..35, 0..3500 m, 0.4..1000 kHz;
 * within 5 % there. Check values at 10 deg C, 35, pH 8, surface: 33.63 at 100 kHz, 109.7 at 450 kHz.
 */
export function absorptionDbPerKm(frequencyKhz: number, temperatureC: number, salinity: number, depthM: number, pH = 8): number {
  const f2 = frequencyKhz * frequencyKhz;
  const t = temperatureC;
  const kelvin = 273 + t;
  const c = 1412 + 3.21 * t + 1.19 * salinity + 0.0167 * depthM;
  const boric = 2.8 * Math.sqrt(salinity / 35) * 10 ** (4 - 1245 / kelvin);
  const boricTerm = boric === 0 ? 0 : ((8.86 / c) * 10 ** (0.78 * pH - 5) * boric * f2) / (boric * boric + f2);
  const magnesium = (8.17 * 10 ** (8 - 1990 / kelvin)) / (1 + 0.0018 * (salinity - 35));
  const magnesiumTerm = (((21.44 * salinity) / c) * (1 + 0.025 * t) * (1 - 1.37e-4 * depthM + 6.2e-9 * depthM * depthM) * magnesium * f2) / (magnesium * magnesium + f2);
  const water = t <= 20 ? 4.937e-4 + t * (-2.59e-5 + t * (9.11e-7 - 1.5e-8 * t)) : 3.964e-4 + t * (-1.146e-5 + t * (1.45e-7 - 6.5e-10 * t));
  return boricTerm + magnesiumTerm + water * (1 - 3.83e-5 * depthM + 4.9e-10 * depthM * depthM) * f2;
}
