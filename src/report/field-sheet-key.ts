import type { ChartFrame } from './chart-frame.js';
import { FIELD_INK, fieldText, SMALL_MM } from './field-sheet-ink.js';
import { formatNumber } from './figures.js';
import { textWidth } from './fonts.js';
import type { Box } from './label-index.js';
import { niceBelow } from './nice-steps.js';
import { mm, svgLine, svgRect } from './svg-text.js';

/** Height of the strip under the map with key, scale bar and north [mm]. */
export const KEY_MM = 15;

const ROW_MM = 4.5;
const SAMPLE_MM = 7;
const { black, white } = FIELD_INK;

/** One thing the key explains. */
export interface KeyEntry {
  readonly sample: (box: Box) => string;
  readonly text: string;
}

/** Samples: a line, and an area with its edge. */
export const swatch = {
  line:
    (colour: string, width: number, dash = '', cap = 'butt'): KeyEntry['sample'] =>
    (box) =>
      `<path d="M${mm(box.x0)} ${mm((box.y0 + box.y1) / 2)}H${mm(box.x1)}" stroke="${colour}" stroke-width="${width}"${dash === '' ? '' : ` stroke-dasharray="${dash}"`} stroke-linecap="${cap}" fill="none"/>`,
  area:
    (fill: string, edge: number): KeyEntry['sample'] =>
    (box) =>
      svgRect(box.x0, box.y0, box.x1 - box.x0, box.y1 - box.y0, fill, black, edge),
};

/** The key, filled column by column, three rows high; what there is no room for at the right is left out. */
export function drawKey(entries: readonly KeyEntry[], box: Box): string {
  const parts: string[] = [];
  const rows = 3;
  let x = box.x0;
  for (let i = 0; i < entries.length; i += rows) {
    const column = entries.slice(i, i + rows);
    const width = SAMPLE_MM + 1.4 + Math.max(...column.map(({ text }) => textWidth(text, SMALL_MM)));
    if (x + width > box.x1 + 0.5) break;
    column.forEach(({ sample, text }, row) => {
      const y = box.y0 + row * ROW_MM;
      parts.push(sample({ x0: x, x1: x + SAMPLE_MM, y0: y + 0.5, y1: y + 3.3 }), fieldText(x + SAMPLE_MM + 1.4, y + 3, text));
    });
    x += width + 4;
  }
  return parts.join('\n');
}

/** A scale bar of four or five parts, at most so long, figures above it. */
export function drawScale(chart: ChartFrame, x: number, y: number, maxMm: number): string {
  const lengthM = niceBelow((maxMm * chart.scale) / 1000);
  if (!Number.isFinite(lengthM)) return '';
  const lengthMm = (lengthM * 1000) / chart.scale;
  const pieces = String(lengthM).replace(/[.0]/g, '').startsWith('5') ? 5 : 4;
  const parts = [svgRect(x, y, lengthMm, 1.8, white, black, 0.3)];
  for (let i = 0; i < pieces; i += 2) parts.push(svgRect(x + (i * lengthMm) / pieces, y, lengthMm / pieces, 1.8, black));
  const shown = lengthM >= 2000 ? `${formatNumber(lengthM / 1000)} km` : `${formatNumber(lengthM)} m`;
  parts.push(fieldText(x, y - 1.2, '0', { anchor: 'middle' }), fieldText(x + lengthMm, y - 1.2, shown, { anchor: 'middle' }));
  return parts.join('');
}

/** An arrow to true north with an N. */
export function drawNorth(cx: number, cy: number, northDeg: number): string {
  return (
    `<g transform="rotate(${mm(northDeg)} ${mm(cx)} ${mm(cy)})">` +
    `<path d="M${mm(cx)} ${mm(cy - 5.6)}L${mm(cx + 2.2)} ${mm(cy + 1.2)}L${mm(cx)} ${mm(cy)}L${mm(cx - 2.2)} ${mm(cy + 1.2)}Z" fill="${black}"/></g>` +
    svgLine(cx, cy, cx, cy + 1.4, black, 0.3) +
    fieldText(cx, cy + 5.6, 'N', { size: 4.4, weight: 600, anchor: 'middle' })
  );
}
