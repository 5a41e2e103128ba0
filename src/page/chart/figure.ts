/** A sounding as a chart prints it: metres large, decimetres as a subscript; a drying height is underlined. */
export interface SoundingFigure {
  readonly metres: string;
  /** One digit, or empty. */
  readonly decimetres: string;
  readonly drying: boolean;
}

/**
 * The figure of a depth. Rounded towards the shoal side, so that the chart never shows more water than was found:
 * to a decimetre under 31 m, to a metre from there.
 *
 * @param depthM depth below datum, positive down [m]; negative dries
 * @returns null for NaN
 *
 * Source: IHO S-4 B-412 (decimetres as subscripts, underlined drying heights); the limit of 31 m is from memory.
 */
export function soundingFigure(depthM: number): SoundingFigure | null {
  if (!Number.isFinite(depthM)) return null;
  const drying = depthM < 0;
  // A float32 depth such as 7.4 is stored as 7.400000095 or 7.399999619: a tenth of a millimetre either way is not depth.
  const tenths = drying ? Math.ceil(-depthM * 10 - 1e-3) : Math.floor(depthM * 10 + 1e-3);
  if (!drying && tenths >= 310) return { metres: String(Math.floor(depthM + 1e-4)), decimetres: '', drying };
  const metres = Math.floor(tenths / 10);
  return { metres: String(metres), decimetres: String(tenths - metres * 10), drying };
}
