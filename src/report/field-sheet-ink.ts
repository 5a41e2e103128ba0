import { textWidth } from './fonts.js';
import { breakLongRuns, visibleText } from './safe-text.js';
import type { TextStyle } from './svg-text.js';
import { svgText } from './svg-text.js';

/** The field sheet is read wet, in the sun, off a printer without colours: black on white and two greys. */
export const FIELD_INK = {
  black: '#000000',
  white: '#ffffff',
  /** Land. */
  land: '#cfcfcf',
  /** Bands of uncertainty and quiet lines. */
  band: '#dcdcdc',
  grey: '#5c5c5c',
} as const;

/** The smallest type on the sheet, 9 pt [mm]. */
export const SMALL_MM = 3.2;
/** One point [mm]. */
export const POINT_MM = 25.4 / 72;

/** How many lines a text takes at a width, by its measured width with a twentieth in hand. */
export function wrappedLines(text: string, widthMm: number, points: number, weight: 400 | 500 = 400): number {
  return Math.max(1, Math.ceil((textWidth(breakLongRuns(visibleText(text)), points * POINT_MM, weight) * 1.05) / widthMm));
}

/** Black text of the smallest size or more, white round it where it stands on lines. */
export function fieldText(x: number, y: number, text: string, style: Partial<TextStyle> = {}): string {
  return svgText(x, y, text, { size: SMALL_MM, colour: FIELD_INK.black, ...style });
}
