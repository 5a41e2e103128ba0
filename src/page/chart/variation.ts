import { model } from 'geomagnetism';
import { fixed } from '../words/figures.js';

/**
 * Magnetic variation at a place on a date, from the World Magnetic Model (geomagnetism carries WMM-2025 and older).
 * @returns east positive [deg]; NaN on a date no model covers
 */
export function variationOn(timeS: number, latDeg: number, lonDeg: number): number {
  try {
    return model(new Date(timeS * 1000)).point([latDeg, lonDeg]).decl;
  } catch {
    return NaN;
  }
}

/** As a chart says it: var 9.1° W (2026). */
export function variationText(variationDeg: number, timeS: number): string {
  const year = new Date(timeS * 1000).getUTCFullYear();
  if (!Number.isFinite(variationDeg)) return `var not known (${year})`;
  return `var ${fixed(Math.abs(variationDeg), 1)}° ${variationDeg < 0 ? 'W' : 'E'} (${year})`;
}
