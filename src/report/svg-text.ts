import { SHEET_FAMILY, SHEET_FAMILY_EXT } from './fonts.js';
import type { SheetWeight } from './fonts.js';
import { INK } from './ink.js';
import { escapeXml } from './safe-text.js';

/** The attribute every figure carries once, on its root. */
export const FONT_ATTRIBUTE = `font-family="${SHEET_FAMILY}, ${SHEET_FAMILY_EXT}, sans-serif"`;

export interface TextStyle {
  readonly size: number;
  readonly weight?: SheetWeight;
  readonly italic?: boolean;
  readonly colour?: string;
  readonly anchor?: 'start' | 'middle' | 'end';
  /** Turned about its own point, clockwise [deg]. */
  readonly turnDeg?: number;
  /** A colour drawn round the letters, so that they stand clear of what they cross. */
  readonly halo?: string;
}

/** A coordinate in millimetres with two decimals at most. */
export function mm(value: number): string {
  return String(Math.round(value * 100) / 100 + 0);
}

/** A line of text at its baseline. A halo is a text of its own underneath: not every reader of SVG knows paint-order. */
export function svgText(x: number, y: number, text: string, style: TextStyle): string {
  const { size, weight = 400, italic = false, colour = INK.ink, anchor = 'start', turnDeg = 0, halo = '' } = style;
  const parts = [`<text x="${mm(x)}" y="${mm(y)}" font-size="${mm(size)}"`];
  if (weight !== 400) parts.push(` font-weight="${weight}"`);
  if (italic) parts.push(' font-style="italic"');
  if (anchor !== 'start') parts.push(` text-anchor="${anchor}"`);
  if (turnDeg !== 0) parts.push(` transform="rotate(${mm(turnDeg)} ${mm(x)} ${mm(y)})"`);
  const start = parts.join('');
  const end = `>${escapeXml(text)}</text>`;
  const under = halo === '' ? '' : `${start} fill="${halo}" stroke="${halo}" stroke-width="${mm(size * 0.32)}" stroke-linejoin="round" aria-hidden="true"${end}`;
  return `${under}${start} fill="${colour}"${end}`;
}

/** A straight line. */
export function svgLine(x1: number, y1: number, x2: number, y2: number, colour: string, width: number, dash = ''): string {
  return `<line x1="${mm(x1)}" y1="${mm(y1)}" x2="${mm(x2)}" y2="${mm(y2)}" stroke="${colour}" stroke-width="${mm(width)}"${dash === '' ? '' : ` stroke-dasharray="${dash}"`}/>`;
}

/** A rectangle, filled, or outlined where a stroke is given. */
export function svgRect(x: number, y: number, width: number, height: number, fill: string, stroke = '', strokeWidth = 0): string {
  const edge = stroke === '' ? '' : ` stroke="${stroke}" stroke-width="${mm(strokeWidth)}"`;
  return `<rect x="${mm(x)}" y="${mm(y)}" width="${mm(width)}" height="${mm(height)}" fill="${fill}"${edge}/>`;
}

/** A whole figure: sized in millimetres, one user unit a millimetre, with a name for those who cannot see it. */
export function svgFigure(widthMm: number, heightMm: number, name: string, parts: readonly string[]): string {
  return (
    `<svg xmlns="http://www.w3.org/2000/svg" width="${mm(widthMm)}mm" height="${mm(heightMm)}mm" viewBox="0 0 ${mm(widthMm)} ${mm(heightMm)}" ` +
    `role="img" aria-label="${escapeXml(name)}" ${FONT_ATTRIBUTE} font-weight="400">\n${parts.filter((part) => part !== '').join('\n')}\n</svg>`
  );
}
