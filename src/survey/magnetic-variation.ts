import geomagnetism from 'geomagnetism';

/** Name of the model, for sources. */
export const VARIATION_MODEL = 'World Magnetic Model 2025';

/**
 * Magnetic variation at a place on a day, east positive [deg]; null outside the years the model holds for.
 * Source: World Magnetic Model 2025 (NOAA NCEI and BGS) through the npm package geomagnetism.
 */
export function magneticVariationDeg(latDeg: number, lonDeg: number, timeS: number): number | null {
  if (!Number.isFinite(timeS) || !Number.isFinite(latDeg) || !Number.isFinite(lonDeg)) return null;
  try {
    const { decl } = geomagnetism.model(new Date(timeS * 1000)).point([latDeg, lonDeg]);
    return Number.isFinite(decl) ? decl : null;
  } catch {
    return null;
  }
}
