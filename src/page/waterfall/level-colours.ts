import type { RasterLook } from '../chart/raster-layer.js';
import type { LevelColours } from '../work/imagery-messages.js';
import { scaleColours, type ColourScale } from './colour-scales.js';

const reversed = new Map<ColourScale, Uint8ClampedArray>();

/** The colours of a scale from light to dark: strong echoes dark, as on thermal paper. */
export function reversedColours(scale: ColourScale): Uint8ClampedArray {
  const held = reversed.get(scale);
  if (held !== undefined) return held;
  const forward = scaleColours(scale);
  const out = new Uint8ClampedArray(forward.length);
  for (let k = 0; k < 256; k++) out.set(forward.subarray((255 - k) * 3, (256 - k) * 3), k * 3);
  reversed.set(scale, out);
  return out;
}

/** What level is in the middle of the colours at no gain, by how the levels are shown [dB]. */
export const MIDDLE_DB = { evened: 1.5, recorded: 50 } as const;

/** Decibels that the colours run over. */
export function levelColours({ levels, scale, strongDark, gainDb, contrastDb, middleDb }: { readonly levels: 'recorded' | 'evened'; readonly scale: ColourScale; readonly strongDark: boolean; readonly gainDb: number; readonly contrastDb: number; /** Of levels as recorded: what the middle of the colours is [dB]; NaN: not known. */ readonly middleDb: number }): LevelColours {
  const middle = (levels === 'recorded' && Number.isFinite(middleDb) ? middleDb : MIDDLE_DB[levels]) - gainDb;
  // Levels as recorded fall off with range: they need twice the room.
  const span = levels === 'recorded' ? 2 * contrastDb : contrastDb;
  return { lowDb: middle - 0.55 * span, highDb: middle + 0.45 * span, colours: strongDark ? reversedColours(scale) : scaleColours(scale) };
}

/** Zero of the mosaic's bytes, and decibels a step. */
const MOSAIC_ZERO = 128;
const MOSAIC_DB = 0.25;
/** Decibels of the mosaic below and above the usual return at no gain, in shares of the contrast. */
const LOW_SHARE = 0.55;

/** The mosaic in the colours, gain and contrast of the waterfall: the data are as they were. */
export function mosaicLook({ scale, strongDark, gainDb, contrastDb }: { readonly scale: ColourScale; readonly strongDark: boolean; readonly gainDb: number; readonly contrastDb: number }): RasterLook {
  const low = -LOW_SHARE * contrastDb - gainDb;
  return { band: 0, zero: MOSAIC_ZERO, perStep: MOSAIC_DB, low, high: low + contrastDb, clear: 0, colours: strongDark ? reversedColours(scale) : scaleColours(scale) };
}
