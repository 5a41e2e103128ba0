import type { Rgb, TintColours } from './tint.js';

/** The colours canvases draw with, as the style sheet has them now. */
export interface Palette {
  readonly paper: string;
  readonly desk: string;
  readonly ink: string;
  readonly quiet: string;
  readonly hairline: string;
  readonly land: string;
  readonly contour: string;
  readonly magenta: string;
  readonly waterLevel: string;
  readonly band: string;
  readonly tints: TintColours;
  readonly tint4: string;
  readonly font: string;
}

/** Reads the palette from the custom properties of the document. */
export function readPalette(root: Element): Palette {
  const style = getComputedStyle(root);
  const read = (name: string) => style.getPropertyValue(`--${name}`).trim();
  return {
    paper: read('paper'),
    desk: read('desk'),
    ink: read('ink'),
    quiet: read('quiet'),
    hairline: read('hairline'),
    land: read('land'),
    contour: read('contour'),
    magenta: read('magenta'),
    waterLevel: read('water-level'),
    band: read('band'),
    tints: { drying: rgb(read('drying')), bands: [rgb(read('tint-1')), rgb(read('tint-2')), rgb(read('tint-3')), rgb(read('tint-4'))] },
    tint4: read('tint-4'),
    font: read('font'),
  };
}

/** #rrggbb as three numbers 0..255. */
export function rgb(hex: string): Rgb {
  const value = Number.parseInt(hex.replace('#', ''), 16);
  return [(value >> 16) & 255, (value >> 8) & 255, value & 255];
}
