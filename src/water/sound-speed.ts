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
