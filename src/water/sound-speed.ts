import { GIBBS_TERMS } from './teos10-coefficients.js';

/**
 * Speed of sound in sea water from temperature, salinity and pressure: the UNESCO algorithm.
 *
 * For fresh water use salinity 0. Prefer `soundSpeedMackenzie` where depth is known and pressure is not.
 *
 * @param temperatureC in-situ temperature on the 1968 scale, IPTS-68; an ITS-90 reading times 1.00024 [deg C]
 * @param salinity practical salinity [1]
 * @param pressureDbar pressure above atmospheric [dbar]
 * @returns speed of sound [m/s]; NaN if any input is NaN; evaluated, not clamped, outside the domain
 *
 * Source: Chen & Millero (1977), J. Acoust. Soc. Am. 62(5), 1129-1135, in the form of Fofonoff & Millard (1983), UNESCO
 * technical papers in marine science 44, p. 46. Domain 0..40 deg C, 0..40, 0..10 000 dbar. Check value: 1731.995 m/s at
 * 40 deg C, 40, 10 000 dbar.
 */
export function soundSpeedUnesco(temperatureC: number, salinity: number, pressureDbar: number): number {
  const t = temperatureC;
  const p = pressureDbar / 10;
  const pure0 = ((((3.1464e-9 * t - 1.478e-6) * t + 3.342e-4) * t - 5.80852e-2) * t + 5.03711) * t + 1402.388;
  const pure1 = (((-6.1185e-10 * t + 1.3621e-7) * t - 8.1788e-6) * t + 6.8982e-4) * t + 0.153563;
  const pure2 = (((1.0405e-12 * t - 2.5335e-10) * t + 2.5974e-8) * t - 1.7107e-6) * t + 3.126e-5;
  const pure3 = (-2.3643e-12 * t + 3.8504e-10) * t - 9.7729e-9;
  const pure = ((pure3 * p + pure2) * p + pure1) * p + pure0;
  const salt0 = (((-3.21e-8 * t + 2.006e-6) * t + 7.164e-5) * t - 1.262e-2) * t + 1.389;
  const salt1 = (((-2.0122e-10 * t + 1.0507e-8) * t - 6.4885e-8) * t - 1.258e-5) * t + 9.4742e-5;
  const salt2 = ((7.988e-12 * t - 1.6002e-10) * t + 9.1041e-9) * t - 3.9064e-7;
  const salt3 = (-3.389e-13 * t + 6.649e-12) * t + 1.1e-10;
  const salt = ((salt3 * p + salt2) * p + salt1) * p + salt0;
  const root = -1.922e-2 - 4.42e-5 * t + (7.3637e-5 + 1.7945e-7 * t) * p;
  const square = 1.727e-3 - 7.9836e-6 * p;
  return pure + salt * salinity + root * salinity * Math.sqrt(salinity) + square * salinity * salinity;
}

/**
 * Speed of sound in sea water from temperature, salinity and depth.
 *
 * Nine-term polynomial; takes depth, not pressure. Not for fresh or brackish water: use `soundSpeedUnesco` there.
 *
 * @param temperatureC in-situ temperature [deg C]
 * @param salinity practical salinity [1]
 * @param depthM depth below the surface, positive down [m]
 * @returns speed of sound [m/s]; NaN if any input is NaN; evaluated, not clamped, outside the domain
 *
 * Source: Mackenzie (1981), J. Acoust. Soc. Am. 70(3), 807-812, doi:10.1121/1.386920. Domain 2..30 deg C, 30..40, 0..8000 m;
 * standard error 0.070 m/s. Check value: 1550.744 m/s at 25 deg C, 35, 1000 m.
 */
export function soundSpeedMackenzie(temperatureC: number, salinity: number, depthM: number): number {
  const t = temperatureC;
  const s = salinity - 35;
  const d = depthM;
  return (
    1448.96 +
    4.591 * t -
    5.304e-2 * t * t +
    2.374e-4 * t * t * t +
    1.34 * s +
    1.63e-2 * d +
    1.675e-7 * d * d -
    1.025e-2 * t * s -
    7.139e-13 * t * d * d * d
  );
}

/**
 * Depth in the standard ocean (35, 0 deg C) from pressure.
 *
 * @param pressureDbar pressure above atmospheric [dbar]
 * @param latDeg latitude [deg]
 * @returns depth below the surface, positive down [m]; NaN if an input is NaN
 *
 * Source: Saunders & Fofonoff (1976) in Fofonoff & Millard (1983), UNESCO technical papers in marine science 44, p. 28.
 * Accuracy 0.1 m; 1.5 % too little in fresh water. Check value: 9712.653 m at 10 000 dbar, 30 deg.
 */
export function depthFromPressure(pressureDbar: number, latDeg: number): number {
  const p = pressureDbar;
  const sin = Math.sin((latDeg * Math.PI) / 180);
  const x = sin * sin;
  const gravity = 9.780318 * (1 + (5.2788e-3 + 2.36e-5 * x) * x) + 1.092e-6 * p;
  return ((((-1.82e-15 * p + 2.279e-10) * p - 2.2512e-5) * p + 9.72659) * p) / gravity;
}

/** Absolute Salinity of standard sea water of practical salinity 35 [g/kg] (Millero et al. 2008). */
const STANDARD_SALINITY = 35.16504;
/** 40 g/kg of reference composition, to which salinity is held in the Gibbs function: 40 x 35.16504 / 35. */
const SALINITY_UNIT = (40 * STANDARD_SALINITY) / 35;

/**
 * Absolute Salinity from practical salinity, for water of standard composition [g/kg].
 *
 * The anomaly of composition from place to place is left out: up to 0.03 g/kg in the open ocean, 0.09 in the Baltic, which is
 * 0.04 and 0.1 m/s of sound speed.
 * Source: IOC et al. (2010), TEOS-10 manual, eq. 2.4.1; Millero et al. (2008), Deep-Sea Res. I 55, 50-72.
 */
export function absoluteSalinity(salinity: number): number {
  return (STANDARD_SALINITY / 35) * salinity;
}

/**
 * Speed of sound in sea water or fresh water from temperature, Absolute Salinity and pressure: TEOS-10.
 *
 *     c = g_p sqrt(g_tt / (g_tp^2 - g_tt g_pp))
 *
 * Prefer it to the others: it is the standard of today, takes ITS-90 temperatures, and holds for fresh water (salinity 0).
 *
 * @param temperatureC in-situ temperature, ITS-90 [deg C]
 * @param absoluteSalinityGkg Absolute Salinity, `absoluteSalinity` of a practical one [g/kg]
 * @param pressureDbar pressure above atmospheric [dbar]
 * @returns speed of sound [m/s]; NaN if an input is NaN or salinity is negative; evaluated, not clamped, outside the domain
 *
 * Source: IOC et al. (2010), TEOS-10 manual, eq. 2.17.1; Gibbs function of IAPWS R13-08 and SR7-09. Domain -6..40 deg C,
 * 0..42 g/kg, 0..10 000 dbar; 0.035 m/s.
 */
export function soundSpeedTeos10(temperatureC: number, absoluteSalinityGkg: number, pressureDbar: number): number {
  const x = Math.sqrt(absoluteSalinityGkg / SALINITY_UNIT);
  const y = temperatureC / 40;
  const z = pressureDbar / 10_000;
  // Derivatives in y and z: g_z, g_zz, g_yy, g_yz.
  let gz = 0;
  let gzz = 0;
  let gyy = 0;
  let gyz = 0;
  for (const [i, j, k, g] of GIBBS_TERMS) {
    const term = g * x ** i;
    if (k > 0) gz += k * term * y ** j * z ** (k - 1);
    if (k > 1) gzz += k * (k - 1) * term * y ** j * z ** (k - 2);
    if (j > 1) gyy += j * (j - 1) * term * y ** (j - 2) * z ** k;
    if (j > 0 && k > 0) gyz += j * k * term * y ** (j - 1) * z ** (k - 1);
  }
  // z is p / 1e8 Pa, y is t / 40 deg C; those of y cancel.
  return gz * 1e-8 * Math.sqrt(gyy / ((gyz * gyz - gyy * gzz) * 1e-16));
}
